"""The cards that a plan may choose from, as columns.

Conventions. :class:`Cards` holds what planning needs to know of many cards, whoever the player is. Every array
has one number per card, sorted by id. Codes (of a kind, an ask, a spot) are only comparable among the cards of
one :class:`Catalogue`. A catalogue computes each card once and then selects cards by number. It only grows, and
all players share it. :class:`Candidates` adds the last answer to each card.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cache
from threading import Lock

import numpy as np
from numpy.typing import NDArray

from drill.memory.batch import Bools, Ints, Pool
from drill.memory.columns import Instants
from drill.planning.entry import Entry
from drill.planning.repertoire import entry

#: The first parts of a path, which make up its step: mode, box, kind, group of degrees, full barres.
STEP = 5
#: Every part of a path is below _PART, every box and degree is below _DIGIT.
_PART, _DIGIT = 1000, 10

Last = tuple[datetime | str, str]
"""When a card was answered last, in UTC without a zone, and the outcome."""
_NEVER: Last = ("1970-01-01", "")


def spot(kind: int, box: int | None, degree: int) -> int:
    """Return the code of a degree in a box (None: no box) for a kind of card."""
    return (kind * _DIGIT + (box or 0)) * _DIGIT + degree


@dataclass(frozen=True)
class Cards:
    """Cards as columns.

    ``kinds`` and ``asks`` are what the codes in ``kind`` (key and ask) and ``ask`` stand for. A ``spot`` is a
    kind, box and degree. ``step`` grows along the path.
    """

    ids: tuple[str, ...]
    entries: tuple[Entry, ...]
    pool: Pool
    kinds: tuple[tuple[str, str], ...]
    asks: tuple[str, ...]
    kind: Ints
    ask: Ints
    spot: Ints
    step: Ints

    @classmethod
    def of(cls, entries: Iterable[Entry]) -> Cards:
        """Return the columns of these cards."""
        return _NOTHING.extended(sorted(entries, key=lambda entry: entry.features.card_id))

    def extended(self, entries: Sequence[Entry]) -> Cards:
        """Return these cards followed by more, in the order given."""
        features = [entry.features for entry in entries]
        kinds = {kind: code for code, kind in enumerate(self.kinds)}
        asks = {ask: code for code, ask in enumerate(self.asks)}
        kind = [kinds.setdefault((entry.key, entry.features.ask), len(kinds)) for entry in entries]
        ask = [asks.setdefault(card.ask, len(asks)) for card in features]
        spots = [spot(code, entry.box, entry.degree) for code, entry in zip(kind, entries, strict=True)]
        steps = [sum(part * _PART ** (STEP - n) for n, part in enumerate(entry.path[:STEP])) for entry in entries]
        return Cards(
            self.ids + tuple(card.card_id for card in features),
            (*self.entries, *entries),
            self.pool.extended(features),
            tuple(kinds),
            tuple(asks),
            _append(self.kind, kind),
            _append(self.ask, ask),
            _append(self.spot, spots),
            _append(self.step, steps),
        )

    def take(self, numbers: Ints) -> Cards:
        """Return the cards with these numbers, in this order."""
        places = numbers.tolist()
        return Cards(
            tuple(map(self.ids.__getitem__, places)),
            tuple(map(self.entries.__getitem__, places)),
            self.pool.take(numbers),
            self.kinds,
            self.asks,
            self.kind[numbers],
            self.ask[numbers],
            self.spot[numbers],
            self.step[numbers],
        )


def _append(column: Ints, more: Sequence[int]) -> Ints:
    return np.concatenate([column, np.array(more, dtype=np.int64)])


_EMPTY = np.zeros(0, dtype=np.int64)
_NOTHING = Cards((), (), Pool.of(()), (), (), _EMPTY, _EMPTY, _EMPTY, _EMPTY)


@dataclass
class Catalogue:
    """The cards that have been candidates so far. ``entry`` computes the entry of a card from its id."""

    entry: Callable[[str], Entry]
    _cards: Cards = _NOTHING
    _number: dict[str, int] = field(default_factory=dict)
    _growing: Lock = field(default_factory=Lock)

    def cards(self, ids: Iterable[str]) -> Cards:
        """Return the columns of these cards."""
        ids = sorted(ids)
        unknown = [card_id for card_id in ids if card_id not in self._number]
        if unknown:
            self._add({card_id: self.entry(card_id) for card_id in unknown})
        numbers = np.fromiter(map(self._number.__getitem__, ids), np.int64, len(ids))
        return self._cards.take(numbers)

    def _add(self, entries: Mapping[str, Entry]) -> None:
        with self._growing:
            new = {card_id: entry for card_id, entry in entries.items() if card_id not in self._number}
            first = len(self._cards.ids)
            # The cards come first, so that a thread that sees a number also sees its card.
            self._cards = self._cards.extended(list(new.values()))
            self._number.update((card_id, first + n) for n, card_id in enumerate(new))


@cache
def catalogue() -> Catalogue:
    """Return the catalogue of this process."""
    return Catalogue(entry)


@dataclass(frozen=True)
class Candidates:
    """Cards that a player has switched on.

    ``outcome`` is that of the last answer. A new card has an empty outcome, and its ``last_at`` means nothing.
    """

    cards: Cards
    outcome: NDArray[np.str_]
    last_at: Instants

    @classmethod
    def of(cls, cards: Cards, last: Mapping[str, Last]) -> Candidates:
        """Return these cards as candidates. ``last`` has the last answer, by id, of those that were answered."""
        last_answers = [last.get(card_id, _NEVER) for card_id in cards.ids]
        at, outcomes = zip(*last_answers, strict=True) if last_answers else ((), ())
        return cls(cards, np.array(outcomes, dtype="U8"), np.array(at, dtype="datetime64[us]"))

    def after(self, answers: Mapping[str, Last]) -> Candidates:
        """Return the candidates as they are after these answers, by card id."""
        outcome, last_at = self.outcome.copy(), self.last_at.copy()
        for card_id, (at, result) in answers.items():
            n = bisect_left(self.cards.ids, card_id)
            outcome[n], last_at[n] = result, np.datetime64(at, "us")
        return Candidates(self.cards, outcome, last_at)

    def take(self, numbers: Ints) -> Candidates:
        """Return the candidates with these numbers, in ascending order."""
        return Candidates(self.cards.take(numbers), self.outcome[numbers], self.last_at[numbers])

    def __len__(self) -> int:
        """The number of cards."""
        return len(self.cards.ids)

    @property
    def seen(self) -> Bools:
        """Which cards were answered before."""
        return np.asarray(self.outcome != "")

    @property
    def settled(self) -> Bools:
        """Which cards were right the last time."""
        return np.asarray((self.outcome == "clean") | (self.outcome == "late"))

    def among(self, ids: Collection[str]) -> Bools:
        """Return which cards have one of these ids."""
        return np.array([card_id in ids for card_id in self.cards.ids], dtype=bool)

    def days_since(self, n: int, now: datetime) -> float:
        """Return the days between the last answer to card ``n`` and ``now`` (in UTC without a zone)."""
        return float((np.datetime64(now, "us") - self.last_at[n]) / np.timedelta64(1, "D"))
