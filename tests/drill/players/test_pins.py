"""Grips that a player pins: kept, shown first, and what is said to a text that is none."""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlalchemy import select

from drill.players.pins import PinError, name_pin, pinned, read_pin, unpinned
from drill.store import Store
from drill.store.models import Review
from tests.conftest import Guitarist


def the_four(client: FlaskClient, **query: str) -> dict[str, Any]:
    """The four of E♭ in box 1, as the Neck page shows it."""
    reply: Any = client.get("/api/neck", query_string={"key": "Eb", "box": "1", **query}).json
    return next(chord for chord in reply["chords"] if chord["number"] == "4")


def test_a_pin_is_read_as_it_was_named() -> None:
    for text in ("Eb:4:box1:x688xx", "A-blues:4.7:box2:xcba9x", "C:b7_major:box5:3x0003"):
        pin = read_pin(text)
        assert name_pin(pin.key, text.split(":")[1], pin.box, pin.frets) == text


@pytest.mark.parametrize(
    "text",
    [None, 4, "", "Eb:4:box6:x688xx", "Eb:4:box1:x688x", "X:4:box1:x688xx", "Eb:9:box1:x688xx", "Eb:4:box1:x6-8xx"],
)
def test_what_is_no_pin_is_refused(text: object) -> None:
    with pytest.raises(PinError, match="one is pinned like Eb:4:box1:x688xx"):
        read_pin(text)


def test_a_chord_in_a_box_has_one_pin() -> None:
    pins = pinned(pinned((), "Eb:4:box1:x688xx"), "Eb:4:box2:xcba9x")
    assert pinned(pins, "Eb:4:box1:4x6544") == ("Eb:4:box2:xcba9x", "Eb:4:box1:4x6544")
    assert unpinned(pins, "Eb:4:box1:xxxxxx") == ("Eb:4:box2:xcba9x",)


@pytest.mark.both_databases
def test_a_pinned_grip_is_shown_first_until_it_is_unpinned(guitarist: Guitarist, client: FlaskClient) -> None:
    before = the_four(client)
    other = before["others"][0]
    assert (before["pinned"], other["pinned"]) == (False, False)
    for _ in range(2):
        assert client.put("/api/pins", json={"pin": other["pin"]}).json == {"pins": [other["pin"]]}
    now = the_four(client)
    assert (now["pin"], now["pinned"], now["description"]) == (other["pin"], True, other["description"])
    assert before["pin"] in [grip["pin"] for grip in now["others"]]
    assert client.delete("/api/pins", json={"pin": other["pin"]}).json == {"pins": []}
    assert the_four(client) == before


def test_a_way_takes_a_pinned_grip_where_its_manner_allows_that(client: FlaskClient) -> None:
    def steps(**query: str) -> list[dict[str, Any]]:
        asked = {"key": "Eb", "box": "1", "progression": "1-4-5", **query}
        route: list[dict[str, Any]] = client.get("/api/neck", query_string=asked).json["route"]
        return route

    before = steps()
    assert not any(step["pinned"] for step in before)
    four = the_four(client)
    of_three = next(grip for grip in four["others"] if grip["pin"].endswith(":xxx898"))
    assert of_three["description"] != before[1]["description"]
    client.put("/api/pins", json={"pin": of_three["pin"]})
    assert [step["pinned"] for step in steps()] == [False, True, False]
    assert steps()[1]["description"] == of_three["description"]
    assert steps(manner="small")[1]["pinned"]
    assert not any(step["pinned"] for step in steps(manner="comp")), "comping takes four strings"
    assert not any(step["pinned"] for step in steps(keep="Eb")), "C is on top of it, and E♭ is to be"
    assert not any(step["pinned"] for step in steps(box="2")), "it is pinned in box 1"


@pytest.mark.both_databases
def test_a_session_shows_the_pins_that_it_began_with(guitarist: Guitarist, client: FlaskClient, store: Store) -> None:
    client.put("/api/settings", json={"keys": ["E♭"]})
    card, other = "place:Eb:4:box1", the_four(client)["others"][0]["pin"]
    before = asked(guitarist.start(20), card)
    assert client.put("/api/pins", json={"pin": other}).status_code == 200
    assert asked(client.get(guitarist.address).json, card) == before
    guitarist.end()
    now = asked(guitarist.start(20), card)
    assert now["answer"]["drawing"] != before["answer"]["drawing"]
    assert other.endswith(":xxx898")
    assert now["answer"]["description"] == before["answer"]["description"], (
        "three strings are his choice, not his hand's"
    )
    guitarist.answer(now["question"])
    with store.reading() as db:
        (drawn,) = [review.drawn for review in db.scalars(select(Review))]
    assert (drawn["pins"], drawn["main"]) == ([other], other.rpartition(":")[2])


def asked(session: Any, card: str) -> dict[str, Any]:
    return next(question for question in session["questions"] if question["card"] == card)


def test_what_cannot_be_pinned_is_said(client: FlaskClient) -> None:
    for ask in (client.put, client.delete):
        reply = ask("/api/pins", json={"pin": "Eb:4:box1"})
        assert (reply.status_code, reply.json["field"]) == (422, "pin")
    reply = client.put("/api/settings", json={"pins": ["no"]})
    assert (reply.status_code, reply.json["field"]) == (422, "pins")
