"""The asks: what a card asks the player, how an answer is judged, how long it may take.

Each ask has a module that ends with its record (:mod:`cards.asks.record`), and :mod:`cards.asks.order` lists
the records. The functions here take any card and look up the record of its ask.

Conventions. The allowance for an answer is the seconds per action times the number of actions that this
answer takes in this input mode. The seconds per action come from the keystroke-level model (Card, Moran &
Newell, *The keystroke-level model for user performance time with interactive systems*, Communications of
the ACM 23(7), 1980): 1.10 s to point at a target, 0.28 s for a key of an average typist, 0.40 s to bring
the hand from one device to another.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache, lru_cache

from cards.asks import borrowing, hands_on, naming
from cards.asks.answers import Answer, Choice, Given, Prompt, Verdict, code
from cards.asks.card import Card, CardError, Pin, Setting, read_id
from cards.asks.order import ASKS, RECORDS, record_of
from cards.asks.path import OPEN_POSITION, groups, path, requires
from cards.asks.record import Ask
from cards.guitar.regions import BOXES, OPEN, box_at_nut, has_open_position
from cards.messages import Message, echo, message
from cards.theory.keys import BLUES_KEYS, MAJOR_KEYS, MINOR_KEYS, Key
from cards.theory.numerals import Numeral

__all__ = [
    "ASKS",
    "HANDS_ON",
    "KEYS",
    "MODES",
    "OPEN_POSITION",
    "RECORDS",
    "Answer",
    "Ask",
    "Card",
    "CardError",
    "Choice",
    "Given",
    "Message",
    "Pin",
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
    "needs_hand",
    "path",
    "question",
    "read_card",
    "requires",
    "universe",
    "usual_mode",
    "usual_seconds",
]

SECONDS_TO_POINT = 1.10
SECONDS_PER_KEY = 0.28
SECONDS_TO_HOME = 0.40

HANDS_ON = hands_on.ASK
"""The ask for one chord on the guitar, reported by word; also the input mode of such an answer."""

MODES = ("touch", "mouse", "keyboard", HANDS_ON)
"""The input modes: how an answer is put in."""

KEYS: tuple[Key, ...] = (*MAJOR_KEYS, *MINOR_KEYS, *BLUES_KEYS)
"""Every key that cards are about."""


@cache
def _cards(record: Ask, key: Key) -> tuple[Card, ...]:
    return tuple(record.cards(key))


def cards_of(key: Key) -> Iterator[Card]:
    """Yield every card of a key, ask by ask."""
    for record in RECORDS:
        yield from _cards(record, key)


def universe() -> Iterator[Card]:
    """Yield every card, in a fixed order."""
    for record in RECORDS:
        for key in KEYS:
            yield from _cards(record, key)


@cache
def _by_id(record: Ask, key: Key) -> dict[str, Card]:
    return {card.id: card for card in _cards(record, key)}


@cache
def read_card(card_id: str) -> Card:
    """Return the card with an id: one of the universe, or one that a tune needs. Raises CardError if there is none."""
    card = read_id(card_id)
    if card.ask in ASKS and card.key in KEYS:
        listed = _by_id(record_of(card), card.key)
        if card_id in listed:
            return listed[card_id]
        if card.id == card_id and is_of_tunes(card):
            return card
    raise CardError('no card "{card}": a card id looks like place:Ab:4:box1 or name:Ab:4.7', card=echo(card_id))


def is_of_tunes(card: Card) -> bool:
    """Return whether a card is about one chord from outside its key, in a box.

    The universe has only the commonest of these; tunes can need any.
    """
    has_place = card.box in BOXES or (card.is_open and has_open_position(card.key))
    about_one_chord = len(card.calls) == 1 and has_place and not card.detail
    if not about_one_chord or not record_of(card).any_chord:
        return False
    return card.key in KEYS and card.numeral not in naming.numerals(card.key)


def for_chord(key: Key, numeral: Numeral, box: int, setting: Setting) -> tuple[Card, ...]:
    """Return the cards that test whether a player has a chord of a tune in a box: on the guitar and by tapping.

    If the chord has no voicing there as it is written, the cards ask for what bands play then: the chord without
    its bass, or with fewer tones on top. () if the player's guitar has no place or no voicing for any of these. The
    box :data:`OPEN` is the place of the key that is nearest to the nut, since not every key has an open position.

    >>> from cards.theory.numerals import read_numeral
    >>> key = Key.read("E")
    >>> [card.id for card in for_chord(key, read_numeral("b7", key), 1, Setting())]
    ['hands-on:E:b7_major:box1', 'borrowed:E:b7_major:box1']
    """
    home = key.practical
    box = box_at_nut(home, setting.neck) if box == OPEN else box
    for simpler in numeral.simpler:
        plain = replace(simpler, target=None)
        played, tapped = Card(HANDS_ON, home, (plain,), box), borrowing.placing_card(home, plain, box)
        cards = (read_card(card.id) for card in (played, tapped) if home in KEYS)
        fitting = tuple(card for card in cards if fits(card, setting))
        if fitting:
            return fitting
    return ()


def fits(card: Card, setting: Setting) -> bool:
    """Return whether the player's guitar has room for a card and notes to answer it with.

    Otherwise the player has no such card.
    """
    return _fits(card.id, setting)


@lru_cache(maxsize=65536)
def _fits(card_id: str, setting: Setting) -> bool:
    card = read_card(card_id)
    return card.fits(setting) and record_of(card).answerable(card, setting)


def question(card: Card, setting: Setting) -> Prompt:
    """Return what the player sees before answering. The card must fit the player's guitar."""
    prompt = record_of(card).question(card, setting)
    # Where the region itself must be found, the words must not tell it.
    if prompt.key is None or not prompt.box or (prompt.hint is None and not needs_hand(card)):
        return prompt
    return replace(prompt, at_nut=card.places(setting)[0].is_open)


def answer(card: Card, setting: Setting) -> Answer:
    """Return the right answer, and every answer that the page may accept at once."""
    return record_of(card).answer(card, setting)


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Judge an answer. If the player asked to be shown the answer, it counts as not right."""
    if given.shown:
        right = answer(card, setting)
        return Verdict(False, (message("shown"), right.words), right.drawing)
    return record_of(card).judge(card, given, setting)


def drawn(card: Card, setting: Setting) -> str | None:
    """Return the code of the one voicing that a card's question or answer draws; None if it does not draw one."""
    draws = record_of(card).draws
    return code(draws(card, setting).frets) if draws and fits(card, setting) else None


def beats(card: Card) -> int:
    """Return how many beats a card's music lasts: one bar for most cards, the whole progression for a run."""
    return record_of(card).beats(card)


def allowance(card: Card, given: Given, mode: str) -> float:
    """Return the seconds allowed for putting in an answer in an input mode.

    Raises CardError for an unknown mode.
    """
    if mode not in MODES:
        raise CardError('no input mode "{mode}": {modes}', mode=echo(mode), modes=", ".join(MODES))
    record = record_of(card)
    per_action = SECONDS_PER_KEY if mode == "keyboard" else SECONDS_TO_POINT
    homing = SECONDS_TO_HOME if record.on_guitar else 0.0
    return round(per_action * record.actions(card, given, mode) + homing, 2)


def needs_hand(card: Card) -> bool:
    """Return whether the card is answered on the guitar, so that the fretting hand works."""
    return record_of(card).on_guitar


def usual_mode(card: Card) -> str:
    """Return the input mode that a card is usually answered in: on the guitar, or by touch."""
    return HANDS_ON if record_of(card).on_guitar else "touch"


def usual_seconds(card: Card) -> float:
    """Return the seconds that an unpractised player takes for a right answer, putting it in included.

    It is an estimate for the ask as a whole; see :mod:`cards.asks.record`.
    """
    return record_of(card).usual_seconds


def difficulty(card: Card) -> float:
    """Return the logit of an unpractised player's being right; higher is easier.

    It is the sum of what the card's ask and its music give (see :attr:`Card.head_start`).
    """
    return round(record_of(card).head_start + card.head_start, 3)
