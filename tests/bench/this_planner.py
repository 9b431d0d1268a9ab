"""The product's own plan and memory in the bench on learning, and a greedy one on the same memory.

Conventions. A learner's plan is made at the start of a session for all its seconds, and again when it has
run out with time left. Every answer is learnt, also of cards that came back by themselves.
"""

from __future__ import annotations

from collections import Counter
from datetime import UTC, datetime, timedelta

import numpy as np

from cards.asks import path
from drill.memory.batch import Pool, forecast
from drill.memory.columns import naive_utc
from drill.memory.recall import learn
from drill.memory.rows import Outcome, Row
from drill.planning.candidates import Candidates, Last, catalogue
from drill.planning.plan import plan
from drill.planning.repertoire import features as features_of
from tests.bench.learners import Answers, Floats, Ints, World
from tests.bench.published.planning import AGAIN, Seen

EPOCH = datetime(2026, 1, 5, 18, tzinfo=UTC)


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


class ThisPlanner:
    """The product's own plan and memory, player by player, as sessions of so many ``seconds`` use them."""

    def __init__(self, world: World, seconds: float) -> None:
        self.world, self.seconds = world, seconds
        self.order, _ = introduction(world)
        self.features = [[features_of(c) for c in cards] for cards in world.pools]
        self.number = [{card.id: n for n, card in enumerate(cards)} for cards in world.pools]
        self.ids = [[card.id for card in cards] for cards in world.pools]
        self.keys = [list(dict.fromkeys(str(card.key) for card in cards)) for cards in world.pools]
        self.last: list[dict[str, Last]] = [{} for _ in range(world.learners)]
        self.reviews: list[Counter[str]] = [Counter() for _ in range(world.learners)]
        self.rows: list[dict[str, Row]] = [{} for _ in range(world.learners)]
        self.queue: list[list[int]] = [[] for _ in range(world.learners)]
        self.asked: list[set[int]] = [set() for _ in range(world.learners)]
        self.day = -1

    def candidates(self, who: int) -> Candidates:
        """What a plan may still choose from in this session."""
        cards = catalogue().cards(card_id for n, card_id in enumerate(self.ids[who]) if n not in self.asked[who])
        return Candidates.of(cards, self.last[who])

    def _plan(self, who: int, at: float, left: float) -> list[int]:
        allowed = dict(zip(self.number[who], self.world.allowed[who].tolist(), strict=True))
        planned = plan(
            self.candidates(who),
            self.rows[who],
            EPOCH + timedelta(seconds=at),
            left / 60.0,
            keys=self.keys[who],
            allowed=allowed.__getitem__,
            seed=who,
        )
        return [self.number[who][p.card_id] for p in planned]

    def scores(self, seen: Seen, who: Ints, at: Floats, day: int) -> Floats:
        if day != self.day:
            self.day = day
            self.ends = dict(zip(who.tolist(), (at + self.seconds).tolist(), strict=True))
            for w in who.tolist():
                self.queue[w], self.asked[w] = [], set()
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
            card_id = self.ids[w][c]
            self.last[w][card_id] = naive_utc(outcome.at), "clean" if clean else "late" if right else "missed"
            self.reviews[w][card_id] += 1
            if c in self.queue[w]:
                self.queue[w].remove(c)
            self.asked[w].add(c)


class Greedy(ThisPlanner):
    """Greedy on this model: the largest expected rise of a card's fluency 14 days on, per second.

    As in Hunziker et al. (NeurIPS 2019), one answer ahead, over the cards seen and the next new ones.
    """

    NEXT = 30

    def _plan(self, who: int, at: float, left: float) -> list[int]:
        ids, last, rows, features = self.ids[who], self.last[who], self.rows[who], self.features[who]
        new = sorted((n for n, i in enumerate(ids) if i not in last), key=lambda n: self.order[who, n])[: self.NEXT]
        may = [n for n, i in enumerate(ids) if i in last and n not in self.asked[who]]
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
