"""Five minutes end at five minutes, whoever plays: simulated players at the real sessions."""

from __future__ import annotations

from datetime import timedelta

import pytest

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
