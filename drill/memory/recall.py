"""What a player knows now: how likely the next answer to a card is right, and how long it takes.

Conventions. **Fluency** is P(right) × P(seconds ≤ allowed | right). Both parts are small filters over
*offsets* from what is known before anyone has answered (the card's difficulty, the usual seconds of
its ask). Offsets are independent: two of the player (slow: weeks, fast: hours), one for each of the
card's skills, one of the card. Each is one :class:`Row`; an answer reads and writes only the rows
that :func:`touched` names.

P(right), stage 1, is an extended Kalman filter on the logit; an offset forgets towards 0 with its
own time constant (days). Stage 2 is a logistic correction by counts, time and the last outcome, of
the player, of the skills (their mean) and of the card. Seconds are a linear Kalman filter on
ln(seconds) of the right answers with the same offsets; its noise is the player's own.

Beside its offset every card and every skill has a **hold**: the days after which half of what was
practised is still found, (1 + days/hold)^−κ. It grows with practice, more the longer ago the last
one was, and is what a plan weighs; offsets are beliefs, whose expected change is nothing. How much
the skills **carry** to a card that was never practised is learnt of each player.

Times are aware UTC datetimes and come from outside; nothing here reads a clock or keeps state.

Sources. Structure and starting values: compared on public logs of learners against the models of
Settles & Meeder (ACL 2016), Pavlik & Anderson (2005), Pavlik, Cen & Koedinger (AIED 2009), Lindsey
et al. (2014) and Choffin et al. (EDM 2019). The logit's mean under uncertainty follows MacKay
(Neural Comput. 1992); practice shortens times by a power of its amount: Newell & Rosenbloom (1981).
Power forgetting is Wickelgren's (1974); that spaced practice adds more is Bjork & Bjork's (1992). The
logs hold few long gaps on one card: the weights of its time, of its hold and of never having seen
it are ours until refitted, as are the values for seconds, hold and carry.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import datetime
from typing import NamedTuple

from drill.memory.parameters import START, Drift, Holding, Parameters
from drill.memory.rows import (
    CAP,
    CARRY,
    DAY,
    FAST,
    HOUR,
    PACE,
    SLOW,
    Features,
    Fluency,
    Outcome,
    Row,
    card_row,
    paired,
)

#: A time further than this many deviations from the expected one pulls no harder than this.
BELIEVED = 2.0
#: The most answers the estimate of a player's spread of seconds looks back on.
SPREAD_MEMORY = 200.0


class _Part(NamedTuple):
    """One offset decayed to the time asked about: its share of the sum (``h``; ``pace_h`` for seconds), its
    row, and the seconds since that."""

    name: str
    h: float
    pace_h: float
    right: Drift
    speed: Drift
    mean: float
    variance: float
    pace: float
    pace_variance: float
    row: Row | None
    since: float


def _decayed(mean: float, variance: float, drift: Drift, seconds: float) -> tuple[float, float]:
    rho = math.exp(-seconds / (drift.days * DAY))
    return rho * mean, rho * rho * variance + drift.start * (1.0 - rho * rho)


def _elapsed(row: Row, now: datetime) -> float:
    return max((now - row.at).total_seconds(), 0.0)


def _part(name: str, h: float, right: Drift, speed: Drift, row: Row | None, now: datetime) -> _Part:
    # The ask's offset counts whole for seconds: tapping a shape is not a little slower than naming.
    pace_h = 1.0 if name.startswith("ask:") else h
    if row is None:
        return _Part(name, h, pace_h, right, speed, 0.0, right.start, 0.0, speed.start, None, 0.0)
    seconds = _elapsed(row, now)
    mean, variance = _decayed(row.mean, row.variance, right, seconds)
    pace, pace_variance = _decayed(row.pace, row.pace_variance, speed, seconds)
    return _Part(name, h, pace_h, right, speed, mean, variance, pace, pace_variance, row, seconds)


def _parts(rows: Mapping[str, Row], features: Features, now: datetime, by: Parameters) -> list[_Part]:
    """The player's two offsets, the skills', the card's, in the order of :func:`touched`."""
    skills = features.skills + paired(features.skills)
    share = 1.0 / max(len(skills), 1)
    card = card_row(features.card_id)
    parts = [
        _part(SLOW, 1.0, by.slow, by.slow_pace, rows.get(SLOW), now),
        _part(FAST, 1.0, by.fast, by.fast_pace, rows.get(FAST), now),
    ]
    for skill in skills:
        speed = by.ask_pace if skill.startswith("ask:") else by.skill_pace
        parts.append(_part(skill, share, by.skill, speed, rows.get(skill), now))
    parts.append(_part(card, 1.0, by.card, by.card_pace, rows.get(card), now))
    return parts


def _sigmoid(z: float) -> float:
    if z >= 0.0:
        return 1.0 / (1.0 + math.exp(-z))
    e = math.exp(z)
    return e / (1.0 + e)


_NO_TRACES = (0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0)


def _traces(part: _Part) -> tuple[float, ...]:
    """The seven traces of :class:`Weights`, in its order."""
    row, seconds = part.row, part.since
    if row is None or row.successes + row.failures == 0.0:
        return _NO_TRACES
    fresh = math.exp(-seconds / HOUR)
    return (
        math.log1p(row.successes),
        math.log1p(row.failures),
        math.log1p(seconds / 60.0),
        0.0,
        row.last * math.exp(-seconds / DAY),
        math.log1p(row.recent_successes * fresh),
        math.log1p(row.recent_failures * fresh),
    )


def _filtered(parts: list[_Part], difficulty: float) -> tuple[float, float]:
    """Stage 1: the logit of being right and its variance."""
    z = variance = 0.0
    for part in parts:
        h = part.h
        z += h * part.mean
        variance += h * h * part.variance
    return difficulty + z, variance


def stage_two(rows: Mapping[str, Row], features: Features, now: datetime, parameters: Parameters) -> list[float]:
    """What stage 2 weighs, 25 numbers: stage 1's logit; the traces of player, skills and card; what is
    retained of the card, of its skills, and of both as the skills carry."""
    parts = _parts(rows, features, now, parameters)
    return _inputs(parts, _share(rows, parameters), features, parameters)[0]


def _share(rows: Mapping[str, Row], by: Parameters) -> float:
    row = rows.get(CARRY)
    return row.mean if row else by.carrying.share


def _kept(parts: list[_Part], by: Parameters) -> tuple[float, float]:
    """What is retained of the card, and of its skills on average."""
    kept = [retained(part.since / DAY, part.row.hold, by.holding) if part.row else 0.0 for part in parts[2:]]
    return kept[-1], sum(kept[:-1]) / max(len(kept) - 1, 1)


def _known(own: float, skills: float, share: float) -> float:
    """The chance that a card is found by its own trace or by what its skills carry."""
    return 1.0 - (1.0 - own) * (1.0 - min(max(share * skills, 0.01), 0.95))


def _inputs(parts: list[_Part], share: float, features: Features, by: Parameters) -> tuple[list[float], float]:
    """Stage 2's inputs and the variance of stage 1's logit."""
    z, variance = _filtered(parts, features.difficulty)
    skills = [_traces(part) for part in parts[2:-1]]
    mean = [sum(column) / len(skills) for column in zip(*skills, strict=True)] if skills else [0.0] * 7
    g = z / math.sqrt(1.0 + math.pi * variance / 8.0)
    own, kept = _kept(parts, by)
    retention = own, kept, _known(own, kept, share)
    return [g, *_traces(parts[0]), *mean, *_traces(parts[-1]), *retention], variance


def _right(parts: list[_Part], share: float, features: Features, by: Parameters) -> tuple[float, float]:
    """P(right) after both stages, and its deviation."""
    inputs, variance = _inputs(parts, share, features, by)
    p = _sigmoid(by.base + sum(w * x for w, x in zip(by.second_stage, inputs, strict=True)))
    return p, p * (1.0 - p) * by.gain * math.sqrt(variance)


def _pace(parts: list[_Part], features: Features, by: Parameters) -> tuple[float, float]:
    """The expected ln(seconds) of a right answer, and the variance of that expectation."""
    card = parts[-1].row
    mean = math.log(features.usual_seconds)
    mean += by.harder_is_slower * features.difficulty
    mean += by.practice * math.log1p(card.successes if card else 0.0)
    offset = variance = 0.0
    for part in parts:
        h = part.pace_h
        offset += h * part.pace
        variance += h * h * part.pace_variance
    return mean + offset, variance


def _spread(rows: Mapping[str, Row], by: Parameters) -> float:
    """The variance of the player's ln(seconds) about its expectation."""
    row = rows.get(PACE)
    return row.pace if row else by.spread


def fluency(
    rows: Mapping[str, Row],
    features: Features,
    now: datetime,
    allowed_seconds: float,
    parameters: Parameters = START,
) -> Fluency:
    """How likely the next answer to this card is clean, given ``allowed_seconds`` (allowance included)."""
    return _told(_parts(rows, features, now, parameters), rows, features, allowed_seconds, parameters)[0]


def parted(
    rows: Mapping[str, Row],
    features: Features,
    now: datetime,
    allowed_seconds: float,
    parameters: Parameters = START,
) -> tuple[Fluency, dict[str, tuple[float, float]]]:
    """The fluency, and its deviation by the rows that it comes from: how far ``p`` moves if the row's
    offset is one deviation higher, that of being right and that of ln(seconds).

    Their squares sum to the square of ``sd``. Two cards move together by the rows that they share.
    """
    parts = _parts(rows, features, now, parameters)
    told, by_logit, by_pace = _told(parts, rows, features, allowed_seconds, parameters)
    moves = {}
    for part in parts:
        slower = -by_pace * part.pace_h * math.sqrt(part.pace_variance)
        moves[part.name] = by_logit * part.h * math.sqrt(part.variance), slower
    return told, moves


def _told(
    parts: list[_Part], rows: Mapping[str, Row], features: Features, allowed: float, by: Parameters
) -> tuple[Fluency, float, float]:
    """The fluency, and how far ``p`` moves with the logit of stage 1 and against ln(seconds)."""
    right, right_sd = _right(parts, _share(rows, by), features, by)
    mean, variance = _pace(parts, features, by)
    total = math.sqrt(variance + _spread(rows, by))
    late_by = (math.log(allowed) - mean) / total
    in_time = 0.5 * math.erfc(-late_by / math.sqrt(2.0))
    density = math.exp(-0.5 * late_by * late_by) / math.sqrt(2.0 * math.pi) / total
    sd = math.hypot(in_time * right_sd, right * density * math.sqrt(variance))
    told = Fluency(right * in_time, sd, right, math.exp(mean))
    return told, in_time * right * (1.0 - right) * by.gain, right * density


def retained(days: float, hold: float, holding: Holding) -> float:
    """The share of what was practised ``days`` ago that is still found; 0 where nothing was."""
    return float((1.0 + days / hold) ** -holding.exponent) if hold > 0.0 else 0.0


def learn(
    rows: Mapping[str, Row], features: Features, outcome: Outcome, parameters: Parameters = START
) -> dict[str, Row]:
    """The new versions of the rows that this answer touches.

    Answers of one player are to be learnt in the order (answered at, id); one that is older than
    a row counts as if it had been given at the row's time.
    """
    return _learnt(_parts(rows, features, outcome.at, parameters), rows, features, outcome, parameters)


def foreseen(
    rows: Mapping[str, Row],
    features: Features,
    outcome: Outcome,
    allowed_seconds: float,
    parameters: Parameters = START,
) -> tuple[Fluency, dict[str, Row]]:
    """The fluency just before an answer, and what :func:`learn` gives after it: both in little more time than one."""
    parts = _parts(rows, features, outcome.at, parameters)
    told = _told(parts, rows, features, allowed_seconds, parameters)[0]
    return told, _learnt(parts, rows, features, outcome, parameters)


def _learnt(
    parts: list[_Part], rows: Mapping[str, Row], features: Features, outcome: Outcome, parameters: Parameters
) -> dict[str, Row]:
    """The new versions of the rows that an answer touches, from their parts just before it."""
    z, variance = _filtered(parts, features.difficulty)
    q = _sigmoid(z / math.sqrt(1.0 + math.pi * variance / 8.0))
    v = q * (1.0 - q)
    scale = 1.0 + v * variance
    surprise = float(outcome.right) - q
    read, new_spread = _timed(rows, parts, features, outcome, parameters)
    changed = {}
    for place, (part, (pace, pace_variance)) in enumerate(zip(parts, read, strict=True)):
        vh = part.variance * part.h
        first = 0.0
        if place > 1:
            first = first_hold(features, parameters.holding) if part is parts[-1] else parameters.holding.first
        changed[part.name] = _answered(
            part,
            outcome,
            mean=part.mean + vh * surprise / scale,
            variance=part.variance - vh * vh * v / scale + part.right.noise,
            pace=pace,
            pace_variance=pace_variance,
            hold=_held(part, outcome, first, parameters.holding),
        )
    if new_spread is not None:
        changed[PACE] = new_spread
    changed[CARRY] = _carried(rows.get(CARRY), parts, outcome, parameters)
    return changed


def first_hold(features: Features, holding: Holding) -> float:
    """Days that a card's first answer leaves if it was wrong."""
    return holding.first * math.exp(holding.by_ease * (features.difficulty - holding.usual))


def _held(part: _Part, outcome: Outcome, first: float, by: Holding) -> float:
    """The hold after this answer; the player's own rows (``first`` 0) have none."""
    row = part.row
    if first == 0.0:
        return 0.0
    if row is None or row.hold == 0.0:
        hold = first * by.known if outcome.right else first
    elif outcome.right:
        x = part.since / DAY / row.hold
        hold = row.hold * (1.0 + by.growth * x / (1.0 + x / by.most))
    else:
        hold = row.hold * by.wrong
    return min(max(hold, by.shortest), by.longest)


def _carried(row: Row | None, parts: list[_Part], outcome: Outcome, by: Parameters) -> Row:
    """What the skills carry, after one more answer: a linear filter on the surprise at it.

    P(right) is read as 1 − (1 − own)(1 − share · mean of the skills' retention), guesses and slips aside.
    """
    c = by.carrying
    share, variance = (row.mean, row.variance) if row else (c.share, c.variance)
    own, skills = _kept(parts, by)
    known = _known(own, skills, share)
    p = c.guess + (1.0 - c.guess - c.slip) * known
    slope = (1.0 - c.guess - c.slip) * (1.0 - own) * skills
    total = slope * slope * variance + p * (1.0 - p)
    share += variance * slope * (float(outcome.right) - p) / total
    variance += c.noise - variance * variance * slope * slope / total
    at = max(row.at, outcome.at) if row else outcome.at
    return Row(CARRY, at, max(share, 0.0), variance, 0.0, 0.0)


def _answered(
    part: _Part, outcome: Outcome, *, mean: float, variance: float, pace: float, pace_variance: float, hold: float
) -> Row:
    row, right = part.row, float(outcome.right)
    at = max(row.at, outcome.at) if row else outcome.at
    before = row or Row(part.name, at, 0.0, 0.0, 0.0, 0.0)
    fresh = math.exp(-part.since / HOUR)
    return Row(
        part.name,
        at,
        mean,
        variance,
        pace,
        pace_variance,
        before.successes + right,
        before.failures + 1.0 - right,
        before.recent_successes * fresh + right,
        before.recent_failures * fresh + 1.0 - right,
        1 if outcome.right else -1,
        hold,
    )


def _timed(
    rows: Mapping[str, Row], parts: list[_Part], features: Features, outcome: Outcome, by: Parameters
) -> tuple[list[tuple[float, float]], Row | None]:
    """The pace of every part after this answer's seconds, and the new :data:`PACE` row.

    Only the time of a right answer is read; a time over :data:`CAP` is read as the cap, and none
    pulls harder than :data:`BELIEVED` deviations, so a page left open does not make a slow player.
    """
    if not outcome.right or outcome.seconds is None:
        return [(part.pace, part.pace_variance) for part in parts], None
    mean, variance = _pace(parts, features, by)
    spread = _spread(rows, by)
    total = variance + spread
    limit = BELIEVED * math.sqrt(total)
    surprise = math.log(min(max(outcome.seconds, 0.1), CAP)) - mean
    surprise = min(max(surprise, -limit), limit)
    read = []
    for part in parts:
        vh = part.pace_variance * part.pace_h
        read.append((part.pace + vh * surprise / total, part.pace_variance - vh * vh / total + part.speed.noise))
    return read, _new_spread(rows.get(PACE), outcome.at, surprise * surprise - variance, by)


def _new_spread(row: Row | None, at: datetime, seen: float, by: Parameters) -> Row:
    """The player's spread after one more answer that differed by ``seen`` (a variance, may be < 0)."""
    count = row.successes if row else 0.0
    spread = row.pace if row else by.spread
    spread += (seen - spread) / (by.spread_strength + min(count, SPREAD_MEMORY) + 1.0)
    return Row(PACE, max(row.at, at) if row else at, 0.0, 0.0, max(spread, 0.02), 0.0, successes=count + 1.0)
