"""Five minutes end at five minutes, whoever plays: simulated players at the real sessions."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from drill.planning.repertoire import entry, group_sizes
from drill.sessions.pacing import AGAIN, AT_END
from drill.store import Store
from tests.bench.pacing import BEGIN, Played, Player, play
from tests.conftest import Guitarist

PLAYERS = {
    "quick": Player(0.6, 0.2, 1),
    "usual": Player(1.0, 0.2, 2),
    "slow": Player(1.8, 0.2, 3),
    "unsure": Player(1.0, 0.7, 4),
}


@pytest.fixture(params=PLAYERS)
def played(request: pytest.FixtureRequest, store: Store) -> list[Played]:
    """A week of one player's."""
    player = PLAYERS[request.param]
    return [play(store, 1, player, BEGIN + timedelta(days=day)) for day in range(7)]


def test_a_session_keeps_to_its_minutes_and_its_rules(played: list[Played]) -> None:
    off = [session.seconds - 300 for session in played]
    assert sum(abs(seconds) <= 20 for seconds in off) >= 6, off
    assert sum(session.too_soon for session in played) == 0
    assert sum(session.alike for session in played) <= 2


@pytest.mark.parametrize("seed", [1, 5, 8])
def test_a_missed_card_comes_back_in_the_session_and_again_at_its_end(store: Store, seed: int) -> None:
    session = play(store, 1, Player(1.0, 0.4, seed), BEGIN, minutes=10)
    missed = {put.card: place for place, put in reversed(list(enumerate(session.puts))) if put.missed}
    early = [card for card, place in missed.items() if session.puts[place].at < 240]
    assert early
    for card in early:
        again = [put.reason for put in session.puts[missed[card] + 1 :] if put.card == card]
        assert again == [AGAIN, AT_END]
    at_end = [place for place, put in enumerate(session.puts) if put.reason == AT_END]
    assert min(at_end) > 0.5 * len(session.puts)


def test_a_session_of_few_cards_still_ends_with_what_was_missed(guitarist: Guitarist) -> None:
    planned = len(guitarist.start(2)["questions"])
    guitarist.answer(0, {"shown": True})
    for number in (1, 2, 3):
        guitarist.answer(number)
    guitarist.answer(planned, {"shown": True})
    guitarist.visible = 106
    told = guitarist.send(guitarist.review(4))
    assert [(each["card"], each["reason"], each["after"]) for each in told["next"]] == [
        (guitarist.question(0)["card"], "Missed today: once more before the end.", 4)
    ]
    numbers = [question["question"] for question in guitarist.session["questions"]]
    assert sorted(told["order"]) == sorted(numbers)
    assert told["order"].index(told["next"][0]["question"]) == told["order"].index(4) + 1
    assert told["over"] is False
    guitarist.visible = 118
    assert guitarist.send(guitarist.review(planned + 1))["over"] is True


def needs_the_hand(question: dict[str, Any]) -> bool:
    return question["card"].startswith(("hands-on:", "run:", "change:"))


def rest(guitarist: Guitarist) -> dict[str, Any]:
    reply = guitarist.client.post(f"{guitarist.address}/tired", json={"visible_seconds": guitarist.visible})
    assert reply.status_code == 200, reply.json
    return dict(reply.json)


def a_long_session(guitarist: Guitarist) -> list[dict[str, Any]]:
    """Start a session of naming and playing chords; return its questions that need the hand."""
    off = [group for group in group_sizes() if group.startswith("ask:") and group not in {"ask:name", "ask:hands-on"}]
    assert guitarist.client.put("/api/settings", json={"switched_off": off}).status_code == 200
    tiring = [question for question in guitarist.start(20)["questions"] if needs_the_hand(question)]
    assert tiring
    return tiring


@pytest.mark.both_databases
def test_a_tired_hand_gets_cards_that_need_none_until_the_end(guitarist: Guitarist) -> None:
    tiring = a_long_session(guitarist)
    before = [question["question"] for question in guitarist.session["questions"]]
    rested = rest(guitarist)
    assert sorted(rested["dropped"]) == sorted(question["question"] for question in tiring)
    assert not any(map(needs_the_hand, rested["next"]))
    assert [question["question"] for question in rested["next"]][: len(before) - len(tiring)] == [
        number for number in before if number not in rested["dropped"]
    ]
    assert len(rested["next"]) > len(before) - len(tiring), "nothing takes their time"
    assert rested["over"] is False
    now = guitarist.client.get(guitarist.address).json
    assert [question["card"] for question in now["questions"]] == [question["card"] for question in rested["next"]]
    guitarist.session = now
    for question in list(now["questions"]):
        guitarist.answer(question["question"], {"shown": True} if question["question"] % 5 == 0 else None)
        if not guitarist.client.get("/api/player").json["running"]:
            break
    assert not any(map(needs_the_hand, guitarist.client.get(guitarist.address).json["questions"]))


@pytest.mark.both_databases
def test_a_tired_hand_is_told_of_once(guitarist: Guitarist) -> None:
    a_long_session(guitarist)
    once = rest(guitarist)
    assert rest(guitarist) == once


def test_an_answer_on_its_way_is_taken_though_its_question_was_dropped(guitarist: Guitarist) -> None:
    first = a_long_session(guitarist)[0]
    late = guitarist.review(first["question"])
    rest(guitarist)
    (item,) = guitarist.send(late)["items"]
    assert (item["status"], item["outcome"]) == ("accepted", "clean")
    questions = guitarist.client.get(guitarist.address).json["questions"]
    assert [each["review"]["id"] for each in questions if each["card"] == first["card"]] == [late["id"]]


def test_what_was_missed_with_a_tired_hand_does_not_come_back(guitarist: Guitarist) -> None:
    first = a_long_session(guitarist)[0]
    late = guitarist.review(first["question"], {"right": False} if "hands" in first["prompt"]["parts"] else None)
    rest(guitarist)
    assert not any(needs_the_hand(question) for question in guitarist.send(late)["next"])


def test_an_ended_session_has_no_tired_hand(guitarist: Guitarist) -> None:
    a_long_session(guitarist)
    guitarist.end()
    rested = rest(guitarist)
    assert (rested["dropped"], rested["over"]) == ([], True)
    assert guitarist.client.post("/api/sessions/none/tired", json={"visible_seconds": 0}).status_code == 404
    assert guitarist.client.post(f"{guitarist.address}/tired", json={}).status_code == 422


def test_at_most_two_full_barres_come_in_a_row(guitarist: Guitarist) -> None:
    off = [group for group in group_sizes() if group.startswith("ask:") and group != "ask:hands-on"]
    settings = {"keys": ["B♭", "E♭"], "switched_off": off}
    assert guitarist.client.put("/api/settings", json=settings).status_code == 200
    asked: list[bool] = []
    for question in guitarist.start(10)["questions"]:
        asked.append(entry(question["card"]).is_tiring)
    assert any(asked)
    assert not any(all(asked[n : n + 3]) for n in range(len(asked) - 2))
