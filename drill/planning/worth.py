"""What a second spent on a card is worth: the price at which practising it now still pays.

Conventions. Every card is a gamble of its own: its hold and the days since its last practice say how
likely it is found (:func:`drill.memory.recall.retained`), each day may be spent practising it or not, and
a day on which it is found counts, the less the further off: by e in ``days``. If a second had a
price, practice would pay for some cards and not for others; the price at which a card just pays is
its *worth*, found once for a grid of states by value iteration. Practising whatever is worth most per
second is the index rule for such gambles. The unit of cost is a right answer's time; a wrong one,
whose answer is read, takes longer.

Counting every day from now on, and not only the last, is what keeps a plan for two weeks ahead
from putting everything off to the thirteenth day.

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
#: What a wrong answer costs beyond a right one, in right ones.
WRONG_COSTS = 1.6
ROUNDS = 70


@dataclass(frozen=True)
class Worth:
    """Tables of worth: ``practised`` by (carried, hold, days since), ``new`` by (carried, first hold)."""

    practised: Floats
    new: Floats

    def of_practised(self, carried: Floats, hold: Floats, since: Floats) -> Floats:
        """The worth of cards that were practised; ``carried`` is what their skills give them."""
        at, share = _between(carried)
        h, a = _nearest(np.log(HOLDS), np.log(hold)), _nearest(SINCE, since)
        return np.asarray((1.0 - share) * self.practised[at, h, a] + share * self.practised[at + 1, h, a])

    def of_new(self, carried: Floats, first_hold: Floats) -> Floats:
        """The worth of cards never practised."""
        at, share = _between(carried)
        h = _nearest(np.log(HOLDS), np.log(first_hold))
        return np.asarray((1.0 - share) * self.new[at, h] + share * self.new[at + 1, h])


def _between(carried: Floats) -> tuple[NDArray[np.int64], Floats]:
    place = np.interp(carried, CARRIED, np.arange(len(CARRIED)))
    at = np.minimum(place.astype(np.int64), len(CARRIED) - 2)
    return at, place - at


def _nearest(grid: Floats, x: Floats) -> NDArray[np.int64]:
    return np.rint(np.interp(x, grid, np.arange(len(grid)))).astype(np.int64)


def _weights(grid: Floats, x: Floats) -> tuple[NDArray[np.int64], Floats]:
    """Lower neighbour on the grid and the upper one's share."""
    place = np.interp(x, grid, np.arange(len(grid)))
    at = np.minimum(place.astype(np.int64), len(grid) - 2)
    return at, place - at


# A jam up to four weeks off has eighteen of them, one after the other.
@lru_cache(maxsize=32)
def worth(days: float, holding: Holding = START.holding) -> Worth:
    """The tables for a horizon that fades by e in ``days``."""
    keep = np.exp(-1.0 / days)
    x = SINCE[None, :] / HOLDS[:, None]
    found = (1.0 + x) ** -holding.exponent
    p = 1.0 - (1.0 - CARRIED[:, None, None]) * (1.0 - found)
    grown = HOLDS[:, None] * (1.0 + holding.growth * x / (1.0 + x / holding.most))
    logs = np.log(HOLDS)
    up, up_share = _weights(logs, np.log(grown))
    down, down_share = _weights(logs, np.log(HOLDS * holding.wrong))
    later, later_share = _weights(SINCE, SINCE + 1.0)
    cost = PRICES[:, None, None, None] * (1.0 + WRONG_COSTS * (1.0 - p))
    value = np.broadcast_to(p, cost.shape).copy()
    pays = np.zeros_like(value)
    for _ in range(ROUNDS):
        fresh = value[..., 0]
        right = (1.0 - up_share) * fresh[:, :, up] + up_share * fresh[:, :, up + 1]
        wrong = ((1.0 - down_share) * fresh[:, :, down] + down_share * fresh[:, :, down + 1])[..., None]
        practise = p * right + (1.0 - p) * wrong - cost
        wait = (1.0 - later_share) * value[..., later] + later_share * value[..., later + 1]
        pays = practise - wait
        value = (1.0 - keep) * p + keep * np.maximum(practise, wait)
    return Worth(_break_even(pays), _break_even(_first_practice(value[..., 0], logs, holding)))


def _first_practice(fresh: Floats, logs: Floats, holding: Holding) -> Floats:
    """What a first answer gains at every price, by (price, carried, first hold)."""
    known, share = _weights(logs, np.minimum(logs + np.log(holding.known), logs[-1]))
    right = (1.0 - share) * fresh[:, :, known] + share * fresh[:, :, known + 1]
    carried = CARRIED[None, :, None]
    cost = PRICES[:, None, None] * (1.0 + WRONG_COSTS * (1.0 - carried))
    return np.asarray(carried * right + (1.0 - carried) * fresh - cost - carried)


def _break_even(pays: Floats) -> Floats:
    """The price (first axis, rising) at which the gain passes zero; next to nothing below the grid."""
    last = np.clip((pays > 0.0).sum(axis=0) - 1, 0, len(PRICES) - 2)
    low = np.take_along_axis(pays, last[None], 0)[0]
    high = np.take_along_axis(pays, last[None] + 1, 0)[0]
    share = np.clip(low / np.maximum(low - high, 1e-12), 0.0, 1.0)
    price = PRICES[last] ** (1.0 - share) * PRICES[last + 1] ** share
    never = PRICES[0] * np.exp(np.minimum(50.0 * pays[0], 0.0))
    return np.asarray(np.where(pays[0] > 0.0, price, np.maximum(never, 1e-9) * 0.99))
