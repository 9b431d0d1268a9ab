"""Over time: weeks, predictions made forward, and the model held against the log."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date, datetime, timedelta

import pytest
from flask.testing import FlaskClient

from cards.asks import read_card
from drill.learning.learn import rebuild
from drill.memory.recall import fluency, learn
from drill.memory.replay import FIRST
from drill.memory.rows import Outcome
from drill.planning.repertoire import features
from drill.progress import calibration
from drill.progress.kept_passes import Looked, Passes
from drill.progress.log_pass import History, PassBasis
from drill.store import Store
from drill.store.log import log_after
from drill.store.memory import memory_rows
from drill.store.models import Review
from drill.words import say
from tests.drill.logs import lines, write
from tests.drill.rows import NOW

FRAME = PassBasis(80, "UTC", 4)
FRIDAY = NOW  # 1 May 2026


def go_through(reviews: Sequence[Review], frame: PassBasis) -> History:
    """A pass from the beginning of a log."""
    history = History(frame)
    for review in reviews:
        history.take(review)
    return history


def look(store: Store, now: datetime) -> Looked:
    """What a pass from the beginning shows."""
    found = Passes().look(store, 1, now)
    assert isinstance(found, Looked)
    return found


def test_weeks_begin_on_monday_at_the_players_hour() -> None:
    assert FRAME.week_of(FRIDAY) == date(2026, 4, 27)
    monday_night = FRIDAY.replace(month=5, day=4, hour=3)
    assert FRAME.week_of(monday_night) == date(2026, 4, 27)
    assert FRAME.week_of(monday_night.replace(hour=4)) == date(2026, 5, 4)
    assert FRAME.end_of(date(2026, 4, 27)) == monday_night.replace(hour=4, minute=0, second=0, microsecond=0)


def test_a_week_is_what_memory_said_at_its_end(store: Store) -> None:
    write(store, lines("name:Ab:4", "mc", FRIDAY, 3.0))
    write(store, lines("name:G:1", "ccl", FRIDAY + timedelta(days=14), 2.0), 2)
    weeks = look(store, FRIDAY + timedelta(days=16)).weeks
    assert [week.monday.day for week in weeks] == [27, 4, 11]
    four = features(read_card("name:Ab:4"))
    rows = learn({}, four, Outcome(False, 3.0, FRIDAY))
    rows |= learn(rows, four, Outcome(True, 3.0, FRIDAY + timedelta(hours=6)))
    for week in weeks[:2]:
        said = fluency(rows, four, FRAME.end_of(week.monday), 3.0 + 2.2).p
        assert (week.whole, week.cards, dict(week.keys)) == (pytest.approx(said), 1, {"Ab": pytest.approx(said)})
    assert [week.answers for week in weeks] == [2, 0, 3]
    assert [week.seconds for week in weeks] == [3.0, None, 2.0]
    assert weeks[1].whole < weeks[0].whole, "what is not practised fades"
    assert set(weeks[2].keys) == {"Ab", "G"}


def test_the_last_week_is_what_the_live_memory_says(store: Store) -> None:
    write(store, [*lines("name:Ab:4", "mclc", FRIDAY), *lines("place:G:1:box1", "ccm", FRIDAY + timedelta(days=8))])
    now = FRIDAY + timedelta(days=12)

    def live() -> float:
        from drill.learning.fluencies import fluencies_of

        with store.reading() as db:
            rows = memory_rows(db, 1)
        found = fluencies_of(rows, [read_card("name:Ab:4"), read_card("place:G:1:box1")], now, 80)
        return sum(each.p for each in found.values()) / 2

    weeks = look(store, now).weeks
    assert weeks[-1].whole == pytest.approx(live(), abs=1e-12)
    rebuild(store)
    assert weeks[-1].whole == pytest.approx(live(), abs=1e-12)


def test_a_prediction_is_made_before_its_answer_with_what_it_was_judged_by(store: Store) -> None:
    write(store, lines("name:Ab:4", "mc", FRIDAY))
    found = look(store, FRIDAY + timedelta(days=1))
    four = features(read_card("name:Ab:4"))
    first = fluency({}, four, FRIDAY, 3.0 + 2.2).p
    rows = learn({}, four, Outcome(False, 3.0, FRIDAY))
    second = fluency(rows, four, FRIDAY + timedelta(hours=6), 3.0 + 2.2).p
    assert found.predictions == ((pytest.approx(first), False), (pytest.approx(second), True))


def test_what_the_clock_did_not_see_is_no_test_of_a_prediction(store: Store) -> None:
    write(store, [*lines("name:Ab:4", "l", FRIDAY, None), *lines("name:Ab:5", "c", FRIDAY + timedelta(hours=1))])
    found = look(store, FRIDAY + timedelta(days=1))
    assert len(found.predictions) == 1
    assert found.weeks[-1].answers == 2


def test_a_pass_does_not_depend_on_how_often_it_was_looked_at(store: Store) -> None:
    write(store, lines("name:Ab:4", "mclcmccl", FRIDAY, every=timedelta(days=4)))
    with store.reading() as db:
        log = list(log_after(db, 1, FIRST))
    looked = go_through(log[:3], FRAME)
    looked.until(FRIDAY + timedelta(days=40))
    for review in log[3:]:
        looked.take(review)
    now = FRIDAY + timedelta(days=41)
    assert looked.until(now) == go_through(log, FRAME).until(now)


def test_calibration_waits_for_enough_answers_and_says_why() -> None:
    few = [(0.5, True)] * (calibration.ENOUGH - 1)
    assert calibration.groups(few) == ()
    (said,) = map(say, calibration.words((), len(few)))
    assert said.startswith("299 answers so far. The graph needs 300: 3 groups of 100.")


def test_groups_of_a_calibration_by_hand() -> None:
    """Said .2, .5, .8 a hundred times each; clean 10, 60 and 80 times."""
    predictions = [(p, n < clean) for p, clean in ((0.2, 10), (0.5, 60), (0.8, 80)) for n in range(100)]
    found = calibration.groups(predictions)
    assert [(round(each.said, 6), each.seen, each.count) for each in found] == [
        (0.2, 0.1, 100),
        (0.5, 0.6, 100),
        (0.8, 0.8, 100),
    ]
    assert found[1].margin == pytest.approx(1.96 * math.sqrt(0.25 / 100))
    assert [say(message) for message in calibration.words(found, len(predictions))][:2] == [
        "Predicted 80 % in time; actually 80 % (100 answers).",
        "Predicted 20 % in time; actually 10 % (100 answers).",
    ]
    # |.2 − .1| + |.5 − .6| + 0, over three
    assert "the predictions were off by 7 of 100" in say(calibration.words(found, len(predictions))[2])


@pytest.mark.both_databases
def test_the_page_gets_figures_each_with_words_and_a_table(store: Store, client: FlaskClient) -> None:
    empty = client.get("/api/keys/course").json
    assert (empty["figures"], empty["words"]) == ([], ["No answers yet: weeks show here once there are some."])
    write(
        store,
        [
            *lines("name:Ab:4", "mclc", NOW - timedelta(days=30)),
            *lines("name:G:1", "clm", NOW - timedelta(days=9, hours=20)),
        ],
    )
    body = client.get("/api/keys/course").json
    assert body["words"][1] == "9 days away: we start with what fades first."
    titles = [each["title"] for each in body["figures"]]
    assert titles[1:] == [
        "Fluency of all cards met",
        "Seconds to a right answer",
        "Minutes drilled",
        "Outcomes of each session",
    ]
    for figure in (*body["figures"], *body["keys"]):
        assert len(figure["heads"]) == len(figure["rows"][0])
        if figure["drawing"]:
            assert figure["words"][0] in figure["drawing"], "a drawing says in words what it shows"
    assert body["figures"][-1]["rows"] == [["1 Apr", "3", "2", "2"]]
    assert [each["title"] for each in body["keys"]] == ["A♭", "G"]
    assert body["honest"]["drawing"] == ""


def test_missed_days_are_not_held_against_anybody(store: Store, client: FlaskClient) -> None:
    write(store, lines("name:Ab:4", "c", NOW - timedelta(days=60)))
    said = " ".join(client.get("/api/keys/course").json["words"]).lower()
    assert not any(word in said for word in ("missed days", "in a row", "lost", "broken", "should"))
