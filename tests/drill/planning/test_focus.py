"""Drill this: a session weighted to what was asked for."""

from __future__ import annotations

import pytest
from flask.testing import FlaskClient

from drill.planning.focus import FocusError, read_focus
from tests.conftest import Clock, Guitarist

pytestmark = pytest.mark.both_databases


def start(client: FlaskClient, focus: object) -> object:
    return client.post("/api/sessions", json={"tab": "tab", "focus": focus})


def test_a_session_is_weighted_to_the_chord_that_was_asked_for(client: FlaskClient) -> None:
    reply = start(client, ["key:G", "degree:4"])
    assert reply.status_code == 201, reply.json
    questions = reply.json["questions"]
    asked_for = [each for each in questions if each["reason"] == "You asked for the four of G."]
    assert asked_for
    assert {each["prompt"]["key"] for each in asked_for} == {"G"}
    assert {each["prompt"]["number"] for each in asked_for} <= {"4", None}
    assert questions[0] in asked_for
    assert len(questions) > len(asked_for), "the rest of the time is filled as always"


def test_a_skill_can_be_asked_for(client: FlaskClient) -> None:
    questions = start(client, ["ask:name"]).json["questions"]
    names = [each["prompt"]["ask"] == "name" for each in questions]
    assert sum(names) > len(names) / 2


def test_what_is_planned_later_keeps_the_focus(client: FlaskClient, guitarist: Guitarist, clock: Clock) -> None:
    guitarist.session = start(client, ["ask:name"]).json
    first = {each["question"] for each in guitarist.session["questions"]}
    for number in sorted(first)[:-1]:
        clock.go_on(seconds=1)
        guitarist.send(guitarist.review(number))
    added = [each for each in guitarist.session["questions"] if each["question"] not in first]
    assert added
    assert all(each["reason"] == "You asked for naming." for each in added if each["prompt"]["ask"] == "name")


@pytest.mark.parametrize("focus", ["key:G", [], [3], ["tempo:80"], ["key:G x"], ["ask:name"] * 9])
def test_a_focus_that_is_none_is_refused(client: FlaskClient, focus: object) -> None:
    with pytest.raises(FocusError):
        read_focus(focus)
    reply = start(client, focus)
    assert (reply.status_code, reply.json["field"]) == (422, "focus")


def test_a_focus_that_nothing_is_open_for_starts_nothing(client: FlaskClient) -> None:
    reply = start(client, ["key:Gb", "degree:7"])
    assert reply.status_code == 422
    assert "first come the one, the four and the five" in reply.json["error"]
    assert client.get("/api/player").json["running"] is None
