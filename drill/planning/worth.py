"""What a second spent on a card is worth: the price at which practising it now just pays.

Conventions. Every card is a gamble of its own. Its hold and the days since its last practice say how likely it
is known (:func:`drill.memory.recall.retained`). On each day it may be practised or not. A day on which it is
known counts, and counts less the further off it is: by e in ``days``. If a second had a price, practice would
pay for some cards and not for others. The price at which practising a card just pays is its *worth*. It is
computed once for a grid of states, by value iteration. Practising whatever is worth most per second is the
index rule for such gambles. The unit of cost is the time of a right answer; a wrong one takes longer, because
the player reads the answer.

All days from now on count, not only the last. So a plan for two weeks ahead does not put everything off to the
thirteenth day.

Source. Whittle, Restless bandits, J. Appl. Probab. 25A (1988).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from drill.memory.parameters import START, Holding

Floats = NDArray[np.float64]

HOLDS = np.geomspace(0.05, 400.0, 28)
SINCE = np.array([*range(1, 15), *range(16, 31, 2), *range(35, 91, 5)], dtype=float)
CARRIED = np.array([0.0, 0.15, 0.3, 0.5, 0.7, 0.9])
PRICES = np.geomspace(0.003, 3.0, 18)
#: What a wrong answer costs more than a right one, in right answers.
WRONG_COSTS = 1.6
ROUNDS = 70


@dataclass(frozen=True)
class Worth:
    """Tables of worth: ``practised`` by (carried, hold, days since), ``new`` by (carried, first hold)."""

    practised: Floats
    new: Floats

    def of_practised(self, carried: Floats, hold: Floats, since: Floats) -> Floats:
        """Return the worth of cards that were practised. ``carried`` is what their skills carry over to them."""
        at, share = _interpolate(CARRIED, carried)
        h, a = _nearest(np.log(HOLDS), np.log(hold)), _nearest(SINCE, since)
        return np.asarray((1.0 - share) * self.practised[at, h, a] + share * self.practised[at + 1, h, a])

    def of_new(self, carried: Floats, first_hold: Floats) -> Floats:
        """Return the worth of cards that were never practised."""
        at, share = _interpolate(CARRIED, carried)
        h = _nearest(np.log(HOLDS), np.log(first_hold))
        return np.asarray((1.0 - share) * self.new[at, h] + share * self.new[at + 1, h])


def _nearest(grid: Floats, x: Floats) -> NDArray[np.int64]:
    """Return the index of the nearest value on the grid."""
    return np.rint(np.interp(x, grid, np.arange(len(grid)))).astype(np.int64)


def _interpolate(grid: Floats, x: Floats) -> tuple[NDArray[np.int64], Floats]:
    """Return the index of the next lower value on the grid, and the share of the next higher one."""
    place = np.interp(x, grid, np.arange(len(grid)))
    at = np.minimum(place.astype(np.int64), len(grid) - 2)
    return at, place - at


# The cache holds the eighteen horizons that the four weeks before a jam need.
@lru_cache(maxsize=32)
def worth(days: float, holding: Holding = START.holding) -> Worth:
    """Return the tables for a horizon over which the value of a day falls by e in ``days``."""
    keep = np.exp(-1.0 / days)
    x = SINCE[None, :] / HOLDS[:, None]
    retained = (1.0 + x) ** -holding.exponent
    chance_known = 1.0 - (1.0 - CARRIED[:, None, None]) * (1.0 - retained)
    grown = HOLDS[:, None] * (1.0 + holding.growth * x / (1.0 + x / holding.most))
    logs = np.log(HOLDS)
    up, up_share = _interpolate(logs, np.log(grown))
    down, down_share = _interpolate(logs, np.log(HOLDS * holding.wrong))
    later, later_share = _interpolate(SINCE, SINCE + 1.0)
    cost = PRICES[:, None, None, None] * (1.0 + WRONG_COSTS * (1.0 - chance_known))
    value = np.broadcast_to(chance_known, cost.shape).copy()
    pays = np.zeros_like(value)
    for _ in range(ROUNDS):
        fresh = value[..., 0]
        right = (1.0 - up_share) * fresh[:, :, up] + up_share * fresh[:, :, up + 1]
        wrong = ((1.0 - down_share) * fresh[:, :, down] + down_share * fresh[:, :, down + 1])[..., None]
        practise = chance_known * right + (1.0 - chance_known) * wrong - cost
        wait = (1.0 - later_share) * value[..., later] + later_share * value[..., later + 1]
        pays = practise - wait
        value = (1.0 - keep) * chance_known + keep * np.maximum(practise, wait)
    return Worth(_break_even(pays), _break_even(_first_practice(value[..., 0], logs, holding)))


def _first_practice(fresh: Floats, logs: Floats, holding: Holding) -> Floats:
    """Return what a first answer gains at every price, by (price, carried, first hold)."""
    known, share = _interpolate(logs, np.minimum(logs + np.log(holding.known), logs[-1]))
    right = (1.0 - share) * fresh[:, :, known] + share * fresh[:, :, known + 1]
    carried = CARRIED[None, :, None]
    cost = PRICES[:, None, None] * (1.0 + WRONG_COSTS * (1.0 - carried))
    return np.asarray(carried * right + (1.0 - carried) * fresh - cost - carried)


def _break_even(pays: Floats) -> Floats:
    """Return the price at which the gain passes zero. Prices rise along the first axis of ``pays``.

    If practice does not pay even at the lowest price of the grid, the result is next to nothing.
    """
    last = np.clip((pays > 0.0).sum(axis=0) - 1, 0, len(PRICES) - 2)
    low = np.take_along_axis(pays, last[None], 0)[0]
    high = np.take_along_axis(pays, last[None] + 1, 0)[0]
    share = np.clip(low / np.maximum(low - high, 1e-12), 0.0, 1.0)
    price = PRICES[last] ** (1.0 - share) * PRICES[last + 1] ** share
    never = PRICES[0] * np.exp(np.minimum(50.0 * pays[0], 0.0))
    return np.asarray(np.where(pays[0] > 0.0, price, np.maximum(never, 1e-9) * 0.99))
