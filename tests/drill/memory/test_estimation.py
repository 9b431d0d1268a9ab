"""A refit fits, is held back where there is little, and is kept only if it foresees better."""

from __future__ import annotations

import math
import random
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from drill.memory.estimation import (
    LoggedAnswer,
    collect_inputs,
    fit_weights,
    log_loss,
    predict_right,
    refit,
    replace_weights,
    stage_two_weights,
    try_refit,
)
from drill.memory.parameters import START
from drill.memory.recall import fluency, learn
from drill.memory.rows import Features, Outcome, Row

T0 = datetime(2026, 3, 1, 18, 0, tzinfo=UTC)


def log_of(answers: int, seed: int, ability: float = 1.5, forgets: float = 0.9) -> list[LoggedAnswer]:
    """A player who forgets much faster than the start values say, one answer every two hours."""
    rng = random.Random(seed)
    last: dict[str, datetime] = {}
    found = []
    for n in range(answers):
        at = T0 + timedelta(hours=2 * n)
        key, degree = rng.choice(("Ab", "C", "E")), rng.randint(1, 7)
        card = Features(f"name:{key}:{degree}", ("ask:name", f"key:{key}", f"degree:{degree}"), 0.0, "name", 4.5)
        gap = (at - last[card.card_id]) / timedelta(days=1) if card.card_id in last else 30.0
        p = 1.0 / (1.0 + math.exp(-(ability - forgets * math.log(1.0 + gap))))
        found.append(LoggedAnswer(card, Outcome(rng.random() < p, 4.0, at)))
        last[card.card_id] = at
    return found


def loss(log: list[LoggedAnswer], parameters: object = START) -> float:
    assert isinstance(parameters, type(START))
    inputs, right = collect_inputs(log, parameters)
    return log_loss(predict_right(inputs, stage_two_weights(parameters)), right)


def test_weights_go_into_the_parameters_and_out_again() -> None:
    weights = np.arange(len(stage_two_weights(START)), dtype=float)
    assert stage_two_weights(replace_weights(START, weights)).tolist() == weights.tolist()


def test_stage_two_is_what_fluency_weighs() -> None:
    log = log_of(50, 1)
    inputs, _ = collect_inputs(log, START)
    rows: dict[str, Row] = {}
    for answered, p in zip(log, predict_right(inputs, stage_two_weights(START)), strict=True):
        now = answered.outcome.at
        assert fluency(rows, answered.features, now, 9.0).right == pytest.approx(float(p))
        rows.update(learn(rows, answered.features, answered.outcome))


def test_a_refit_foresees_other_players_of_the_kind_better() -> None:
    parameters = refit([log_of(300, seed) for seed in (1, 2, 3)])
    assert loss(log_of(300, 9), parameters) < loss(log_of(300, 9)) - 0.01


def test_no_evidence_changes_nothing() -> None:
    start = stage_two_weights(START)
    nothing = np.zeros((0, len(start) - 1))
    assert fit_weights(nothing, np.zeros(0), start).tolist() == start.tolist()


def test_a_handful_of_answers_is_not_refitted() -> None:
    assert try_refit(log_of(150, 1), START) is None


def test_a_player_unlike_the_start_gets_parameters_of_their_own() -> None:
    log = log_of(700, 4, ability=0.2, forgets=1.2)
    found = try_refit(log, START)
    assert found is not None
    assert found.better
    assert loss(log, found.parameters) < loss(log)


def test_parameters_that_foresee_no_better_are_not_kept() -> None:
    log = log_of(700, 4)
    # The last weeks go wrong where they went right before: what was fitted before them is no use now.
    since = log[-1].outcome.at - timedelta(days=21)
    turned = [
        LoggedAnswer(a.features, Outcome(not a.outcome.right, 4.0, a.outcome.at)) if a.outcome.at >= since else a
        for a in log
    ]
    found = try_refit(turned, START)
    assert found is not None
    assert not found.better
