"""How a session went: what was clean, late and missed, and what comes next.

A card is listed once, under what its first answer in the session came to: to know it a moment
after it was shown is not to know it. What was taken back as a mis-tap is left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from cards.asks import Answer, Card, Message, Setting, answer
from drill.learning import repertoire
from drill.sessions import Sheet, setting_of

OUTCOMES = ("clean", "late", "missed")


@dataclass(frozen=True)
class Played:
    """A card that was answered, what came of it, and its chord drawn."""

    card: Card
    answer: Answer
    outcome: str
    drawing: str | None

    @property
    def number(self) -> str:
        """The number as it was asked for: ``4``, ``4 seventh``."""
        return f"{self.card.degree} seventh" if self.card.seventh else str(self.card.degree)


def played(sheet: Sheet) -> Sequence[Played]:
    """The cards of a session by key and number."""
    first: dict[str, str] = {}
    for question in sheet.questions:
        review = sheet.reviews.get(question.question)
        if review and review.id not in sheet.mistaps:
            first.setdefault(question.card, review.outcome)
    setting = setting_of(sheet.session)
    cards = sorted((repertoire()[card] for card in first), key=lambda card: (card.key, card.degree, card))
    return [Played(card, answer(card, setting), first[card.id], _drawing(card, setting)) for card in cards]


def what_comes_next(cards: Sequence[Played]) -> Sequence[Message]:
    """What the next session will begin with."""
    said = [
        Message(f"next-{outcome}", (("names", ", ".join(names)),))
        for outcome in ("missed", "late")
        if (names := _names(cards, outcome))
    ]
    if any(card.outcome == "clean" for card in cards):
        said.append(Message("next-clean"))
    return [*said, Message("next-new")]


def _drawing(card: Card, setting: Setting) -> str | None:
    """The chord on the neck; a card that names no box has it in box 1."""
    return answer(replace(card, ask="place", box=card.box or 1), setting).drawing


def _names(cards: Sequence[Played], outcome: str) -> list[str]:
    """The chords by number and key, each once: ``4 in E♭``."""
    return list(dict.fromkeys(f"{card.number} in {card.card.key}" for card in cards if card.outcome == outcome))
