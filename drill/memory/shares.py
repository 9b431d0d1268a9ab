"""Intervals of shares: where a share lies, nine times out of ten."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

#: The part of its cards' variance that is common to them.
COMMON: Final = 0.25


#: How many deviations to either side hold nine of ten truths.
NINE_OF_TEN: Final = 1.645


def interval(p: float, sd: float) -> tuple[float, float]:
    """Where a share lies, nine times out of ten.

    >>> interval(0.9, 0.1)[1]
    1.0
    """
    return max(p - NINE_OF_TEN * sd, 0.0), min(p + NINE_OF_TEN * sd, 1.0)


def together(sds: Sequence[float]) -> float:
    """The deviation of a mean of cards with these deviations.

    >>> together([0.2]), round(together([0.2] * 12), 3)
    (0.2, 0.112)
    """
    mean = sum(sds) / len(sds)
    return mean * math.sqrt(COMMON + (1.0 - COMMON) / len(sds))
