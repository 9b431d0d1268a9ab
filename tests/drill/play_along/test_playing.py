"""Playing along, and lost and found: a tune as called, and what came of it in the log."""

from __future__ import annotations

import json
import secrets
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlalchemy import select

from cards.asks import Setting, read_card
from cards.charts import Chart, read_chart
from cards.charts.forms import form
from cards.charts.moves import moves
from cards.theory.keys import Key
from drill.export.document import export, take_in
from drill.learning.learn import rebuild
from drill.progress.by_week import course
from drill.progress.kept_passes import Passes
from drill.progress.key_map import View, key_map
from drill.store import Store, prepare
from drill.store.memory import last_answers, memory_rows
from drill.store.models import DrillSession, Jam, Question, Review, SetListEntry
from drill.store.sittings import all_sittings
from drill.tunes import library
from tests.conftest import EVENING, Clock, Guitarist

both = pytest.mark.both_databases

JAM, FIRST, SECOND = "b" * 32, "c" * 32, "d" * 32
BLUES = form("12-bar blues", Key.read("Bb"))


@pytest.fixture
def tune(store: Store) -> str:
    """A slow blues in B♭."""
    return keep(store, BLUES)


@pytest.fixture
def other(empty_database: str) -> Iterator[Store]:
    """Another installation, in which nobody has played."""
    prepare(empty_database, EVENING)
    store = Store(empty_database)
    yield store
    store.close()


def keep(store: Store, chart: Chart, title: str = "Slow blues") -> str:
    return library.keep(store, 1, title, chart, EVENING - timedelta(days=2))


def set_list(store: Store, tune: str, vamp: str) -> None:
    """A jam in box 2: the blues in C at 72, then a vamp as it stands."""
    with store.writing(1) as (db, player):
        mine = {"player_id": player.id}
        jam = {"name": "Open jam", "at": EVENING, "place": "", "boxes": [2, 3], "made_at": EVENING, "deleted_at": None}
        db.add(Jam(id=JAM, **jam, **mine))
        db.flush()
        db.add(SetListEntry(id=FIRST, jam_id=JAM, position=0, tune_id=tune, key="C blues", tempo=72, **mine))
        db.add(SetListEntry(id=SECOND, jam_id=JAM, position=1, tune_id=vamp, key=None, tempo=None, **mine))


def part(client: FlaskClient, tune: str, query: str = "") -> dict[str, Any]:
    reply = client.get(f"/api/play/{tune}{query}")
    assert reply.status_code == 200, reply.json
    return dict(reply.json)


def one(card: str | None, right: bool = True, **more: Any) -> dict[str, Any]:
    return {"id": secrets.token_hex(16), "card": card, "beats": 4.0, "right": right, "seconds": None, **more}


def sitting(clock: Clock, *answers: Any, **more: Any) -> dict[str, Any]:
    return {
        "session": secrets.token_hex(16),
        "way": "along",
        "tempo": 60,
        "jam": None,
        "seconds": 90.0,
        "sent_at": clock.ms,
        "started_at": clock.ms - 95_000,
        "ended_at": clock.ms - 5_000,
        "answers": list(answers),
        **more,
    }


def send(client: FlaskClient, tune: str, body: dict[str, Any]) -> dict[str, Any]:
    reply = client.post(f"/api/play/{tune}", json=body)
    assert reply.status_code == 200, reply.json
    return dict(reply.json)


def log(store: Store) -> list[Review]:
    with store.reading() as db:
        return list(db.scalars(select(Review).order_by(Review.session_id, Review.question)))


def memory(store: Store) -> tuple[Any, Any]:
    with store.reading() as db:
        last = {card: (each.reviews, each.answered_at, each.outcome) for card, each in last_answers(db, 1).items()}
        return memory_rows(db, 1), last


# ---- what is to be found in time


def test_a_chord_that_goes_on_is_one_move_and_lasts_a_bar_at_most() -> None:
    found = [(str(move.numeral), move.at, move.beats, len(move.places)) for move in moves(BLUES)]
    assert found == [
        ("I7", (0, 0, 0), 4.0, 4),
        ("IV7", (0, 4, 0), 4.0, 2),
        ("I7", (0, 6, 0), 4.0, 2),
        ("V7", (0, 8, 0), 4.0, 1),
        ("IV7", (0, 9, 0), 4.0, 1),
        ("I7", (0, 10, 0), 4.0, 1),
        ("V7", (0, 11, 0), 4.0, 1),
    ]


def test_a_rest_is_no_move_and_a_split_bar_has_two() -> None:
    chart = read_chart("| E | N.C. | E | (4 5) |".replace("(4 5)", "A B"))
    assert [(str(move.numeral), move.at, move.beats) for move in moves(chart)] == [
        ("I", (0, 0, 0), 4.0),
        ("IV", (0, 3, 0), 2.0),
        ("V", (0, 3, 1), 2.0),
    ]
    assert moves(chart)[0].places == ((0, 0, 0), (0, 2, 0))


# ---- the tune as it is played


def test_a_tune_comes_in_its_own_key_with_the_card_of_every_move(client: FlaskClient, tune: str) -> None:
    found = part(client, tune)
    assert (found["title"], found["tempo"], found["box"], found["jam"]) == ("Slow blues", 80, 1, None)
    assert found["chart"]["key"] == "B♭ blues"
    assert [move["card"] for move in found["moves"]][:4] == [
        f"hands-on:Bb-blues:{number}:box1" for number in (1, 4, 1, 5)
    ]
    marked = [change["move"] for bar in found["chart"]["sections"][0]["bars"] for change in bar]
    assert marked == [0, 0, 0, 0, 1, 1, 2, 2, 3, 4, 5, 6]
    assert found["cards"]["hands-on:Bb-blues:4:box1"]["chord"] == "E♭7"
    assert "<svg" in found["cards"]["hands-on:Bb-blues:4:box1"]["drawing"]


def test_at_a_jam_it_comes_as_called_with_its_neighbours(client: FlaskClient, store: Store, tune: str) -> None:
    vamp = keep(store, form("vamp 1 4", Key.read("E")), "Two-chord vamp")
    set_list(store, tune, vamp)
    found = part(client, tune, f"?jam={JAM}&entry={FIRST}")
    assert (found["chart"]["key"], found["tempo"], found["box"]) == ("C blues", 72, 2)
    assert (found["jam"], found["entry"], found["before"]) == ({"id": JAM, "name": "Open jam"}, FIRST, None)
    assert found["after"] == {"entry": SECOND, "tune": vamp, "title": "Two-chord vamp"}
    second = part(client, vamp, f"?jam={JAM}&box=5")
    assert (second["before"]["title"], second["after"], second["tempo"], second["box"]) == ("Slow blues", None, 80, 5)


def test_near_the_nut_a_tune_has_the_cards_of_the_open_position(client: FlaskClient, store: Store) -> None:
    """D has it as a place of its own, in G it is box 1; a chord from outside the key has a card there too."""
    found = part(client, keep(store, form("vamp 1 ♭7", Key.read("D"))), "?box=open")
    assert found["box"] == 0
    assert [move["card"] for move in found["moves"]][:2] == ["hands-on:D:1:open", "hands-on:D:b7_major:open"]
    assert "open position" in found["cards"]["hands-on:D:1:open"]["drawing"]
    in_g = part(client, keep(store, form("vamp 1 4", Key.read("G")), "In G"), "?box=open")
    assert {move["card"] for move in in_g["moves"]} == {"hands-on:G:1:box1", "hands-on:G:4:box1"}


def test_a_capo_shows_shapes_and_what_sounds(client: FlaskClient, store: Store) -> None:
    chart = form("two five one", Key.read("Eb")).with_capo(3)
    change = part(client, keep(store, chart))["chart"]["sections"][0]["bars"][0][0]
    assert (change["number"], change["shape"], change["chord"]) == ("2-7", "Dm7", "Fm7")


def fretted_behind(capo: int, card: str) -> object:
    """What the hand frets for a card, counted from the guitar's capo."""
    return read_card(card).voicings(Setting(capo=capo))[0].frets


@pytest.mark.parametrize(("own", "keys"), [(0, {"C"}), (3, {"E♭"}), (2, {"D"})])
def test_a_tune_with_a_capo_is_asked_for_by_its_shapes_wherever_the_guitars_capo_is(
    client: FlaskClient, store: Store, own: int, keys: set[str]
) -> None:
    chart = form("two five one", Key.read("Eb")).with_capo(3)
    client.put("/api/settings", json={"capo": own})
    found = part(client, keep(store, chart))["moves"]
    assert {str(read_card(move["card"]).key) for move in found} == keys
    there = [fretted_behind(own, move["card"]) for move in found]
    client.put("/api/settings", json={"capo": 0})
    assert there == [fretted_behind(0, move["card"]) for move in part(client, keep(store, chart))["moves"]]


def test_a_tune_without_a_capo_is_asked_for_as_it_sounds(client: FlaskClient, store: Store) -> None:
    client.put("/api/settings", json={"capo": 2})
    found = part(client, keep(store, form("two five one", Key.read("Eb"))))["moves"]
    assert {str(read_card(move["card"]).key) for move in found} == {"E♭"}


def test_a_chord_without_room_on_the_guitar_has_no_card(client: FlaskClient, tune: str) -> None:
    client.put("/api/settings", json={"highest": 5})
    assert {move["card"] for move in part(client, tune, "?box=1")["moves"]} == {None}


@pytest.mark.parametrize(
    ("path", "status", "says"),
    [
        ("e" * 32, 404, "there is no such tune"),
        ("nothing", 404, "there is no such tune"),
        ("TUNE?jam=" + "e" * 32, 404, "there is no such jam"),
        ("TUNE?entry=" + FIRST, 422, "name its jam too"),
        ("TUNE?box=six", 422, 'no box "six"'),
        ("TUNE?box=6", 422, 'no box "6": a box is a number from 1 to 5, or "open"'),
        ("TUNE?box=0", 422, 'no box "0"'),
        (f"TUNE?jam={JAM}&entry={SECOND}", 422, "not on that set list any more"),
    ],
)
def test_what_cannot_be_played_is_said(
    client: FlaskClient, store: Store, tune: str, path: str, status: int, says: str
) -> None:
    set_list(store, tune, keep(store, BLUES, "Another"))
    reply = client.get(f"/api/play/{path.replace('TUNE', tune)}")
    assert (reply.status_code, says in reply.json["error"]) == (status, True), reply.json


# ---- what came of it


ONE, FOUR, FIVE = (f"hands-on:Bb-blues:{number}:box1" for number in (1, 4, 5))


@both
def test_a_run_becomes_a_session_that_has_ended_with_a_review_of_each_card(
    client: FlaskClient, store: Store, tune: str, clock: Clock
) -> None:
    set_list(store, tune, tune)
    body = sitting(clock, one(ONE), one(FOUR, right=False), one(FIVE, beats=2.0), jam=JAM, tempo=96)
    reply = send(client, tune, body)
    assert [item["outcome"] for item in reply["items"]] == ["clean", "missed", "clean"]
    with store.reading() as db:
        session = db.get_one(DrillSession, body["session"])
        asked = db.scalars(select(Question).order_by(Question.question)).all()
    assert (session.kind, session.jam_id, session.tempo, session.minutes) == ("play along", JAM, 96, 2)
    assert session.started_at == clock() - timedelta(seconds=95)
    assert session.ended_at == clock() - timedelta(seconds=5)
    assert session.visible_seconds == 90
    assert [(each.card, each.beats, each.reason) for each in asked] == [
        (ONE, 4.0, "why-played"),
        (FOUR, 4.0, "why-played"),
        (FIVE, 2.0, "why-played"),
    ]
    for review in log(store):
        assert (review.mode, review.tempo, review.seconds, review.allowance) == ("hands-on", 96, None, 0)
        assert review.answered_at == session.ended_at
    before = memory(store)
    rebuild(store)
    assert memory(store) == before
    assert before[1][FOUR][2] == "missed"


@both
def test_a_request_that_comes_twice_counts_once(client: FlaskClient, store: Store, tune: str, clock: Clock) -> None:
    body = sitting(clock, one(ONE), one(FOUR, right=False))
    first = send(client, tune, body)
    before = memory(store)
    clock.go_on(minutes=3)
    second = send(client, tune, {**body, "sent_at": clock.ms})
    assert second["session"] == first["session"]
    assert second["items"] == [{**item, "status": "already answered"} for item in first["items"]]
    turned = [{**answer, "right": not answer["right"]} for answer in body["answers"]]
    third = send(client, tune, {**body, "answers": turned})
    assert third == second, "the first word stands"
    assert (len(log(store)), memory(store)) == (2, before)


@both
def test_a_drill_that_runs_in_another_tab_is_not_disturbed(
    guitarist: Guitarist, client: FlaskClient, store: Store, tune: str, clock: Clock
) -> None:
    guitarist.start()
    guitarist.answer(0)
    send(client, tune, sitting(clock, one(ONE)))
    assert guitarist.answer(1)["status"] == "accepted"
    assert client.get("/api/player").json["running"]["id"] == guitarist.session["id"]
    before = memory(store)
    rebuild(store)
    assert memory(store) == before


@both
def test_what_is_lost_and_found_is_timed_by_the_move(
    client: FlaskClient, store: Store, tune: str, clock: Clock
) -> None:
    """Two beats at 60 and the tap on Played: 3.5 seconds."""
    body = sitting(clock, one(FOUR, beats=2.0, seconds=3.5), way="lost", seconds=20.0)
    send(client, tune, body)
    clock.go_on(seconds=20)
    later = {**body, "sent_at": clock.ms, "ended_at": clock.ms, "seconds": 40.0}
    items = send(client, tune, {**later, "answers": [one(ONE, beats=2.0, seconds=3.6)]})["items"]
    assert [review.outcome for review in log(store)] == ["clean", "late"], "they are one session"
    assert items[0]["outcome"] == "late"
    with store.reading() as db:
        session = db.get_one(DrillSession, body["session"])
    assert (session.visible_seconds, session.ended_at) == (40.0, clock())
    reviewed = client.get(f"/api/sessions/{body['session']}").json["questions"]
    assert [each["allowed"]["hands-on"] for each in reviewed] == [3.5, 3.5]
    assert [each["reason"] for each in reviewed] == ["Found again in Slow blues."] * 2
    before = memory(store)
    rebuild(store)
    assert memory(store) == before


def test_a_run_that_was_kept_on_the_device_is_dated_when_it_was_played(
    client: FlaskClient, store: Store, tune: str, clock: Clock, guitarist: Guitarist
) -> None:
    body = sitting(clock, one(ONE))
    guitarist.start()
    clock.go_on(hours=1)
    guitarist.answer(0)
    send(client, tune, {**body, "sent_at": clock.ms})
    (review,) = [each for each in log(store) if each.card == ONE]
    assert clock() - review.answered_at == timedelta(hours=1, seconds=11)
    before = memory(store)
    rebuild(store)
    assert memory(store) == before, "a late arrival is learnt in its turn"


def test_no_tune_was_played_before_it_was_there(client: FlaskClient, store: Store, tune: str, clock: Clock) -> None:
    body = sitting(clock, one(ONE), started_at=0, ended_at=0)
    send(client, tune, body)
    with store.reading() as db:
        assert db.get_one(DrillSession, body["session"]).started_at == EVENING - timedelta(days=2)


def test_an_answer_that_cannot_be_taken_holds_up_no_other(
    client: FlaskClient, store: Store, tune: str, clock: Clock
) -> None:
    client.put("/api/settings", json={"highest": 10})
    high = "hands-on:Bb-blues:1:box2"
    named, unread = one("name:Bb:4"), one("hands-on:H:4:box1")
    items = send(client, tune, sitting(clock, named, unread, one(high), one(ONE)))["items"]
    assert [item["status"] for item in items] == ["refused"] * 3 + ["accepted"]
    assert items[0]["reason"].startswith("name:Bb:4 is not played on the guitar")
    assert items[1]["reason"].startswith('no card "hands-on:H:4:box1"')
    assert items[2]["reason"] == f"the guitar as it is set has no room for {high}"
    assert len(log(store)) == 1


WRONG: list[tuple[dict[str, Any], str]] = [
    ({"session": "x"}, "the session is 32 digits"),
    ({"way": "solo"}, "the way is one of along, lost"),
    ({"way": ["lost"]}, "the way is one of along, lost"),
    ({"tempo": 300}, "a tempo is from 30 to 240"),
    ({"tempo": None}, "a tempo is from 30 to 240"),
    ({"jam": 5}, "jam is the id of one, or null"),
    ({"seconds": -1}, "the seconds are from 0 to a day"),
    ({"sent_at": "now"}, "sent_at must be a number"),
    ({"started_at": None}, "started_at must be a number"),
    ({"ended_at": 10**400}, "ended_at must be a number"),
    ({"answers": []}, "answers is a list of 1 to 100"),
    ({"answers": {}}, "answers is a list of 1 to 100"),
    ({"answers": [one(ONE)] * 101}, "answers is a list of 1 to 100"),
    ({"answers": [3]}, "answers[0] is an object with id, card, beats, right and seconds"),
    ({"answers": [one(ONE), one(ONE, id="AB")]}, "answers[1]: the id is 32 digits"),
    ({"answers": [one(None)]}, "answers[0]: the card is an id like"),
    ({"answers": [one(ONE, right="yes")]}, "answers[0]: right is true or false"),
    ({"answers": [one(ONE, beats=0)]}, "answers[0]: a move lasts more than 0"),
    ({"answers": [one(ONE, beats=float("nan"))]}, "answers[0]: a move lasts more than 0"),
    ({"answers": [one(ONE, seconds=2.0)]}, "answers[0]: in a run the tune is the clock"),
    ({"way": "lost", "answers": [one(ONE, seconds=-1)]}, "answers[0]: seconds are from 0 to a day"),
]


@pytest.mark.parametrize(("wrong", "says"), WRONG)
def test_a_sitting_that_cannot_be_read_is_refused_whole(
    client: FlaskClient, store: Store, tune: str, clock: Clock, wrong: dict[str, Any], says: str
) -> None:
    reply = client.post(f"/api/play/{tune}", json={**sitting(clock, one(ONE)), **wrong})
    assert reply.status_code == 422
    assert reply.json["error"].startswith(says)
    assert log(store) == []


def test_ids_that_are_taken_are_refused(
    guitarist: Guitarist, client: FlaskClient, store: Store, tune: str, clock: Clock
) -> None:
    guitarist.start()
    drilled = guitarist.answer(0)
    reply = client.post(f"/api/play/{tune}", json=sitting(clock, one(ONE), session=guitarist.session["id"]))
    assert (reply.status_code, "belongs to another session" in reply.json["error"]) == (422, True)
    taken = sitting(clock, one(ONE, id=drilled["id"]))
    (item,) = send(client, tune, taken)["items"]
    assert item["status"] == "refused"
    assert client.get(f"/api/sessions/{taken['session']}").status_code == 404, "nothing was kept of it"
    for path, more in (("e" * 32, {}), (tune, {"jam": "e" * 32})):
        assert client.post(f"/api/play/{path}", json=sitting(clock, one(ONE), **more)).status_code == 404
    assert len(log(store)) == 1


@both
def test_a_run_travels_and_shows_wherever_practice_shows(
    client: FlaskClient, store: Store, other: Store, clock: Clock
) -> None:
    """With a borrowed chord, whose card is of no key's own."""
    chart = form("vamp 1 ♭7", Key.read("E"))
    tune = keep(store, chart, "Two-chord vamp")
    home, borrowed = (move["card"] for move in part(client, tune)["moves"])
    assert borrowed == "hands-on:E:b7_major:box1"
    body = sitting(clock, one(home, right=False), one(borrowed))
    send(client, tune, body)
    send(client, tune, sitting(clock, one(borrowed, seconds=1.0), way="lost"))
    closing = client.get(f"/api/sessions/{body['session']}/closing").json
    assert [card["card"] for card in closing["missed"]] == [home]
    assert [card["card"] for card in closing["clean"]] == [borrowed]
    assert client.get(f"/session/{body['session']}/closing").status_code == 200
    for address in ("keys", "keys?ask=hands-on", "keys/why", "keys/course", "keys/E/1", "player", "export.csv"):
        assert client.get(f"/api/{address}").status_code == 200, address
    with store.reading() as db:
        sittings = sorted((each.seconds, each.clean, each.missed) for each in all_sittings(db, 1))
    assert sittings == [(90.0, 1, 0), (90.0, 1, 1)]
    document = export(store, 1, clock())
    take_in(other, 1, json.dumps(document))
    assert export(other, 1, clock()) == document
    assert key_map(other, 1, View(), clock()) == key_map(store, 1, View(), clock())
    assert course(other, 1, Passes(), clock()) == course(store, 1, Passes(), clock())
    assert memory(other) == memory(store)
