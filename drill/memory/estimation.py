"""Fit the parameters to a log: the weights of stage 2 and the noise of stage 1.

Conventions. A log is the answers of one player with the features of their cards, in the order (answered at,
id); several players are several logs. Stage 2 is a logistic regression on the traces of
:class:`drill.memory.parameters.Weights`. It is drawn towards the weights that it starts from, so that little
data changes little. The noise of the card and skill offsets is chosen from a few multiples of the present one.
New parameters are kept only if they have a lower log loss over the last weeks, to which they were not fitted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from drill.memory.parameters import START, Parameters, Weights
from drill.memory.recall import learn, stage_two_inputs
from drill.memory.rows import Features, Outcome, Row

Floats = NDArray[np.float64]

#: The number of answers from which a player is refitted. The fit is judged on the last weeks.
ENOUGH = 200
LAST_WEEKS = timedelta(days=21)
#: How hard the weights are held to their starting values, in answers' worth of evidence.
PULL = 8.0
#: The multiples of the present noise that are tried.
NOISES = (0.3, 1.0, 3.0)
_NAMES = tuple(field.name for field in fields(Weights))


@dataclass(frozen=True)
class LoggedAnswer:
    """One answer of a log, with the features of its card."""

    features: Features
    outcome: Outcome


def collect_inputs(log: Sequence[LoggedAnswer], parameters: Parameters) -> tuple[Floats, Floats]:
    """Replay one player's log. Return the inputs of stage 2 before every answer, (answers, 25), and whether
    each was right, (answers,), as 1 or 0."""
    rows: dict[str, Row] = {}
    inputs = []
    for answered in log:
        inputs.append(stage_two_inputs(rows, answered.features, answered.outcome.at, parameters))
        rows.update(learn(rows, answered.features, answered.outcome, parameters))
    return np.array(inputs), np.array([float(answered.outcome.right) for answered in log])


def stage_two_weights(parameters: Parameters) -> Floats:
    """Return the weights of stage 2 in the order of :func:`drill.memory.recall.stage_two_inputs`, the base
    last."""
    levels = (parameters.on_player, parameters.on_skills, parameters.on_card)
    of_traces = [getattr(level, name) for level in levels for name in _NAMES]
    kept = parameters.on_kept, parameters.on_skills_kept, parameters.on_known
    return np.array([parameters.gain, *of_traces, *kept, parameters.base])


def replace_weights(parameters: Parameters, weights: Floats) -> Parameters:
    """Return the parameters with these weights of stage 2."""
    gain, *of_traces, kept, skills_kept, known, base = (float(w) for w in weights)
    size = len(_NAMES)
    player, skills, card = (Weights(*of_traces[n * size : (n + 1) * size]) for n in range(3))
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
    """Return the mean log loss in nats."""
    p = np.clip(p, 1e-6, 1.0 - 1e-6)
    return float(-(y * np.log(p) + (1.0 - y) * np.log(1.0 - p)).mean())


def predict_right(inputs: Floats, weights: Floats) -> Floats:
    """Return P(right) by stage 2."""
    return np.asarray(1.0 / (1.0 + np.exp(-np.clip(inputs @ weights[:-1] + weights[-1], -30.0, 30.0))))


def fit_weights(inputs: Floats, right: Floats, start: Floats, pull: float = PULL) -> Floats:
    """Fit the weights by Newton's method, each drawn towards ``start`` as by ``pull`` answers."""
    x = np.hstack([inputs, np.ones((len(inputs), 1))])
    w = start.copy()
    for _ in range(20):
        p = 1.0 / (1.0 + np.exp(-np.clip(x @ w, -30.0, 30.0)))
        hessian = (x * (p * (1.0 - p))[:, None]).T @ x + pull * np.eye(len(w))
        step = np.linalg.solve(hessian, x.T @ (p - right) + pull * (w - start))
        w = w - step
        if np.abs(step).max() < 1e-6:
            break
    return w


def refit(logs: Sequence[Sequence[LoggedAnswer]], start: Parameters = START, pull: float = PULL) -> Parameters:
    """Return the parameters that fit these players' logs best: stage 2 is fitted for each of :data:`NOISES`."""
    best, least = start, np.inf
    for scale in NOISES:
        parameters = replace(
            start,
            card=replace(start.card, noise=start.card.noise * scale),
            skill=replace(start.skill, noise=start.skill.noise * scale),
        )
        replays = [collect_inputs(log, parameters) for log in logs]
        inputs, right = np.vstack([x for x, _ in replays]), np.concatenate([y for _, y in replays])
        weights = fit_weights(inputs, right, stage_two_weights(start), pull)
        loss = log_loss(predict_right(inputs, weights), right)
        if loss < least:
            best, least = replace_weights(parameters, weights), loss
    return best


@dataclass(frozen=True)
class Trial:
    """New parameters for one player, and two log losses on the last weeks: with the current parameters
    (``before``) and with the new ones (``after``)."""

    parameters: Parameters
    before: float
    after: float

    @property
    def better(self) -> bool:
        """Whether they predict better than the current ones."""
        return self.after < self.before


def try_refit(log: Sequence[LoggedAnswer], current: Parameters) -> Trial | None:
    """Fit new parameters for one player and compare them with the current ones.

    They are fitted to everything before the last weeks and compared on the last weeks. If they win, they are
    fitted again to the whole log. Return None if there are too few answers yet.
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
        inputs, right = collect_inputs(log, parameters)
        recent = slice(len(before), None)
        losses.append(log_loss(predict_right(inputs[recent], stage_two_weights(parameters)), right[recent]))
    after, now = losses
    return Trial(refit([log], current) if after < now else candidate, now, after)
