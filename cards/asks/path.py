"""The path through the cards: which card comes before which, and the groups that a player can switch off.

Conventions. The path of a card sorts the cards into the order of introduction, smaller first. A card
requires other cards, named by their ids, that should be settled before it is new. Both follow from the
music alone; this module does not know which keys a player prefers.
"""

from __future__ import annotations

from cards.asks.card import Card
from cards.asks.order import place_of, record_of
from cards.theory.keys import Mode

OPEN_POSITION = "open position"
"""The group of the cards whose place is the open position, where it is none of the boxes."""

_LAST_CORE_STAGE = 1


def path(card: Card) -> tuple[int, ...]:
    """Return where a card stands in the order of introduction, smaller first.

    Major keys come first, then minor keys, then blues. The open position comes before box 1, and this before the
    other boxes. The key's own triads come before its sevenths, and these before all other chords. Of the degrees,
    one, four and five come first, then six and two, then three and seven. Within such a group *name* and *place*
    come first. Asks of stages 2 and 3 follow one and two groups later.
    """
    stage = record_of(card).stage
    mode, box, kind, group, degree = card.step
    later = max(stage - _LAST_CORE_STAGE, 0)
    return (mode, box, kind, group + later, stage, degree, place_of(card))


def requires(card: Card) -> tuple[str, ...]:
    """Return the ids of the cards that should be settled before this one is new."""
    return tuple(required.id for required in record_of(card).requires(card))


def groups(card: Card) -> tuple[str, ...]:
    """Return the groups that a card belongs to: its ask, its box or the open position, sevenths, minor keys, blues.

    A player can switch each group off.
    """
    names = [f"ask:{card.ask}"]
    if card.is_open:
        names.append(OPEN_POSITION)
    elif card.box is not None:
        names.append(f"box:{card.box}")
    if card.key.mode == Mode.MAJOR and any(own and own[1] for own in map(card.own_of, card.calls)):
        names.append("sevenths")
    if card.key.mode != Mode.MAJOR:
        names.append("minor keys" if card.key.is_minor else "blues")
    return tuple(names)
