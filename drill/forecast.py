"""Fluency of many cards at once, and what a plan needs besides.

Conventions. A :class:`Pool` is what does not change from player to player: the cards' skills, their
difficulty, the usual seconds of their ask. A :class:`Forecast` holds one number per card of it, in the
pool's order, and equals :func:`drill.memory.fluency` card by card. Days and seconds are since the
row's last answer; a card without answers has ``seen`` False and hold 0.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from drill.memory import (
    ANY_SECONDS,
    CARRY,
    DAY,
    FAST,
    HOUR,
    PACE,
    SLOW,
    START,
    USUAL_SECONDS,
    Drift,
    Features,
    Parameters,
    Row,
    Weights,
    card_row,
    paired,
)
from drill.traces import BAD, GOOD, HOLD, LAST, MEAN, RECENTLY_BAD, RECENTLY_GOOD, SEEN, SINCE, SPEED, Traces

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Pool:
    """Cards as arrays. ``skills`` is (cards, most skills): numbers of ``skill_names``, the last of them
    (an empty name) where a card has fewer."""

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
    features = cards.features
    named = [f.skills + paired(f.skills) for f in features]
    names = (*sorted({name for skills in named for name in skills}), "")
    number = {name: n for n, name in enumerate(names)}
    most = max((len(skills) for skills in named), default=0)
    skills = np.full((len(features), most), len(names) - 1, dtype=np.int64)
    for row, of in zip(skills, named, strict=True):
        row[: len(of)] = [number[name] for name in of]
    return Pool(
        features,
        tuple(card_row(f.card_id) for f in features),
        names,
        skills,
        np.array([max(len(of), 1) for of in named], dtype=np.int64),
        np.array([f.difficulty for f in features]),
        np.array([USUAL_SECONDS.get(f.ask, ANY_SECONDS) for f in features]),
    )


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
    mean, mean_variance = np.log(pool.log_seconds) + by.harder_is_slower * pool.difficulty, np.zeros(len(pool.rows))
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
    m[-1] = v[-1] = 0.0
    if whole is None:
        return mean + share * _over_skills(pool, m), variance + share**2 * _over_skills(pool, v)
    part_m, part_v = np.where(whole, 0.0, m), np.where(whole, 0.0, v)
    full_m, full_v = np.where(whole, m, 0.0), np.where(whole, v, 0.0)
    mean = mean + share * _over_skills(pool, part_m) + _over_skills(pool, full_m)
    return mean, variance + share**2 * _over_skills(pool, part_v) + _over_skills(pool, full_v)


def _over_skills(pool: Pool, values: Floats) -> Floats:
    """The sum of a value per skill over each card's skills; the empty name counts nothing."""
    values = values.copy()
    values[-1] = 0.0
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
