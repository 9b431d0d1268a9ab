"""How much a way of planning teaches: ``python -m tests.bench.learning``.

Simulated players (:mod:`tests.bench.learners`) drill five minutes a day, some days missed; counted
are the cards truly clean a day after the 14th and the 30th, and 14 days after those with no practice
between.
Every planner gets the same players, decks, days, dice and seconds.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tests.bench.learners import DAY, FAMILIES, SESSIONS_BEGIN, TRANSFERS, Bools, Floats, Ints, World
from tests.bench.published.planning import (
    AGAIN,
    BlockedByKey,
    HalfLifeThreshold,
    Leitner,
    Memorize,
    OldestFirst,
    Planner,
    Random,
    Seen,
    SpacedSelection,
)

SESSION = 300.0
MISSED_DAYS = 0.15
MOST_QUESTIONS = 150


@dataclass(frozen=True)
class Diary:
    """When each learner drills and the dice of every question: the same for all planners."""

    drills: Bools
    begins: Floats
    dice: Floats

    @classmethod
    def drawn(cls, learners: int, days: int, seed: int) -> Diary:
        """A diary of ``days`` days; nobody misses the first."""
        rng = np.random.default_rng([seed, 7])
        drills = rng.random((days, learners)) >= MISSED_DAYS
        drills[0] = True
        begins = np.arange(days)[:, None] * DAY + rng.integers(0, 8, (days, learners)) * SESSIONS_BEGIN
        dice = np.concatenate(
            [rng.random((days, learners, MOST_QUESTIONS, 3)), rng.normal(size=(days, learners, MOST_QUESTIONS, 1))],
            axis=3,
        )
        return cls(drills, begins, dice)


def introduction(world: World) -> tuple[Ints, Ints]:
    """Each learner's rank of every card for its introduction, and the number of its key."""
    order = np.zeros((world.learners, world.cards), dtype=np.int64)
    key = np.zeros_like(order)
    for who, cards in enumerate(world.decks):
        mine = {slug: n for n, slug in enumerate(world.keys[who])}
        key[who] = [mine[card.key.slug] for card in cards]
        ranked = sorted(range(world.cards), key=lambda c: (cards[c].path, key[who, c]))
        order[who, ranked] = np.arange(world.cards)
    return order, key


def drill_with(planner: Planner, world: World, diary: Diary, seen: Seen, day: int) -> None:
    """One day's sessions of all learners, card by card."""
    who = np.flatnonzero(diary.drills[day])
    spent = np.zeros(world.learners)
    n = 0
    while len(who) and n < MOST_QUESTIONS:
        at = diary.begins[day, who] + spent[who]
        scores = planner.scores(seen, who, at, day)
        scores = np.where(at[:, None] - seen.last_at[who] < AGAIN, -np.inf, scores)
        card = np.argmax(scores, axis=1)
        answers = world.answer(who, card, at, diary.dice[day, who, n])
        planner.answered(seen, who, card, at + answers.seconds, answers.right)
        seen.note(who, card, at + answers.seconds, answers.right)
        spent[who] += answers.spent
        who = who[spent[who] < SESSION]
        n += 1


def counted(world: World, diary: Diary, day: int) -> tuple[Floats, Floats]:
    """Cards truly clean, (L,), the evening after ``day`` days and 14 days after that."""
    at = np.full(world.learners, day * DAY)
    return world.truly_clean(at).sum(axis=1), world.truly_clean(at + 14 * DAY).sum(axis=1)


def published(world: World, rng: np.random.Generator) -> dict[str, Callable[[], Planner]]:
    """The planners to beat, by name."""
    shape = (world.learners, world.cards)
    return {
        "random": lambda: Random(rng),
        "oldest first": OldestFirst,
        "blocked by key": BlockedByKey,
        "Leitner": lambda: Leitner(shape),
        "half-life threshold": lambda: HalfLifeThreshold(*HALF_LIFE),
        "Memorize": lambda: Memorize(shape, rng, *MEMORIZE),
        "Spaced Selection": lambda: SpacedSelection(shape, rng, *SELECTION),
    }


HALF_LIFE = (0.5, 1.0, -0.3, 0.0)
MEMORIZE = (1.0, 1.0, 0.5, 0.5)
SELECTION = (2.0, 1.0, 0.5, 0.5)
