"""Memory rows as columns, since a forecast reads thousands of them.

Conventions. The columns are the fields of :class:`drill.memory.rows.Row`, with one entry for each row of
memory. The last entry is all zeros and stands for every row that memory does not have. Instants are numpy's, in
UTC, to the microsecond.
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

#: Where each column is in the array that :meth:`Traces.of_names` returns. ``SEEN`` is 1 where memory has a row.
SEEN, SINCE, MEAN, SPEED, GOOD, BAD, RECENTLY_GOOD, RECENTLY_BAD, LAST, HOLD = 0, 1, 2, 4, 6, 7, 8, 9, 10, 11


@dataclass(frozen=True)
class Traces:
    """A player's memory as arrays. ``place`` gives the index of each row by its name. ``values`` has the shape
    (12, rows + 1)."""

    place: Mapping[str, int]
    at: Instants
    values: Floats

    @classmethod
    def of(cls, rows: Iterable[Row]) -> Traces:
        """Return the traces of these rows."""
        return cls.read([*zip(*((row.name, naive_utc(row.at), *row[2:]) for row in rows), strict=True)])

    @classmethod
    def read(cls, columns: Sequence[Sequence[Any]]) -> Traces:
        """Return the traces of memory as the store reads it: one sequence per field, instants in UTC without a
        zone."""
        names, at, *numbers = columns or [()] * len(Row._fields)
        values = np.zeros((2 + len(numbers), len(names) + 1))
        values[SEEN, :-1] = 1.0
        values[MEAN:, :-1] = numbers
        return cls(
            {name: place for place, name in enumerate(names)}, np.array([*at, "1970-01-01"], "datetime64[us]"), values
        )

    def of_names(self, names: Sequence[str], now: datetime) -> Floats:
        """Return the columns of these rows, (12, names). They are zeros where memory has no row. ``SINCE`` is
        in seconds."""
        places = np.fromiter(map(self.place.get, names, repeat(-1)), np.int64, len(names))
        columns = self.values[:, places]
        since = (np.datetime64(naive_utc(now), "us") - self.at[places]) / np.timedelta64(1, "s")
        columns[SINCE] = columns[SEEN] * np.maximum(since, 0.0)
        return columns

    def get(self, name: str, field: int) -> float | None:
        """Return one number of a row, or None if memory has no such row."""
        place = self.place.get(name)
        return None if place is None else float(self.values[field, place])


def naive_utc(instant: datetime) -> datetime:
    """Return an instant as numpy takes it: in UTC, without its zone."""
    return instant.astimezone(UTC).replace(tzinfo=None)
