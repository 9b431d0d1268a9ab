"""What practice until a jam would bring: the product's own plan and memory, played ahead.

Conventions. A run goes from day to day: each session is planned as a real one would be, aimed at the
jam; what comes of each card is drawn by chance; memory learns from it. A few runs with seeded dice say what is
to be expected and how far it may come otherwise.

What practice changes is what is retained, of the card and of its skills, and how fast it comes; both have
their law in :mod:`drill.memory.recall`. What is believed of the player does not change by being practised: its
expected change is nothing. So the chance of failing is today's belief of it, and shrinks with the chance of not
knowing: with known = 1 − (1 − retained)(1 − carried over),

    1 − P(right) = (1 − P(right) undrilled) · ((1 − known) / (1 − known undrilled))^b.

How much of that law practice brings differs from player to player and is not known beforehand: every run believes
another part b of it, and what follows from that is part of the doubt.

A run is bounded: it knows of no cards but those that are open today, of those that the night does not
call for an even choice of at most :data:`OTHERS`; and a missed card that comes back within its session takes
its time there, but teaches nothing more. Nothing is stored. The minutes that a share needs are found by the same runs.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from drill.jams.changes import Called, called
from drill.jams.readiness import READY, NightKnowledge, Outlook, Told, outlook, together
from drill.memory.batch import Forecast, Pool, forecast
from drill.memory.columns import naive_utc
from drill.memory.recall import learn
from drill.memory.rows import CARRY, Fluency, Outcome, Row, card_row_name
from drill.planning.candidates import Candidates
from drill.planning.entry import Planned
from drill.planning.goal import Goal
from drill.planning.plan import plan
from drill.planning.repertoire import allowed_seconds_at, entry, features

Floats = NDArray[np.float64]

#: How many runs tell what is to be expected, and how many sessions these may have together; how many
#: cards that the night does not call for there are to choose from.
RUNS: Final = 6
SESSIONS: Final = 60
OTHERS: Final = 600
#: How often a missed card is played in its session: some cards later, and at the end, once more.
COMES_BACK: Final = 3
#: The least and the most of the law of practice that a run believes, a power. Of nine kinds of simulated players
#: (``tests.bench.aim``, with seed 7) what they were told was right on average with .35; kind by kind it was
#: less than .2 to .8.
BELIEVED: Final = (0.1, 0.7)
#: The minutes a day that a player can be asked for.
MINUTES: Final = (2, 3, 4, 5, 6, 8, 10, 12, 15, 20)


@dataclass(frozen=True)
class Start:
    """Where all runs begin: what is known, the whole memory, the cards that a plan may choose from, and how
    a session is planned until the jam ``at``."""

    known: NightKnowledge
    rows: Mapping[str, Row]
    candidates: Candidates
    keys: tuple[str, ...]
    tempo: int
    aim: Goal
    at: datetime

    @cached_property
    def allowed(self) -> Callable[[str], float]:
        """Seconds that a clean answer to a bare card may take."""
        return allowed_seconds_at(self.tempo)


class PracticeRun:
    """One way that practice may go, from the start on: the one with this number of so ``many``."""

    def __init__(self, start: Start, number: int, many: int = 1) -> None:
        self.start, self.number = start, number
        low, high = BELIEVED
        self.believed = low + (high - low) * (number + 0.5) / many
        self.rows = dict(start.rows)
        self.candidates = _choice_of(start)
        self.reviews = Counter(start.known.reviews)
        self.dice = np.random.default_rng(number)

    def practise(self, begin: datetime, minutes: float) -> None:
        """One session."""
        start = self.start
        planned = plan(
            self.candidates, self.rows, begin, minutes, keys=start.keys, allowed=start.allowed,
            seed=self.number, card_weights=start.aim.weights, horizon=start.at - begin,
            parameters=start.known.parameters,
        )  # fmt: skip
        now, end = begin, begin + timedelta(minutes=minutes)
        answers = {}
        for each, right, in_time in zip(planned, *self._drawn(planned, begin), strict=True):
            if now >= end:
                break
            outcome = Outcome(bool(right), None, now)
            learnt = learn(self.rows, entry(each.card_id).features, outcome, start.known.parameters)
            # How much skills carry is believed, not practised.
            self.rows |= {name: row for name, row in learnt.items() if name != CARRY}
            answers[each.card_id] = naive_utc(now), "missed" if not right else "clean" if in_time else "late"
            now += timedelta(seconds=each.seconds if right else COMES_BACK * each.seconds)
        self.candidates = self.candidates.after(answers)
        self.reviews.update(answers.keys())

    def _drawn(self, planned: Sequence[Planned], now: datetime) -> tuple[Sequence[bool], Sequence[bool]]:
        """Whether the planned cards will be right, and in time."""
        cards = [entry(each.card_id).features for each in planned]
        limits = np.array([self.start.allowed(each.card_id) for each in planned])
        before, after = self._views(Pool.of(cards), now, limits)
        right = 1.0 - (1.0 - before.right) * _left(before, after) ** self.believed
        dice = self.dice.random((2, len(planned)))
        return (dice[0] < right).tolist(), (dice[1] < before.p / before.right).tolist()

    def outlook(self) -> Outlook:
        """What is to be expected of the night then."""
        known, by = self.start.known, self.start.known.parameters
        changes = called(known.changes, self.reviews, known.switched_off)
        pool = Pool.of([features(each.card) for each in changes])
        limits = np.array([each.allowed for each in changes])
        left = (_left(*self._views(pool, self.start.at, limits)) ** self.believed).tolist()
        undrilled = outlook([self._quicker(each) for each in changes], self.start.rows, self.start.at, by)
        return Outlook(tuple(map(_drilled, undrilled.told, left)))

    def _views(self, pool: Pool, at: datetime, limits: Floats) -> tuple[Forecast, Forecast]:
        """The cards undrilled, and as drilled so far."""
        by = self.start.known.parameters
        return forecast(pool, self.start.rows, at, limits, by), forecast(pool, self.rows, at, limits, by)

    def _quicker(self, each: Called) -> Called:
        """A change with as much more time as its card comes faster by practice."""
        before, after = (rows.get(card_row_name(each.card.id)) for rows in (self.start.rows, self.rows))
        practised = (1.0 + (after.successes if after else 0.0)) / (1.0 + (before.successes if before else 0.0))
        return replace(each, allowed=each.allowed * practised**-self.start.known.parameters.practice)


def _choice_of(start: Start) -> Candidates:
    """The night's cards, and an even choice of the others."""
    needed = start.candidates.among(start.aim.weights)
    others = np.flatnonzero(~needed)
    chosen = others[:: max(math.ceil(len(others) / OTHERS), 1)]
    return start.candidates.take(np.sort(np.concatenate([np.flatnonzero(needed), chosen])))


def _left(before: Forecast, after: Forecast) -> Floats:
    """How much of the chance of not knowing practice leaves."""
    unknown = [(1.0 - view.retained) * (1.0 - view.carried) for view in (before, after)]
    return np.asarray(np.minimum(unknown[1] / np.maximum(unknown[0], 1e-9), 1.0))


def _drilled(told: Told, left: float) -> Told:
    """A change of which practice leaves so much of the chance of not knowing it."""
    was = told.fluency
    right = 1.0 - (1.0 - was.right) * left
    moves = {name: (by * left, late * right / was.right) for name, (by, late) in told.moves.items()}
    sd = math.hypot(*(part for parts in moves.values() for part in parts))
    return Told(told.called, Fluency(was.p * right / was.right, sd, right, was.seconds), moves)


def runs(start: Start, sessions: Sequence[datetime], minutes: float, most: int = RUNS) -> list[Outlook]:
    """Some ways that practice may go; the same every time it is asked."""
    many = max(min(most, SESSIONS // len(sessions)), 1)
    return [_after(PracticeRun(start, number, many), sessions, minutes) for number in range(many)]


def _after(run: PracticeRun, sessions: Sequence[datetime], minutes: float) -> Outlook:
    for begin in sessions:
        run.practise(begin, minutes)
    return run.outlook()


@dataclass(frozen=True)
class Needed:
    """So many minutes a day bring the expected ``share``; ``enough`` if that is ready, else they are the most
    that a player can be asked for."""

    minutes: int
    share: float
    enough: bool


def minutes_needed(start: Start, sessions: Sequence[datetime]) -> Needed:
    """The minutes a day that make the night ready, by one run each."""

    def share(minutes: int) -> float:
        reached = together(runs(start, sessions, minutes, 1))
        return reached.mean if reached else 0.0

    return fewest(share)


def fewest(share: Callable[[int], float]) -> Needed:
    """The fewest of the minutes whose share is enough, by halving.

    >>> fewest(lambda minutes: minutes / 10)
    Needed(minutes=10, share=1.0, enough=True)
    """
    low, high = 0, len(MINUTES)
    shares: dict[int, float] = {}
    while low < high:
        middle = (low + high) // 2
        shares[middle] = share(MINUTES[middle])
        if shares[middle] >= READY:
            high = middle
        else:
            low = middle + 1
    enough = low < len(MINUTES)
    found = low if enough else low - 1
    return Needed(MINUTES[found], shares[found], enough)
