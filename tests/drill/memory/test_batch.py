"""The forecast of many cards at once is the fluency of each."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from drill.memory.batch import Pool, forecast
from drill.memory.parameters import START, Parameters, Weights
from drill.memory.recall import fluency, learn
from drill.memory.rows import Features, Outcome, Row

T0 = datetime(2026, 3, 1, 18, 0, tzinfo=UTC)
REFITTED = Parameters(
    on_player=Weights(0.1, -0.1, 0.02, 0.3, 0.05, 0.1, -0.2),
    on_card=Weights(0.4, -0.5, -0.1, -0.9, 0.1, 0.2, -0.1),
    on_kept=0.7,
    on_skills_kept=0.2,
    on_known=1.1,
)


def cards() -> list[Features]:
    found = []
    for ask, seconds in (("name", 4.5), ("place", 9.0), ("hum", 7.0)):
        for key in ("Ab", "C"):
            for degree in (1, 4, 7):
                skills = (f"ask:{ask}", f"key:{key}", f"degree:{degree}")
                if ask == "place":
                    skills += ("box:2", "quality:major", "shape:C")
                found.append(Features(f"{ask}:{key}:{degree}", skills, 0.3 - 0.2 * degree, ask, seconds))
    return [*found, Features("lonely", (), 0.0, "name", 4.5)]


def a_player(answers: int) -> dict[str, Row]:
    rng = random.Random(4)
    rows: dict[str, Row] = {}
    at = T0
    for _ in range(answers):
        at += timedelta(minutes=rng.choice((0.3, 5, 900)))
        one = rng.choice(cards()[::2])
        rows.update(learn(rows, one, Outcome(rng.random() < 0.6, rng.choice((None, 2.5, 8.0)), at)))
    return rows


@pytest.mark.parametrize("answers", [0, 1, 60])
@pytest.mark.parametrize("parameters", [START, REFITTED], ids=["start", "refitted"])
def test_it_is_the_fluency_of_each_card(answers: int, parameters: Parameters) -> None:
    rows, now = a_player(answers), T0 + timedelta(days=40)
    pool = Pool.of(cards())
    limits = np.linspace(3.0, 12.0, len(cards()))
    view = forecast(pool, rows, now, limits, parameters)
    for n, one in enumerate(cards()):
        expected = fluency(rows, one, now, float(limits[n]), parameters)
        assert view.p[n] == pytest.approx(expected.p, abs=1e-6)
        assert view.sd[n] == pytest.approx(expected.sd, abs=1e-6)
        assert view.right[n] == pytest.approx(expected.right, abs=1e-9)
        assert view.seconds[n] == pytest.approx(expected.seconds, rel=1e-9)


def test_the_same_cards_are_one_pool() -> None:
    assert Pool.of(cards()) is Pool.of(cards())
    assert Pool.of(cards()[1:]) is not Pool.of(cards())
