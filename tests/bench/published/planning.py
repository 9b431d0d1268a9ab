"""Published (and plain) ways to choose the next card, for many learners at once.

Conventions. A planner is asked for one card at a time, for the learners whose session still runs.
It reads a :class:`Seen`: what was asked and answered so far, arrays (L, C). Every planner gets new
cards in the same order, that of the music's path, and no card comes back within two minutes; the
rest is its own. Where a paper leaves a constant open it is named here, with how it was set.

Sources. Leitner, So lernt man lernen (1972): boxes, in days 1, 2, 4, 8, 16. Settles & Meeder, ACL
2016: half-life regression; a card is reviewed once P(recall) = 2^(−days/half-life) is at its
threshold. Tabibian et al., PNAS 2019 (Memorize): a card is reviewed at random with intensity
q^(−1/2) · (1 − m(t)), m(t) = exp(−n·days); n shrinks by (1 − α) when recalled and grows by (1 + β)
when not. Upadhyay et al., npj Sci. Learn. 2021 (Spaced Selection): a session's set is drawn with
probability falling with m(t).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from tests.bench.learners import Answers

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

DAY = 86_400.0
AGAIN = 120.0
NEVER = -1e12


@dataclass
class Seen:
    """What has been asked of whom. ``order`` ranks each learner's cards for their introduction."""

    order: Ints
    key: Ints
    last_at: Floats
    asked: Ints
    rights: Ints
    last_right: Bools

    @classmethod
    def nothing(cls, order: Ints, key: Ints) -> Seen:
        """Nobody has been asked anything."""
        shape = order.shape
        zeros = np.zeros(shape, dtype=np.int64)
        return cls(order, key, np.full(shape, NEVER), zeros, zeros.copy(), np.zeros(shape, dtype=bool))

    def note(self, who: Ints, card: Ints, at: Floats, right: Bools) -> None:
        """Append one answer of each learner in ``who``."""
        self.last_at[who, card] = at
        self.asked[who, card] += 1
        self.rights[who, card] += right
        self.last_right[who, card] = right


class Planner(Protocol):
    """Chooses cards; may keep arrays of its own."""

    def scores(self, seen: Seen, who: Ints, at: Floats, day: int) -> Floats:
        """(n, C): the card with the highest score is asked next."""

    def answered(self, seen: Seen, who: Ints, card: Ints, at: Floats, answers: Answers) -> None:
        """Called before the answer is noted in ``seen``."""


def _new(seen: Seen, who: Ints) -> Floats:
    """Scores in (0, 1] for new cards in their order; −inf for the others."""
    return np.where(seen.asked[who] == 0, 1.0 - seen.order[who] / seen.order.shape[1], -np.inf)


def _days(seen: Seen, who: Ints, at: Floats) -> Floats:
    return np.maximum(at[:, None] - seen.last_at[who], 0.0) / DAY


class Stateless:
    """A planner that needs to remember nothing of its own."""

    def answered(self, seen: Seen, who: Ints, card: Ints, at: Floats, answers: Answers) -> None:
        """Nothing to do."""


class Random(Stateless):
    """Any card that is switched on."""

    def __init__(self, rng: np.random.Generator) -> None:
        self.rng = rng

    def scores(self, seen: Seen, who: Ints, at: Floats, day: int) -> Floats:
        return self.rng.random((len(who), seen.order.shape[1]))


class OldestFirst(Stateless):
    """What was asked longest ago; never is longest."""

    def scores(self, seen: Seen, who: Ints, at: Floats, day: int) -> Floats:
        return _days(seen, who, at) - seen.order[who] * 1e-6


class BlockedByKey(Stateless):
    """One key a day, in the order of the music, what was asked longest ago first."""

    def scores(self, seen: Seen, who: Ints, at: Floats, day: int) -> Floats:
        todays = seen.key[who] == day % (seen.key.max() + 1)
        return _days(seen, who, at) - seen.order[who] * 1e-6 + np.where(todays, 1e9, 0.0)


class Leitner:
    """Boxes 1, 2, 4, 8, 16 days: up when right, back to the first when wrong; due, then new."""

    DAYS = np.array([0.5, 1.0, 2.0, 4.0, 8.0, 16.0])

    def __init__(self, shape: tuple[int, ...]) -> None:
        self.box = np.zeros(shape, dtype=np.int64)

    def scores(self, seen: Seen, who: Ints, at: Floats, day: int) -> Floats:
        # Half an hour's tolerance: what is due today is due at today's session.
        overdue = _days(seen, who, at) + 0.25 - self.DAYS[self.box[who]]
        due = (seen.asked[who] > 0) & (overdue >= 0.0)
        old = np.where(due, 20.0 - self.box[who] + np.minimum(overdue, 99.0) / 100.0, -1.0 + overdue * 1e-3)
        return np.where(seen.asked[who] > 0, old, _new(seen, who))

    def answered(self, seen: Seen, who: Ints, card: Ints, at: Floats, answers: Answers) -> None:
        self.box[who, card] = np.where(answers.right, np.minimum(self.box[who, card] + 1, 5), 1)


class HalfLifeThreshold(Stateless):
    """Review at a threshold of half-life regression's recall, the furthest below it first; else new."""

    def __init__(self, threshold: float, right: float, wrong: float, first: float) -> None:
        self.threshold, self.right, self.wrong, self.first = threshold, right, wrong, first

    def scores(self, seen: Seen, who: Ints, at: Floats, day: int) -> Floats:
        wrongs = seen.asked[who] - seen.rights[who]
        log_half_life = self.first + self.right * np.sqrt(seen.rights[who]) + self.wrong * np.sqrt(wrongs)
        recall = 2.0 ** (-_days(seen, who, at) / 2.0 ** np.clip(log_half_life, -8.0, 8.0))
        due = recall <= self.threshold
        old = np.where(due, 2.0 - recall, -recall)
        return np.where(seen.asked[who] > 0, old, _new(seen, who))


class _Forgetting:
    """Tabibian's memory model: m(t) = exp(−n·days)."""

    def __init__(self, shape: tuple[int, ...], first: float, alpha: float, beta: float) -> None:
        self.n = np.full(shape, first)
        self.alpha, self.beta = alpha, beta

    def recall(self, seen: Seen, who: Ints, at: Floats) -> Floats:
        return np.exp(-self.n[who] * _days(seen, who, at))

    def learn(self, who: Ints, card: Ints, right: Bools) -> None:
        factor = np.where(right, 1.0 - self.alpha, 1.0 + self.beta)
        self.n[who, card] = np.clip(self.n[who, card] * factor, 1e-3, 20.0)


class Memorize:
    """A review falls due at a random time, of intensity q^(−1/2)·(1 − m); the longest due first."""

    def __init__(
        self, shape: tuple[int, ...], rng: np.random.Generator, q: float, first: float, alpha: float, beta: float
    ) -> None:
        self.memory = _Forgetting(shape, first, alpha, beta)
        self.rng, self.intensity = rng, q**-0.5
        self.due = np.full(shape, np.inf)

    def scores(self, seen: Seen, who: Ints, at: Floats, day: int) -> Floats:
        late = at[:, None] - self.due[who]
        old = np.where(late >= 0.0, 2.0 + late / (1e3 * DAY), late / (1e6 * DAY))
        return np.where(seen.asked[who] > 0, old, _new(seen, who))

    def answered(self, seen: Seen, who: Ints, card: Ints, at: Floats, answers: Answers) -> None:
        self.memory.learn(who, card, answers.right)
        self.due[who, card] = at + DAY * self._wait(self.memory.n[who, card])

    def _wait(self, n: Floats) -> Floats:
        """Days to the next review by thinning (their algorithm 1), at most 60."""
        days = np.zeros(len(n))
        running = np.ones(len(n), dtype=bool)
        while running.any():
            days = np.where(running, days + self.rng.exponential(1.0 / self.intensity, len(n)), days)
            taken = self.rng.random(len(n)) < 1.0 - np.exp(-n * days)
            running &= ~taken & (days < 60.0)
        return days


class SpacedSelection:
    """A session's set drawn with probability ∝ 1 − m(t); new cards take their share of the draws."""

    def __init__(
        self, shape: tuple[int, ...], rng: np.random.Generator, share: float, first: float, alpha: float, beta: float
    ) -> None:
        self.memory = _Forgetting(shape, first, alpha, beta)
        self.rng, self.share = rng, share

    def scores(self, seen: Seen, who: Ints, at: Floats, day: int) -> Floats:
        old = seen.asked[who] > 0
        weight = np.where(old, 1.0 - self.memory.recall(seen, who, at), 0.0)
        # The next new card weighs as much as ``share`` wholly forgotten ones.
        first_new = np.argmax(_new(seen, who), axis=1)
        n = np.arange(len(who))
        weight[n, first_new] = np.where(old[n, first_new], weight[n, first_new], self.share)
        # The largest of u^(1/w) is a draw in proportion to w (Efraimidis & Spirakis 2006).
        with np.errstate(divide="ignore"):
            return np.log(self.rng.random(weight.shape)) / np.maximum(weight, 1e-9)

    def answered(self, seen: Seen, who: Ints, card: Ints, at: Floats, answers: Answers) -> None:
        self.memory.learn(who, card, answers.right)
