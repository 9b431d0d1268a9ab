"""What a session holds: the cards that are worth most per second, until the time is filled.

Conventions. Arrays have one number per candidate, in the order given, or one per skill of the
:class:`~drill.memory.batch.Pool`. The worth of a card is its own and its skills' (:mod:`drill.planning.worth`); of
a skill, for as much of the cards that have it as is not yet retained and as the player carries over.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from drill.memory.batch import NOTHING, Forecast, Pool, forecast
from drill.memory.columns import Traces, naive_utc
from drill.memory.parameters import Parameters
from drill.memory.rows import CAP, Row
from drill.planning.candidates import Candidates, spot
from drill.planning.entry import HORIZON, READ_RIGHT, READ_WRONG, RETURNS_AFTER, Entry, Planned, PlanRequest, goes_on
from drill.planning.weights import PLAN_WEIGHTS, PlanWeights
from drill.planning.worth import Worth, worth

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]

#: The degrees that open the next box.
FIRST_DEGREES = frozenset({1, 4, 5})


class CardChoice:
    """What to take next, as a plan fills."""

    def __init__(
        self,
        candidates: Candidates,
        rows: Mapping[str, Row] | Traces,
        now: datetime,
        request: PlanRequest,
        weights: PlanWeights = PLAN_WEIGHTS,
    ) -> None:
        self.candidates, cards = candidates, candidates.cards
        self.weights = weights
        parameters, aim = request.parameters, request.aim
        self.pool, self.kind, self.ask, self.step = cards.pool, cards.kind, cards.ask, cards.step
        limits = np.fromiter(map(request.allowed, cards.ids), np.float64, len(cards.ids))
        view = self.view = forecast(self.pool, rows, now, limits, parameters)
        reading = READ_RIGHT + (READ_WRONG - READ_RIGHT) * (1.0 - view.right)
        self.seconds = np.minimum(view.seconds, CAP) + reading
        table = _table(HORIZON if aim else request.horizon, parameters, weights)
        missed = candidates.outcome == "missed"
        self.own = _own_worth(self.pool, view, missed, table, parameters, weights)
        aims = np.array([aim.get(card_id, 0.0) for card_id in cards.ids])
        self.aimed = aims > 0.0
        if aim:
            by_then = _own_worth(
                self.pool, view, missed, _table(request.horizon, parameters, weights), parameters, weights
            )
            self.own = np.where(self.aimed, by_then, self.own)
        self.by_skill = _skill_worth(self.pool, view, table, parameters, weights)
        known = self.known = 1.0 - (1.0 - view.retained) * (1.0 - view.carried)
        self.due = view.seen & (view.days >= weights.today)
        self.brings = weights.wrong_brings + (1.0 - weights.wrong_brings) * known
        mine = self.mine = np.array([not request.keys or key in request.keys for key, _ in cards.kinds])[self.kind]
        counts = self.in_focus = np.ones_like(mine) if request.focus is None else candidates.among(request.focus)
        wanted = np.where(mine, 1.0, weights.other_keys) * np.where(counts, 1.0, weights.out_of_focus)
        wanted *= np.where(self.aimed, aims, 1.0)
        ties = 1.0 + 1e-6 * np.random.default_rng(request.seed).random(len(candidates))
        by_seconds = weights.by_seconds * max(1.0 - view.carry, 0.0) ** weights.carry_power
        self.weight = wanted * ties / (self.seconds**by_seconds * (1.0 + weights.by_wrong * (1.0 - known)))
        self.frontier = Frontier(candidates, request.keys)
        self.frontier.open |= self.aimed
        self.weak: dict[int, str] = {}
        """The skill for which a card was taken, where that weighed more than the card itself."""

    def fill(self, seconds: float) -> Iterator[int]:
        """The cards that fill the time, the worthiest first."""
        taken = np.zeros(len(self.candidates), dtype=bool)
        for_new = seconds * self._share_of_new()
        for_aim = seconds * self.weights.jam_share
        of_kind = np.zeros(len(self.candidates.cards.kinds), dtype=int)
        turns = np.zeros(len(self.candidates.cards.asks), dtype=int)
        # Skill by skill, which numpy adds up faster than card by card.
        of_skills = np.ascontiguousarray(self.pool.skills.T)
        while True:
            skills = self.brings * self.by_skill.take(of_skills).sum(axis=0)
            may = self.frontier.open & ~taken
            others = may & ~self.aimed
            if for_aim <= 0.0 and others.any():
                may = others
            if for_new <= 0.0 and (may & self.due).any():
                may &= self.view.seen
            may = self._in_turn(may, turns)
            # More than half of one kind could not be kept apart.
            apart = may & (of_kind[self.kind] <= taken.sum() // 2)
            may = apart if apart.any() else may
            worth = np.where(may, (self.own + skills) * self.weight, -1.0)
            best = int(np.argmax(worth))
            if worth[best] < 0.0 or not goes_on(seconds, float(self.seconds[best])):
                return
            yield best
            if skills[best] > self.own[best]:
                of = self.pool.skills[best]
                self.weak[best] = self.pool.skill_names[of[np.argmax(self.by_skill[of])]]
            taken[best] = True
            of_kind[self.kind[best]] += 1
            seconds -= float(self.seconds[best])
            if self.aimed[best]:
                for_aim -= float(self.seconds[best])
            if not self.view.seen[best]:
                for_new -= float(self.seconds[best])
                turns[self.ask[best]] += 1
            self.frontier.take(best)
            self.by_skill[self.pool.skills[best]] = 0.0

    def _in_turn(self, may: Bools, turns: Ints) -> Bools:
        """Those of the cards that may be taken: of the new ones only the asks that have a card on the
        first step of the path, and of these only the ones whose turn it is. While there is nothing
        to keep yet, only the first step itself: the one, four and five of every key. What is in focus
        comes before what is not; what a jam calls for comes before all that, in no order but its worth."""
        new = may & ~self.view.seen
        if not new.any():
            return may
        if (new & self.aimed).any():
            return np.asarray(may & (self.view.seen | self.aimed))
        if (new & self.in_focus).any():
            new &= self.in_focus
        first = new & (self.step == self.step[new].min())
        if self.due.any():
            asked = np.zeros(len(turns), dtype=bool)
            asked[self.ask[first]] = True
            first = new & asked[self.ask]
        taken = turns[self.ask]
        return np.asarray((may & self.view.seen) | (first & (taken < taken[first].min() + self.weights.turns_ahead)))

    def _share_of_new(self) -> float:
        """The share of the session that new cards may take while old ones are due."""
        if not self.due.any():
            return 1.0
        return max(self.weights.new_least, self.weights.new_share * float(self.known[self.view.seen].mean()))

    @cached_property
    def away(self) -> timedelta:
        """How long ago the player answered any of the candidates; nothing if never."""
        days = self.view.days[self.view.seen]
        return timedelta(days=float(days.min()) if len(days) else 0.0)

    def kept(self, n: int) -> float:
        """How much of card ``n`` is retained."""
        return float(self.view.retained[n])

    def planned(self, n: int, now: datetime) -> Planned:
        """Card ``n`` with its reason and seconds."""
        reason, values = self._reason(n, now)
        return Planned(self.candidates.cards.ids[n], reason, values, float(self.seconds[n]))

    def _reason(self, n: int, now: datetime) -> tuple[str, tuple[tuple[str, str], ...]]:
        """why-new (key), why-new-box (key, box), why-missed, why-late, why-skill (skills), why-fading-a-day,
        why-fading (days), why-warm."""
        entry, outcome = self.candidates.cards.entries[n], str(self.candidates.outcome[n])
        if not outcome:
            key = ("key", entry.key)
            return ("why-new", (key,)) if entry.box is None else ("why-new-box", (key, ("box", str(entry.box))))
        away = self.away >= RETURNS_AFTER
        if outcome == "missed" or (outcome == "late" and not away):
            return f"why-{outcome}", ()
        if n in self.weak and not away:
            return "why-skill", (("skills", self.weak[n]),)
        days = round(self.candidates.days_since(n, naive_utc(now)))
        if days < 1:
            return "why-warm", ()
        return ("why-fading", (("days", str(days)),)) if days > 1 else ("why-fading-a-day", ())


def _table(horizon: timedelta, by: Parameters, weights: PlanWeights) -> Worth:
    """The worth of practice for what should be known by so long from now."""
    return worth(max(round(horizon / timedelta(days=1) * weights.fades_in), 1), by.holding)


def _own_worth(pool: Pool, view: Forecast, missed: Bools, table: Worth, by: Parameters, weights: PlanWeights) -> Floats:
    first = by.holding.first * np.exp(by.holding.by_ease * (pool.difficulty - by.holding.usual))
    hold = np.where(missed, np.minimum(view.hold, weights.missed_holds), view.hold)
    old = table.of_practised(view.carried, np.where(view.seen, hold, 1.0), view.days)
    old = np.where(view.days < weights.today, 1e-4 * old, old)
    more = np.minimum(1.0 + weights.new_carried * view.carried**weights.new_power, weights.new_most)
    new = table.of_new(view.carried, first) * more
    return np.where(view.seen, old, new)


def _skill_worth(pool: Pool, view: Forecast, table: Worth, by: Parameters, weights: PlanWeights) -> Floats:
    nothing = np.zeros(len(pool.skill_names))
    seen = view.skill_hold > 0.0
    old = table.of_practised(nothing, np.where(seen, view.skill_hold, 1.0), view.skill_days)
    one = np.where(view.skill_days < weights.today, 0.0, old)
    one = np.where(seen, one, table.of_new(nothing, nothing + by.holding.first))
    room = np.repeat((1.0 - view.retained) / pool.counts, pool.skills.shape[1])
    waiting = np.bincount(pool.skills.ravel(), room, len(pool.skill_names))
    total = view.carry * waiting * one
    total[NOTHING] = 0.0
    return np.asarray(total)


class Frontier:
    """Which cards may come now: those seen, and the next new ones of every key, ask and box.

    ``open`` (candidates,) changes as cards are taken. Cards of one chain whose paths agree but for
    their last two parts (the degree's place among its like, the ask) may come in any order.
    """

    def __init__(self, candidates: Candidates, keys: Sequence[str]) -> None:
        cards = candidates.cards
        self.open = candidates.seen
        self._stage: dict[int, set[int]] = {}
        """For each new card those of its stage that were not taken yet: one set, shared."""
        self._after: dict[int, set[int]] = {}
        self._mine: set[int] = set()
        self._others: list[int] = []
        met = set(cards.spot[candidates.settled].tolist())
        chains: dict[tuple[str, str, int | None], dict[tuple[int, ...], set[int]]] = defaultdict(dict)
        for n in sorted(np.flatnonzero(~self.open).tolist(), key=lambda n: cards.entries[n].path):
            card = cards.entries[n]
            if _opened(card, int(cards.kind[n]), met):
                chains[card.key, card.features.ask, card.box].setdefault(card.path[:-2], set()).add(n)
        for (key, _, _), stages in chains.items():
            in_turn = list(stages.values())
            for stage, after in zip(in_turn, [*in_turn[1:], set[int]()], strict=True):
                self._stage |= dict.fromkeys(stage, stage)
                self._after |= dict.fromkeys(stage, after)
            if not keys or key in keys:
                self._mine.update(*in_turn)
                self.open[list(in_turn[0])] = True
            else:
                self._others += in_turn[0]
        self._open_others()

    def take(self, n: int) -> None:
        """Card ``n`` is in the plan: what comes after it may come too."""
        if n in self._stage:
            self._stage[n].discard(n)
            if not self._stage[n]:
                self.open[list(self._after[n])] = True
        self._mine.discard(n)
        self._open_others()

    def _open_others(self) -> None:
        """Other keys wait until the player's own have nothing new."""
        if not self._mine and self._others:
            self.open[self._others] = True
            self._others = []


def _opened(card: Entry, kind: int, met: Collection[int]) -> bool:
    if card.box is None or card.box == 1:
        return True
    return all(spot(kind, card.box - 1, degree) in met for degree in FIRST_DEGREES)
