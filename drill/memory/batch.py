"""Fluency of many cards at once, and the other figures that a plan needs.

Conventions. A :class:`Pool` holds what is the same for every player: the cards' skills, their difficulty, and
the usual seconds of their ask. A :class:`Forecast` has one number per card of a pool, in the pool's order, and
equals :func:`drill.memory.recall.fluency` card by card. Days and seconds count from the row's last answer. A
card without answers has ``seen`` False and hold 0.
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
from drill.memory.rows import CARRY, DAY, FAST, HOUR, PACE, SLOW, Features, Row, card_row_name, pair_skills

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


#: The number of the empty skill. It pads the skills of a card that has fewer than others.
NOTHING = 0


@dataclass(frozen=True)
class Pool:
    """Cards as arrays.

    ``skills`` has the shape (cards, most skills of a card). It holds indices into ``skill_names``, padded with
    :data:`NOTHING`. ``counts`` is the number of skills of each card, at least 1.
    """

    features: tuple[Features, ...]
    rows: tuple[str, ...]
    skill_names: tuple[str, ...]
    skills: Ints
    counts: Ints
    difficulty: Floats
    log_seconds: Floats

    @classmethod
    def of(cls, features: Sequence[Features]) -> Pool:
        """Return the pool of these cards. Calls with the same cards return the same, cached pool."""
        return _build_pool(_CacheKey(tuple(features)))

    def extended(self, features: Sequence[Features]) -> Pool:
        """Return a pool of these cards followed by more. Known skills keep their numbers."""
        names_by_card = [card.skills + pair_skills(card.skills) for card in features]
        number = {name: n for n, name in enumerate(self.skill_names)}
        numbers = [[number.setdefault(name, len(number)) for name in names] for names in names_by_card]
        counts = [max(len(numbers_of_card), 1) for numbers_of_card in numbers]
        before, width = self.skills.shape
        most = max([width, *map(len, numbers)])
        skills = np.full((before + len(features), most), NOTHING, dtype=np.int64)
        skills[:before, :width] = self.skills
        for padded, numbers_of_card in zip(skills[before:], numbers, strict=True):
            padded[: len(numbers_of_card)] = numbers_of_card
        return Pool(
            (*self.features, *features),
            self.rows + tuple(card_row_name(card.card_id) for card in features),
            tuple(number),
            skills,
            np.concatenate([self.counts, np.array(counts, dtype=np.int64)]),
            np.concatenate([self.difficulty, np.array([card.difficulty for card in features])]),
            np.concatenate([self.log_seconds, np.log([card.usual_seconds for card in features])]),
        )

    def take(self, numbers: Ints) -> Pool:
        """Return the cards with these numbers, in this order. Skills keep their numbers."""
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
        """Return which cards have all of these skills, as flags (cards,)."""
        number = {name: n for n, name in enumerate(self.skill_names)}
        has_skill = [(self.skills == number.get(skill, -1)).any(axis=1) for skill in skills]
        return np.asarray(np.all(has_skill, axis=0))

    def traces(self, rows: Mapping[str, Row]) -> Traces:
        """Return the traces of those rows that belong to these cards or to the player."""
        names = {SLOW, FAST, PACE, CARRY, *self.rows, *self.skill_names}
        return Traces.of(rows[name] for name in names if name in rows)


class _CacheKey:
    """Cards as the key of a cache. The hash is of their ids alone, which is quick."""

    def __init__(self, features: tuple[Features, ...]) -> None:
        self.features = features
        self._hash = hash(tuple(f.card_id for f in features))

    def __hash__(self) -> int:
        return self._hash

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _CacheKey) and self.features == other.features


@lru_cache(maxsize=16)
def _build_pool(cards: _CacheKey) -> Pool:
    nobody = np.zeros(0)
    empty = Pool((), (), ("",), np.zeros((0, 0), dtype=np.int64), nobody.astype(np.int64), nobody, nobody)
    return empty.extended(cards.features)


@dataclass(frozen=True)
class Forecast:
    """One number per card: fluency ``p`` with its standard deviation ``sd``, P(right), median ``seconds``, hold
    in days, days since the last answer, and the share that is retained.

    One number per skill of the pool: ``skill_hold`` and ``skill_days``. ``carry`` is the share of the skills'
    retention that a new card has. ``carried`` is what each card has by it.
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
    """Predict every card at ``now``. ``allowed`` (cards,) is the seconds allowed for a clean answer."""
    by = parameters
    traces = rows if isinstance(rows, Traces) else pool.traces(rows)
    player = traces.of_names((SLOW, FAST), now)
    cards = traces.of_names(pool.rows, now)
    skills = traces.of_names(pool.skill_names, now)
    share = 1.0 / pool.counts
    z, variance = _stage_one(pool, player, cards, skills, by)
    mean, mean_variance = _predict_log_seconds(pool, player, cards, skills, by)

    logit = by.base + by.gain * z / np.sqrt(1.0 + np.pi * variance / 8.0)
    logit += _weigh_counts(by.on_player, player[:, :1]) + _weigh_counts(by.on_card, cards)
    logit += _sum_over_skills(pool, _weigh_counts(by.on_skills, skills)) * share
    pace, carried_over = traces.get(PACE, SPEED), traces.get(CARRY, MEAN)
    carry = by.carrying.share if carried_over is None else carried_over
    own, kept = _compute_retained(cards, by), _compute_retained(skills, by)
    skills_kept = _sum_over_skills(pool, kept) * share
    carried = np.clip(carry * skills_kept, 0.0, 0.95)
    known = 1.0 - (1.0 - own) * (1.0 - np.maximum(carried, 0.01))
    logit += by.on_kept * own + by.on_skills_kept * skills_kept + by.on_known * known
    right = 1.0 / (1.0 + np.exp(-np.clip(logit, -40.0, 40.0)))
    spread = np.sqrt(mean_variance + (by.spread if pace is None else pace))
    late_by = (np.log(allowed) - mean) / spread
    in_time = normal_cdf(late_by)
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


def _stage_one(pool: Pool, player: Floats, cards: Floats, skills: Floats, by: Parameters) -> tuple[Floats, Floats]:
    """Return the logit of being right and its variance, by stage 1."""
    z, variance = pool.difficulty.copy(), np.zeros(len(pool.rows))
    for n, drift in enumerate((by.slow, by.fast)):
        z, variance = _add_offset(z, variance, _decay(player[:, n : n + 1], MEAN, drift))
    z, variance = _add_offset(z, variance, _decay(cards, MEAN, by.card))
    return _add_skill_offsets(pool, z, variance, _decay(skills, MEAN, by.skill), 1.0 / pool.counts, None)


def _predict_log_seconds(
    pool: Pool, player: Floats, cards: Floats, skills: Floats, by: Parameters
) -> tuple[Floats, Floats]:
    """Return the expected ln(seconds) of a right answer, and the variance of that expectation."""
    mean, variance = pool.log_seconds + by.harder_is_slower * pool.difficulty, np.zeros(len(pool.rows))
    for n, drift in enumerate((by.slow_pace, by.fast_pace)):
        mean, variance = _add_offset(mean, variance, _decay(player[:, n : n + 1], SPEED, drift))
    mean, variance = _add_offset(mean, variance, _decay(cards, SPEED, by.card_pace))
    asks = np.array([name.startswith("ask:") for name in pool.skill_names])
    skill_mean, skill_variance = _decay(skills, SPEED, by.skill_pace)
    ask_mean, ask_variance = _decay(skills, SPEED, by.ask_pace)
    offsets = np.where(asks, ask_mean, skill_mean), np.where(asks, ask_variance, skill_variance)
    mean, variance = _add_skill_offsets(pool, mean, variance, offsets, 1.0 / pool.counts, asks)
    return mean + by.practice * np.log1p(cards[GOOD]), variance


def _decay(columns: Floats, which: int, drift: Drift) -> tuple[Floats, Floats]:
    """Return mean and variance (rows ``which`` and ``which + 1`` of the columns) decayed to now.

    Where memory has no row they are the starting values.
    """
    rho = np.where(columns[SEEN] > 0.0, np.exp(-columns[SINCE] / (drift.days * DAY)), 0.0)
    return rho * columns[which], rho * rho * columns[which + 1] + drift.start * (1.0 - rho * rho)


def _add_offset(mean: Floats, variance: Floats, offset: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
    return mean + offset[0], variance + offset[1]


def _add_skill_offsets(
    pool: Pool, mean: Floats, variance: Floats, offset: tuple[Floats, Floats], share: Floats, whole: Bools | None
) -> tuple[Floats, Floats]:
    """Add the skills' offsets, each weighted by ``share``. Those flagged in ``whole`` count in full."""
    m, v = offset[0].copy(), offset[1].copy()
    m[NOTHING] = v[NOTHING] = 0.0
    if whole is None:
        return mean + share * _sum_over_skills(pool, m), variance + share**2 * _sum_over_skills(pool, v)
    part_m, part_v = np.where(whole, 0.0, m), np.where(whole, 0.0, v)
    full_m, full_v = np.where(whole, m, 0.0), np.where(whole, v, 0.0)
    mean = mean + share * _sum_over_skills(pool, part_m) + _sum_over_skills(pool, full_m)
    return mean, variance + share**2 * _sum_over_skills(pool, part_v) + _sum_over_skills(pool, full_v)


def _sum_over_skills(pool: Pool, values: Floats) -> Floats:
    """Sum a value per skill over the skills of each card. The empty skill counts 0."""
    values = values.copy()
    values[NOTHING] = 0.0
    return np.asarray(values[pool.skills].sum(axis=1))


def _weigh_counts(weights: Weights, columns: Floats) -> Floats:
    """Return the weighted sum of stage 2 for one level. A row without answers counts as never seen."""
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


def _compute_retained(columns: Floats, by: Parameters) -> Floats:
    """Return the share that is retained (see :func:`drill.memory.recall.retained`), column by column."""
    hold = columns[HOLD]
    x = columns[SINCE] / DAY / np.where(hold > 0.0, hold, 1.0)
    return np.where(hold > 0.0, (1.0 + x) ** -by.holding.exponent, 0.0)


def normal_cdf(z: Floats) -> Floats:
    """Return the normal cumulative distribution (Abramowitz & Stegun 26.2.17, error below 1e-7)."""
    t = 1.0 / (1.0 + 0.2316419 * np.abs(z))
    poly = t * (0.319381530 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))))
    tail = np.exp(-0.5 * z * z) / np.sqrt(2.0 * np.pi) * poly
    return np.asarray(np.where(z >= 0.0, 1.0 - tail, tail))
