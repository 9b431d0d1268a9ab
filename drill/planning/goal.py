"""The goal of a plan: the cards that a jam calls for, with their weights."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from cards.asks import Card


@dataclass(frozen=True)
class Goal:
    """What a session is aimed at.

    cards    the cards that the jam calls for
    keys     the keys of its tunes
    weights  by card id, how many times as much as others a card counts
    titles   by card id, the title of the tune that needs the card most
    """

    cards: tuple[Card, ...]
    keys: tuple[str, ...]
    weights: Mapping[str, float]
    titles: Mapping[str, str]

    def prepend_keys(self, keys: Sequence[str]) -> tuple[str, ...]:
        """Return the keys of the tunes followed by the other ``keys``."""
        return tuple(dict.fromkeys((*self.keys, *keys)))


NO_GOAL: Final = Goal((), (), {}, {})
