"""Fluency of many cards at once, and what a plan needs besides.

Conventions. A :class:`Pool` is what does not change from player to player: the cards' skills, their
difficulty, the usual seconds of their ask. A :class:`Forecast` holds one number per card of it, in the
pool's order, and equals :func:`drill.memory.recall.fluency` card by card. Days and seconds are since the
row's last answer; a card without answers has ``seen`` False and hold 0.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from drill.memory.columns import BAD, GOOD, HOLD, LAST, MEAN, RECENTLY_BAD, RECENTLY_GOOD, SEEN, SINCE, SPEED, Traces
from drill.memory.parameters import START, Drift, Parameters, Weights
from drill.memory.rows import CARRY, DAY, FAST, HOUR, PACE, SLOW, Features, Row, card_row, paired

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


#: The number of the empty skill, which fills up what a card has fewer than the others.
NOTHING = 0


@dataclass(frozen=True)
class Pool:
    """Cards as arrays. ``skills`` is (cards, most skills): numbers of ``skill_names``, :data:`NOTHING` where a
    card has fewer; ``counts`` says how many it has (1 for none)."""

    features: tuple[Features, ...]
    rows: tuple[str, ...]
    skill_names: tuple[str, ...]
    skills: Ints
    counts: Ints
    difficulty: Floats
    log_seconds: Floats

    @classmethod
    def of(cls, features: Sequence[Features]) -> Pool:
        """The pool of these cards; the same cards give the same pool without working it out again."""
        return _pool(_Cards(tuple(features)))

    def and_(self, features: Sequence[Features]) -> Pool:
        """These cards and then those; skills that were there keep their numbers."""
        named = [each.skills + paired(each.skills) for each in features]
        number = {name: n for n, name in enumerate(self.skill_names)}
        numbers = [[number.setdefault(name, len(number)) for name in names] for names in named]
        before, width = self.skills.shape
        most = max([width, *map(len, numbers)])
        skills = np.full((before + len(features), most), NOTHING, dtype=np.int64)
        skills[:before, :width] = self.skills
        for row, of in zip(skills[before:], numbers, strict=True):
            row[: len(of)] = of
        return Pool(
            (*self.features, *features),
            self.rows + tuple(card_row(each.card_id) for each in features),
            tuple(number),
            skills,
            np.concatenate([self.counts, np.array([max(len(of), 1) for of in numbers], dtype=np.int64)]),
            np.concatenate([self.difficulty, np.array([each.difficulty for each in features])]),
            np.concatenate([self.log_seconds, np.log([each.usual_seconds for each in features])]),
        )

    def take(self, numbers: Ints) -> Pool:
        """The cards with these numbers, in this order; skills keep theirs."""
        places = numbers.tolist()
        return Pool(
            tuple(map(self.features.__getitem__, places)),
            tuple(map(self.rows.__getitem__, places)),
            self.skill_names,
            self.skills[numbers],
            self.counts[numbers],
            self.difficulty[numbers],
            self.log_seconds[numbers],
        )

    def having(self, skills: Iterable[str]) -> Bools:
        """The cards that have all of these skills."""
        number = {name: n for n, name in enumerate(self.skill_names)}
        each = [(self.skills == number.get(skill, -1)).any(axis=1) for skill in skills]
        return np.asarray(np.all(each, axis=0))

    def traces(self, rows: Mapping[str, Row]) -> Traces:
        """What of these rows is about these cards and their player."""
        names = {SLOW, FAST, PACE, CARRY, *self.rows, *self.skill_names}
        return Traces.of(rows[name] for name in names if name in rows)


class _Cards:
    """Cards as a cache's key: hashed by their ids alone, which is quick."""

    def __init__(self, features: tuple[Features, ...]) -> None:
        self.features = features
        self._hash = hash(tuple(f.card_id for f in features))

    def __hash__(self) -> int:
        return self._hash

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Cards) and self.features == other.features


@lru_cache(maxsize=16)
def _pool(cards: _Cards) -> Pool:
    nobody = np.zeros(0)
    empty = Pool((), (), ("",), np.zeros((0, 0), dtype=np.int64), nobody.astype(np.int64), nobody, nobody)
    return empty.and_(cards.features)


@dataclass(frozen=True)
class Forecast:
    """Per card: fluency ``p`` with its deviation ``sd``, P(right), median ``seconds``, hold, days since, what
    is retained.

    Per skill of the pool: ``skill_hold`` and ``skill_days``. ``carry`` is the share
    of their skills' retention that new cards have; ``carried`` what each card gets by it.
    """

    p: Floats
    sd: Floats
    right: Floats
    seconds: Floats
    seen: Bools
    hold: Floats
    days: Floats
    retained: Floats
    skill_hold: Floats
    skill_days: Floats
    carry: float
    carried: Floats


def forecast(
    pool: Pool, rows: Mapping[str, Row] | Traces, now: datetime, allowed: Floats, parameters: Parameters = START
) -> Forecast:
    """The forecast of every card at ``now``, with ``allowed`` seconds (cards,) for a clean answer."""
    by = parameters
    traces = rows if isinstance(rows, Traces) else pool.traces(rows)
    player = traces.of_names((SLOW, FAST), now)
    cards = traces.of_names(pool.rows, now)
    skills = traces.of_names(pool.skill_names, now)
    share = 1.0 / pool.counts
    z, variance = pool.difficulty.copy(), np.zeros(len(pool.rows))
    mean, mean_variance = pool.log_seconds + by.harder_is_slower * pool.difficulty, np.zeros(len(pool.rows))
    for n, (drift, speed) in enumerate(((by.slow, by.slow_pace), (by.fast, by.fast_pace))):
        one = player[:, n : n + 1]
        z, variance = _added(z, variance, _decayed(one, MEAN, drift))
        mean, mean_variance = _added(mean, mean_variance, _decayed(one, SPEED, speed))
    z, variance = _added(z, variance, _decayed(cards, MEAN, by.card))
    mean, mean_variance = _added(mean, mean_variance, _decayed(cards, SPEED, by.card_pace))
    asks = np.array([name.startswith("ask:") for name in pool.skill_names])
    z, variance = _gathered(pool, z, variance, _decayed(skills, MEAN, by.skill), share, None)
    paces = _decayed(skills, SPEED, by.skill_pace), _decayed(skills, SPEED, by.ask_pace)
    chosen = np.where(asks, paces[1][0], paces[0][0]), np.where(asks, paces[1][1], paces[0][1])
    mean, mean_variance = _gathered(pool, mean, mean_variance, chosen, share, asks)
    mean = mean + by.practice * np.log1p(cards[GOOD])

    logit = by.base + by.gain * z / np.sqrt(1.0 + np.pi * variance / 8.0)
    logit += _weighed(by.on_player, player[:, :1]) + _weighed(by.on_card, cards)
    logit += _over_skills(pool, _weighed(by.on_skills, skills)) * share
    pace, carried_over = traces.get(PACE, SPEED), traces.get(CARRY, MEAN)
    carry = by.carrying.share if carried_over is None else carried_over
    own, kept = _retained(cards, by), _retained(skills, by)
    skills_kept = _over_skills(pool, kept) * share
    carried = np.clip(carry * skills_kept, 0.0, 0.95)
    known = 1.0 - (1.0 - own) * (1.0 - np.maximum(carried, 0.01))
    logit += by.on_kept * own + by.on_skills_kept * skills_kept + by.on_known * known
    right = 1.0 / (1.0 + np.exp(-np.clip(logit, -40.0, 40.0)))
    spread = np.sqrt(mean_variance + (by.spread if pace is None else pace))
    late_by = (np.log(allowed) - mean) / spread
    in_time = normal_below(late_by)
    density = np.exp(-0.5 * late_by * late_by) / np.sqrt(2.0 * np.pi) / spread
    right_sd = right * (1.0 - right) * by.gain * np.sqrt(variance)
    return Forecast(
        p=right * in_time,
        sd=np.hypot(in_time * right_sd, right * density * np.sqrt(mean_variance)),
        right=right,
        seconds=np.exp(mean),
        seen=cards[HOLD] > 0.0,
        hold=cards[HOLD],
        days=cards[SINCE] / DAY,
        retained=own,
        skill_hold=skills[HOLD],
        skill_days=skills[SINCE] / DAY,
        carry=carry,
        carried=carried,
    )


def _decayed(columns: Floats, which: int, drift: Drift) -> tuple[Floats, Floats]:
    """Mean and variance (at ``which``, ``which + 1``) as of now; the start's where there is no row."""
    rho = np.where(columns[SEEN] > 0.0, np.exp(-columns[SINCE] / (drift.days * DAY)), 0.0)
    return rho * columns[which], rho * rho * columns[which + 1] + drift.start * (1.0 - rho * rho)


def _added(mean: Floats, variance: Floats, offset: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
    return mean + offset[0], variance + offset[1]


def _gathered(
    pool: Pool, mean: Floats, variance: Floats, offset: tuple[Floats, Floats], share: Floats, whole: Bools | None
) -> tuple[Floats, Floats]:
    """With the skills' offsets added, each by its share, those that are ``whole`` in full."""
    m, v = offset[0].copy(), offset[1].copy()
    m[NOTHING] = v[NOTHING] = 0.0
    if whole is None:
        return mean + share * _over_skills(pool, m), variance + share**2 * _over_skills(pool, v)
    part_m, part_v = np.where(whole, 0.0, m), np.where(whole, 0.0, v)
    full_m, full_v = np.where(whole, m, 0.0), np.where(whole, v, 0.0)
    mean = mean + share * _over_skills(pool, part_m) + _over_skills(pool, full_m)
    return mean, variance + share**2 * _over_skills(pool, part_v) + _over_skills(pool, full_v)


def _over_skills(pool: Pool, values: Floats) -> Floats:
    """The sum of a value per skill over each card's skills; the empty name counts nothing."""
    values = values.copy()
    values[NOTHING] = 0.0
    return np.asarray(values[pool.skills].sum(axis=1))


def _weighed(weights: Weights, columns: Floats) -> Floats:
    """Stage 2's sum for one level; a row without answers was never seen."""
    fresh = np.exp(-columns[SINCE] / HOUR)
    seen = columns[GOOD] + columns[BAD] > 0.0
    w = weights
    return np.where(
        seen,
        w.successes * np.log1p(columns[GOOD])
        + w.failures * np.log1p(columns[BAD])
        + w.minutes * np.log1p(columns[SINCE] / 60.0)
        + w.last * columns[LAST] * np.exp(-columns[SINCE] / DAY)
        + w.recent_successes * np.log1p(columns[RECENTLY_GOOD] * fresh)
        + w.recent_failures * np.log1p(columns[RECENTLY_BAD] * fresh),
        w.never,
    )


def _retained(columns: Floats, by: Parameters) -> Floats:
    hold = columns[HOLD]
    x = columns[SINCE] / DAY / np.where(hold > 0.0, hold, 1.0)
    return np.where(hold > 0.0, (1.0 + x) ** -by.holding.exponent, 0.0)


def normal_below(z: Floats) -> Floats:
    """The normal distribution function (Abramowitz & Stegun 26.2.17, error below 1e-7)."""
    t = 1.0 / (1.0 + 0.2316419 * np.abs(z))
    poly = t * (0.319381530 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))))
    tail = np.exp(-0.5 * z * z) / np.sqrt(2.0 * np.pi) * poly
    return np.asarray(np.where(z >= 0.0, 1.0 - tail, tail))
