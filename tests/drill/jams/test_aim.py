"""Sessions that are aimed at the next jam, over the API and in the plan."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from flask.testing import FlaskClient

from cards.asks import Setting
from drill.jams.aim import LEAST, MOST, OTHER_CARD, TIMES, goal_for_changes
from drill.jams.changes import changes_of, measured_changes
from drill.jams.readiness import outlook
from drill.memory.parameters import START
from drill.planning.offered import gather_candidates
from drill.store import Store
from drill.store.models import DrillSession, Jam, Player, Question, SetListEntry
from tests.conftest import EVENING, Clock, Guitarist
from tests.drill.nights import AT, a_chart, a_night, blues, put_jam, vamp

IN_A_WEEK = EVENING + timedelta(days=7)
TUNES = (("Slow blues", blues("Bb"), 60), ("Two-chord vamp", vamp("E"), 96))


def start(client: FlaskClient, **wanted: object) -> Any:
    return client.post("/api/sessions", json={"tab": "tab", **wanted})


def titles(questions: list[dict[str, Any]]) -> set[str]:
    """The tunes that questions name as what needs them."""
    return {each["reason"].removesuffix(" needs it.") for each in questions if each["reason"].endswith(" needs it.")}


@pytest.mark.both_databases
def test_an_ordinary_session_is_aimed_at_the_next_jam(store: Store, client: FlaskClient) -> None:
    jam = put_jam(store, *TUNES, at=IN_A_WEEK)
    reply = start(client)
    assert reply.status_code == 201, reply.json
    questions = reply.json["questions"]
    needed = {each["card"] for each in questions if each["reason"].endswith(" needs it.")}
    assert titles(questions) == {"Slow blues", "Two-chord vamp"}
    assert {f"hands-on:{chord}:box1" for chord in ("Bb-blues:1", "Bb-blues:4", "E:1", "E:b7_major")} <= needed
    assert reply.json["jam"] == jam
    with store.reading() as db:
        assert db.get_one(DrillSession, reply.json["id"]).horizon_days == 7.0


def test_a_long_set_list_leaves_the_rest_a_third_of_the_time(store: Store, client: FlaskClient) -> None:
    cycles = [(key, a_chart("| 1 | 5 | 6- | 4 | 2- | 3- |", key), 100) for key in ("Eb", "Ab", "Db", "E", "A")]
    put_jam(store, *cycles, at=IN_A_WEEK)
    questions = start(client, minutes=10).json["questions"]
    with store.reading() as db:
        seconds = {each.question: each.predicted_seconds for each in db.query(Question)}
    aimed = sum(seconds[each["question"]] for each in questions if each["reason"].endswith(" needs it."))
    assert 0.6 < aimed / sum(seconds.values()) < 0.75


@pytest.mark.both_databases
def test_borrowed_chords_come_when_a_jam_needs_them_and_not_without(store: Store, client: FlaskClient) -> None:
    def borrowed(questions: list[dict[str, Any]]) -> set[str]:
        return {each["card"] for each in questions if "b7_major" in each["card"]}

    assert not borrowed(start(client, minutes=20).json["questions"])
    client.post(f"/api/sessions/{client.get('/api/player').json['running']['id']}/end", json={"visible_seconds": 0})
    put_jam(store, *TUNES, at=IN_A_WEEK)
    assert "hands-on:E:b7_major:box1" in borrowed(start(client).json["questions"])


def test_what_a_jam_brought_up_is_kept_when_it_is_over(store: Store, guitarist: Guitarist, clock: Clock) -> None:
    put_jam(store, *TUNES, at=EVENING + timedelta(days=1))
    guitarist.start()
    number = next(q["question"] for q in guitarist.session["questions"] if q["card"] == "hands-on:E:b7_major:box1")
    guitarist.answer(number)
    guitarist.end()
    clock.go_on(days=3)
    with store.reading() as db:
        found = gather_candidates(db, db.get_one(Player, 1), Setting())
    kept = [(card, seen) for card, seen in zip(found.cards.ids, found.seen, strict=True) if "b7_major" in card]
    assert kept == [("hands-on:E:b7_major:box1", True)]


@pytest.mark.both_databases
def test_what_is_planned_later_in_the_session_keeps_the_aim(store: Store, guitarist: Guitarist) -> None:
    put_jam(store, *TUNES, ("Fast cycle", a_chart("| Eb | Bb | Cm | Ab |", "Eb"), 144), at=IN_A_WEEK)
    guitarist.start()
    first = {each["question"] for each in guitarist.session["questions"]}
    for number in sorted(first)[:-1]:
        guitarist.clock.go_on(seconds=1)
        guitarist.send(guitarist.review(number))
    added = [each for each in guitarist.session["questions"] if each["question"] not in first]
    assert titles(added) == {"Slow blues", "Two-chord vamp", "Fast cycle"} & titles(added) != set()


@pytest.mark.parametrize("days", [-1, 29])
def test_a_jam_that_is_over_or_far_off_aims_at_nothing(store: Store, client: FlaskClient, days: int) -> None:
    put_jam(store, *TUNES, at=EVENING + timedelta(days=days))
    reply = start(client)
    assert reply.json["jam"] is None
    assert titles(reply.json["questions"]) == set()
    assert client.get("/api/player").json["jam"] is None


def test_a_jam_without_a_tune_is_passed_over(store: Store, client: FlaskClient) -> None:
    put_jam(store, at=EVENING + timedelta(days=2))
    later = put_jam(store, *TUNES, at=IN_A_WEEK)
    assert start(client).json["jam"] == later


def test_a_session_can_do_without_the_jam_and_a_focus_does(store: Store, client: FlaskClient) -> None:
    put_jam(store, *TUNES, at=IN_A_WEEK)
    for wanted in ({"jam": None}, {"focus": ["ask:name"]}):
        reply = start(client, **wanted)
        assert (reply.json["jam"], titles(reply.json["questions"])) == (None, set())
        client.post(f"/api/sessions/{reply.json['id']}/end", json={"visible_seconds": 0})


def test_a_jam_far_off_can_be_asked_for(store: Store, client: FlaskClient) -> None:
    jam = put_jam(store, *TUNES, at=EVENING + timedelta(days=60))
    reply = start(client, jam=jam)
    assert (reply.json["jam"], titles(reply.json["questions"])) == (jam, {"Slow blues", "Two-chord vamp"})


@pytest.mark.parametrize(
    ("wanted", "field", "words"),
    [
        ({"jam": 7}, "jam", "jam is the id of one, or null"),
        ({"jam": "f" * 32}, "jam", "there is no such jam"),
        ({"jam": "x"}, "jam", "there is no such jam"),
        ({"jam": "f" * 32, "focus": ["ask:name"]}, "jam", "a focus or a jam, not both"),
        ({"kind": "last look"}, "jam", "a last look is of a jam: name it"),
        ({"kind": "last look", "jam": None}, "jam", "a last look is of a jam: name it"),
        ({"kind": "rehearsal"}, "kind", 'kind is "drill" or "last look"'),
        ({"kind": ["drill"]}, "kind", 'kind is "drill" or "last look"'),
    ],
)
def test_what_cannot_be_aimed_at_is_refused(client: FlaskClient, wanted: Any, field: str, words: str) -> None:
    reply = start(client, **wanted)
    assert (reply.status_code, reply.json["field"]) == (422, field)
    assert words in reply.json["error"]
    assert client.get("/api/player").json["running"] is None


@pytest.mark.both_databases
def test_jams_that_are_over_deleted_or_empty_are_refused_with_the_reason(store: Store, client: FlaskClient) -> None:
    over = put_jam(store, *TUNES, at=EVENING - timedelta(days=1))
    empty = put_jam(store, at=IN_A_WEEK)
    deleted = put_jam(store, *TUNES, at=IN_A_WEEK)
    with store.writing(1) as (db, _):
        db.get_one(Jam, deleted).deleted_at = EVENING
    said = {jam: start(client, jam=jam).json["error"] for jam in (over, empty, deleted)}
    assert said == {
        over: "that jam is over: aim at one to come",
        empty: "its set list is empty: put a tune on it first",
        deleted: "that jam is deleted: have it back first",
    }


def test_a_session_goes_on_without_its_jam_if_that_is_deleted_meanwhile(store: Store, guitarist: Guitarist) -> None:
    jam = put_jam(store, *TUNES, at=IN_A_WEEK)
    guitarist.start(2)
    with store.writing(1) as (db, _):
        db.get_one(Jam, jam).deleted_at = EVENING
    first = {each["question"] for each in guitarist.session["questions"]}
    for number in sorted(first)[:-1]:
        guitarist.clock.go_on(seconds=1)
        guitarist.send(guitarist.review(number))
    added = [each for each in guitarist.session["questions"] if each["question"] not in first]
    assert added
    assert titles(added) == set()


def test_by_hand_what_comes_often_weighs_more_and_what_is_brief_too() -> None:
    night = a_night(("A tune", a_chart("| C | F | C | F | C | G |"), 60))
    changes = changes_of(night, Setting())
    expected = outlook(measured_changes(changes, {}, ()), {}, AT, START)
    late = {told.measured.card.id: 1.0 - told.p / told.fluency.right for told in expected.forecasts}
    c, f, g = (f"hands-on:C:{degree}:box1" for degree in (1, 4, 5))
    need = {c: 3 * (1 + late[c]), f: 2 * (1 + late[f]), g: 1 + late[g]}
    usual_need = sum(need.values()) / 3
    weights = goal_for_changes(changes, expected).weights
    assert weights[c] == pytest.approx(TIMES * need[c] / usual_need)
    assert weights[g] == pytest.approx(TIMES * need[g] / usual_need)
    assert weights["place:C:4:box1"] == pytest.approx(OTHER_CARD * weights[f])
    fast = changes_of(a_night(("A tune", a_chart("| C F | C F | C G |"), 200)), Setting())
    told = {each.measured.card.id: each for each in outlook(measured_changes(fast, {}, ()), {}, AT, START).forecasts}
    assert 1.0 - told[c].p / told[c].fluency.right > late[c]
    assert all(TIMES * LEAST * OTHER_CARD <= weight <= TIMES * MOST for weight in weights.values())


def test_the_tune_that_has_it_most_is_named_and_its_keys_come_first() -> None:
    night = a_night(("Rarely", a_chart("| C | G |"), 60), ("Often", a_chart("| C | F | C | F |"), 60))
    changes = changes_of(night, Setting())
    aim = goal_for_changes(changes, outlook(measured_changes(changes, {}, ()), {}, AT, START))
    assert aim.titles["hands-on:C:1:box1"] == "Often"
    assert aim.titles["hands-on:C:5:box1"] == "Rarely"
    assert aim.keys == ("C",)
    assert aim.prepend_keys(("G", "C")) == ("C", "G")


@pytest.mark.both_databases
def test_a_set_list_emptied_meanwhile_stops_nothing(store: Store, guitarist: Guitarist) -> None:
    jam = put_jam(store, *TUNES, at=IN_A_WEEK)
    guitarist.start(2)
    with store.writing(1) as (db, _):
        db.query(SetListEntry).filter(SetListEntry.jam_id == jam).delete()
    assert guitarist.answer(0)["status"] == "accepted"
