"""Play practice until a jam ahead, with the real planner and the real memory.

Conventions. A run goes from day to day. Each session is planned as a real session would be, with the jam as its goal.
The outcome of each card is drawn by chance, and memory learns from it. A few runs with seeded dice give the expected
readiness and its spread.

Practice changes what is retained, of the card and of its skills, and how fast the answer comes. Both follow the laws
of :mod:`drill.memory.recall`. Practice does not change what the model believes of the player: the expected change of
a belief is zero. So a run starts from today's belief of the probability of failing, and practice shrinks it with the
probability of not knowing. With known = 1 − (1 − retained)(1 − carried over),

    1 − P(right) = (1 − P(right) undrilled) · ((1 − known) / (1 − known undrilled))^b.

How much of this practice brings differs from player to player and is not known beforehand. Every run takes another
power b, and the spread between runs is part of the uncertainty.

A run is bounded. It knows only the cards that are open today, and of the cards that the night does not call for it
takes an even choice of at most :data:`OTHERS`. A missed card that comes back within its session takes its time there,
but teaches nothing more. Nothing is stored. The minutes that a share needs are found by the same runs.
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

from drill.jams.changes import MeasuredChange, measured_changes
from drill.jams.readiness import READY, ChangeForecast, NightKnowledge, Outlook, outlook, together
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

#: How many runs an outlook takes, how many sessions these may have in all, and how many cards that the night does
#: not call for a run may choose from.
RUNS: Final = 6
SESSIONS: Final = 60
OTHERS: Final = 600
#: How often a missed card is played in its session: at its turn, some cards later, and at the end.
COMES_BACK: Final = 3
#: The lowest and the highest power b of a run. For nine kinds of simulated players (``tests.bench.aim``, seed 7)
#: the forecasts were right on average with .35; for single kinds the best power was from below .2 to .8.
BELIEVED: Final = (0.1, 0.7)
#: The minutes a day that :func:`minutes_needed` chooses from.
MINUTES: Final = (2, 3, 4, 5, 6, 8, 10, 12, 15, 20)


@dataclass(frozen=True)
class Start:
    """Where every run begins.

    It holds what is known of the night, the whole memory, the cards that a plan may choose from, and how a session is
    planned until the jam ``at``.
    """

    known: NightKnowledge
    rows: Mapping[str, Row]
    candidates: Candidates
    keys: tuple[str, ...]
    tempo: int
    goal: Goal
    at: datetime

    @cached_property
    def allowed(self) -> Callable[[str], float]:
        """Return a function that gives the seconds a clean answer to a bare card may take."""
        return allowed_seconds_at(self.tempo)


class PracticeRun:
    """One possible course of practice from the start on: number ``number`` of ``many``."""

    def __init__(self, start: Start, number: int, many: int = 1) -> None:
        self.start, self.number = start, number
        low, high = BELIEVED
        self.believed = low + (high - low) * (number + 0.5) / many
        self.rows = dict(start.rows)
        self.candidates = _choose_candidates(start)
        self.reviews = Counter(start.known.reviews)
        self.dice = np.random.default_rng(number)

    def practise(self, begin: datetime, minutes: float) -> None:
        """Play one session."""
        start = self.start
        planned = plan(
            self.candidates, self.rows, begin, minutes, keys=start.keys, allowed=start.allowed,
            seed=self.number, card_weights=start.goal.weights, horizon=start.at - begin,
            parameters=start.known.parameters,
        )  # fmt: skip
        now, end = begin, begin + timedelta(minutes=minutes)
        answers = {}
        for planned_card, right, in_time in zip(planned, *self._draw(planned, begin), strict=True):
            if now >= end:
                break
            outcome = Outcome(bool(right), None, now)
            learnt = learn(self.rows, entry(planned_card.card_id).features, outcome, start.known.parameters)
            # What skills carry over is a belief, which practice does not change.
            self.rows |= {name: row for name, row in learnt.items() if name != CARRY}
            answers[planned_card.card_id] = naive_utc(now), "missed" if not right else "clean" if in_time else "late"
            now += timedelta(seconds=planned_card.seconds if right else COMES_BACK * planned_card.seconds)
        self.candidates = self.candidates.after(answers)
        self.reviews.update(answers.keys())

    def _draw(self, planned: Sequence[Planned], now: datetime) -> tuple[Sequence[bool], Sequence[bool]]:
        """Draw whether each planned card is answered right, and whether in time."""
        cards = [entry(planned_card.card_id).features for planned_card in planned]
        limits = np.array([self.start.allowed(planned_card.card_id) for planned_card in planned])
        before, after = self._forecasts(Pool.of(cards), now, limits)
        right = 1.0 - (1.0 - before.right) * _share_left(before, after) ** self.believed
        dice = self.dice.random((2, len(planned)))
        return (dice[0] < right).tolist(), (dice[1] < before.p / before.right).tolist()

    def outlook(self) -> Outlook:
        """Return the outlook of the night after the sessions played so far."""
        known, parameters = self.start.known, self.start.known.parameters
        changes = measured_changes(known.changes, self.reviews, known.switched_off)
        pool = Pool.of([features(measured.card) for measured in changes])
        limits = np.array([measured.allowed for measured in changes])
        left = (_share_left(*self._forecasts(pool, self.start.at, limits)) ** self.believed).tolist()
        undrilled = outlook(
            [self._with_practised_speed(measured) for measured in changes], self.start.rows, self.start.at, parameters
        )
        return Outlook(tuple(map(_after_practice, undrilled.forecasts, left)))

    def _forecasts(self, pool: Pool, at: datetime, limits: Floats) -> tuple[Forecast, Forecast]:
        """Return the forecasts of the cards without the practice of this run, and with it."""
        parameters = self.start.known.parameters
        return forecast(pool, self.start.rows, at, limits, parameters), forecast(
            pool, self.rows, at, limits, parameters
        )

    def _with_practised_speed(self, measured: MeasuredChange) -> MeasuredChange:
        """Return a change with more time, by as much as practice makes its card faster."""
        before, after = (rows.get(card_row_name(measured.card.id)) for rows in (self.start.rows, self.rows))
        practised = (1.0 + (after.successes if after else 0.0)) / (1.0 + (before.successes if before else 0.0))
        return replace(measured, allowed=measured.allowed * practised**-self.start.known.parameters.practice)


def _choose_candidates(start: Start) -> Candidates:
    """Return the night's cards, and an even choice of the others."""
    needed = start.candidates.among(start.goal.weights)
    others = np.flatnonzero(~needed)
    chosen = others[:: max(math.ceil(len(others) / OTHERS), 1)]
    return start.candidates.take(np.sort(np.concatenate([np.flatnonzero(needed), chosen])))


def _share_left(before: Forecast, after: Forecast) -> Floats:
    """Return the share of the probability of not knowing that is left after practice, by card."""
    unknown = [(1.0 - view.retained) * (1.0 - view.carried) for view in (before, after)]
    return np.asarray(np.minimum(unknown[1] / np.maximum(unknown[0], 1e-9), 1.0))


def _after_practice(undrilled: ChangeForecast, left: float) -> ChangeForecast:
    """Return the forecast of a change after practice; ``left`` is the share of not knowing that is left."""
    before = undrilled.fluency
    right = 1.0 - (1.0 - before.right) * left
    moves = {name: (by * left, late * right / before.right) for name, (by, late) in undrilled.moves.items()}
    sd = math.hypot(*(part for parts in moves.values() for part in parts))
    return ChangeForecast(
        undrilled.measured, Fluency(before.p * right / before.right, sd, right, before.seconds), moves
    )


def runs(start: Start, sessions: Sequence[datetime], minutes: float, most: int = RUNS) -> list[Outlook]:
    """Return the outlook after each of several runs. The same start always gives the same outlooks."""
    many = max(min(most, SESSIONS // len(sessions)), 1)
    return [_play(PracticeRun(start, number, many), sessions, minutes) for number in range(many)]


def _play(run: PracticeRun, sessions: Sequence[datetime], minutes: float) -> Outlook:
    """Return the outlook of a run after these sessions."""
    for begin in sessions:
        run.practise(begin, minutes)
    return run.outlook()


@dataclass(frozen=True)
class Needed:
    """The minutes a day that a night needs, and the ``share`` they are expected to bring.

    If ``enough`` is false, even the most minutes that a player can be asked for do not make the night ready.
    """

    minutes: int
    share: float
    enough: bool


def minutes_needed(start: Start, sessions: Sequence[datetime]) -> Needed:
    """Return the minutes a day that make the night ready, with one run for each number of minutes."""

    def share(minutes: int) -> float:
        reached = together(runs(start, sessions, minutes, 1))
        return reached.mean if reached else 0.0

    return fewest(share)


def fewest(share: Callable[[int], float]) -> Needed:
    """Return the fewest of :data:`MINUTES` whose share is enough, by bisection.

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
    chosen = low if enough else low - 1
    return Needed(MINUTES[chosen], shares[chosen], enough)
