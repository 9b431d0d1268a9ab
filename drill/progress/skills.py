"""What each skill brings or costs: the fluencies of a player's cards, shared out among their skills.

Conventions. The model has a fluency for every card, learnt from all cards that share its skills. These are
shared out additively: a card's is the mean of all plus what each of its skills brings. What a skill brings
is thus what its cards have beyond what their other skills explain, so that cards that are weak for
their ask do not speak against their key. It is found by least squares with a ridge of :data:`RIDGE` cards (a
skill seen on few cards is taken to be like the others), by going round the skills until nothing moves
(Hastie & Tibshirani, *Generalized Additive Models*, 1990, ch. 4: backfitting). The variance of a skill's
share is that of its cards' fluencies, the model's own and what is left unexplained, over their number.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from drill.memory.rows import Fluency

#: A skill with n cards moves n / (n + RIDGE) of the way to what they say.
RIDGE: Final = 3.0
#: Going round the skills ends when none moves by more than this, or after so many rounds.
STILL: Final = 1e-5
ROUNDS: Final = 200


@dataclass(frozen=True)
class Practised:
    """An answered card: its skills, how many answers it had, its fluency."""

    card: str
    skills: tuple[str, ...]
    answers: int
    fluency: Fluency


@dataclass(frozen=True)
class Estimate:
    """What a skill brings: the share of answers that it makes clean (below 0: costs), its deviation, the
    cards that have it and their answers."""

    skill: str
    gain: float
    sd: float
    cards: int
    answers: int


def share_out(cards: Sequence[Practised]) -> tuple[Estimate, ...]:
    """What every skill of these cards brings, by name of the skill."""
    having: dict[str, list[int]] = {}
    for place, card in enumerate(cards):
        for skill in card.skills:
            having.setdefault(skill, []).append(place)
    gains, left = _backfit(having, [card.fluency.p for card in cards])
    return tuple(
        _estimate(skill, gains[skill], [(cards[n], left[n]) for n in places])
        for skill, places in sorted(having.items())
    )


def _backfit(having: Mapping[str, Sequence[int]], values: Sequence[float]) -> tuple[dict[str, float], list[float]]:
    """The gain of each skill, and what is left of each value beyond the mean and the gains."""
    if not values:
        return dict.fromkeys(having, 0.0), []
    # numpy costs a tenth of a second, which a process that shares nothing out need not spend.
    import numpy as np

    left = np.array(values) - sum(values) / len(values)
    cards = {skill: np.array(places) for skill, places in having.items()}
    gains = dict.fromkeys(having, 0.0)
    for _ in range(ROUNDS):
        moved = 0.0
        for skill, places in cards.items():
            gain = (float(left[places].sum()) + gains[skill] * len(places)) / (len(places) + RIDGE)
            step = gain - gains[skill]
            left[places] -= step
            gains[skill] = gain
            moved = max(moved, abs(step))
        if moved < STILL:
            break
    return gains, left.tolist()


def _estimate(skill: str, gain: float, of: Sequence[tuple[Practised, float]]) -> Estimate:
    variance = sum(card.fluency.sd**2 + left**2 for card, left in of) / len(of)
    answers = sum(card.answers for card, _ in of)
    return Estimate(skill, gain, math.sqrt(variance / (len(of) + RIDGE)), len(of), answers)
