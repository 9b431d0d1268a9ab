"""What the service does with missed cards, whoever plans: for many learners at once.

Conventions. A missed card comes back once with three cards between (or more, if another one is due),
and once more at the end of the session, which may take a third of it: the rule of
:mod:`drill.sessions.pacing`. What it had right a moment ago, and what is still to come back, does not come at the
end. A card is expected to take what the learner's cards took so far in the session.
"""

from __future__ import annotations

from typing import Protocol

import numpy as np

from drill.sessions.pacing import AT_END_SHARE, REPEAT_AFTER
from tests.bench.learners import Bools, Floats, Ints
from tests.bench.published.planning import AGAIN, Seen

NO_CARD = -1
NEVER_BACK = np.iinfo(np.int64).max


class ComingBack(Protocol):
    """Says during a session which cards come whatever the planner wants; cards of ``who`` (n,)."""

    def forced(self, seen: Seen, who: Ints, question: int, at: Floats, spent: Floats) -> Ints:
        """The card that has to come as this question of the session, or ``NO_CARD``; (n,)."""

    def answered(self, who: Ints, card: Ints, question: int, right: Bools) -> None:
        """Note what came of a question."""


class Never:
    """Nothing comes back before its planner says so."""

    def forced(self, seen: Seen, who: Ints, question: int, at: Floats, spent: Floats) -> Ints:
        return np.full(len(who), NO_CARD)

    def answered(self, who: Ints, card: Ints, question: int, right: Bools) -> None:
        pass


class AsInTheService:
    """Missed cards come back some cards later and at the end; one for each session, ``seconds`` long."""

    def __init__(self, shape: tuple[int, ...], seconds: float) -> None:
        self.seconds = seconds
        self.due = np.full(shape, NEVER_BACK)
        """The first question as which a missed card may come back."""
        self.missed_as = np.full(shape, NEVER_BACK)
        """The question as which it was first missed."""
        self.came_at_end = np.zeros(shape, dtype=bool)
        self.last = np.full(shape[0], NO_CARD)
        self.ending = np.zeros(shape[0], dtype=bool)

    def forced(self, seen: Seen, who: Ints, question: int, at: Floats, spent: Floats) -> Ints:
        if not question:
            return np.full(len(who), NO_CARD)
        rows = np.arange(len(who))
        sooner = np.argmin(self.due[who], axis=1)
        card = np.where(self.due[who, sooner] <= question, sooner, NO_CARD)
        owed = (self.missed_as[who] < NEVER_BACK) & ~self.came_at_end[who] & (self.due[who] == NEVER_BACK)
        owed &= ~seen.last_right[who] | (at[:, None] - seen.last_at[who] >= AGAIN)
        owed[rows, self.last[who]] = False
        usual, left = spent / question, self.seconds - spent
        fitting = np.rint(self.seconds * AT_END_SHARE / usual)
        needed = np.minimum(owed.sum(axis=1), fitting) * usual
        ends = owed.any(axis=1) & (left - needed < usual / 2.0)
        first = np.argmin(np.where(owed, self.missed_as[who], NEVER_BACK), axis=1)
        self.ending[who] = ends
        return np.asarray(np.where(ends, first, card))

    def answered(self, who: Ints, card: Ints, question: int, right: Bools) -> None:
        before = self.missed_as[who, card] < NEVER_BACK
        self.came_at_end[who, card] |= self.ending[who] & before
        new = ~right & ~before
        self.missed_as[who, card] = np.where(new, question, self.missed_as[who, card])
        self.due[who, card] = np.where(new, question + REPEAT_AFTER + 1, NEVER_BACK)
        self.last[who] = card
