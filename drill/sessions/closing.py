"""How a session went: which cards were clean, late and missed, and what comes next.

A card is listed once, with the outcome of its first answer in the session, because an answer a moment after the
card was shown does not prove that the card is known. Mis-taps are left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cards.asks import Answer, Card, Message, Setting, answer, read_card
from drill.players.preferences import read_setting
from drill.sessions.lifecycle import SessionView
from drill.words.language import gettext as _

OUTCOMES = ("clean", "late", "missed")


@dataclass(frozen=True)
class AnsweredCard:
    """A card that was answered, its outcome, and a drawing of its chord."""

    card: Card
    answer: Answer
    outcome: str
    drawing: str | None

    @property
    def number(self) -> str:
        """The number as it was asked for (``4``, ``4 seventh``), or all numbers of a progression (``ii V I``)."""
        if not self.card.calls:
            return _("box {box}").format(box=self.card.box)
        if len(self.card.calls) > 1:
            return " ".join(map(str, self.card.calls))
        number, _space, seventh = self.card.called.partition(" ")
        return _("{number} seventh").format(number=number) if seventh else number


def answered_cards(view: SessionView) -> Sequence[AnsweredCard]:
    """Return the answered cards of a session by key and number."""
    first: dict[str, str] = {}
    for question in view.questions:
        review = view.reviews.get(question.question)
        if review and review.id not in view.mistaps:
            first.setdefault(question.card, review.outcome)
    setting = read_setting(view.session)
    cards = []
    for card in sorted(map(read_card, first), key=lambda card: (card.key, card.degree, card.id)):
        right_answer = answer(card, setting)
        cards.append(AnsweredCard(card, right_answer, first[card.id], _drawing(card, right_answer, setting)))
    return cards


def what_comes_next(cards: Sequence[AnsweredCard]) -> Sequence[Message]:
    """Return the messages that say what the next session will begin with."""
    messages = [
        Message(f"next-{outcome}", (("names", ", ".join(names)),))
        for outcome in ("missed", "late")
        if (names := _names(cards, outcome))
    ]
    if any(card.outcome == "clean" for card in cards):
        messages.append(Message("next-clean"))
    return [*messages, Message("next-new")]


def _drawing(card: Card, right_answer: Answer, setting: Setting) -> str | None:
    """Return the drawing of the answer. A chord that was only named or spelled is drawn in box 1."""
    if right_answer.drawing is not None or not card.calls:
        return right_answer.drawing
    return answer(Card("place", card.key, card.calls[:1], box=1), setting).drawing


def _names(cards: Sequence[AnsweredCard], outcome: str) -> list[str]:
    """Return the chords by number and key, each once: ``4 in E♭``."""
    chords = ((card.number, str(card.card.key)) for card in cards if card.outcome == outcome)
    return list(dict.fromkeys(_("{number} in {key}").format(number=number, key=key) for number, key in chords))
