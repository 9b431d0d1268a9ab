"""Calibration: the model's predictions compared with the answers that followed.

Conventions. Predictions are sorted and cut into at most ten groups of equal size, none smaller than ``GROUP``. Chance
alone moves the share of 100 answers by up to 10 points, 19 times out of 20 (1.96 · √(¼ / 100)); a coarser group would
say nothing. Three such groups, low, middle and high, are enough to be shown. The error is the mean distance between
predicted and actual share of the groups, weighted by their answers (Naeini, Cooper & Hauskrecht, AAAI 2015).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from cards.asks import Message
from cards.messages import message

GROUP: Final = 100
FEWEST_GROUPS, MOST_GROUPS = 3, 10
ENOUGH: Final = FEWEST_GROUPS * GROUP
#: Half the width of a 95 % interval of the normal distribution, in standard deviations.
NINETEEN_OF_TWENTY: Final = 1.96

Predictions = Sequence[tuple[float, bool]]
"""The fluency predicted before an answer, and whether the answer was clean."""


@dataclass(frozen=True)
class Group:
    """A group of answers with similar predictions: their mean, the share that was clean, the number of answers."""

    predicted: float
    actual: float
    count: int

    @property
    def margin(self) -> float:
        """How far chance alone moves the share, 19 times out of 20."""
        return NINETEEN_OF_TWENTY * math.sqrt(self.predicted * (1.0 - self.predicted) / self.count)


def groups(predictions: Predictions) -> tuple[Group, ...]:
    """Return the groups, the lowest first; none if there are too few answers."""
    ordered = sorted(predictions)
    if len(ordered) < ENOUGH:
        return ()
    count = min(len(ordered) // GROUP, MOST_GROUPS)
    cuts = [round(len(ordered) * place / count) for place in range(count + 1)]
    return tuple(_group(ordered[low:high]) for low, high in pairwise(cuts))


def words(measured: Sequence[Group], answers: int) -> tuple[Message, ...]:
    """Say what the groups show; ``answers`` is the number of all answers."""
    if not measured:
        return (message("honest-few", count=answers, least=ENOUGH, groups=FEWEST_GROUPS, each=GROUP),)
    total = sum(group.count for group in measured)
    off = sum(abs(group.predicted - group.actual) * group.count for group in measured) / total
    extremes = (
        message("honest-group", said=round(100 * group.predicted), seen=round(100 * group.actual), count=group.count)
        for group in (measured[-1], measured[0])
    )
    return (*extremes, message("honest-off", off=round(100 * off), count=total))


def _group(part: Predictions) -> Group:
    return Group(sum(p for p, _ in part) / len(part), sum(clean for _, clean in part) / len(part), len(part))
