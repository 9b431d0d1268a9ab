"""The list of all asks, in the order in which a player meets them."""

from __future__ import annotations

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
from cards.asks.card import Card
from cards.asks.record import Ask

RECORDS: tuple[Ask, ...] = (
    naming.RECORD,
    placing.RECORD,
    name_placing.RECORD,
    numbering.RECORD,
    hands_on.RECORD,
    shaping.RECORD,
    toning.RECORD,
    spelling.RECORD,
    keying.RECORD,
    boxing.RECORD,
    running.CHANGE_RECORD,
    bending.RECORD,
    leaving_out.RECORD,
    running.RECORD,
    guiding.RECORD,
    borrowing.RECORD,
)

_BY_NAME = {record.name: record for record in RECORDS}
_PLACES = {record.name: place for place, record in enumerate(RECORDS)}

ASKS: tuple[str, ...] = tuple(_BY_NAME)
"""The names of the asks, in the order in which a player meets them."""


def record_of(card: Card) -> Ask:
    """Return the record of a card's ask. The ask must be one of :data:`ASKS`."""
    return _BY_NAME[card.ask]


def place_of(card: Card) -> int:
    """Return the place of a card's ask in the order, counted from 0."""
    return _PLACES[card.ask]
