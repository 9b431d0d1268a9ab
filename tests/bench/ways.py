"""Ways through progressions: what the hand does and what the ear hears, in each manner.

    python -m tests.bench.ways [--small]

Common progressions in the thirteen major keys and five boxes, and in minor keys and blues. The baseline is the way by
the hand alone: the fingers' travel, fingers set down, fingers held, shapes and effort, as the cost was
before it heard anything. A leap is a change whose top note moves further than a major third. "Set at 0 mm"
are the changes that set a finger down anew and say that no finger travelled. Effort is the mean of a voicing,
travel the mean of a change in mm, measured alike for all.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from cards.guitar.regions import BOXES, Region, anchor_region
from cards.theory.chords import Chord
from cards.theory.keys import BLUES_KEYS, MAJOR_KEYS, MINOR_KEYS, Key, Mode
from cards.theory.numerals import read_numeral
from cards.voicings.routes import COMP, MANNERS, SMALL, SMOOTH, STRING_SPACING_MM, Lead, Manner, change, smoothest
from cards.voicings.voicing import Voicing, voicings
from tests.bench.machine import machine

PROGRESSIONS = {
    Mode.MAJOR: (
        "1 4 5 1",
        "1 5 6- 4",
        "6- 4 1 5",
        "1 6- 2-7 5",
        "2-7 57 1maj7",
        "1 b7 4 1",
        "1 V7/ii 2-7 57",
        "1 4 iv 1",
    ),
    Mode.MINOR: ("1 4 V7 1", "1 6 7 1"),
    Mode.BLUES: ("1 4 1 5 4 1",),
}


@dataclass(frozen=True)
class Sums:
    """Counts over all ways: changes, leaps of the top note, changes that set a finger at 0 mm, and what is
    summed up: effort, travel in mm, frets that the index moves, leading tones and sevenths left hanging."""

    voicings: int
    changes: int
    leaps: int
    free: int
    effort: float
    travel: float
    index: int
    unresolved: int

    def row(self, name: str, seconds: float) -> str:
        """The row of the table."""
        return (
            f"| {name} | {self.changes} | {self.leaps / self.changes:.1%} | {self.free / self.changes:.1%} "
            f"| {self.effort / self.voicings:.2f} | {self.travel / self.changes:.0f} "
            f"| {self.index / self.changes:.2f} | {self.unresolved / self.changes:.1%} | {seconds:.1f} |"
        )


def tasks(keys: int, boxes: Sequence[int]) -> Iterator[tuple[tuple[Chord, ...], Region]]:
    """Every progression in every key and box."""
    for key in (*MAJOR_KEYS[:keys], *MINOR_KEYS[:keys], *BLUES_KEYS[:keys]):
        for box in boxes:
            for text in PROGRESSIONS[key.mode]:
                yield chords_of(text, key), anchor_region(key, box)


def chords_of(text: str, key: Key) -> tuple[Chord, ...]:
    """The chords of a progression."""
    return tuple(read_numeral(each, key).chord(key) for each in text.split())


def by_the_hand(chords: tuple[Chord, ...], region: Region, fewest: int) -> tuple[Voicing, ...]:
    """The way by the cost as it was: the hand's travel and effort alone."""
    rows = []
    for chord in chords:
        found = voicings(chord, region)
        rows.append([voicing for voicing in found if voicing.strings >= fewest] or list(found))
    best: list[tuple[float, tuple[Voicing, ...]]] = [(0.3 * voicing.effort.total, (voicing,)) for voicing in rows[0]]
    for row in rows[1:]:
        best = [min((_longer(*so_far, voicing) for so_far in best), key=_cost) for voicing in row]
    return min(best, key=_cost)[1]


def _longer(cost: float, way: tuple[Voicing, ...], voicing: Voicing) -> tuple[float, tuple[Voicing, ...]]:
    return cost + hand_cost(way[-1], voicing) + 0.3 * voicing.effort.total, (*way, voicing)


def _cost(way: tuple[float, tuple[Voicing, ...]]) -> float:
    return way[0]


def _tips(voicing: Voicing) -> dict[int, tuple[int, int]]:
    tips: dict[int, tuple[int, int]] = {}
    for index, (finger, fret) in enumerate(zip(voicing.grip.fingers, voicing.frets, strict=True)):
        if finger is not None and fret is not None:
            tips.setdefault(finger, (index, fret))
    return tips


def travel_mm(before: Voicing, after: Voicing) -> float:
    """The path of the fingers that both voicings use, in mm."""
    old, new, neck = _tips(before), _tips(after), after.neck
    total = 0.0
    for finger in old.keys() & new.keys():
        along = neck.fret_mm(old[finger][1]) - neck.fret_mm(new[finger][1])
        total += (along**2 + (STRING_SPACING_MM * (old[finger][0] - new[finger][0])) ** 2) ** 0.5
    return round(total, 3)


def hand_cost(before: Voicing, after: Voicing) -> float:
    """What a change cost before it heard anything."""
    old, new = _tips(before), _tips(after)
    shared = old.keys() & new.keys()
    held = sum(old[finger] == new[finger] for finger in shared)
    is_new_shape = not set(before.shapes) & set(after.shapes) and before.frets != after.frets
    return 0.05 * travel_mm(before, after) - 0.75 * held + 0.5 * len(new.keys() - shared) + is_new_shape


def measure(ways: Sequence[tuple[Voicing, ...]], told_travel: bool) -> Sums:
    """Count over ways. ``told_travel`` asks the change for its travel; else only fingers that both voicings
    use travel, as it was."""
    pairs = [pair for way in ways for pair in pairwise(way)]
    changes = [change(before, after) for before, after in pairs]
    told = [made.travel_mm if told_travel else travel_mm(*pair) for made, pair in zip(changes, pairs, strict=True)]
    return Sums(
        voicings=sum(map(len, ways)),
        changes=len(changes),
        leaps=sum(made.is_leap for made in changes),
        free=sum(made.new_fingers > 0 and round(mm) == 0 for made, mm in zip(changes, told, strict=True)),
        effort=sum(voicing.effort.total for way in ways for voicing in way),
        travel=sum(made.travel_mm for made in changes),
        index=sum(abs(made.index) for made in changes),
        unresolved=sum(made.unresolved > 0 for made in changes),
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--small", action="store_true", help="one key and box only, to see that it runs")
    small = parser.parse_args().small
    every = list(tasks(1, (1,)) if small else tasks(len(MAJOR_KEYS), tuple(BOXES)))
    print(machine())
    print("| way | changes | leaps | set at 0 mm | effort | travel | index | unresolved | s |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- | --- |")
    for fewest in (3, 4):
        begun = time.process_time()
        ways = [by_the_hand(chords, region, fewest) for chords, region in every]
        seconds = time.process_time() - begun
        print(measure(ways, told_travel=False).row(f"by the hand alone, {fewest} strings or more", seconds))
    for name, manner in manners().items():
        begun = time.process_time()
        ways = [smoothest(chords, region, manner=manner).voicings for chords, region in every]
        print(measure(ways, told_travel=True).row(name, time.process_time() - begun))


def manners() -> dict[str, Manner]:
    """The manners, and what else leads in some of them."""
    return {
        **MANNERS,
        "smooth, 4 strings or more": replace(SMOOTH, fewest=4),
        "smooth, hand stays": replace(SMOOTH, lead=Lead.HAND),
        "smooth, top voice leads": replace(SMOOTH, lead=Lead.TOP),
        "small, top voice leads": replace(SMALL, lead=Lead.TOP),
        "comp, hand stays": replace(COMP, lead=Lead.HAND),
    }


if __name__ == "__main__":
    main()
