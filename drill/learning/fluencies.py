"""How a player stands: the model, asked about many cards at once.

Conventions. This is the one place where figures on pages touch the model. Standings are fluencies at
the player's tempo, each answer put in as its ask usually is.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import datetime

import numpy as np

from cards.asks import Card
from drill.memory.batch import Forecast, Pool, forecast
from drill.memory.parameters import START, Parameters
from drill.memory.rows import Features, Fluency, Row
from drill.planning.repertoire import allowed_seconds_at, features


def standings(
    rows: Mapping[str, Row], cards: Collection[Card], now: datetime, tempo: int, parameters: Parameters = START
) -> dict[str, Fluency]:
    """The player's fluency of each card, by id."""
    cards = list(cards)
    if not cards:
        return {}
    view = _asked(Pool.of([features(card) for card in cards]), rows, now, tempo, parameters)
    columns = (view.p.tolist(), view.sd.tolist(), view.right.tolist(), view.seconds.tolist())
    return {card.id: Fluency(*told) for card, *told in zip(cards, *columns, strict=True)}


class Met:
    """The cards that a player has met, in that order: asked how they stand again and again while they become
    more."""

    def __init__(self, cards: Iterable[Card] = ()) -> None:
        self._features: dict[str, Features] = {}
        self._pool: Pool | None = None
        for card in cards:
            self.meet(card)

    def meet(self, card: Card) -> Features:
        """Be it new or not: what memory needs to know of a card."""
        known = self._features.get(card.id)
        if known is None:
            known = self._features[card.id] = features(card)
        return known

    def __iter__(self) -> Iterator[str]:
        """The ids."""
        return iter(self._features)

    def fluencies(self, rows: Mapping[str, Row], at: datetime, tempo: int, parameters: Parameters) -> list[float]:
        """The fluency of each card at an instant, in order."""
        before = self._pool or Pool.of(())
        new = list(self._features.values())[len(before.features) :]
        self._pool = before.extended(new) if new else before
        return list(_asked(self._pool, rows, at, tempo, parameters).p.tolist())


def _asked(pool: Pool, rows: Mapping[str, Row], now: datetime, tempo: int, parameters: Parameters) -> Forecast:
    allowed = allowed_seconds_at(tempo)
    limits = np.array([allowed(each.card_id) for each in pool.features])
    return forecast(pool, rows, now, limits, parameters)
