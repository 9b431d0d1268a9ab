"""Simulated learners, none of them built like the product's own model.

Conventions. A *world* is L learners who each drill C cards; every array's first axis is the learner.
What is known of a card is a *trace*, and so is what is known of each *hidden group* of cards; a
practised card practises its own trace and those of its two groups. With transfer t,

    P(knows) = 1 − (1 − R_card) · (1 − t · √(R_group1 · R_group2)),

so that a card never seen is known with at most t, when both halves of it are. The groups are not the
product's skills: the first joins pairs of (key, degree) at random, the second pairs of (kind of
answer, shape); the boxes, which the product takes for a skill, carry nothing.

An answer is right if it is known and does not slip, or by a guess. Its seconds are thinking (the
weaker the trace, the longer) and tapping, each learner at their own speed. *Truly clean* is P(knows)
times P(in time), with no slip and no guess. Instants are seconds since the first session.

Families, and where their forms and values come from:

* :class:`Activation`: Pavlik & Anderson, Cogn. Sci. 29 (2005): activation with decay that depends on
  the activation at practice, a = .177, c = .217, τ = −.704, s = .255, time between sessions counted
  .025-fold; latency F·e^(−activation).
* :class:`TwoStrengths`: storage and retrieval strength after Bjork & Bjork (1992): storage never
  falls, and grows the more the less retrievable the card was; retrieval falls by Wickelgren's (1974)
  power law, (1 + days/storage)^−ψ. The values (ψ = .8, first storage .3 days) are ours, put where a
  card once learnt is found one day later in three.
* :class:`Contexts`: multiscale context, Mozer, Pashler, Cepeda, Lindsey & Vul (NIPS 2009): pools of
  leaky integrators, time constants spaced by a factor (theirs were fitted to each experiment; ours
  run from a minute and a half to 100 days), error-correcting updates, learning 9-fold on success.

Speeds, slips (2–8 %) and guesses (one in ten of the seven names, one in fifty placings) vary over
learners; they are our estimates. A share of a world's cards is known from the start.
"""

from __future__ import annotations

from copy import copy, deepcopy
from dataclasses import dataclass
from functools import cache
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from cards.asks import Card, difficulty, universe
from cards.theory.keys import MAJOR_KEYS

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

DAY = 86_400.0
#: Sessions begin on the half hour.
SESSIONS_BEGIN = 1_800.0
BAR = 3.0
#: Seconds to tap or press an answer, and what the clock allows for it.
TAPPING = {"name": 2.0, "place": 4.5, "name-place": 6.0, "number": 1.5, "hands-on": 1.0}
ALLOWANCE = {ask: 1.25 * seconds for ask, seconds in TAPPING.items()}
GUESSES = {"name": 0.1, "place": 0.02, "name-place": 0.01, "number": 0.12, "hands-on": 0.02}
#: Seconds of looking at the answer, at the average speed.
LOOK_RIGHT, LOOK_WRONG = 2.0, 6.5
#: Seconds of thinking where nothing comes, the deviation of ln(seconds), and the longest anyone tries.
GUESSING, UNEVEN, GIVES_UP = 4.0, 0.35, 30.0


class Traces(Protocol):
    """How one family keeps and loses what is practised: traces ``idx`` (n, k) of learners ``who`` (n,)."""

    def retrievable(self, who: Ints, idx: Ints, at: Floats) -> Floats:
        """P(recall) of the traces at instants (n,)."""

    def practise(self, who: Ints, idx: Ints, at: Floats, right: Bools) -> None:
        """Practise the traces at instants (n,)."""

    def thinking(self, knows: Floats) -> Floats:
        """Median seconds of thinking, at the average speed, for a P(knows)."""


def _offsets(rng: np.random.Generator, learners: int, head_start: Floats, traces: int) -> Floats:
    """Ease of every trace for every learner: what the card's music says, and as much that it does not."""
    known = np.zeros((learners, traces))
    known[:, : head_start.shape[1]] = 0.6 * head_start
    return known + rng.normal(0.0, 0.35, (learners, 1)) + rng.normal(0.0, 0.6, (learners, traces))


class Activation:
    """ACT-R activation with spacing-dependent decay (Pavlik & Anderson 2005)."""

    A, C, THRESHOLD, S, BETWEEN = 0.177, 0.217, -0.704, 0.255, 0.025
    KEPT = 64

    def __init__(self, rng: np.random.Generator, learners: int, head_start: Floats, traces: int) -> None:
        self.head_start = 0.4 * _offsets(rng, learners, head_start, traces)
        self.decay = self.A + rng.normal(0.0, 0.015, learners)
        self.when = np.zeros((learners, traces, self.KEPT))
        self.d = np.zeros((learners, traces, self.KEPT))
        self.n = np.zeros((learners, traces), dtype=np.int64)

    def _clock(self, at: Floats) -> Floats:
        """Seconds as memory counts them: a session's own in full, the time between little."""
        session = np.floor(at / SESSIONS_BEGIN) * SESSIONS_BEGIN
        return session * self.BETWEEN + (at - session)

    def _activation(self, who: Ints, idx: Ints, at: Floats) -> Floats:
        when, d = self.when[who[:, None], idx], self.d[who[:, None], idx]
        age = np.maximum(self._clock(at)[:, None, None] - when, 1.0)
        used = np.arange(self.KEPT) < self.n[who[:, None], idx][..., None]
        total = np.where(used, age**-d, 0.0).sum(axis=2)
        return np.asarray(np.log(np.maximum(total, 1e-9)))

    def retrievable(self, who: Ints, idx: Ints, at: Floats) -> Floats:
        m = self._activation(who, idx, at) + self.head_start[who[:, None], idx]
        return 1.0 / (1.0 + np.exp(np.clip((self.THRESHOLD - m) / self.S, -40, 40)))

    def practise(self, who: Ints, idx: Ints, at: Floats, right: Bools) -> None:
        m = self._activation(who, idx, at)
        slot = self.n[who[:, None], idx] % self.KEPT
        self.when[who[:, None], idx, slot] = self._clock(at)[:, None]
        self.d[who[:, None], idx, slot] = self.decay[who][:, None] + self.C * np.exp(np.minimum(m, 2.0))
        self.n[who[:, None], idx] += 1

    def thinking(self, knows: Floats) -> Floats:
        p = np.clip(knows, 1e-3, 1.0 - 1e-3)
        return 1.1 * np.exp(-(self.THRESHOLD + self.S * np.log(p / (1.0 - p))))


class TwoStrengths:
    """Storage and retrieval strength (Bjork & Bjork 1992), power forgetting (Wickelgren 1974)."""

    FIRST, PSI, GROWTH, RESTUDY = 0.3, 0.8, 2.5, 1.0

    def __init__(self, rng: np.random.Generator, learners: int, head_start: Floats, traces: int) -> None:
        self.first = self.FIRST * np.exp(_offsets(rng, learners, head_start, traces))
        self.storage = np.zeros((learners, traces))
        self.last = np.zeros((learners, traces))

    def retrievable(self, who: Ints, idx: Ints, at: Floats) -> Floats:
        storage = self.storage[who[:, None], idx]
        days = (at[:, None] - self.last[who[:, None], idx]) / DAY
        falls = (1.0 + np.maximum(days, 0.0) / np.maximum(storage, 1e-9)) ** -self.PSI
        return np.where(storage > 0.0, falls, 0.0)

    def practise(self, who: Ints, idx: Ints, at: Floats, right: Bools) -> None:
        lost = 1.0 - self.retrievable(who, idx, at)
        storage, first = self.storage[who[:, None], idx], self.first[who[:, None], idx]
        grown = np.where(right[:, None], storage * (1.0 + self.GROWTH * lost), storage + self.RESTUDY * first * lost)
        self.storage[who[:, None], idx] = np.where(storage > 0.0, grown, first)
        self.last[who[:, None], idx] = at[:, None]

    def thinking(self, knows: Floats) -> Floats:
        return np.asarray(3.6 * np.exp(-1.4 * knows))


class Contexts:
    """Multiscale context (Mozer et al. 2009): leaky integrators from minutes to months."""

    POOLS, SHORT, LONG, WEIGHT, RATE_RIGHT, RATE_WRONG = 14, 0.001, 100.0, 0.85, 9.0, 1.0

    def __init__(self, rng: np.random.Generator, learners: int, head_start: Floats, traces: int) -> None:
        self.days = np.geomspace(self.SHORT, self.LONG, self.POOLS)
        self.gamma = self.WEIGHT ** np.arange(self.POOLS)
        self.total = np.cumsum(self.gamma)
        self.rate = np.exp(_offsets(rng, learners, head_start, traces))
        self.x = np.zeros((learners, traces, self.POOLS))
        self.last = np.zeros((learners, traces))

    def _pools(self, who: Ints, idx: Ints, at: Floats) -> Floats:
        days = np.maximum(at[:, None] - self.last[who[:, None], idx], 0.0) / DAY
        return np.asarray(self.x[who[:, None], idx] * np.exp(-days[..., None] / self.days))

    def retrievable(self, who: Ints, idx: Ints, at: Floats) -> Floats:
        x = self._pools(who, idx, at)
        return np.asarray(np.clip((x * self.gamma).sum(axis=2) / self.total[-1], 0.0, 1.0))

    def practise(self, who: Ints, idx: Ints, at: Floats, right: Bools) -> None:
        x = self._pools(who, idx, at)
        strength = np.cumsum(x * self.gamma, axis=2) / self.total
        rate = np.where(right, self.RATE_RIGHT, self.RATE_WRONG)[:, None, None]
        # The learning rate never overshoots what is left to be learnt.
        step = 1.0 - np.exp(-rate * self.rate[who[:, None], idx][..., None])
        self.x[who[:, None], idx] = x + step * np.maximum(1.0 - strength, 0.0)
        self.last[who[:, None], idx] = at[:, None]

    def thinking(self, knows: Floats) -> Floats:
        return np.asarray(3.6 * np.exp(-1.4 * knows))


Family = type[Activation] | type[TwoStrengths] | type[Contexts]
FAMILIES: dict[str, Family] = {"activation": Activation, "two strengths": TwoStrengths, "contexts": Contexts}
TRANSFERS = (0.0, 0.3, 0.6)
MY_KEYS = 4
MY_BOXES = (1, 2, 3)


@cache
def teachable() -> tuple[Card, ...]:
    """Every key's cards of the five asks, the triads and boxes 1–3."""
    return tuple(
        card
        for card in universe()
        if card.ask in TAPPING and (card.box is None or card.box in MY_BOXES) and card.own and not card.seventh
    )


@cache
def pool(keys: tuple[str, ...]) -> tuple[Card, ...]:
    """What a learner with these keys has switched on: five asks, the triads, boxes 1–3."""
    return tuple(card for card in teachable() if card.key.slug in keys)


@cache
def difficulties_of(keys: tuple[str, ...]) -> tuple[float, ...]:
    """What the music says of the difficulty of each card in the pool of these keys."""
    return tuple(difficulty(card) for card in pool(keys))


@dataclass(frozen=True)
class Answers:
    """What came of one question put to each of n learners."""

    right: Bools
    clean: Bools
    seconds: Floats
    """From the question to the answer."""
    spent: Floats
    """The same with looking at what came back."""


class World:
    """L learners of one family with one transfer, each with a pool of their own keys."""

    def __init__(self, family: str, transfer: float, learners: int, seed: int) -> None:
        rng = np.random.default_rng([seed, sorted(FAMILIES).index(family), int(100 * transfer)])
        self.family, self.transfer, self.learners = family, transfer, learners
        slugs = sorted(key.slug for key in MAJOR_KEYS)
        self.keys = [tuple(rng.permutation(slugs)[:MY_KEYS].tolist()) for _ in range(learners)]
        self.pools = [pool(keys) for keys in self.keys]
        self.cards = len(self.pools[0])
        asks = np.array([[card.ask for card in cards] for cards in self.pools])
        self.tapping = np.vectorize(TAPPING.__getitem__)(asks)
        self.allowed = BAR + np.vectorize(ALLOWANCE.__getitem__)(asks)
        self.guess = np.vectorize(GUESSES.__getitem__)(asks)
        self.slip = rng.uniform(0.02, 0.08, learners)
        self.speed = np.exp(rng.normal(0.0, 0.25, learners))
        self.groups = self._hidden_groups(rng)
        difficulties = np.array([difficulties_of(keys) for keys in self.keys])
        difficulties = difficulties - difficulties.mean()
        count = self.cards + int(self.groups.max()) + 1
        self.traces: Traces = FAMILIES[family](rng, learners, difficulties, count)
        self._begin_with_some_known(rng, difficulties)

    def begun_anew(self) -> World:
        """The same learners before their first answer, if this world has had none; they share what never changes."""
        world = copy(self)
        world.traces = deepcopy(self.traces)
        return world

    def _hidden_groups(self, rng: np.random.Generator) -> Ints:
        """Two groups for each card, (L, C, 2), numbered apart from each other."""
        groups = np.zeros((self.learners, self.cards, 2), dtype=np.int64)
        for who, cards in enumerate(self.pools):
            halves = (
                [f"{card.key.slug} {card.degree}" for card in cards],
                [f"{card.ask} {card.skills[-1] if card.box else card.degree % 3}" for card in cards],
            )
            start = 0
            for half, names in enumerate(halves):
                distinct = sorted(set(names))
                joined = rng.permutation(len(distinct)) // 2 + start
                number = dict(zip(distinct, joined.tolist(), strict=True))
                groups[who, :, half] = [number[name] for name in names]
                start = int(joined.max()) + 1
        return groups

    def _begin_with_some_known(self, rng: np.random.Generator, head_start: Floats) -> None:
        known = rng.random(head_start.shape) < 0.08 * np.exp(0.8 * head_start)
        for back in (40.0, 20.0, 11.0, 6.0, 3.0, 1.0):
            for card in range(self.cards):
                who = np.flatnonzero(known[:, card])
                if len(who):
                    when = np.full(len(who), -back * DAY)
                    self.traces.practise(who, np.full((len(who), 1), card), when, np.ones(len(who), dtype=bool))

    def _known(self, card: Floats, halves: Floats) -> Floats:
        """P(knows) by a card's own trace and those of its two groups (last axis)."""
        return np.asarray(1.0 - (1.0 - card) * (1.0 - self.transfer * np.sqrt(halves.prod(axis=-1))))

    def truly_clean(self, at: Floats, allowed: Floats | None = None) -> Floats:
        """P(knows and in time) of every card, (L, C), at instants (L,), in the seconds ``allowed`` (L, C), a bar's
        and what the clock grants if not given."""
        who = np.arange(self.learners)
        every = np.arange(self.cards + int(self.groups.max()) + 1)
        traces = self.traces.retrievable(who, np.broadcast_to(every, (self.learners, len(every))), at)
        halves = traces[who[:, None, None], self.cards + self.groups]
        knows = self._known(traces[:, : self.cards], halves)
        return self._in_time(knows, self.allowed if allowed is None else allowed)

    def _in_time(self, knows: Floats, allowed: Floats) -> Floats:
        left = np.log((allowed - self.tapping * self.speed[:, None]).clip(0.1))
        late_by = np.log(self.traces.thinking(knows) * self.speed[:, None]) - left
        return knows * normal_below(-late_by / UNEVEN)

    def answer(self, who: Ints, card: Ints, at: Floats, dice: Floats) -> Answers:
        """Put cards (n,) to learners (n,) and let them practise.

        ``dice`` is (n, 4): three uniform numbers (knows, slips, guesses) and a normal one (seconds).
        """
        idx = np.column_stack([card, self.cards + self.groups[who, card]])
        traces = self.traces.retrievable(who, idx, at)
        knows = self._known(traces[:, 0], traces[:, 1:])
        known = dice[:, 0] < knows
        right = np.where(known, dice[:, 1] > self.slip[who], dice[:, 2] < self.guess[who, card])
        thinking = np.where(known, self.traces.thinking(knows), GUESSING)
        seconds = (thinking * np.exp(UNEVEN * dice[:, 3]) + self.tapping[who, card]) * self.speed[who]
        seconds = np.minimum(seconds, GIVES_UP)
        self.traces.practise(who, idx, at + seconds, right)
        look = np.where(right, LOOK_RIGHT, LOOK_WRONG) * self.speed[who]
        return Answers(right, right & (seconds <= self.allowed[who, card]), seconds, seconds + look)


def normal_below(z: Floats) -> Floats:
    """The normal distribution function (Abramowitz & Stegun 26.2.17, error < 1e-7)."""
    t = 1.0 / (1.0 + 0.2316419 * np.abs(z))
    poly = t * (0.319381530 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))))
    tail = np.exp(-0.5 * z * z) / np.sqrt(2.0 * np.pi) * poly
    return np.asarray(np.where(z >= 0.0, 1.0 - tail, tail))
