"""How a session went: what was clean, late and missed, and what comes next.

A card is listed once, under what its first answer in the session came to: to know it a moment
after it was shown is not to know it. What was taken back as a mis-tap is left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cards.asks import Answer, Card, Message, Setting, answer, read_card
from drill.players.preferences import read_setting
from drill.sessions.lifecycle import SessionView

OUTCOMES = ("clean", "late", "missed")


@dataclass(frozen=True)
class AnsweredCard:
    """A card that was answered, what came of it, and its chord drawn."""

    card: Card
    answer: Answer
    outcome: str
    drawing: str | None

    @property
    def number(self) -> str:
        """The number as it was asked for: ``4``, ``4 seventh``; all of a progression's: ``ii V I``."""
        if not self.card.calls:
            return f"box {self.card.box}"
        return self.card.called if len(self.card.calls) == 1 else " ".join(map(str, self.card.calls))


def played(sheet: SessionView) -> Sequence[AnsweredCard]:
    """The cards of a session by key and number."""
    first: dict[str, str] = {}
    for question in sheet.questions:
        review = sheet.reviews.get(question.question)
        if review and review.id not in sheet.mistaps:
            first.setdefault(question.card, review.outcome)
    setting = read_setting(sheet.session)
    cards = sorted(map(read_card, first), key=lambda card: (card.key, card.degree, card.id))
    answers = [(card, answer(card, setting)) for card in cards]
    return [AnsweredCard(card, right, first[card.id], _drawing(card, right, setting)) for card, right in answers]


def what_comes_next(cards: Sequence[AnsweredCard]) -> Sequence[Message]:
    """What the next session will begin with."""
    said = [
        Message(f"next-{outcome}", (("names", ", ".join(names)),))
        for outcome in ("missed", "late")
        if (names := _names(cards, outcome))
    ]
    if any(card.outcome == "clean" for card in cards):
        said.append(Message("next-clean"))
    return [*said, Message("next-new")]


def _drawing(card: Card, right: Answer, setting: Setting) -> str | None:
    """What the answer draws; a chord that was only named or spelled is drawn in box 1."""
    if right.drawing is not None or not card.calls:
        return right.drawing
    return answer(Card("place", card.key, card.calls[:1], box=1), setting).drawing


def _names(cards: Sequence[AnsweredCard], outcome: str) -> list[str]:
    """The chords by number and key, each once: ``4 in E♭``."""
    return list(dict.fromkeys(f"{card.number} in {card.card.key}" for card in cards if card.outcome == outcome))
