"""What a player knows now: how likely the next answer to a card is right, and how long it takes.

Conventions. **Fluency** is P(right) × P(seconds ≤ allowed | right). Each factor is a small filter over
*offsets* from what is known before anyone has answered: the difficulty of the card, and the usual seconds of
its ask. The offsets are independent. The player has two (slow: weeks, fast: hours), each of the card's skills
has one, and the card has one. Each offset is a :class:`Row`. An answer reads and writes only the rows that
:func:`touched_rows` names.

Stage 1 of P(right) is an extended Kalman filter on the logit. Every offset decays towards 0 with its own time
constant (days). Stage 2 is a logistic correction. Its inputs are the counts, the time since the last answer and
the last outcome, for the player, for the skills (their mean) and for the card. Seconds are a linear Kalman
filter on ln(seconds) of the right answers, with the same offsets; its noise is the player's own.

Every card and every skill also has a **hold**: the days after which half of what was practised is still
retained. The share retained is (1 + days/hold)^−κ. The hold grows with practice, and grows more the longer ago
the last practice was. A plan weighs holds and not offsets, because offsets are beliefs, and the expected change
of a belief is 0. How much the skills **carry** over to a card that was never practised is estimated for each
player.

Times are aware UTC datetimes and arguments. Nothing here reads a clock or keeps state.

Sources. Structure and starting values were compared on public logs of learners with the models of Settles &
Meeder (ACL 2016), Pavlik & Anderson (2005), Pavlik, Cen & Koedinger (AIED 2009), Lindsey et al. (2014) and
Choffin et al. (EDM 2019). The mean of the logit under uncertainty follows MacKay (Neural Comput. 1992). That
practice shortens times by a power of its amount is Newell & Rosenbloom's (1981). Power forgetting is
Wickelgren's (1974); that spaced practice adds more is Bjork & Bjork's (1992). The logs hold few long gaps on
one card. Until they are refitted, the weights of a card's time, of its hold and of never having seen it are our
estimates, as are the values for seconds, hold and carry.
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
    card_row_name,
    pair_skills,
)

#: A time that is further than this many standard deviations from the expected one counts as if it were at this many.
BELIEVED = 2.0
#: The most answers that the estimate of a player's spread of seconds looks back on.
SPREAD_MEMORY = 200.0


class _Part(NamedTuple):
    """One offset, decayed to the time of the prediction.

    ``h`` is its share of the sum of logits, ``pace_h`` of the sum for ln(seconds). ``since`` is the seconds
    since the last answer of its row, 0 if it has none.
    """

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


def _decay(mean: float, variance: float, drift: Drift, seconds: float) -> tuple[float, float]:
    rho = math.exp(-seconds / (drift.days * DAY))
    return rho * mean, rho * rho * variance + drift.start * (1.0 - rho * rho)


def _elapsed(row: Row, now: datetime) -> float:
    return max((now - row.at).total_seconds(), 0.0)


def _part(name: str, h: float, right: Drift, speed: Drift, row: Row | None, now: datetime) -> _Part:
    # The ask's offset counts in full for seconds, because tapping a shape takes much longer than naming it.
    pace_h = 1.0 if name.startswith("ask:") else h
    if row is None:
        return _Part(name, h, pace_h, right, speed, 0.0, right.start, 0.0, speed.start, None, 0.0)
    seconds = _elapsed(row, now)
    mean, variance = _decay(row.mean, row.variance, right, seconds)
    pace, pace_variance = _decay(row.pace, row.pace_variance, speed, seconds)
    return _Part(name, h, pace_h, right, speed, mean, variance, pace, pace_variance, row, seconds)


def _parts(rows: Mapping[str, Row], features: Features, now: datetime, by: Parameters) -> list[_Part]:
    """Return the offsets decayed to ``now``: the player's two, the skills' and the card's, in that order."""
    skills = features.skills + pair_skills(features.skills)
    share = 1.0 / max(len(skills), 1)
    card = card_row_name(features.card_id)
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
    """Return the seven traces that :class:`Weights` weighs, in its order."""
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


def _stage_one(parts: list[_Part], difficulty: float) -> tuple[float, float]:
    """Return the logit of being right and its variance, by stage 1."""
    z = variance = 0.0
    for part in parts:
        h = part.h
        z += h * part.mean
        variance += h * h * part.variance
    return difficulty + z, variance


def stage_two_inputs(rows: Mapping[str, Row], features: Features, now: datetime, parameters: Parameters) -> list[float]:
    """Return the 25 inputs of stage 2.

    They are stage 1's logit; the traces of the player, of the skills and of the card; and what is retained of
    the card, of its skills, and of the card with what its skills carry over.
    """
    parts = _parts(rows, features, now, parameters)
    return _stage_two_inputs(parts, _share(rows, parameters), features, parameters)[0]


def _share(rows: Mapping[str, Row], by: Parameters) -> float:
    """Return the share of the skills' retention that carries over to this player's new cards."""
    row = rows.get(CARRY)
    return row.mean if row else by.carrying.share


def _retentions(parts: list[_Part], by: Parameters) -> tuple[float, float]:
    """Return the share retained of the card, and the mean share retained of its skills."""
    kept = [retained(part.since / DAY, part.row.hold, by.holding) if part.row else 0.0 for part in parts[2:]]
    return kept[-1], sum(kept[:-1]) / max(len(kept) - 1, 1)


def _chance_known(own: float, skills: float, share: float) -> float:
    """Return the chance that a card is known by its own practice or by what its skills carry over."""
    return 1.0 - (1.0 - own) * (1.0 - min(max(share * skills, 0.01), 0.95))


def _stage_two_inputs(
    parts: list[_Part], share: float, features: Features, by: Parameters
) -> tuple[list[float], float]:
    """Return the inputs of stage 2, and the variance of stage 1's logit."""
    z, variance = _stage_one(parts, features.difficulty)
    skills = [_traces(part) for part in parts[2:-1]]
    mean = [sum(column) / len(skills) for column in zip(*skills, strict=True)] if skills else [0.0] * 7
    g = z / math.sqrt(1.0 + math.pi * variance / 8.0)
    own, kept = _retentions(parts, by)
    retention = own, kept, _chance_known(own, kept, share)
    return [g, *_traces(parts[0]), *mean, *_traces(parts[-1]), *retention], variance


def _predict_right(parts: list[_Part], share: float, features: Features, by: Parameters) -> tuple[float, float]:
    """Return P(right) after both stages, and its standard deviation."""
    inputs, variance = _stage_two_inputs(parts, share, features, by)
    p = _sigmoid(by.base + sum(w * x for w, x in zip(by.second_stage, inputs, strict=True)))
    return p, p * (1.0 - p) * by.gain * math.sqrt(variance)


def _predict_log_seconds(parts: list[_Part], features: Features, by: Parameters) -> tuple[float, float]:
    """Return the expected ln(seconds) of a right answer, and the variance of that expectation."""
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
    """Return the variance of the player's ln(seconds) about its expectation."""
    row = rows.get(PACE)
    return row.pace if row else by.spread


def fluency(
    rows: Mapping[str, Row],
    features: Features,
    now: datetime,
    allowed_seconds: float,
    parameters: Parameters = START,
) -> Fluency:
    """Return the probability that the next answer to this card is clean.

    ``allowed_seconds`` include the allowance for tapping.
    """
    return _predict(_parts(rows, features, now, parameters), rows, features, allowed_seconds, parameters)[0]


def fluency_by_row(
    rows: Mapping[str, Row],
    features: Features,
    now: datetime,
    allowed_seconds: float,
    parameters: Parameters = START,
) -> tuple[Fluency, dict[str, tuple[float, float]]]:
    """Return the fluency of a card, and how much of its standard deviation comes from each row.

    For each row there are two numbers: how far ``p`` moves if the row's offset in the logit is one standard
    deviation higher, and the same for its offset in ln(seconds). Their squares sum to the square of ``sd``. Two
    cards that share a row move together by it.
    """
    parts = _parts(rows, features, now, parameters)
    prediction, by_logit, by_pace = _predict(parts, rows, features, allowed_seconds, parameters)
    moves = {}
    for part in parts:
        slower = -by_pace * part.pace_h * math.sqrt(part.pace_variance)
        moves[part.name] = by_logit * part.h * math.sqrt(part.variance), slower
    return prediction, moves


def _predict(
    parts: list[_Part], rows: Mapping[str, Row], features: Features, allowed: float, by: Parameters
) -> tuple[Fluency, float, float]:
    """Return the fluency, the slope of ``p`` on stage 1's logit, and its falling slope on ln(seconds)."""
    right, right_sd = _predict_right(parts, _share(rows, by), features, by)
    mean, variance = _predict_log_seconds(parts, features, by)
    total = math.sqrt(variance + _spread(rows, by))
    late_by = (math.log(allowed) - mean) / total
    in_time = 0.5 * math.erfc(-late_by / math.sqrt(2.0))
    density = math.exp(-0.5 * late_by * late_by) / math.sqrt(2.0 * math.pi) / total
    sd = math.hypot(in_time * right_sd, right * density * math.sqrt(variance))
    prediction = Fluency(right * in_time, sd, right, math.exp(mean))
    return prediction, in_time * right * (1.0 - right) * by.gain, right * density


def retained(days: float, hold: float, holding: Holding) -> float:
    """Return the share that is retained of what was practised ``days`` ago, or 0 if nothing was practised."""
    return float((1.0 + days / hold) ** -holding.exponent) if hold > 0.0 else 0.0


def learn(
    rows: Mapping[str, Row], features: Features, outcome: Outcome, parameters: Parameters = START
) -> dict[str, Row]:
    """Return the new versions of the rows that this answer changes.

    Pass the answers of one player in the order (answered at, id). An answer that is older than a row counts as
    if it had been given at the row's time.
    """
    return _update_rows(_parts(rows, features, outcome.at, parameters), rows, features, outcome, parameters)


def predict_and_learn(
    rows: Mapping[str, Row],
    features: Features,
    outcome: Outcome,
    allowed_seconds: float,
    parameters: Parameters = START,
) -> tuple[Fluency, dict[str, Row]]:
    """Return the fluency just before an answer, and what :func:`learn` returns for it.

    Both together take little longer than one of them.
    """
    parts = _parts(rows, features, outcome.at, parameters)
    prediction = _predict(parts, rows, features, allowed_seconds, parameters)[0]
    return prediction, _update_rows(parts, rows, features, outcome, parameters)


def _update_rows(
    parts: list[_Part], rows: Mapping[str, Row], features: Features, outcome: Outcome, parameters: Parameters
) -> dict[str, Row]:
    """Return the new versions of the rows that an answer changes, from their parts just before it."""
    z, variance = _stage_one(parts, features.difficulty)
    q = _sigmoid(z / math.sqrt(1.0 + math.pi * variance / 8.0))
    v = q * (1.0 - q)
    scale = 1.0 + v * variance
    surprise = float(outcome.right) - q
    paces, new_spread = _update_paces(rows, parts, features, outcome, parameters)
    changed = {}
    for number, (part, (pace, pace_variance)) in enumerate(zip(parts, paces, strict=True)):
        vh = part.variance * part.h
        first = 0.0
        if number > 1:
            first = first_hold(features, parameters.holding) if part is parts[-1] else parameters.holding.first
        changed[part.name] = _update_row(
            part,
            outcome,
            mean=part.mean + vh * surprise / scale,
            variance=part.variance - vh * vh * v / scale + part.right.noise,
            pace=pace,
            pace_variance=pace_variance,
            hold=_update_hold(part, outcome, first, parameters.holding),
        )
    if new_spread is not None:
        changed[PACE] = new_spread
    changed[CARRY] = _update_carry(rows.get(CARRY), parts, outcome, parameters)
    return changed


def first_hold(features: Features, holding: Holding) -> float:
    """Return the days that a wrong first answer to a card leaves as its hold."""
    return holding.first * math.exp(holding.by_ease * (features.difficulty - holding.usual))


def _update_hold(part: _Part, outcome: Outcome, first: float, by: Holding) -> float:
    """Return the hold after this answer. The player's own rows (``first`` 0) have none."""
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


def _update_carry(row: Row | None, parts: list[_Part], outcome: Outcome, by: Parameters) -> Row:
    """Return the row of what the skills carry over, after one more answer.

    It is a linear filter on the surprise. P(right), apart from guesses and slips, is taken as 1 − (1 − own)(1 −
    share · mean retention of the skills).
    """
    c = by.carrying
    share, variance = (row.mean, row.variance) if row else (c.share, c.variance)
    own, skills = _retentions(parts, by)
    known = _chance_known(own, skills, share)
    p = c.guess + (1.0 - c.guess - c.slip) * known
    slope = (1.0 - c.guess - c.slip) * (1.0 - own) * skills
    total = slope * slope * variance + p * (1.0 - p)
    share += variance * slope * (float(outcome.right) - p) / total
    variance += c.noise - variance * variance * slope * slope / total
    at = max(row.at, outcome.at) if row else outcome.at
    return Row(CARRY, at, max(share, 0.0), variance, 0.0, 0.0)


def _update_row(
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


def _update_paces(
    rows: Mapping[str, Row], parts: list[_Part], features: Features, outcome: Outcome, by: Parameters
) -> tuple[list[tuple[float, float]], Row | None]:
    """Return the pace of every part after this answer's seconds, and the new :data:`PACE` row.

    Only the time of a right answer counts. A time over :data:`CAP` counts as the cap, and no time counts as
    further than :data:`BELIEVED` standard deviations from the expected one, so that a page left open does not
    make a slow player.
    """
    if not outcome.right or outcome.seconds is None:
        return [(part.pace, part.pace_variance) for part in parts], None
    mean, variance = _predict_log_seconds(parts, features, by)
    spread = _spread(rows, by)
    total = variance + spread
    limit = BELIEVED * math.sqrt(total)
    surprise = math.log(min(max(outcome.seconds, 0.1), CAP)) - mean
    surprise = min(max(surprise, -limit), limit)
    paces = []
    for part in parts:
        vh = part.pace_variance * part.pace_h
        paces.append((part.pace + vh * surprise / total, part.pace_variance - vh * vh / total + part.speed.noise))
    return paces, _update_spread(rows.get(PACE), outcome.at, surprise * surprise - variance, by)


def _update_spread(row: Row | None, at: datetime, seen: float, by: Parameters) -> Row:
    """Return the player's spread after one more answer.

    ``seen`` is what that answer says of the variance; it may be negative.
    """
    count = row.successes if row else 0.0
    spread = row.pace if row else by.spread
    spread += (seen - spread) / (by.spread_strength + min(count, SPREAD_MEMORY) + 1.0)
    return Row(PACE, max(row.at, at) if row else at, 0.0, 0.0, max(spread, 0.02), 0.0, successes=count + 1.0)
