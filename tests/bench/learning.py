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
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np

from drill.memory import Features, Outcome, Row, learn
from drill.plan import Candidate, plan
from tests.bench.learners import DAY, FAMILIES, SESSIONS_BEGIN, TRANSFERS, Answers, Bools, Floats, Ints, World
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

# Where a paper leaves a constant open, the best on average of a few tried on other seeds: the threshold
# of .3, .5, .7; q of .3, 1, 4, 16; the new cards' share of 1, 4, 10, 20. Forgetting starts at 1 a day and
# halves or grows by half with an answer.
HALF_LIFE = (0.3, 1.0, -0.3, 0.0)
MEMORIZE = (4.0, 1.0, 0.5, 0.5)
SELECTION = (10.0, 1.0, 0.5, 0.5)

SESSION = 300.0
MISSED_DAYS = 0.15
MOST_QUESTIONS = 150
EPOCH = datetime(2026, 1, 5, 18, tzinfo=UTC)
REPEAT_AFTER = 8


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
        more = scores.max(axis=1) > -np.inf
        who, at, card = who[more], at[more], np.argmax(scores, axis=1)[more]
        answers = world.answer(who, card, at, diary.dice[day, who, n])
        planner.answered(seen, who, card, at + answers.seconds, answers)
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


class ThisPlanner:
    """The product's own plan and memory, player by player, as a session uses them."""

    def __init__(self, world: World, returns: int = 99) -> None:
        self.world, self.returns = world, returns
        self.features = [[Features(c.id, c.skills, c.difficulty, c.ask) for c in cards] for cards in world.decks]
        self.number = [{card.id: n for n, card in enumerate(cards)} for cards in world.decks]
        self.fresh = [
            [
                Candidate(f, c.path, str(c.key), c.ask, None, None, 0, c.box, c.degree)
                for f, c in zip(features, cards, strict=True)
            ]
            for features, cards in zip(self.features, world.decks, strict=True)
        ]
        self.cards = [list(cards) for cards in self.fresh]
        self.rows: list[dict[str, Row]] = [{} for _ in range(world.learners)]
        self.queue: list[list[int]] = [[] for _ in range(world.learners)]
        self.asked: list[set[int]] = [set() for _ in range(world.learners)]
        self.left = [returns] * world.learners
        self.day = -1

    def _plan(self, who: int, at: float, left: float) -> list[int]:
        keys = list(dict.fromkeys(c.key for c in self.fresh[who]))
        allowed = dict(zip(self.number[who], self.world.allowed[who].tolist(), strict=True))
        planned = plan(
            (c for n, c in enumerate(self.cards[who]) if n not in self.asked[who]),
            self.rows[who],
            EPOCH + timedelta(seconds=at),
            left / 60.0,
            keys=keys,
            allowed=allowed.__getitem__,
            seed=who,
        )
        return [self.number[who][p.card_id] for p in planned]

    def scores(self, seen: Seen, who: Ints, at: Floats, day: int) -> Floats:
        if day != self.day:
            self.day = day
            self.ends = dict(zip(who.tolist(), (at + SESSION).tolist(), strict=True))
            for w in who.tolist():
                self.queue[w], self.asked[w], self.left[w] = [], set(), self.returns
        scores = np.full((len(who), self.world.cards), -np.inf)
        for row, (w, now) in enumerate(zip(who.tolist(), at.tolist(), strict=True)):
            ready = [c for c in self.queue[w] if now - seen.last_at[w, c] >= AGAIN]
            if not ready:
                ready = self._plan(w, now, max(self.ends[w] - now, 10.0))
                self.queue[w] = ready + self.queue[w]
            if ready:
                scores[row, ready[0]] = 1.0
        return scores

    def answered(self, seen: Seen, who: Ints, card: Ints, at: Floats, answers: Answers) -> None:
        for row, (w, c, t) in enumerate(zip(who.tolist(), card.tolist(), at.tolist(), strict=True)):
            right, clean = bool(answers.right[row]), bool(answers.clean[row])
            outcome = Outcome(right, float(answers.seconds[row]), EPOCH + timedelta(seconds=t))
            self.rows[w].update(learn(self.rows[w], self.features[w][c], outcome))
            before = self.cards[w][c]
            self.cards[w][c] = replace(
                before,
                last_at=outcome.at,
                last_outcome="clean" if clean else "late" if right else "missed",
                reviews=before.reviews + 1,
            )
            self.queue[w].remove(c)
            if not right and self.left[w] > 0 and c not in self.asked[w]:
                self.left[w] -= 1
                self.queue[w].insert(min(REPEAT_AFTER, len(self.queue[w])), c)
            self.asked[w].add(c)
