"""The asks: what a card puts to the player, how an answer is judged, how long it may take.

Each ask is a module with the functions of :class:`Ask`; this package finds the one of a card. To
add an ask, write its module, name it in :data:`card.ASKS` and in ``_MODULES`` here.

Conventions. The allowance for tapping is seconds per action times the actions of this answer in
this input mode. Seconds per action come from the keystroke-level model (Card, Moran & Newell,
*The keystroke-level model for user performance time with interactive systems*, Communications of
the ACM 23(7), 1980): 1.10 s to point at a target, 0.28 s for a key of an average typist, 0.40 s to
bring the hand from one device to another.
"""

from __future__ import annotations

from typing import Protocol

from cards.asks import hands_on, name_placing, naming, numbering, placing
from cards.asks.answers import Answer, Given, Question, Verdict, code
from cards.asks.card import ASKS, Card, CardError, Setting, read_card, universe
from cards.asks.naming import spelled_out
from cards.messages import Message, message

__all__ = [
    "ASKS",
    "MODES",
    "Answer",
    "Card",
    "CardError",
    "Given",
    "Message",
    "Question",
    "Setting",
    "Verdict",
    "allowance",
    "answer",
    "code",
    "judge",
    "question",
    "read_card",
    "universe",
]

SECONDS_TO_POINT = 1.10
SECONDS_PER_KEY = 0.28
SECONDS_TO_HOME = 0.40

MODES = ("touch", "mouse", "keyboard", "hands-on")
"""How an answer is put in."""


class Ask(Protocol):
    """What the module of an ask offers; all of it pure."""

    ASK: str

    def question(self, card: Card, setting: Setting) -> Question:
        """What the player sees."""

    def answer(self, card: Card, setting: Setting) -> Answer:
        """The right answer."""

    def judge(self, card: Card, given: Given, setting: Setting) -> Verdict:
        """What came of an answer."""

    def actions(self, card: Card, given: Given, mode: str) -> int:
        """How many taps or keys the answer takes in an input mode."""


_MODULES: tuple[Ask, ...] = (naming, placing, name_placing, numbering, hands_on)
_BY_NAME = {module.ASK: module for module in _MODULES}


def question(card: Card, setting: Setting) -> Question:
    """What the player sees before answering."""
    return _BY_NAME[card.ask].question(card, setting)


def answer(card: Card, setting: Setting) -> Answer:
    """The right answer, and what may be accepted at once."""
    return _BY_NAME[card.ask].answer(card, setting)


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Judge an answer. To be shown the answer counts as not right."""
    if given.shown:
        drawing = _BY_NAME[card.ask].answer(card, setting).drawing
        return Verdict(False, (message("shown"), spelled_out(card)), drawing)
    return _BY_NAME[card.ask].judge(card, given, setting)


def allowance(card: Card, given: Given, mode: str) -> float:
    """Seconds allowed for tapping or typing this answer in an input mode.

    Raises CardError for an unknown mode.
    """
    if mode not in MODES:
        raise CardError(f'no input mode "{mode}": {", ".join(MODES)}')
    each = SECONDS_PER_KEY if mode == "keyboard" else SECONDS_TO_POINT
    homing = SECONDS_TO_HOME if card.ask == hands_on.ASK else 0.0
    return round(each * _BY_NAME[card.ask].actions(card, given, mode) + homing, 2)
