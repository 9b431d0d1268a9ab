"""The way through the cards: what comes before what, and which groups a player can switch off.

Conventions. A card's path sorts it into the order of introduction, smaller first. What it requires
are the ids of cards that should be settled before it is new. Both are music only; which keys a
player prefers is not known here.
"""

from __future__ import annotations

from dataclasses import replace

from cards.asks.card import Card
from cards.asks.naming import numerals
from cards.theory.keys import Key, Mode
from cards.theory.numerals import Numeral, own_numeral

_STAGES = {
    "name": 0,
    "place": 0,
    "name-place": 1,
    "number": 1,
    "hands-on": 1,
    "shape": 2,
    "tone": 2,
    "spell": 2,
    "whose-key": 2,
    "box-notes": 2,
    "change": 2,
    "bend": 3,
    "left-out": 3,
    "run": 3,
    "guide-tones": 3,
    "borrowed": 3,
}
_ORDER = tuple(_STAGES)
_LAST_CORE_STAGE = 1
_NAMED_FIRST = frozenset({"spell", "bend"})
_PLACED_FIRST = frozenset({"name-place", "number", "hands-on", "shape", "tone", "left-out"})
_ALL_PLACED_FIRST = frozenset({"change", "run", "guide-tones"})


def path(card: Card) -> tuple[int, ...]:
    """Where a card stands in the order of introduction, smaller first.

    Major keys, then minor ones, then blues; box 1 before the others; the key's own triads, then its
    sevenths, then the rest; one, four, five, then six and two, then three and seven. Within these
    name and place come first; the asks that build on them follow one or two groups later.
    """
    stage = _STAGES[card.ask]
    mode, box, kind, group, degree = card.step
    later = max(stage - _LAST_CORE_STAGE, 0)
    return (mode, box, kind, group + later, stage, degree, _ORDER.index(card.ask))


def requires(card: Card) -> tuple[str, ...]:
    """Ids of the cards that should be settled before this one is new."""
    before: list[Card] = []
    if card.ask in _NAMED_FIRST:
        before.append(_plain(card, "name"))
    if card.ask in _PLACED_FIRST:
        before.append(_plain(card, "place" if card.numeral in numerals(card.key) else "borrowed", card.box))
    if card.ask in _ALL_PLACED_FIRST:
        before += [_about(card, "place", numeral, card.box) for numeral in dict.fromkeys(card.calls)]
    if card.ask == "box-notes":
        before.append(Card("whose-key", card.key, (), card.box))
    if card.ask == "borrowed":
        before += [_about(card, "place", _own(card.key, degree), card.box) for degree in (1, 4, 5)]
    if card.box is not None and card.box > 1 and card.ask in ("place", "whose-key"):
        before.append(replace(card, box=card.box - 1))
    if card.seventh and card.ask in ("name", "place") and card.key.mode != Mode.BLUES and card.own:
        before.append(_about(card, card.ask, _own(card.key, card.own[0]), card.box))
    if card.ask in ("name", "whose-key") and card.key.mode != Mode.MAJOR:
        before.append(Card("name", _major(card.key), (_own(_major(card.key), 1),)))
    return tuple(each.id for each in before)


def groups(card: Card) -> tuple[str, ...]:
    """The groups it belongs to, each of which a player can switch off: its ask, its box, sevenths,
    minor keys, blues."""
    found = [f"ask:{card.ask}"]
    if card.box is not None:
        found.append(f"box:{card.box}")
    if card.key.mode == Mode.MAJOR and any(own and own[1] for own in map(card.own_of, card.calls)):
        found.append("sevenths")
    if card.key.mode != Mode.MAJOR:
        found.append("minor keys" if card.key.is_minor else "blues")
    return tuple(found)


def _plain(card: Card, ask: str, box: int | None = None) -> Card:
    return _about(card, ask, card.numeral, box)


def _about(card: Card, ask: str, numeral: Numeral, box: int | None) -> Card:
    return Card(ask, card.key, (numeral,), box)


def _own(key: Key, degree: int) -> Numeral:
    return own_numeral(key, degree)


def _major(key: Key) -> Key:
    return key.relative if key.is_minor else Key(key.tonic)
