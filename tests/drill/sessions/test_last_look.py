"""Five minutes before going on stage."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import Any

import pytest
from flask.testing import FlaskClient

from cards.asks import Setting
from drill.jams.changes import changes_of, measured_changes
from drill.jams.readiness import ChangeForecast, Outlook
from drill.memory.rows import Fluency
from drill.sessions.last_look import last_look
from drill.store import Store
from tests.conftest import EVENING, Guitarist
from tests.drill.nights import a_chart, a_night, blues, put_jam, vamp

TONIGHT = EVENING + timedelta(hours=2)
TUNES = (("Slow blues", blues("Bb"), 60), ("Two-chord vamp", vamp("E"), 120))


def expected(*shares: float) -> Outlook:
    """Two tunes, C F G and D A B, with these probabilities of being clean."""
    tunes = (("One", a_chart("| C | F | G |"), 60), ("Two", a_chart("| D | A | B |"), 60))
    changes = measured_changes(changes_of(a_night(*tunes), Setting()), {}, ())
    both = zip(changes, shares, strict=True)
    return Outlook(tuple(ChangeForecast(change, Fluency(p, 0.1, p, 3.0), {}) for change, p in both))


def chords(outlook: Outlook, seconds: float, without: Sequence[str] = ()) -> list[tuple[str, str]]:
    looks = last_look(outlook, seconds, without)
    return [(str(each.prediction.measured.card.chord), each.reason.removeprefix("why-")) for each in looks]


def test_with_time_for_all_the_shakiest_come_first_and_alike_in_set_order() -> None:
    outlook = expected(0.95, 0.15, 0.55, 0.5, 0.1, 0.95)
    assert chords(outlook, 300) == [
        ("F", "shaky"), ("A", "shaky"), ("G", "shaky"), ("D", "opens"), ("C", "opens"), ("B", "shaky"),
    ]  # fmt: skip


def test_with_little_time_the_opening_chords_stay() -> None:
    outlook = expected(0.95, 0.15, 0.55, 0.9, 0.1, 0.95)
    assert chords(outlook, 12) == [("C", "opens"), ("D", "opens")]
    assert chords(outlook, 22) == [("A", "shaky"), ("C", "opens"), ("D", "opens")]


def test_what_was_asked_does_not_come_again() -> None:
    outlook = expected(0.95, 0.15, 0.55, 0.9, 0.1, 0.95)
    asked = ("hands-on:C:1:box1", "hands-on:C:4:box1")
    assert {chord for chord, _ in chords(outlook, 300, asked)} == {"G", "D", "A", "B"}


def look(client: FlaskClient, jam: str) -> Any:
    return client.post("/api/sessions", json={"tab": "tab", "jam": jam, "kind": "last look"})


@pytest.mark.both_databases
def test_it_holds_the_jams_changes_and_no_others(store: Store, client: FlaskClient, guitarist: Guitarist) -> None:
    jam = put_jam(store, *TUNES, at=TONIGHT)
    reply = look(client, jam)
    assert reply.status_code == 201, reply.json
    assert (reply.json["kind"], reply.json["minutes"], reply.json["jam"]) == ("last look", 5, jam)
    chords = ("Bb-blues:1", "Bb-blues:4", "Bb-blues:5", "E:1", "E:b7_major")
    of_the_jam = {f"hands-on:{chord}:box1" for chord in chords}
    assert {each["card"] for each in reply.json["questions"]} == of_the_jam
    reasons = {each["reason"] for each in reply.json["questions"]}
    assert reasons == {
        *(f"{title} opens with it." for title, _, _ in TUNES), *(f"Shaky in {title}." for title, _, _ in TUNES),
    }  # fmt: skip
    guitarist.session = reply.json
    for each in [each["question"] for each in reply.json["questions"]]:
        guitarist.answer(each)
    assert {each["card"] for each in guitarist.session["questions"]} == of_the_jam


def test_every_card_has_the_time_of_its_tune(store: Store, client: FlaskClient, guitarist: Guitarist) -> None:
    client.put("/api/settings", json={"tempo": 80})
    guitarist.session = look(client, put_jam(store, *TUNES, at=TONIGHT)).json
    allowed = {each["card"]: each["allowed"]["hands-on"] for each in guitarist.session["questions"]}
    assert allowed["hands-on:Bb-blues:4:box1"] == pytest.approx(4.0 + 1.5)
    assert allowed["hands-on:E:b7_major:box1"] == pytest.approx(2.0 + 1.5)
    number = {each["card"]: each["question"] for each in guitarist.session["questions"]}
    slow, fast = number["hands-on:Bb-blues:4:box1"], number["hands-on:E:b7_major:box1"]
    assert [guitarist.answer(each, seconds=4.0)["outcome"] for each in (slow, fast)] == ["clean", "late"]


def test_a_guitar_without_room_for_any_of_it_is_told(store: Store, client: FlaskClient) -> None:
    client.put("/api/settings", json={"highest": 5})
    jam = put_jam(store, ("High", a_chart("| Ab | Db |", "Ab"), 60), at=TONIGHT, boxes=(4,))
    reply = look(client, jam)
    assert (reply.status_code, reply.json["field"]) == (422, "jam")
    assert "no" in reply.json["error"]
    assert "room on your guitar" in reply.json["error"]
    assert client.get("/api/player").json["running"] is None
