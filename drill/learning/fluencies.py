"""The fluency of many cards at once, from a player's memory.

Conventions. All figures on pages come from the recall model through this module. Fluencies are at the player's
tempo, with each answer entered in the way in which its ask is usually answered.
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


def fluencies_of(
    rows: Mapping[str, Row], cards: Collection[Card], now: datetime, tempo: int, parameters: Parameters = START
) -> dict[str, Fluency]:
    """Return the player's fluency of each card, by id."""
    cards = list(cards)
    if not cards:
        return {}
    view = _forecast_at_tempo(Pool.of([features(card) for card in cards]), rows, now, tempo, parameters)
    columns = (view.p.tolist(), view.sd.tolist(), view.right.tolist(), view.seconds.tolist())
    return {card.id: Fluency(*figures) for card, *figures in zip(cards, *columns, strict=True)}


class MetCards:
    """The cards that a player has met, in that order.

    :meth:`MetCards.fluencies` is called repeatedly as cards are added, so their pool is kept and extended.
    """

    def __init__(self, cards: Iterable[Card] = ()) -> None:
        self._features: dict[str, Features] = {}
        self._pool: Pool | None = None
        for card in cards:
            self.add(card)

    def add(self, card: Card) -> Features:
        """Add a card if it is new, and return what memory needs to know of it."""
        known = self._features.get(card.id)
        if known is None:
            known = self._features[card.id] = features(card)
        return known

    def __iter__(self) -> Iterator[str]:
        """The ids of the cards."""
        return iter(self._features)

    def fluencies(self, rows: Mapping[str, Row], at: datetime, tempo: int, parameters: Parameters) -> list[float]:
        """Return the fluency of each card at an instant, in the order in which they were met."""
        before = self._pool or Pool.of(())
        new = list(self._features.values())[len(before.features) :]
        self._pool = before.extended(new) if new else before
        return list(_forecast_at_tempo(self._pool, rows, at, tempo, parameters).p.tolist())


def _forecast_at_tempo(
    pool: Pool, rows: Mapping[str, Row], now: datetime, tempo: int, parameters: Parameters
) -> Forecast:
    allowed = allowed_seconds_at(tempo)
    limits = np.array([allowed(card.card_id) for card in pool.features])
    return forecast(pool, rows, now, limits, parameters)
