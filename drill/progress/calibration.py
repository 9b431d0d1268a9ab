"""Whether the model is honest: what it said before each answer against what came of it.

Conventions. Predictions are sorted and cut into groups of equal size, ten at most, none smaller than
``GROUP``: the share of 100 answers is moved by chance alone by up to 10 points, 19 times out of 20
(1.96 · √(¼ / 100)), which is as coarse as it can be and still say something. Three such groups, low, middle
and high, are enough to be shown. The error is the groups' mean distance between said and seen, weighed by their
answers (Naeini, Cooper & Hauskrecht, AAAI 2015).
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
#: How many deviations to either side hold 19 of 20 truths.
NINETEEN_OF_TWENTY: Final = 1.96

Predictions = Sequence[tuple[float, bool]]
"""The fluency said before an answer, and whether it was clean."""


@dataclass(frozen=True)
class Group:
    """Answers for which much the same was said: the mean of it, the share that was clean, how many."""

    said: float
    seen: float
    count: int

    @property
    def margin(self) -> float:
        """How far chance alone moves the share, 19 times out of 20."""
        return NINETEEN_OF_TWENTY * math.sqrt(self.said * (1.0 - self.said) / self.count)


def groups(predictions: Predictions) -> tuple[Group, ...]:
    """The groups, lowest first; none while there are too few answers."""
    ordered = sorted(predictions)
    if len(ordered) < ENOUGH:
        return ()
    count = min(len(ordered) // GROUP, MOST_GROUPS)
    cuts = [round(len(ordered) * place / count) for place in range(count + 1)]
    return tuple(_group(ordered[low:high]) for low, high in pairwise(cuts))


def words(found: Sequence[Group], answers: int) -> tuple[Message, ...]:
    """What the groups say, of so many answers."""
    if not found:
        return (message("honest-few", count=answers, least=ENOUGH, groups=FEWEST_GROUPS, each=GROUP),)
    total = sum(each.count for each in found)
    off = sum(abs(each.said - each.seen) * each.count for each in found) / total
    told = (
        message("honest-group", said=round(100 * each.said), seen=round(100 * each.seen), count=each.count)
        for each in (found[-1], found[0])
    )
    return (*told, message("honest-off", off=round(100 * off), count=total))


def _group(part: Predictions) -> Group:
    return Group(sum(p for p, _ in part) / len(part), sum(clean for _, clean in part) / len(part), len(part))
