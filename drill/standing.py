"""How a player stands: the model, asked about many cards at once.

Conventions. This is the one place where figures on pages touch the model. Standings are fluencies at
the player's tempo, each answer put in as its ask usually is.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import datetime

from cards.asks import Card
from drill.memory import START, Fluency, Parameters, Row
from drill.repertoire import allowed_at, features


def standings(
    rows: Mapping[str, Row], cards: Collection[Card], now: datetime, tempo: int, parameters: Parameters = START
) -> dict[str, Fluency]:
    """The player's fluency of each card, by id."""
    # numpy costs a tenth of a second, which a process that asks nothing need not spend.
    import numpy as np

    from drill.forecast import Pool, forecast

    cards = list(cards)
    if not cards:
        return {}
    allowed = allowed_at(tempo)
    limits = np.array([allowed(card.id) for card in cards])
    view = forecast(Pool.of([features(card) for card in cards]), rows, now, limits, parameters)
    columns = (view.p.tolist(), view.sd.tolist(), view.right.tolist(), view.seconds.tolist())
    return {card.id: Fluency(*told) for card, *told in zip(cards, *columns, strict=True)}
