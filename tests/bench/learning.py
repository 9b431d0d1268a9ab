"""How much a way of planning teaches: ``python -m tests.bench.learning``.

Simulated players (:mod:`tests.bench.learners`: three families, each with transfer of 0, .3 and .6) drill
five minutes a day, some days missed. Counted are the cards truly clean a day after the 14th and the
30th day, and 14 days later without practice in between. Every planner gets the same players, pools,
days, dice and seconds; new cards come to all in the order of the music.

Printed: cards per family and transfer (the mean of the four counts), the ratio of this planner to the
best published one of that row, and by how much a session missed its five minutes. ``--small`` is
what the tests run; ``--cells`` and ``--learners`` choose others.
"""

from __future__ import annotations

import argparse
import platform
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import product

import numpy as np

from cards.asks import path
from drill.forecast import Pool, forecast
from drill.memory import Outcome, Row, learn
from drill.plan import Candidate, plan
from drill.repertoire import features as features_of
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
# of .1, .2, .3, .5, .7; q of .3, 1, 4, 16, 64; the new cards' share of 1, 4, 10, 20, 40. Forgetting starts at
# 1 a day and halves or grows by half with an answer.
HALF_LIFE = (0.3, 1.0, -0.3, 0.0)
MEMORIZE = (4.0, 1.0, 0.5, 0.5)
SELECTION = (10.0, 1.0, 0.5, 0.5)

SESSION = 300.0
MISSED_DAYS = 0.15
MOST_QUESTIONS = 150
EPOCH = datetime(2026, 1, 5, 18, tzinfo=UTC)
REPEAT_AFTER = 8
DAYS, COUNTED = 30, (14, 30)
#: This planner, and the same with missed cards coming back in the session.
RETURNS = {"this planner": 0, "with returns": 99}


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
    for who, cards in enumerate(world.pools):
        mine = {slug: n for n, slug in enumerate(world.keys[who])}
        key[who] = [mine[card.key.slug] for card in cards]
        ranked = sorted(range(world.cards), key=lambda c: (path(cards[c]), key[who, c]))
        order[who, ranked] = np.arange(world.cards)
    return order, key


def drill_with(planner: Planner, world: World, diary: Diary, seen: Seen, day: int) -> Floats:
    """One day's sessions of all learners, card by card; the seconds spent, (L,)."""
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
    return spent


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
        self.order, _ = introduction(world)
        self.features = [[features_of(c) for c in cards] for cards in world.pools]
        self.number = [{card.id: n for n, card in enumerate(cards)} for cards in world.pools]
        self.fresh = [
            [
                Candidate(f, path(c), str(c.key), c.ask, None, None, 0, c.box, c.degree)
                for f, c in zip(features, cards, strict=True)
            ]
            for features, cards in zip(self.features, world.pools, strict=True)
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
            self.cards[w][c] = before._replace(
                last_at=outcome.at,
                last_outcome="clean" if clean else "late" if right else "missed",
                reviews=before.reviews + 1,
            )
            self.queue[w].remove(c)
            if not right and self.left[w] > 0 and c not in self.asked[w]:
                self.left[w] -= 1
                self.queue[w].insert(min(REPEAT_AFTER, len(self.queue[w])), c)
            self.asked[w].add(c)


class Greedy(ThisPlanner):
    """Greedy on this model: the largest expected rise of a card's fluency 14 days on, per second.

    As in Hunziker et al. (NeurIPS 2019), one answer ahead, over the cards seen and the next new ones.
    """

    NEXT = 30

    def _plan(self, who: int, at: float, left: float) -> list[int]:
        cards, rows, features = self.cards[who], self.rows[who], self.features[who]
        new = sorted((n for n, c in enumerate(cards) if not c.reviews), key=lambda n: self.order[who, n])[: self.NEXT]
        may = [n for n, c in enumerate(cards) if c.reviews and n not in self.asked[who]]
        may += [n for n in new if n not in self.asked[who]]
        pool = Pool.of([features[n] for n in may])
        allowed = self.world.allowed[who, may]
        now = EPOCH + timedelta(seconds=at)
        later = now + timedelta(days=14)
        view = forecast(pool, rows, now, allowed)
        after = []
        for right in (True, False):
            answered = {
                name: learn(rows, f, Outcome(right, None, now))[name]
                for name, f in zip(pool.rows, pool.features, strict=True)
            }
            after.append(forecast(pool, {**rows, **answered}, later, allowed).p)
        gain = view.right * after[0] + (1.0 - view.right) * after[1] - forecast(pool, rows, later, allowed).p
        seconds = view.seconds + 2.5 + 4.5 * (1.0 - view.right)
        planned = []
        for n in np.argsort(-gain / seconds):
            left -= seconds[n]
            planned.append(may[n])
            if left <= 0.0:
                break
        return planned


@dataclass(frozen=True)
class Learnt:
    """Cards truly clean on the four days, and seconds by which sessions missed their length."""

    counts: Floats
    off: Floats


def learnt(make: Callable[[World], Planner], family: str, transfer: float, learners: int, seed: int) -> Learnt:
    """Let a world's learners drill for 30 days."""
    world, diary = World(family, transfer, learners, seed), Diary.drawn(learners, DAYS, seed)
    planner, seen = make(world), Seen.nothing(*introduction(world))
    counts: list[Floats] = []
    off: list[Floats] = []
    for day in range(DAYS):
        spent = drill_with(planner, world, diary, seen, day)
        off.append(spent[diary.drills[day]] - SESSION)
        if day + 1 in COUNTED:
            counts += counted(world, diary, day + 1)
    return Learnt(np.array([count.mean() for count in counts]), np.concatenate(off))


def planners(seed: int) -> dict[str, Callable[[World], Planner]]:
    """All planners by name, the published ones first."""

    def rng() -> np.random.Generator:
        return np.random.default_rng([seed, 99])

    def shape(world: World) -> tuple[int, int]:
        return world.learners, world.cards

    return {
        "random": lambda world: Random(rng()),
        "oldest first": lambda world: OldestFirst(),
        "blocked by key": lambda world: BlockedByKey(),
        "Leitner": lambda world: Leitner(shape(world)),
        "half-life threshold": lambda world: HalfLifeThreshold(*HALF_LIFE),
        "Memorize": lambda world: Memorize(shape(world), rng(), *MEMORIZE),
        "Spaced Selection": lambda world: SpacedSelection(shape(world), rng(), *SELECTION),
        "greedy on this model": lambda world: Greedy(world, returns=0),
        **{name: _this(returns) for name, returns in RETURNS.items()},
    }


def _this(returns: int) -> Callable[[World], Planner]:
    return lambda world: ThisPlanner(world, returns)


def main(argv: Sequence[str] | None = None) -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description="How much a way of planning teaches.")
    parser.add_argument("--learners", type=int, default=24, help="learners per family and transfer")
    parser.add_argument("--seed", type=int, default=2026)
    parser.add_argument("--small", action="store_true", help="2 learners: to see that it runs")
    args = parser.parse_args(argv)
    size = 2 if args.small else args.learners
    makers = planners(args.seed)
    print(f"{platform.machine()}, Python {platform.python_version()}, numpy {np.__version__}; {size} learners a row\n")
    print(f"| family, transfer | {' | '.join(makers)} | {' | '.join(f'{name}: ratio' for name in RETURNS)} |")
    print(f"|{' --- |' * (1 + len(makers) + len(RETURNS))}")
    ratios: dict[str, list[float]] = {name: [] for name in RETURNS}
    off: dict[str, list[Floats]] = {name: [] for name in RETURNS}
    totals = []
    for family, transfer in product(FAMILIES, TRANSFERS):
        found = {name: learnt(make, family, transfer, size, args.seed) for name, make in makers.items()}
        means = {name: float(one.counts.mean()) for name, one in found.items()}
        best = max(mean for name, mean in means.items() if name not in RETURNS)
        for name in RETURNS:
            ratios[name].append(means[name] / best)
            off[name].append(found[name].off)
        totals.append(list(means.values()))
        cells = [*(f"{mean:.1f}" for mean in means.values()), *(f"{ratios[name][-1]:.3f}" for name in RETURNS)]
        print(f"| {family}, {transfer:g} | {' | '.join(cells)} |", flush=True)
    mean = np.array(totals).mean(axis=0)
    cells = [*(f"{one:.1f}" for one in mean), *(f"{np.mean(ratios[name]):.3f}" for name in RETURNS)]
    print(f"| mean | {' | '.join(cells)} |")
    overall = mean[: -len(RETURNS)].max()
    for place, name in enumerate(RETURNS, start=len(mean) - len(RETURNS)):
        missed = np.concatenate(off[name])
        print(
            f"\n{name}: mean ratio {np.mean(ratios[name]):.3f}, least {min(ratios[name]):.3f} to the best of each row; "
            f"{mean[place] / overall:.3f} to the one best on average. Sessions end {missed.mean():+.1f} s off, "
            f"{np.mean(np.abs(missed) <= 20.0):.1%} within 20 s."
        )


if __name__ == "__main__":
    main()
