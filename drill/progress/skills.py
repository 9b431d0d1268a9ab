"""What each skill brings or costs: the fluencies of a player's cards, divided among their skills.

Conventions. The model gives every card a fluency. Here it is modelled as the mean of all cards plus what each of the
card's skills brings. So the gain of a skill is what its cards have beyond what their other skills explain: cards that
are weak because of their ask do not count against their key. The gains are found by ridge regression (Hoerl &
Kennard, Technometrics 12, 1970) on one column for each skill, with a penalty of :data:`RIDGE` cards: a skill seen on
few cards is taken to be like the others. The variance of a gain is that of the skill's cards (the model's own and the
unexplained part) over their number.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from drill.memory.rows import Fluency

Floats = NDArray[np.float64]

#: The estimate of a skill with n cards moves n / (n + RIDGE) of the way to their mean.
RIDGE: Final = 3.0


@dataclass(frozen=True)
class Practised:
    """An answered card: its skills, the number of its answers, its fluency."""

    card: str
    skills: tuple[str, ...]
    answers: int
    fluency: Fluency


@dataclass(frozen=True)
class Estimate:
    """What a skill brings: the share of answers that it makes clean; below 0 it costs.

    ``sd`` is the standard deviation of ``gain``; ``cards`` and ``answers`` count those with the skill.
    """

    skill: str
    gain: float
    sd: float
    cards: int
    answers: int


def estimate_gains(cards: Sequence[Practised]) -> tuple[Estimate, ...]:
    """Estimate the gain of every skill of these cards; sort by the name of the skill."""
    skills = sorted({skill for card in cards for skill in card.skills})
    if not skills:
        return ()
    column = {skill: n for n, skill in enumerate(skills)}
    has = np.zeros((len(cards), len(skills)))
    for row, card in enumerate(cards):
        has[row, [column[skill] for skill in card.skills]] = 1.0
    fluencies = np.array([card.fluency.p for card in cards])
    gains, residuals = _ridge(has, fluencies - fluencies.mean())
    estimates = []
    for skill, n in column.items():
        rows = np.flatnonzero(has[:, n]).tolist()
        estimates.append(_estimate(skill, float(gains[n]), [(cards[row], float(residuals[row])) for row in rows]))
    return tuple(estimates)


def _ridge(columns: Floats, values: Floats) -> tuple[Floats, Floats]:
    """Return the coefficients of a ridge regression of ``values`` (rows,) on ``columns`` (rows, skills), and the
    residuals.
    """
    penalty = RIDGE * np.eye(columns.shape[1])
    gains: Floats = np.linalg.solve(columns.T @ columns + penalty, columns.T @ values).astype(np.float64)
    return gains, values - columns @ gains


def _estimate(skill: str, gain: float, of: Sequence[tuple[Practised, float]]) -> Estimate:
    variance = sum(card.fluency.sd**2 + left**2 for card, left in of) / len(of)
    answers = sum(card.answers for card, _ in of)
    return Estimate(skill, gain, math.sqrt(variance / (len(of) + RIDGE)), len(of), answers)
