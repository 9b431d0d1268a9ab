"""The parameters of the recall model, and the values that every player starts from."""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cached_property


@dataclass(frozen=True)
class Drift:
    """How an offset starts and moves: its variance at the start, the noise that an answer adds to it, and the
    days in which it decays by e."""

    start: float
    noise: float
    days: float


@dataclass(frozen=True)
class Weights:
    """Stage 2 for one level (player, skills or card): the weight of each trace on the logit."""

    successes: float = 0.0
    failures: float = 0.0
    minutes: float = 0.0
    never: float = 0.0
    last: float = 0.0
    recent_successes: float = 0.0
    recent_failures: float = 0.0


@dataclass(frozen=True)
class Holding:
    """How holds begin and grow.

    first     days that a first answer leaves; a card's are times e^(``by_ease`` · (difficulty − ``usual``))
    by_ease   how strongly the first hold of a card grows with its ease
    usual     the difficulty (logit) at which a card's first hold is ``first``
    known     the factor of the first hold if the first answer was right
    growth    a right answer after x holds multiplies the hold by 1 + growth · x / (1 + x / most)
    most      the x at which that growth is half of its limit
    wrong     the factor of a wrong answer, which the player then reads
    exponent  κ in the share retained, (1 + days / hold)^−κ
    shortest  the least hold, in days
    longest   the greatest hold, in days
    """

    first: float = 0.3
    by_ease: float = 1.2
    usual: float = -0.7
    known: float = 3.0
    growth: float = 1.6
    most: float = 4.0
    wrong: float = 1.0
    exponent: float = 1.0
    shortest: float = 0.05
    longest: float = 400.0


@dataclass(frozen=True)
class Carrying:
    """How skills carry over to new cards.

    share     the share of their skills' retention that new cards have, at the start
    variance  its variance at the start
    noise     what an answer adds to the variance
    guess     the chance of a right answer to a card that is not known
    slip      the chance of a wrong answer to a card that is known
    """

    share: float = 0.3
    variance: float = 0.1
    noise: float = 0.0025
    guess: float = 0.1
    slip: float = 0.05


@dataclass(frozen=True)
class Parameters:
    """Everything that a refit may change.

    slow, fast, skill, card          the offsets in the logit: the player's two, a skill's, a card's
    base, gain                       stage 2: the constant, and the weight of stage 1's logit
    on_player, on_skills, on_card    stage 2: the weights of the traces of each level
    on_kept, on_skills_kept          stage 2: the weights of what is retained of the card, and of its skills
    on_known                         stage 2: the weight of the chance that the card is known by either
    slow_pace, fast_pace             the player's two offsets in ln(seconds)
    ask_pace, skill_pace, card_pace  the offsets in ln(seconds) of an ask, of another skill, of a card
    spread                           the variance of ln(seconds) about its expectation, at the start
    spread_strength                  how many answers that starting value counts for
    harder_is_slower                 the change of ln(seconds) per logit of difficulty (higher is easier)
    practice                         the change of ln(seconds) per ln(1 + right answers to the card)
    """

    slow: Drift = Drift(1.0, 0.0005, 1000.0)
    fast: Drift = Drift(0.075, 0.0025, 0.25)
    skill: Drift = Drift(0.1, 0.001, 200.0)
    card: Drift = Drift(0.1, 0.5, 200.0)
    base: float = 1.6
    gain: float = 0.9
    on_player: Weights = Weights()
    on_skills: Weights = Weights(0.05, -0.07, -0.034, -0.73, 0.10)
    on_card: Weights = Weights(0.33, -0.47, -0.2, -1.2, 0.0)
    on_kept: float = 0.0
    on_skills_kept: float = 0.0
    on_known: float = 0.0
    slow_pace: Drift = Drift(0.15, 0.0002, 1000.0)
    fast_pace: Drift = Drift(0.02, 0.001, 0.25)
    ask_pace: Drift = Drift(0.06, 0.0005, 1000.0)
    skill_pace: Drift = Drift(0.05, 0.0005, 200.0)
    card_pace: Drift = Drift(0.03, 0.003, 200.0)
    spread: float = 0.2
    spread_strength: float = 20.0
    harder_is_slower: float = -0.1
    practice: float = -0.12
    holding: Holding = Holding()
    carrying: Carrying = Carrying()

    @cached_property
    def second_stage(self) -> tuple[float, ...]:
        """The weights of stage 2 in the order of :func:`drill.memory.recall.stage_two_inputs`, without the
        base."""
        levels = (self.on_player, self.on_skills, self.on_card)
        of_traces = (getattr(level, field.name) for level in levels for field in fields(Weights))
        return (self.gain, *of_traces, self.on_kept, self.on_skills_kept, self.on_known)


START = Parameters()
