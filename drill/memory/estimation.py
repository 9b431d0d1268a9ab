"""Fitting the parameters to a log: stage 2 and the noise of stage 1, kept only if they predict better.

Conventions. A log is one player's (or several players', each in order) answers with the features of
their cards, by (answered at, id). Stage 2 is a logistic regression on the traces of
:class:`drill.memory.parameters.Weights`, drawn towards the weights it starts from, so that little data changes
little; the noise of the card and skill offsets is chosen from a few multiples of theirs. New parameters are
kept only if their log loss over the last weeks, which they were not fitted to, is lower.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from drill.memory.parameters import START, Parameters, Weights
from drill.memory.recall import learn, stage_two
from drill.memory.rows import Features, Outcome, Row

Floats = NDArray[np.float64]

#: A player is refitted once there are this many answers, judged on those of the last weeks.
ENOUGH = 200
LAST_WEEKS = timedelta(days=21)
#: How hard the weights are held to those they start from, in answers' worth of evidence.
PULL = 8.0
NOISES = (0.3, 1.0, 3.0)
#: What a weight may move by before it is held: traces are logarithms of counts, of size one or so.
_NAMES = tuple(field.name for field in fields(Weights))


@dataclass(frozen=True)
class LoggedAnswer:
    """One answer of a log, with what the filters need to know of its card."""

    features: Features
    outcome: Outcome


def traces_of(log: Sequence[LoggedAnswer], parameters: Parameters) -> tuple[Floats, Floats]:
    """Stage 2's inputs before every answer of one player's log, (answers, 25), and what came of it."""
    rows: dict[str, Row] = {}
    inputs = []
    for answered in log:
        inputs.append(stage_two(rows, answered.features, answered.outcome.at, parameters))
        rows.update(learn(rows, answered.features, answered.outcome, parameters))
    return np.array(inputs), np.array([float(answered.outcome.right) for answered in log])


def weights_of(parameters: Parameters) -> Floats:
    """Stage 2's weights in the order of :func:`drill.memory.recall.stage_two`, the base last."""
    levels = (parameters.on_player, parameters.on_skills, parameters.on_card)
    each = [getattr(level, name) for level in levels for name in _NAMES]
    kept = parameters.on_kept, parameters.on_skills_kept, parameters.on_known
    return np.array([parameters.gain, *each, *kept, parameters.base])


def with_weights(parameters: Parameters, weights: Floats) -> Parameters:
    """The parameters with these weights for stage 2."""
    gain, *each, kept, skills_kept, known, base = (float(w) for w in weights)
    size = len(_NAMES)
    player, skills, card = (Weights(*each[n * size : (n + 1) * size]) for n in range(3))
    return replace(
        parameters,
        gain=gain,
        base=base,
        on_player=player,
        on_skills=skills,
        on_card=card,
        on_kept=kept,
        on_skills_kept=skills_kept,
        on_known=known,
    )


def log_loss(p: Floats, y: Floats) -> float:
    """Mean log loss in nats."""
    p = np.clip(p, 1e-6, 1.0 - 1e-6)
    return float(-(y * np.log(p) + (1.0 - y) * np.log(1.0 - p)).mean())


def predicted(inputs: Floats, weights: Floats) -> Floats:
    """P(right) by stage 2."""
    return np.asarray(1.0 / (1.0 + np.exp(-np.clip(inputs @ weights[:-1] + weights[-1], -30.0, 30.0))))


def fitted(inputs: Floats, right: Floats, start: Floats, pull: float = PULL) -> Floats:
    """Weights by Newton's method, drawn towards ``start`` as by ``pull`` answers each."""
    x = np.hstack([inputs, np.ones((len(inputs), 1))])
    w = start.copy()
    for _ in range(20):
        p = 1.0 / (1.0 + np.exp(-np.clip(x @ w, -30.0, 30.0)))
        bend = (x * (p * (1.0 - p))[:, None]).T @ x + pull * np.eye(len(w))
        step = np.linalg.solve(bend, x.T @ (p - right) + pull * (w - start))
        w = w - step
        if np.abs(step).max() < 1e-6:
            break
    return w


def refit(logs: Sequence[Sequence[LoggedAnswer]], start: Parameters = START, pull: float = PULL) -> Parameters:
    """The parameters that fit these players' logs best, stage 2 for each of a few noises."""
    best, least = start, np.inf
    for scale in NOISES:
        tried = replace(
            start,
            card=replace(start.card, noise=start.card.noise * scale),
            skill=replace(start.skill, noise=start.skill.noise * scale),
        )
        found = [traces_of(log, tried) for log in logs]
        inputs, right = np.vstack([x for x, _ in found]), np.concatenate([y for _, y in found])
        weights = fitted(inputs, right, weights_of(start), pull)
        loss = log_loss(predicted(inputs, weights), right)
        if loss < least:
            best, least = with_weights(tried, weights), loss
    return best


@dataclass(frozen=True)
class Tried:
    """New parameters for one player, and the log loss on the last weeks of the current ones
    (``before``) and of these (``after``)."""

    parameters: Parameters
    before: float
    after: float

    @property
    def better(self) -> bool:
        """Whether they predict better than the current ones."""
        return self.after < self.before


def tried(log: Sequence[LoggedAnswer], current: Parameters) -> Tried | None:
    """New parameters for one player compared with the current ones, or None: too little yet.

    They are fitted to what lies before the last weeks, compared with the current ones on those, and,
    if they win, fitted to everything.
    """
    if len(log) < ENOUGH:
        return None
    since = log[-1].outcome.at - LAST_WEEKS
    before = [answered for answered in log if answered.outcome.at < since]
    if len(before) < ENOUGH // 2 or len(before) == len(log):
        return None
    candidate = refit([before], current)
    losses = []
    for parameters in (candidate, current):
        inputs, right = traces_of(log, parameters)
        recent = slice(len(before), None)
        losses.append(log_loss(predicted(inputs[recent], weights_of(parameters)), right[recent]))
    after, now = losses
    return Tried(refit([log], current) if after < now else candidate, now, after)
