"""The tuned constants of the plan, each with the source of its value.

Conventions. A value that was "set on learners" was chosen by ``tests.bench.learning`` on simulated learners
(seed 31) and confirmed on other seeds; its row in ``tests/bench/README.md`` says what all the values together
reach. A share is of a session's seconds. A factor multiplies the worth of a card.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class PlanWeights:
    """The constants that :class:`drill.planning.choice.CardChoice` uses.

    fades_in         days in which the value of a future day falls by e, as a share of the horizon; set on learners
    today            days within which a practised card or skill is worth next to nothing, because it is still the
                     same evening; our estimate
    by_seconds       power by which the worth of a card falls with its seconds; set on learners
    carry_power      power by which ``by_seconds`` shrinks as skills carry over, because slow asks then teach the
                     quick ones; set on learners
    by_wrong         how much the worth of a card falls with the chance that it is wrong; set on learners
    wrong_brings     share of a skill's worth that a wrong answer still brings, because the player reads the right
                     one; set on learners
    new_carried      a new card to which skills carry over is worth more, by the factor
    new_power        1 + new_carried · carried ** new_power,
    new_most         which is new_most at most; all three set on learners
    new_least        share of a session that new cards may always take; set on learners
    new_share        share that they may take if everything seen is retained; set on learners
    turns_ahead      new cards by which one ask may be ahead of another in a session, because a quick ask is worth
                     more per second and would otherwise be all that a beginner meets; our choice
    missed_holds     the longest hold, in days, that a missed card is given; set on learners
    other_keys       factor of keys other than the player's own; our choice
    out_of_focus     factor of cards outside the focus of a session; our choice
    jam_share        share of a session that the cards of a jam may take as long as there are others to keep or to
                     learn; our choice, measured by ``tests.bench.aim``
    """

    fades_in: float = 0.65
    today: float = 0.3
    by_seconds: float = 0.5
    carry_power: float = 2.0
    by_wrong: float = 0.6
    wrong_brings: float = 0.5
    new_carried: float = 30.0
    new_power: float = 4.0
    new_most: float = 3.0
    new_least: float = 0.2
    new_share: float = 0.75
    turns_ahead: int = 3
    missed_holds: float = 1.5
    other_keys: float = 0.5
    out_of_focus: float = 0.05
    jam_share: float = 2.0 / 3.0


PLAN_WEIGHTS = PlanWeights()
"""The weights in use."""
