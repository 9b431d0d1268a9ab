"""Readiness: the share of a night's changes of chord that the player would get clean.

Conventions. The expected share is the mean fluency of the changes (:mod:`drill.jams.changes`) on the night,
each in the seconds that it may take there; what comes twice counts twice. Its uncertainty has two
parts. What the model does not know for sure: the deviations of a change's fluency by the rows it
comes from (:func:`drill.memory.recall.fluency_by_row`) add up over the changes that share a row, so that what is
common to them (the player, the key, the ask) does not average out, and what is a chord's own does. And
chance on the night: given all that, each change is found or not by itself. Where a night can go
several ways (what is practised until then), the variance between the ways is a third part.
Intervals hold nine truths of ten, by the normal distribution, cut off at 0 and 1.
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
from drill.jams.changes import Called, ChordChange, called, cards_for, changes_of
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
#: The share that a band would call ready.
READY: Final = 0.9


@dataclass(frozen=True)
class Share:
    """An expected share of clean changes; ``unsure`` is the deviation by what the model does not know,
    ``chance`` that of the night itself. ``changes`` are counted."""

    mean: float
    unsure: float
    chance: float
    changes: int

    @property
    def sd(self) -> float:
        """The deviation of the share that the night will show."""
        return math.hypot(self.unsure, self.chance)

    @property
    def interval(self) -> tuple[float, float]:
        """Where that share will lie, nine times out of ten."""
        return interval(self.mean, self.sd)


@dataclass(frozen=True)
class Told:
    """The fluency of one change on the night, and how far it moves with each row it comes from."""

    called: Called
    fluency: Fluency
    moves: Mapping[str, tuple[float, float]]

    @property
    def p(self) -> float:
        """The probability that it is clean."""
        return self.fluency.p


@dataclass(frozen=True)
class Outlook:
    """The changes of a night as the model expects them, in the order of play."""

    told: tuple[Told, ...]

    def of(self, entry: int) -> Outlook:
        """Those of one tune of the set list."""
        return Outlook(tuple(each for each in self.told if each.called.change.entry == entry))

    @property
    def share(self) -> Share | None:
        """The share expected clean; None where there is nothing to measure."""
        if not self.told:
            return None
        count = len(self.told)
        common: dict[str, list[float]] = defaultdict(lambda: [0.0, 0.0])
        for each in self.told:
            for name, (right, in_time) in each.moves.items():
                common[name][0] += right
                common[name][1] += in_time
        unsure = math.hypot(*(part for parts in common.values() for part in parts)) / count
        chance = sum(max(each.p * (1.0 - each.p) - each.fluency.sd**2, 0.0) for each in self.told)
        return Share(fmean(each.p for each in self.told), unsure, math.sqrt(chance) / count, count)

    def shakiest(self, named: int = NAMED) -> tuple[tuple[Told, int], ...]:
        """The changes most likely to fail, each where it comes first, with how often the tune has it."""
        first: dict[object, Told] = {}
        times: Counter[object] = Counter()
        for each in self.told:
            what = each.called.change.entry, each.called.card.id, each.called.allowed
            first.setdefault(what, each)
            times[what] += 1
        ranked = sorted(first, key=lambda what: first[what].p)
        return tuple((first[what], times[what]) for what in ranked[:named])


@dataclass(frozen=True)
class NightKnowledge:
    """What a player knows of a night's changes: how often each of their cards was answered, the memory
    rows that these touch (there may be more), and what is switched off."""

    changes: tuple[ChordChange, ...]
    reviews: Mapping[str, int]
    rows: Mapping[str, Row]
    switched_off: tuple[str, ...]
    parameters: Parameters = START

    def outlook(self, at: datetime) -> Outlook:
        """What is to be expected of them at an instant if nothing more is drilled until then."""
        return outlook(called(self.changes, self.reviews, self.switched_off), self.rows, at, self.parameters)


def known_of(db: Session, player: Player, night: Night, setting: Setting) -> NightKnowledge:
    """What a player knows of a night, on a guitar as set."""
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


def outlook(changes: Sequence[Called], rows: Mapping[str, Row], at: datetime, parameters: Parameters) -> Outlook:
    """What is to be expected of changes at an instant, if memory is as ``rows`` say."""
    known: dict[tuple[str, float], tuple[Fluency, dict[str, tuple[float, float]]]] = {}
    for each in changes:
        what = each.card.id, each.allowed
        if what not in known:
            known[what] = fluency_by_row(rows, features(each.card), at, each.allowed, parameters)
    return Outlook(tuple(Told(each, *known[each.card.id, each.allowed]) for each in changes))


def together(ways: Sequence[Outlook]) -> Share | None:
    """The share of a night that can go several ways, each as likely; None where there is nothing to measure."""
    shares = [share for way in ways if (share := way.share)]
    if not shares:
        return None
    means = [share.mean for share in shares]
    between = variance(means) * (1.0 + 1.0 / len(means)) if len(means) > 1 else 0.0
    unsure = math.sqrt(fmean(share.unsure**2 for share in shares) + between)
    chance = math.sqrt(fmean(share.chance**2 for share in shares))
    return Share(fmean(means), unsure, chance, shares[0].changes)
