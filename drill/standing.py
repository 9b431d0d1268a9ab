"""How a player stands: the model, asked about many cards at once.

Conventions. This is the one place where figures on pages touch the model. Standings are fluencies at
the player's tempo, each answer put in as its ask usually is.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime

from cards.asks import Card
from drill.memory import Fluency, Row, fluency
from drill.repertoire import allowed_at, features


def standings(rows: Mapping[str, Row], cards: Iterable[Card], now: datetime, tempo: int) -> dict[str, Fluency]:
    """The player's fluency of each card, by id."""
    allowed = allowed_at(tempo)
    return {card.id: fluency(rows, features(card), now, allowed(card.id)) for card in cards}
