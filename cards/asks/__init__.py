"""The asks: what a card puts to the player, how an answer is judged, how long it may take.

Each ask is a module with the functions of :class:`Ask`; this package finds the one of a card. To
add an ask, write its module and give it a line in ``_ASKS`` here; its place in the order of
introduction stands in :mod:`cards.asks.path`.

Conventions. The allowance for tapping is seconds per action times the actions of this answer in
this input mode. Seconds per action come from the keystroke-level model (Card, Moran & Newell,
*The keystroke-level model for user performance time with interactive systems*, Communications of
the ACM 23(7), 1980): 1.10 s to point at a target, 0.28 s for a key of an average typist, 0.40 s to
bring the hand from one device to another.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import Protocol

from cards.asks import (
    bending,
    borrowing,
    boxing,
    guiding,
    hands_on,
    keying,
    leaving_out,
    name_placing,
    naming,
    numbering,
    placing,
    running,
    shaping,
    spelling,
    toning,
)
from cards.asks.answers import Answer, Choice, Given, Prompt, Verdict, code
from cards.asks.card import Card, CardError, Setting, read_id
from cards.asks.path import groups, path, requires
from cards.messages import Message, message
from cards.theory.keys import BLUES_KEYS, MAJOR_KEYS, MINOR_KEYS, Key
from cards.theory.numerals import Numeral

__all__ = [
    "ASKS",
    "HANDS_ON",
    "KEYS",
    "MODES",
    "ON_THE_GUITAR",
    "Answer",
    "Card",
    "CardError",
    "Choice",
    "Given",
    "Message",
    "Prompt",
    "Setting",
    "Verdict",
    "allowance",
    "answer",
    "beats",
    "cards_of",
    "code",
    "difficulty",
    "drawn",
    "fits",
    "for_chord",
    "groups",
    "is_of_tunes",
    "judge",
    "path",
    "question",
    "read_card",
    "requires",
    "universe",
]

SECONDS_TO_POINT = 1.10
SECONDS_PER_KEY = 0.28
SECONDS_TO_HOME = 0.40
BAR = 4

OF_TUNES = (hands_on.ASK, borrowing.ASK)
"""Asks that have a card for any chord that a tune may hold."""

MODES = ("touch", "mouse", "keyboard", "hands-on")
"""How an answer is put in."""

HANDS_ON = hands_on.ASK
"""One chord on the guitar, reported by word; also the input mode of such an answer."""

ON_THE_GUITAR = frozenset({hands_on.ASK, running.ASK, running.CHANGE})
"""Asks that the player answers with the guitar and reports by word."""


class Ask(Protocol):
    """What the module of an ask offers; all of it pure."""

    def question(self, card: Card, setting: Setting) -> Prompt:
        """What the player sees."""

    def answer(self, card: Card, setting: Setting) -> Answer:
        """The right answer."""

    def judge(self, card: Card, given: Given, setting: Setting) -> Verdict:
        """What came of an answer."""

    def actions(self, card: Card, given: Given, mode: str) -> int:
        """How many taps or keys the answer takes in an input mode."""


def _always(card: Card, setting: Setting) -> bool:
    """For asks about names, and about a box and its notes."""
    return True


@dataclass(frozen=True)
class _Entry:
    """An ask: its module, its cards in a key, its head start (a logit, our estimate), and whether a card of
    it can be answered on the player's guitar."""

    module: Ask
    cards: Callable[[Key], Iterator[Card]]
    head_start: float
    answerable: Callable[[Card, Setting], bool] = _always


_ASKS: dict[str, _Entry] = {
    naming.ASK: _Entry(naming, naming.cards, naming.START),
    placing.ASK: _Entry(placing, placing.cards, placing.START, placing.has_voicings),
    name_placing.ASK: _Entry(name_placing, name_placing.cards, name_placing.START, placing.has_voicings),
    numbering.ASK: _Entry(numbering, numbering.cards, numbering.START, placing.has_voicings),
    hands_on.ASK: _Entry(hands_on, hands_on.cards, hands_on.START, placing.has_voicings),
    shaping.ASK: _Entry(shaping, shaping.cards, shaping.START, shaping.has_shape),
    toning.ASK: _Entry(toning, toning.cards, toning.START, placing.has_voicings),
    spelling.ASK: _Entry(spelling, spelling.cards, spelling.START),
    keying.ASK: _Entry(keying, keying.cards, keying.START),
    boxing.ASK: _Entry(boxing, boxing.cards, boxing.START),
    running.CHANGE: _Entry(running, running.changes, running.CHANGE_START, placing.has_voicings),
    bending.ASK: _Entry(bending, bending.cards, bending.START),
    leaving_out.ASK: _Entry(leaving_out, leaving_out.cards, leaving_out.START, leaving_out.has_part),
    running.ASK: _Entry(running, running.cards, running.START, placing.has_voicings),
    guiding.ASK: _Entry(guiding, guiding.cards, guiding.START),
    borrowing.ASK: _Entry(borrowing, borrowing.cards, borrowing.START, placing.has_voicings),
}

ASKS = tuple(_ASKS)
"""The kinds of question, in the order in which a player meets them."""

KEYS: tuple[Key, ...] = (*MAJOR_KEYS, *MINOR_KEYS, *BLUES_KEYS)
"""Every key that cards are about."""


@cache
def _cards(ask: str, key: Key) -> tuple[Card, ...]:
    return tuple(_ASKS[ask].cards(key))


def cards_of(key: Key) -> Iterator[Card]:
    """Every card of a key, ask by ask."""
    for ask in ASKS:
        yield from _cards(ask, key)


def universe() -> Iterator[Card]:
    """Every card there is, in a fixed order."""
    for ask in ASKS:
        for key in KEYS:
            yield from _cards(ask, key)


@cache
def _by_id(ask: str, key: Key) -> dict[str, Card]:
    return {card.id: card for card in _cards(ask, key)}


@cache
def read_card(card_id: str) -> Card:
    """The card with this id: one of the universe, or one that a tune needs. Raises CardError if there is none."""
    named = read_id(card_id)
    known = _by_id(named.ask, named.key) if named.ask in _ASKS and named.key in KEYS else {}
    if card_id in known:
        return known[card_id]
    if named.id == card_id and is_of_tunes(named):
        return named
    raise CardError(f'no card "{card_id}": a card id looks like place:Ab:4:box1 or name:Ab:4.7')


def is_of_tunes(card: Card) -> bool:
    """Whether it is about one chord from outside its key, in a box: there are as many as tunes have."""
    chord_in_box = len(card.calls) == 1 and card.box is not None and not card.detail
    return chord_in_box and card.ask in OF_TUNES and card.key in KEYS and card.numeral not in naming.numerals(card.key)


def for_chord(key: Key, numeral: Numeral, box: int, setting: Setting) -> tuple[Card, ...]:
    """The cards that show whether a chord of a tune is there under the hand in a box: on the guitar and by
    tapping. () if the player's guitar has no place or no voicing for it.

    What has no voicing as it is written is asked as bands play it then: without its bass, with less on top.

    >>> from cards.theory.numerals import read_numeral
    >>> key = Key.read("E")
    >>> [card.id for card in for_chord(key, read_numeral("b7", key), 1, Setting())]
    ['hands-on:E:b7_major:box1', 'borrowed:E:b7_major:box1']
    """
    home = key.practical
    for simpler in numeral.simpler:
        plain = replace(simpler, target=None)
        tapped = placing.ASK if plain in naming.numerals(home) else borrowing.ASK
        found = (Card(ask, home, (plain,), box) for ask in (hands_on.ASK, tapped))
        fitting = tuple(read_card(card.id) for card in found if home in KEYS and fits(read_card(card.id), setting))
        if fitting:
            return fitting
    return ()


def fits(card: Card, setting: Setting) -> bool:
    """Whether the player's guitar has room for it, and notes to answer it with: where it has not,
    there is no such card."""
    return _fits(card.id, setting)


@lru_cache(maxsize=65536)
def _fits(card_id: str, setting: Setting) -> bool:
    card = read_card(card_id)
    return card.fits(setting) and _ASKS[card.ask].answerable(card, setting)


def question(card: Card, setting: Setting) -> Prompt:
    """What the player sees before answering. The card must fit the player's guitar."""
    return _ASKS[card.ask].module.question(card, setting)


def answer(card: Card, setting: Setting) -> Answer:
    """The right answer, and what may be accepted at once."""
    return _ASKS[card.ask].module.answer(card, setting)


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Judge an answer. To be shown the answer counts as not right."""
    if given.shown:
        right = _ASKS[card.ask].module.answer(card, setting)
        return Verdict(False, (message("shown"), right.words), right.drawing)
    return _ASKS[card.ask].module.judge(card, given, setting)


def drawn(card: Card, setting: Setting) -> str | None:
    """The code of the one voicing that a card's question or answer draws; None if it draws none, or a
    progression."""
    if card.box is None or len(card.calls) != 1 or not fits(card, setting):
        return None
    asked_by_drawing = card.ask in (numbering.ASK, shaping.ASK, toning.ASK)
    voicing = placing.main_voicing if asked_by_drawing else placing.shown_voicing
    return code(voicing(card, setting).frets) if card.ask not in (boxing.ASK, leaving_out.ASK) else None


def beats(card: Card) -> int:
    """How many beats the card's music lasts: one bar for a bare card."""
    on_the_clock = card.ask in (running.ASK, running.CHANGE)
    return sum(running.beats(card)) if on_the_clock else BAR


def allowance(card: Card, given: Given, mode: str) -> float:
    """Seconds allowed for tapping or typing this answer in an input mode.

    Raises CardError for an unknown mode.
    """
    if mode not in MODES:
        raise CardError(f'no input mode "{mode}": {", ".join(MODES)}')
    each = SECONDS_PER_KEY if mode == "keyboard" else SECONDS_TO_POINT
    homing = SECONDS_TO_HOME if card.ask in ON_THE_GUITAR else 0.0
    return round(each * _ASKS[card.ask].module.actions(card, given, mode) + homing, 2)


def difficulty(card: Card) -> float:
    """Logit of an unpractised player's being right: higher is easier. Computed from the card
    itself: its music (see :attr:`Card.head_start`) and its ask."""
    return round(_ASKS[card.ask].head_start + card.head_start, 3)
