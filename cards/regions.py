"""Boxes, anchor regions, reach.

Conventions. Box b (1–5) of a minor pentatonic starts on string 6 with the b-th note of that scale
and takes two notes on each string, ascending. The anchor region of a key is the frets from the
lowest to the highest of one box of its relative minor's pentatonic, at the lowest place on the neck
that is not below the nut. The reach is one fret more on either side.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache, cached_property

from cards.keys import Key
from cards.neck import STANDARD, STRINGS
from cards.pitch import Interval, Note

BOXES = range(1, 6)
OCTAVE = 12
MINOR_PENTATONIC = tuple(Interval.read(degree) for degree in ("R", "b3", "4", "5", "b7"))


class RegionError(ValueError):
    """A box that does not exist; the message says what would be right."""


@dataclass(frozen=True)
class BoxNote:
    """One note of a box: string number, fret, spelled note."""

    string: int
    fret: int
    note: Note


@dataclass(frozen=True)
class Region:
    """The anchor region of a key in one box.

    ``low`` and ``high`` are frets, both inside; ``notes`` are the box's twelve notes, string 6 first.

    >>> region = anchor_region(Key.read("Ab"), 1)
    >>> region.low, region.high, region.reach
    (1, 4, (0, 5))
    """

    key: Key
    box: int
    low: int
    high: int
    notes: tuple[BoxNote, ...] = field(compare=False)

    @cached_property
    def reach(self) -> tuple[int, int]:
        """The lowest and highest fret that a voicing may use; never below the nut."""
        return max(self.low - 1, 0), self.high + 1

    @property
    def at_nut(self) -> bool:
        """Whether open strings belong to the reach."""
        return self.reach[0] == 0

    def outside(self, fret: int) -> int:
        """How many frets a fret lies outside the region; 0 inside."""
        return max(self.low - fret, fret - self.high, 0)

    def octave_up(self) -> Region:
        """The same box twelve frets up: the same card, in another place."""
        return Region(
            self.key,
            self.box,
            self.low + OCTAVE,
            self.high + OCTAVE,
            tuple(BoxNote(note.string, note.fret + OCTAVE, note.note) for note in self.notes),
        )


@cache
def anchor_region(key: Key, box: int) -> Region:
    """The anchor region of a major key in box 1–5, in standard tuning.

    Raises RegionError for any other box.
    """
    if box not in BOXES:
        raise RegionError(f"no box {box}: the boxes are 1 to 5")
    scale = [key.relative_minor.above(interval) for interval in MINOR_PENTATONIC]
    walk = [scale[(box - 1 + step) % 5] for step in range(2 * len(STRINGS))]
    frets = []
    pitch = STANDARD.tuning[0] + (walk[0].pitch_class - STANDARD.tuning[0]) % 12
    for step, note in enumerate(walk):
        pitch += (note.pitch_class - pitch) % 12
        frets.append(pitch - STANDARD.tuning[step // 2])
    if min(frets) < 0:
        frets = [fret + OCTAVE for fret in frets]
    notes = tuple(
        BoxNote(STRINGS[step // 2], fret, note) for step, (fret, note) in enumerate(zip(frets, walk, strict=True))
    )
    return Region(key, box, min(frets), max(frets), notes)
