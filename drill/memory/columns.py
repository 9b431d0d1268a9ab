"""Memory rows as columns: what a forecast reads of thousands of them.

Conventions. Columns hold the fields of :class:`drill.memory.rows.Row` by row of memory; the last row is all
zeros and stands for whatever memory does not know. Instants are numpy's, in UTC, to the microsecond.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import repeat
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drill.memory.rows import Row

Floats = NDArray[np.float64]
Instants = NDArray[np.datetime64]

#: What :meth:`Traces.of_names` gives, by row; ``SEEN`` is 1 where memory has a row.
SEEN, SINCE, MEAN, SPEED, GOOD, BAD, RECENTLY_GOOD, RECENTLY_BAD, LAST, HOLD = 0, 1, 2, 4, 6, 7, 8, 9, 10, 11


@dataclass(frozen=True)
class Traces:
    """A player's memory. ``place`` is each row's by its name; ``values`` are (12, rows + 1)."""

    place: Mapping[str, int]
    at: Instants
    values: Floats

    @classmethod
    def of(cls, rows: Iterable[Row]) -> Traces:
        """The traces that these rows are."""
        return cls.read([*zip(*((row.name, plain(row.at), *row[2:]) for row in rows), strict=True)])

    @classmethod
    def read(cls, columns: Sequence[Sequence[Any]]) -> Traces:
        """The traces of memory as the store has it: a sequence for each field, instants in UTC and plain."""
        names, at, *numbers = columns or [()] * len(Row._fields)
        values = np.zeros((2 + len(numbers), len(names) + 1))
        values[SEEN, :-1] = 1.0
        values[MEAN:, :-1] = numbers
        return cls(
            {name: place for place, name in enumerate(names)}, np.array([*at, "1970-01-01"], "datetime64[us]"), values
        )

    def of_names(self, names: Sequence[str], now: datetime) -> Floats:
        """Columns (12, names), zeros where memory has no row; ``SINCE`` is seconds."""
        places = np.fromiter(map(self.place.get, names, repeat(-1)), np.int64, len(names))
        columns = self.values[:, places]
        since = (np.datetime64(plain(now), "us") - self.at[places]) / np.timedelta64(1, "s")
        columns[SINCE] = columns[SEEN] * np.maximum(since, 0.0)
        return columns

    def get(self, name: str, field: int) -> float | None:
        """One number of a row; None where memory has none."""
        place = self.place.get(name)
        return None if place is None else float(self.values[field, place])


def plain(instant: datetime) -> datetime:
    """An instant as numpy takes it: in UTC, without its zone."""
    return instant.astimezone(UTC).replace(tzinfo=None)
