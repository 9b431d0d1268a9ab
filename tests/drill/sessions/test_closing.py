"""How the closing page names the cards of a session."""

from __future__ import annotations

import pytest

from cards.asks import Setting, answer, read_card
from drill.sessions.closing import AnsweredCard


@pytest.mark.parametrize(
    ("card_id", "number"),
    [
        ("name:Ab:4.7", "4 seventh"),
        ("borrowed:E:b7_major:box1", "♭VII"),
        ("run:G:2~5~1:box1", "ii V I"),
        ("box-notes:Ab:box1", "box 1"),
    ],
)
def test_a_card_is_named_as_it_was_asked_for(card_id: str, number: str) -> None:
    card = read_card(card_id)
    assert AnsweredCard(card, answer(card, Setting()), "clean", None).number == number
