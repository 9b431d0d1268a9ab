"""What a plan is aimed at: the cards that a jam calls for, with their weights."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from cards.asks import Card


@dataclass(frozen=True)
class Goal:
    """What sessions are weighted to: a jam's cards with their weights, the keys of its tunes, and by card
    the tune that needs it most."""

    cards: tuple[Card, ...]
    keys: tuple[str, ...]
    weights: Mapping[str, float]
    titles: Mapping[str, str]

    def first(self, keys: Sequence[str]) -> tuple[str, ...]:
        """These keys behind those of the tunes."""
        return tuple(dict.fromkeys((*self.keys, *keys)))


NO_GOAL: Final = Goal((), (), {}, {})
