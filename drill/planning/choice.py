"""What a session holds: the cards that are worth most per second, until the time is filled.

Conventions. Arrays have one number per candidate, in the order given, or one per skill of the
:class:`~drill.memory.batch.Pool`. The worth of a card is its own worth plus its skills' worth
(:mod:`drill.planning.worth`). A skill is worth something for the share of its cards that is not yet retained,
as far as the player carries skills over.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from cards.guitar.regions import BOXES, OPEN
from drill.memory.batch import NOTHING, Forecast, Pool, forecast
from drill.memory.columns import Traces, naive_utc
from drill.memory.parameters import Parameters
from drill.memory.rows import CAP, Row
from drill.planning.candidates import Candidates, spot
from drill.planning.entry import (
    HORIZON,
    READ_RIGHT,
    READ_WRONG,
    RETURNS_AFTER,
    Entry,
    Planned,
    PlanRequest,
    is_worth_starting,
)
from drill.planning.weights import PLAN_WEIGHTS, PlanWeights
from drill.planning.worth import Worth, worth

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]

#: The degrees that have to be settled in one box before the next one opens.
FIRST_DEGREES = frozenset({1, 4, 5})


class CardChoice:
    """Chooses the cards of a plan one by one, as it fills."""

    def __init__(
        self,
        candidates: Candidates,
        rows: Mapping[str, Row] | Traces,
        now: datetime,
        request: PlanRequest,
        weights: PlanWeights = PLAN_WEIGHTS,
    ) -> None:
        self.candidates, self.weights = candidates, weights
        cards, parameters = candidates.cards, request.parameters
        self.pool, self.kind, self.ask, self.step = cards.pool, cards.kind, cards.ask, cards.step
        limits = np.fromiter(map(request.allowed, cards.ids), np.float64, len(cards.ids))
        view = self.view = forecast(self.pool, rows, now, limits, parameters)
        reading = READ_RIGHT + (READ_WRONG - READ_RIGHT) * (1.0 - view.right)
        self.seconds = np.minimum(view.seconds, CAP) + reading
        card_weights = np.array([request.card_weights.get(card_id, 0.0) for card_id in cards.ids])
        self.aimed = card_weights > 0.0
        table = _worth_table(HORIZON if request.card_weights else request.horizon, parameters, weights)
        missed = candidates.outcome == "missed"
        self.own = _own_worth(self.pool, view, missed, table, parameters, weights)
        if request.card_weights:
            until_jam = _worth_table(request.horizon, parameters, weights)
            own_until_jam = _own_worth(self.pool, view, missed, until_jam, parameters, weights)
            self.own = np.where(self.aimed, own_until_jam, self.own)
        self.by_skill = _skill_worth(self.pool, view, table, parameters, weights)
        self.known = 1.0 - (1.0 - view.retained) * (1.0 - view.carried)
        self.due = view.seen & (view.days >= weights.today)
        self.brings = weights.wrong_brings + (1.0 - weights.wrong_brings) * self.known
        self.mine = np.array([not request.keys or key in request.keys for key, _ in cards.kinds])[self.kind]
        self.in_focus = np.ones_like(self.mine) if request.focus is None else candidates.among(request.focus)
        self.weight = self._weigh(card_weights, request.seed)
        self.frontier = Frontier(candidates, request.keys)
        self.frontier.open |= self.aimed
        self.weak: dict[int, str] = {}
        """The skill for which a card was chosen, if that skill was worth more than the card itself."""

    def _weigh(self, card_weights: Floats, seed: int) -> Floats:
        """Return the factor of each card's worth: by key, focus and jam, by its seconds, and by the chance that it
        is wrong. ``seed`` breaks ties."""
        weights = self.weights
        wanted = np.where(self.mine, 1.0, weights.other_keys) * np.where(self.in_focus, 1.0, weights.out_of_focus)
        wanted *= np.where(self.aimed, card_weights, 1.0)
        ties = 1.0 + 1e-6 * np.random.default_rng(seed).random(len(self.candidates))
        by_seconds = weights.by_seconds * max(1.0 - self.view.carry, 0.0) ** weights.carry_power
        return np.asarray(wanted * ties / (self.seconds**by_seconds * (1.0 + weights.by_wrong * (1.0 - self.known))))

    def fill(self, seconds: float) -> Iterator[int]:
        """Yield the numbers of the cards that fill so many seconds, the worthiest first."""
        taken = np.zeros(len(self.candidates), dtype=bool)
        for_new = seconds * self._share_of_new()
        for_jam = seconds * self.weights.jam_share
        of_kind = np.zeros(len(self.candidates.cards.kinds), dtype=int)
        turns = np.zeros(len(self.candidates.cards.asks), dtype=int)
        # Numpy sums an array of (skills, cards) over its first axis faster than its transpose over the second.
        skills_by_card = np.ascontiguousarray(self.pool.skills.T)
        while True:
            by_skills = self.brings * self.by_skill.take(skills_by_card).sum(axis=0)
            may = self._permitted(~taken, jam_is_full=for_jam <= 0.0, new_is_full=for_new <= 0.0)
            may = self._in_turn(may, turns)
            # If more than half of the cards were of one kind, they could not be kept apart.
            separable = may & (of_kind[self.kind] <= taken.sum() // 2)
            may = separable if separable.any() else may
            worth = np.where(may, (self.own + by_skills) * self.weight, -1.0)
            best = int(np.argmax(worth))
            if worth[best] < 0.0 or not is_worth_starting(seconds, float(self.seconds[best])):
                return
            yield best
            if by_skills[best] > self.own[best]:
                skills = self.pool.skills[best]
                self.weak[best] = self.pool.skill_names[skills[np.argmax(self.by_skill[skills])]]
            taken[best] = True
            of_kind[self.kind[best]] += 1
            seconds -= float(self.seconds[best])
            if self.aimed[best]:
                for_jam -= float(self.seconds[best])
            if not self.view.seen[best]:
                for_new -= float(self.seconds[best])
                turns[self.ask[best]] += 1
            self.frontier.take(best)
            self.by_skill[self.pool.skills[best]] = 0.0

    def _permitted(self, left: Bools, *, jam_is_full: bool, new_is_full: bool) -> Bools:
        """Return which of the cards that are left may be taken now.

        Once the share of the jam is full, its cards wait for all others. Once the share of the new cards is full,
        they wait for those that are due.
        """
        may = self.frontier.open & left
        others = may & ~self.aimed
        if jam_is_full and others.any():
            may = others
        if new_is_full and (may & self.due).any():
            may &= self.view.seen
        return np.asarray(may)

    def _in_turn(self, may: Bools, turns: Ints) -> Bools:
        """Return which of the cards that may be taken have their turn. ``turns`` counts the new cards taken by
        ask.

        All seen cards have. Of the new ones, only the asks that have a card on the first step of the path have,
        and of these only the asks whose turn it is. While no card is due, only the first step itself has: the
        one, four and five of every key. New cards in focus come before the others. New cards that a jam calls
        for come before all of these, ordered by worth alone.
        """
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
        """Return the share of the session that new cards may take while others are due."""
        if not self.due.any():
            return 1.0
        return max(self.weights.new_least, self.weights.new_share * float(self.known[self.view.seen].mean()))

    @cached_property
    def away(self) -> timedelta:
        """The time since the player last answered any of the candidates, or 0 if there was no answer."""
        days = self.view.days[self.view.seen]
        return timedelta(days=float(days.min()) if len(days) else 0.0)

    def kept(self, n: int) -> float:
        """Return the share of card ``n`` that is retained."""
        return float(self.view.retained[n])

    def planned(self, n: int, now: datetime) -> Planned:
        """Return card ``n`` with its reason and its seconds."""
        reason, values = self._reason(n, now)
        return Planned(self.candidates.cards.ids[n], reason, values, float(self.seconds[n]))

    def _reason(self, n: int, now: datetime) -> tuple[str, tuple[tuple[str, str], ...]]:
        """Return why a card is asked, as a message's key with its values.

        The keys are why-new (key), why-new-box (key, box), why-new-open (key), why-missed, why-late, why-skill
        (skills), why-fading-a-day, why-fading (days) and why-warm.
        """
        entry, outcome = self.candidates.cards.entries[n], str(self.candidates.outcome[n])
        if not outcome:
            key = ("key", entry.key)
            if entry.box is None:
                return "why-new", (key,)
            return ("why-new-open", (key,)) if entry.box == OPEN else ("why-new-box", (key, ("box", str(entry.box))))
        away = self.away >= RETURNS_AFTER
        if outcome == "missed" or (outcome == "late" and not away):
            return f"why-{outcome}", ()
        if n in self.weak and not away:
            return "why-skill", (("skills", self.weak[n]),)
        days = round(self.candidates.days_since(n, naive_utc(now)))
        if days < 1:
            return "why-warm", ()
        return ("why-fading", (("days", str(days)),)) if days > 1 else ("why-fading-a-day", ())


def _worth_table(horizon: timedelta, by: Parameters, weights: PlanWeights) -> Worth:
    """Return the worth of practice for what should be known at the end of the horizon."""
    return worth(max(round(horizon / timedelta(days=1) * weights.fades_in), 1), by.holding)


def _own_worth(pool: Pool, view: Forecast, missed: Bools, table: Worth, by: Parameters, weights: PlanWeights) -> Floats:
    """Return the worth of practising each card for itself."""
    first = by.holding.first * np.exp(by.holding.by_ease * (pool.difficulty - by.holding.usual))
    hold = np.where(missed, np.minimum(view.hold, weights.missed_holds), view.hold)
    practised = table.of_practised(view.carried, np.where(view.seen, hold, 1.0), view.days)
    practised = np.where(view.days < weights.today, 1e-4 * practised, practised)
    new_factor = np.minimum(1.0 + weights.new_carried * view.carried**weights.new_power, weights.new_most)
    new = table.of_new(view.carried, first) * new_factor
    return np.where(view.seen, practised, new)


def _skill_worth(pool: Pool, view: Forecast, table: Worth, by: Parameters, weights: PlanWeights) -> Floats:
    """Return the worth of practising each skill once."""
    nothing = np.zeros(len(pool.skill_names))
    seen = view.skill_hold > 0.0
    practised = table.of_practised(nothing, np.where(seen, view.skill_hold, 1.0), view.skill_days)
    by_card = np.where(view.skill_days < weights.today, 0.0, practised)
    by_card = np.where(seen, by_card, table.of_new(nothing, nothing + by.holding.first))
    not_retained = np.repeat((1.0 - view.retained) / pool.counts, pool.skills.shape[1])
    waiting = np.bincount(pool.skills.ravel(), not_retained, len(pool.skill_names))
    worths = view.carry * waiting * by_card
    worths[NOTHING] = 0.0
    return np.asarray(worths)


class Frontier:
    """Which cards may come now: those seen, and the next new ones of every key, ask and box.

    ``open`` (candidates,) changes as cards are taken. A chain is the new cards of one key, ask and box. Those
    of its cards whose paths agree except in the last two parts (the place of the degree in its group, and the
    ask) are one stage and may come in any order.
    """

    def __init__(self, candidates: Candidates, keys: Sequence[str]) -> None:
        cards = candidates.cards
        self.open = candidates.seen
        self._stage: dict[int, set[int]] = {}
        """For each new card, the cards of its stage that are not taken yet. The cards of a stage share one set."""
        self._after: dict[int, set[int]] = {}
        """For each new card, the cards of the next stage."""
        self._mine: set[int] = set()
        """New cards in the player's own keys that are not taken yet."""
        self._others: list[int] = []
        """The first new cards of the other keys."""
        met = set(cards.spot[candidates.settled].tolist())
        chains: dict[tuple[str, str, int | None], dict[tuple[int, ...], set[int]]] = defaultdict(dict)
        for n in sorted(np.flatnonzero(~self.open).tolist(), key=lambda n: cards.entries[n].path):
            card = cards.entries[n]
            if _is_box_open(card, int(cards.kind[n]), met):
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
        """Mark card ``n`` as taken, and open the next stage if its own is complete."""
        if n in self._stage:
            self._stage[n].discard(n)
            if not self._stage[n]:
                self.open[list(self._after[n])] = True
        self._mine.discard(n)
        self._open_others()

    def _open_others(self) -> None:
        """Open the other keys once the player's own have no new cards left."""
        if not self._mine and self._others:
            self.open[self._others] = True
            self._others = []


def _is_box_open(card: Entry, kind: int, met: Collection[int]) -> bool:
    """Whether the card's box is open: the one, four and five of the box before it are settled.

    Box 1 and the open position are open from the start.
    """
    if card.box is None or card.box <= BOXES[0]:
        return True
    return all(spot(kind, card.box - 1, degree) in met for degree in FIRST_DEGREES)
