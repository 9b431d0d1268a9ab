"""Readiness: the share of a night's changes of chord that the player would get clean.

Conventions. The expected share is the mean fluency of the changes (:mod:`drill.jams.changes`) on the night, each
within its time limit; a change that comes twice counts twice. Its uncertainty has two parts:

- What the model does not know for sure. The deviations of a change's fluency by the memory rows it depends on
  (:func:`drill.memory.recall.fluency_by_row`) are added up over the changes that share a row. So what changes have in
  common (the player, the key, the ask) does not average out, and what belongs to a single chord does.
- Chance on the night. Given all that, each change is clean or not independently of the others.

If a night can go several ways (by what is practised until then), the variance between the ways is a third part.
Intervals are 90 % intervals of the normal distribution, cut off at 0 and 1.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import fmean, variance
from typing import Final

from sqlalchemy.orm import Session

from cards.asks import Setting
from drill.jams.changes import ChordChange, MeasuredChange, cards_for, changes_of, measured_changes
from drill.jams.nights import Night
from drill.learning.parameter_versions import parameters_of
from drill.memory.parameters import START, Parameters
from drill.memory.recall import fluency_by_row
from drill.memory.rows import Fluency, Row, touched_rows
from drill.memory.shares import interval
from drill.planning.repertoire import features
from drill.store.memory import count_answers_to, memory_rows_named
from drill.store.models import Player

#: How many changes are named as the shakiest.
NAMED: Final = 3
#: The share from which a jam counts as ready: what a band would call ready.
READY: Final = 0.9


@dataclass(frozen=True)
class Share:
    """An expected share of clean changes, over ``changes`` changes.

    ``unsure`` is the standard deviation from what the model does not know, ``chance`` that of the night itself.
    """

    mean: float
    unsure: float
    chance: float
    changes: int

    @property
    def sd(self) -> float:
        """The standard deviation of the share that the night will show."""
        return math.hypot(self.unsure, self.chance)

    @property
    def interval(self) -> tuple[float, float]:
        """The 90 % interval of that share."""
        return interval(self.mean, self.sd)


@dataclass(frozen=True)
class ChangeForecast:
    """The forecast of one change on the night.

    ``moves`` has for each memory row that the change depends on the deviations (of being right, of being in time) of
    its fluency.
    """

    measured: MeasuredChange
    fluency: Fluency
    moves: Mapping[str, tuple[float, float]]

    @property
    def p(self) -> float:
        """The probability that the change is clean."""
        return self.fluency.p


@dataclass(frozen=True)
class Outlook:
    """The forecasts of a night's changes, in the order of play."""

    forecasts: tuple[ChangeForecast, ...]

    def of(self, entry: int) -> Outlook:
        """Return the outlook of one tune of the set list."""
        return Outlook(tuple(forecast for forecast in self.forecasts if forecast.measured.change.entry == entry))

    @property
    def share(self) -> Share | None:
        """The share expected clean, or None if there is nothing to measure."""
        if not self.forecasts:
            return None
        count = len(self.forecasts)
        common: dict[str, list[float]] = defaultdict(lambda: [0.0, 0.0])
        for forecast in self.forecasts:
            for name, (right, in_time) in forecast.moves.items():
                common[name][0] += right
                common[name][1] += in_time
        unsure = math.hypot(*(part for parts in common.values() for part in parts)) / count
        chance = sum(max(forecast.p * (1.0 - forecast.p) - forecast.fluency.sd**2, 0.0) for forecast in self.forecasts)
        return Share(fmean(forecast.p for forecast in self.forecasts), unsure, math.sqrt(chance) / count, count)

    def shakiest(self, named: int = NAMED) -> tuple[tuple[ChangeForecast, int], ...]:
        """Return the changes most likely to fail, each at its first place, and how often the tune has it."""
        first: dict[object, ChangeForecast] = {}
        times: Counter[object] = Counter()
        for forecast in self.forecasts:
            what = forecast.measured.change.entry, forecast.measured.card.id, forecast.measured.allowed
            first.setdefault(what, forecast)
            times[what] += 1
        ranked = sorted(first, key=lambda what: first[what].p)
        return tuple((first[what], times[what]) for what in ranked[:named])


@dataclass(frozen=True)
class NightKnowledge:
    """What is known of a player and a night's changes.

    It holds how often each card was answered, the memory rows that the cards depend on (and perhaps others), and the
    asks that are switched off.
    """

    changes: tuple[ChordChange, ...]
    reviews: Mapping[str, int]
    rows: Mapping[str, Row]
    switched_off: tuple[str, ...]
    parameters: Parameters = START

    def outlook(self, at: datetime) -> Outlook:
        """Return the outlook at an instant without further practice."""
        return outlook(measured_changes(self.changes, self.reviews, self.switched_off), self.rows, at, self.parameters)


def known_of(db: Session, player: Player, night: Night, setting: Setting) -> NightKnowledge:
    """Return what is known of a player and a night, for the player's guitar."""
    changes = changes_of(night, setting)
    cards = cards_for(changes)
    names = {name for card in cards for name in touched_rows(features(card))}
    return NightKnowledge(
        changes,
        count_answers_to(db, player.id, [card.id for card in cards]),
        memory_rows_named(db, player.id, names),
        tuple(player.switched_off),
        parameters_of(db, player),
    )


def outlook(
    changes: Sequence[MeasuredChange], rows: Mapping[str, Row], at: datetime, parameters: Parameters
) -> Outlook:
    """Return the outlook of changes at an instant, with memory as in ``rows``."""
    known: dict[tuple[str, float], tuple[Fluency, dict[str, tuple[float, float]]]] = {}
    for change in changes:
        what = change.card.id, change.allowed
        if what not in known:
            known[what] = fluency_by_row(rows, features(change.card), at, change.allowed, parameters)
    return Outlook(tuple(ChangeForecast(change, *known[change.card.id, change.allowed]) for change in changes))


def together(ways: Sequence[Outlook]) -> Share | None:
    """Return the share of a night that can go several equally likely ways.

    None if there is nothing to measure.
    """
    shares = [share for way in ways if (share := way.share)]
    if not shares:
        return None
    means = [share.mean for share in shares]
    between = variance(means) * (1.0 + 1.0 / len(means)) if len(means) > 1 else 0.0
    unsure = math.sqrt(fmean(share.unsure**2 for share in shares) + between)
    chance = math.sqrt(fmean(share.chance**2 for share in shares))
    return Share(fmean(means), unsure, chance, shares[0].changes)
