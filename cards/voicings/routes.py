"""The smoothest way through a progression: one voicing per chord so that the hand moves least.

Conventions. What a change costs is a sum of parts: the way the fingers travel (mm along the neck
and across the strings, for each finger that both grips use), fingers that are set down anew, notes
that are held (a finger that stays where it is, which earns something), a change of shape, and the
effort of the voicing that is reached. The best way over all voicings is found exactly, by dynamic
programming over the chords: Sayegh, *Fingering for string instruments with the optimum path
paradigm*, Computer Music Journal 13(3), 1989. The weights are our own estimates.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeVar

from cards.guitar.fingering import MEDIUM, Hand
from cards.guitar.neck import STANDARD, Neck
from cards.guitar.regions import Region
from cards.messages import RefusalError
from cards.theory.chords import Chord
from cards.voicings.search import FEWEST_STRINGS
from cards.voicings.voicing import Voicing, voicings

STRING_SPACING_MM = 9.0
"""Distance of neighbouring strings under the fretting hand (our estimate)."""

_PER_TRAVEL_MM = 0.05
_PER_NEW_FINGER = 0.5
_PER_HELD_NOTE = -0.75
_SHAPE_CHANGE = 1.0
_PER_EFFORT = 0.3

_Step = TypeVar("_Step", bound=Hashable)


class RouteError(RefusalError, ValueError):
    """A progression that cannot be played in a region; the message names the chord."""


@dataclass(frozen=True)
class GripChange:
    """From one voicing to the next: ``travel_mm`` of the fingers, notes ``held`` by a finger that
    stays, fingers set down anew, and whether the ``shape`` changes."""

    travel_mm: float
    held: int
    new_fingers: int
    shape: bool

    @property
    def cost(self) -> float:
        """The parts, weighted; the effort of the voicing reached comes on top."""
        return (
            _PER_TRAVEL_MM * self.travel_mm
            + _PER_HELD_NOTE * self.held
            + _PER_NEW_FINGER * self.new_fingers
            + _SHAPE_CHANGE * self.shape
        )


@dataclass(frozen=True)
class Route:
    """One voicing per chord, the changes between them, and the whole cost."""

    voicings: tuple[Voicing, ...]
    changes: tuple[GripChange, ...]

    @property
    def cost(self) -> float:
        """The sum over voicings and changes."""
        efforts = sum(_PER_EFFORT * voicing.effort.total for voicing in self.voicings)
        return round(efforts + sum(change.cost for change in self.changes), 6)

    @property
    def travel_mm(self) -> float:
        """How far the fingers travel, in mm."""
        return round(sum(change.travel_mm for change in self.changes), 1)


def change(before: Voicing, after: Voicing) -> GripChange:
    """What it takes to go from one voicing to another."""
    old, new = _fingertips(before), _fingertips(after)
    shared = old.keys() & new.keys()
    travel = sum(_distance(old[finger], new[finger], after.neck) for finger in shared)
    held = sum(old[finger] == new[finger] for finger in shared)
    shapes = set(before.shapes) & set(after.shapes) or before.frets == after.frets
    return GripChange(round(travel, 3), held, len(new.keys() - shared), not shapes)


def _fingertips(voicing: Voicing) -> dict[int, tuple[int, int]]:
    """Where each finger lies: (string index, fret) of the lowest string it holds."""
    tips: dict[int, tuple[int, int]] = {}
    for index, (finger, fret) in enumerate(zip(voicing.grip.fingers, voicing.frets, strict=True)):
        if finger is not None and fret is not None:
            tips.setdefault(finger, (index, fret))
    return tips


def _distance(one: tuple[int, int], other: tuple[int, int], neck: Neck) -> float:
    along = neck.fret_mm(one[1]) - neck.fret_mm(other[1])
    across = STRING_SPACING_MM * (one[0] - other[0])
    return float((along**2 + across**2) ** 0.5)


def smoothest(
    chords: tuple[Chord, ...],
    region: Region,
    hand: Hand = MEDIUM,
    neck: Neck = STANDARD,
    fewest_strings: int = FEWEST_STRINGS,
) -> Route:
    """The route of least cost through a progression inside the reach of a region.

    ``fewest_strings`` leaves smaller voicings out. Raises RouteError naming a chord that has no
    voicing there.
    """
    choices = {chord: _choices(chord, region, hand, neck, fewest_strings) for chord in dict.fromkeys(chords)}
    return smoothest_among(chords, choices)


def _choices(chord: Chord, region: Region, hand: Hand, neck: Neck, fewest_strings: int) -> tuple[Voicing, ...]:
    found = voicings(chord, region, hand, neck)
    wide_enough = tuple(voicing for voicing in found if voicing.strings >= fewest_strings) or found
    if not wide_enough:
        raise RouteError(
            "{chord} has no voicing in frets {low}–{high} for this hand: try another box or a larger hand",
            chord=chord,
            low=region.low,
            high=region.high,
        )
    return wide_enough


def smoothest_among(steps: Sequence[_Step], choices: Mapping[_Step, Sequence[Voicing]]) -> Route:
    """The route of least cost that takes one of a step's ``choices`` (one at least) at each of the steps.

    What it costs to go from one step to another is worked out once, however often a tune does; of equal
    ways it is the one whose voicings stand first, from the end back.
    """
    if not steps:
        return Route((), ())
    efforts = {step: [_PER_EFFORT * each.effort.total for each in choices[step]] for step in choices}
    pairs = {
        (before, after): [[change(old, new).cost for old in choices[before]] for new in choices[after]]
        for before, after in dict.fromkeys(pairwise(steps))
    }
    costs, ways_back = efforts[steps[0]], []
    for before, after in pairwise(steps):
        reached = [
            min((so_far + each, index) for index, (so_far, each) in enumerate(zip(costs, row, strict=True)))
            for row in pairs[before, after]
        ]
        costs = [cost + effort for (cost, _), effort in zip(reached, efforts[after], strict=True)]
        ways_back.append([index for _, index in reached])
    way = [costs.index(min(costs))]
    for back in reversed(ways_back):
        way.append(back[way[-1]])
    chosen = tuple(choices[step][index] for step, index in zip(steps, reversed(way), strict=True))
    return Route(chosen, tuple(change(a, b) for a, b in pairwise(chosen)))
