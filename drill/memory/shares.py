"""The interval that holds a share nine times out of ten."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

#: The share of the cards' variance that is common to them.
COMMON: Final = 0.25


#: The standard deviations to either side that hold nine true values of ten.
NINE_OF_TEN: Final = 1.645


def interval(p: float, sd: float) -> tuple[float, float]:
    """Return the interval that holds a share nine times out of ten.

    >>> interval(0.9, 0.1)[1]
    1.0
    """
    return max(p - NINE_OF_TEN * sd, 0.0), min(p + NINE_OF_TEN * sd, 1.0)


def sd_of_mean(sds: Sequence[float]) -> float:
    """Return the standard deviation of the mean of several cards, from the standard deviation of each.

    >>> sd_of_mean([0.2]), round(sd_of_mean([0.2] * 12), 3)
    (0.2, 0.112)
    """
    mean = sum(sds) / len(sds)
    return mean * math.sqrt(COMMON + (1.0 - COMMON) / len(sds))
