"""Boxes, anchor regions, reach.

Conventions. Box b (1–5) of a minor pentatonic starts on string 6 with the b-th note of that scale
and takes two notes on each string, ascending. The anchor region of a key is the frets from the
lowest to the highest of one box of its relative minor's pentatonic, at the lowest place on the neck
that is not below the nut. The reach is one fret more on either side.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache, cached_property

from cards.guitar.neck import STANDARD, STANDARD_TUNING, STRINGS, Neck
from cards.messages import RefusalError, echo
from cards.theory.keys import Key
from cards.theory.pitch import Interval, Note

BOXES = range(1, 6)
OCTAVE = 12
MINOR_PENTATONIC = tuple(Interval.read(degree) for degree in ("R", "b3", "4", "5", "b7"))


class RegionError(RefusalError, ValueError):
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
    def place(self) -> int:
        """The fret where the index finger is at home: the lowest, 0 counting as 1."""
        return max(self.low, 1)

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
def anchor_region(key: Key, box: int, neck: Neck = STANDARD) -> Region:
    """The anchor region of a key in box 1–5.

    In another tuning the region is the one that the standard-tuned strings give; the altered ones
    only change the notes inside it. Frets count from the capo. Raises RegionError for any other box.
    """
    if box not in BOXES:
        raise RegionError("no box {box}: the boxes are 1 to 5", box=echo(box))
    scale = [key.relative_minor.above(interval) for interval in MINOR_PENTATONIC]
    walk = [scale[(box - 1 + step) % 5] for step in range(2 * len(STRINGS))]
    open_pitches = [pitch + neck.offset for pitch in STANDARD_TUNING]
    frets = []
    pitch = open_pitches[0] + (walk[0].pitch_class - open_pitches[0]) % OCTAVE
    for step, note in enumerate(walk):
        pitch += (note.pitch_class - pitch) % OCTAVE
        frets.append(pitch - open_pitches[step // 2])
    if min(frets) < 0:
        frets = [fret + OCTAVE for fret in frets]
    low, high = min(frets), max(frets)
    notes: list[BoxNote] = []
    for index, string in enumerate(STRINGS):
        own = list(zip(frets[2 * index : 2 * index + 2], walk[2 * index : 2 * index + 2], strict=True))
        if neck.pitch(string, 0) != open_pitches[index]:
            own = _scale_notes(scale, string, range(low, high + 1), neck)
        notes += [BoxNote(string, fret, note) for fret, note in own]
    return Region(key, box, low, high, tuple(notes))


def _scale_notes(scale: list[Note], string: int, frets: range, neck: Neck) -> list[tuple[int, Note]]:
    """The scale's notes on one string between two frets."""
    by_class = {note.pitch_class: note for note in scale}
    classes = [(fret, neck.pitch(string, fret) % OCTAVE) for fret in frets]
    return [(fret, by_class[each]) for fret, each in classes if each in by_class]
