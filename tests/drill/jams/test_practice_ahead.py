"""Practice until a jam, played ahead: what it may bring, by the same laws as the rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from statistics import fmean

import numpy as np
import pytest

from cards.asks import universe
from cards.charts import Chart
from drill.jams import practice_ahead, prospect
from drill.jams.practice_ahead import (
    BELIEVED,
    MINUTES,
    OTHERS,
    Needed,
    PracticeRun,
    Start,
    fewest,
    minutes_needed,
    runs,
)
from drill.jams.prospect import sessions_left
from drill.jams.readiness import READY, together
from drill.memory.batch import Pool, forecast
from drill.memory.recall import learn
from drill.memory.rows import Outcome, Row
from drill.planning.candidates import Candidates, catalogue
from drill.planning.repertoire import features
from drill.store import Store
from drill.store.models import DrillSession, Player
from tests.conftest import EVENING
from tests.drill.logs import lines, write
from tests.drill.nights import a_chart, blues, put_jam, vamp

IN_TEN_DAYS = EVENING + timedelta(days=10, hours=1)
TUNES = (("Slow blues", blues("Bb"), 60), ("Two-chord vamp", vamp("E"), 96))


LONG = tuple((key, a_chart("| 1 | 5 | 6- | 4 | 2- | 3- |", key), 90) for key in ("Eb", "Ab", "Db", "E", "A"))


def a_start(store: Store, tunes: Sequence[tuple[str, Chart, int]] = TUNES) -> Start:
    jam = put_jam(store, *tunes, at=IN_TEN_DAYS)
    with store.reading() as db:
        return prospect.start_of(db, db.get_one(Player, 1), prospect.prospect(store, 1, jam, EVENING))


def evenings(days: int) -> list[datetime]:
    return [EVENING + timedelta(days=n) for n in range(days)]


def mean(ways: Sequence[object]) -> float:
    share = together(ways)  # type: ignore[arg-type]
    assert share is not None
    return share.mean


def test_without_practice_it_is_the_readiness_undrilled(store: Store) -> None:
    start = a_start(store)
    run = PracticeRun(start, 0)
    undrilled = start.known.outlook(start.at)
    assert [each.p for each in run.outlook().forecasts] == pytest.approx([each.p for each in undrilled.forecasts])
    assert [each.fluency.sd for each in run.outlook().forecasts] == pytest.approx(
        [e.fluency.sd for e in undrilled.forecasts]
    )


def test_practice_helps_and_more_of_it_more(store: Store) -> None:
    start = a_start(store, LONG)
    undrilled = mean([start.known.outlook(start.at)])
    two, ten = (mean(runs(start, evenings(6), minutes, 8)) for minutes in (2, 10))
    assert 0.0 < 2.0 * (two - undrilled) < ten - undrilled


def test_it_comes_out_the_same_every_time(store: Store) -> None:
    start = a_start(store)
    once, again = (runs(start, evenings(4), 5, 2) for _ in range(2))
    assert [way.share for way in once] == [way.share for way in again]
    assert once[0].share != once[1].share, "the ways differ by chance"


def test_by_hand_the_chance_of_failing_shrinks_as_that_of_not_knowing(store: Store) -> None:
    start = a_start(store)
    run = PracticeRun(start, 0)
    for day in range(5):
        run.practise(EVENING + timedelta(days=day), 5)
    known = {each.measured.card.id: each for each in start.known.outlook(start.at).forecasts}
    told = next(each for each in run.outlook().forecasts if each.measured.card.id in known)
    card, by = told.measured.card, start.known.parameters
    pool, limits = Pool.of([features(card)]), np.array([told.measured.allowed])
    before, after = (forecast(pool, rows, start.at, limits, by) for rows in (start.rows, run.rows))
    unknown = [float((1.0 - view.retained[0]) * (1.0 - view.carried[0])) for view in (before, after)]
    assert unknown[1] < unknown[0]
    failing = (1.0 - known[card.id].fluency.right) * (unknown[1] / unknown[0]) ** run.believed
    assert told.fluency.right == pytest.approx(1.0 - failing)


def test_by_hand_every_run_believes_another_part_of_what_practice_brings(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    start = a_start(store)
    low, high = BELIEVED
    assert PracticeRun(start, 0).believed == pytest.approx((low + high) / 2)
    believed = [PracticeRun(start, number, 3).believed for number in range(3)]
    assert believed == pytest.approx([low + (high - low) * sixths / 6 for sixths in (1, 3, 5)])
    share = together(runs(start, evenings(6), 5))
    monkeypatch.setattr(practice_ahead, "BELIEVED", ((low + high) / 2,) * 2)
    alike = together(runs(start, evenings(6), 5))
    assert share is not None
    assert alike is not None
    assert share.unsure > alike.unsure, "what is not known of the player is part of the doubt"


def test_nothing_is_stored_and_the_start_stays_as_it_was(store: Store) -> None:
    start = a_start(store)
    rows = dict(start.rows)
    runs(start, evenings(3), 5, 2)
    assert start.rows == rows
    with store.reading() as db:
        assert db.query(DrillSession).count() == 0


def test_what_the_skills_carry_is_believed_and_not_practised(store: Store) -> None:
    write(store, lines("place:Bb-blues:1:box1", "ccmc", EVENING - timedelta(days=5)))
    start = a_start(store)
    run = PracticeRun(start, 0)
    run.practise(EVENING, 5)
    assert run.rows["player:carry"] == start.rows["player:carry"]


def test_many_days_have_fewer_runs(store: Store) -> None:
    start = a_start(store)
    assert [len(runs(start, evenings(days), 0.2)) for days in (5, 10, 25)] == [6, 6, 2]


def test_by_hand_the_fewest_minutes_that_are_enough() -> None:
    assert fewest(lambda minutes: minutes / 10) == Needed(10, 1.0, True)
    assert fewest(lambda minutes: 0.95) == Needed(MINUTES[0], 0.95, True)
    assert fewest(lambda minutes: minutes / 100) == Needed(MINUTES[-1], 0.2, False)
    assert all(
        fewest(lambda minutes, least=least: READY if minutes >= least else 0.0).minutes == least for least in MINUTES
    )


def test_a_date_too_near_is_told_with_what_can_be_reached(store: Store) -> None:
    needed = minutes_needed(a_start(store), evenings(1))
    assert (needed.minutes, needed.enough) == (MINUTES[-1], False)
    assert 0.0 < needed.share < READY


def test_who_has_it_well_needs_little(store: Store) -> None:
    """Every chord of the night was right for weeks, at ever longer intervals."""
    start = a_start(store)
    rows: dict[str, Row] = dict(start.rows)
    for days in (40, 39, 37, 33, 26, 18, 10, 2):
        for n, card in enumerate(start.goal.cards):
            at = EVENING - timedelta(days=days) + timedelta(seconds=10 * n)
            for again in range(4):
                rows.update(learn(rows, features(card), Outcome(True, 1.5, at + timedelta(minutes=4 * again))))
    reviews = {card.id: 32 for card in start.goal.cards}
    well = replace(start, rows=rows, known=replace(start.known, rows=rows, reviews=reviews))
    needed = minutes_needed(well, evenings(10))
    assert needed.enough, needed
    assert fmean(each.p for each in well.known.outlook(well.at).forecasts) > 0.6


@pytest.mark.both_databases
def test_practice_is_on_the_days_meant_for_it_and_once_a_day(store: Store) -> None:
    """The evening of the tests is a Friday; the jam is ten days later, on a Monday at 19:00."""

    def left() -> list[int]:
        with store.reading() as db:
            found = sessions_left(db, db.get_one(Player, 1), IN_TEN_DAYS, EVENING)
        return [(each - EVENING).days for each in found]

    assert left() == list(range(11))
    with store.writing(1) as (_, player):
        player.days = ["mon", "fri"]
    assert left() == [0, 3, 7, 10]
    write(store, lines("place:C:1:box1", "ccccc", EVENING - timedelta(hours=1), every=timedelta(minutes=1)))
    assert left() == [3, 7, 10]


def test_a_chord_that_is_no_card_of_the_guitar_is_left_out(store: Store) -> None:
    with store.writing(1) as (_, player):
        player.highest = 5
    jam = put_jam(store, ("High", a_chart("| Ab | Db |", "Ab"), 60), at=IN_TEN_DAYS, boxes=(1, 4))
    found = prospect.prospect(store, 1, jam, EVENING)
    assert [(each.box, str(each.numeral)) for each in found.left_out] == [(4, "I"), (4, "IV")]
    assert found.undrilled.share is not None
    assert found.undrilled.share.changes == 2


def test_of_very_many_other_cards_an_even_choice_is_enough(store: Store) -> None:
    start = a_start(store)
    called = {card_id for card_id in start.candidates.cards.ids if card_id in start.goal.weights}
    others = [card.id for card in universe() if card.ask == "place" and card.id not in called][: 2 * OTHERS + 1]
    everything = Candidates.of(catalogue().cards([*others, *called]), {})
    run = PracticeRun(replace(start, candidates=everything), 0)
    assert called <= set(run.candidates.cards.ids)
    assert len(run.candidates) - len(called) == (2 * OTHERS + 1 + 2) // 3
