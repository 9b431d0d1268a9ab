"""Boxes, anchor regions, reach.

Conventions. Box b (1–5) of a minor pentatonic starts on string 6 with the b-th note of that scale
and takes two notes on each string, ascending. The anchor region of a key is the frets from the
lowest to the highest of one box of its relative minor's pentatonic, at the lowest place on the neck
that is not below the nut. The reach is one fret more on either side.

The open position is a place beside the boxes: frets 0 to 3 in the keys whose chords are mostly open grips. In some
of these keys a box covers these frets already. Then that box is the open position; otherwise it is a place of its
own, with the number :data:`OPEN` instead of a box.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache, cached_property

from cards.guitar.neck import STANDARD, STANDARD_TUNING, STRINGS, Neck
from cards.messages import RefusalError, echo
from cards.theory.keys import Key, Mode
from cards.theory.pitch import Interval, Note

BOXES = range(1, 6)
OPEN = 0
"""Stands for the open position where a box would have its number."""
OCTAVE = 12
MINOR_PENTATONIC = tuple(Interval.read(degree) for degree in ("R", "b3", "4", "5", "b7"))

_OPEN_FRETS = range(4)
_OPEN_KEYS = frozenset(
    [(Note.read(tonic).pitch_class, Mode.MAJOR) for tonic in "CGDAE"]
    + [(Note.read(tonic).pitch_class, Mode.MINOR) for tonic in "AED"]
)
"""The keys that beginners play with open grips, as fretted: pitch class of the tonic, and mode."""


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

    ``low`` and ``high`` are frets, both inside; ``notes`` are the box's twelve notes, string 6 first. ``box`` is
    :data:`OPEN` for the open position as a place of its own. ``is_open`` says that the region is the open position,
    be it a box or not.

    >>> region = anchor_region(Key.read("Ab"), 1)
    >>> region.low, region.high, region.reach
    (1, 4, (0, 5))
    """

    key: Key
    box: int
    low: int
    high: int
    notes: tuple[BoxNote, ...] = field(compare=False)
    is_open: bool = field(default=False, compare=False)

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
    return Region(key, box, low, high, tuple(notes), low == _OPEN_FRETS.start and _has_open_grips(key, neck))


@cache
def has_open_position(key: Key, neck: Neck = STANDARD) -> bool:
    """Whether the open position is a place of its own in a key, because no box lies at the nut.

    The capo and a tuning moved as a whole decide which key is fretted, and only that counts.

    >>> [name for name in ("C", "G", "D", "A", "E", "Am", "Em", "Dm", "B") if has_open_position(Key.read(name))]
    ['D', 'A', 'E']
    """
    boxes = (anchor_region(key, box, neck) for box in BOXES)
    return _has_open_grips(key, neck) and all(region.low > _OPEN_FRETS.start for region in boxes)


@cache
def open_position(key: Key, neck: Neck = STANDARD) -> Region:
    """The open position of a key as a place of its own: frets 0 to 3 with the notes that the boxes have there.

    It asks only where the notes lie; :func:`has_open_position` says whether a key has the place.
    """
    scale = [key.relative_minor.above(interval) for interval in MINOR_PENTATONIC]
    notes = [
        BoxNote(string, fret, note)
        for string in STRINGS
        for fret, note in _scale_notes(scale, string, _OPEN_FRETS, neck)
    ]
    return Region(key, OPEN, _OPEN_FRETS[0], _OPEN_FRETS[-1], tuple(notes), is_open=True)


def read_place(text: str, key: Key, neck: Neck = STANDARD) -> Region:
    """Read a place of a key: the number of a box, or *open* for the open position.

    Where a box is the open position already, *open* is that box. Raises RegionError for anything else, and where the
    key has no open position.

    >>> [read_place(text, Key.read("G")).box for text in ("4", "open")], read_place("open", Key.read("D")).box
    ([4, 1], 0)
    """
    wanted = read_box(text)
    box = box_at_nut(key, neck) if wanted == OPEN else wanted
    region = open_position(key, neck) if box == OPEN else anchor_region(key, box, neck)
    if wanted == OPEN and not region.is_open:
        raise RegionError("{key} has no open position on this guitar: choose a box from 1 to 5", key=str(key))
    return region


def read_box(text: str) -> int:
    """Read the number of a box, or *open* as :data:`OPEN`. Raises RegionError.

    >>> read_box("4"), read_box("Open")
    (4, 0)
    """
    wanted = text.strip().lower()
    if wanted == "open":
        return OPEN
    if wanted not in map(str, BOXES):
        raise RegionError('no box "{box}": a box is a number from 1 to 5, or "open"', box=echo(text))
    return int(wanted)


@cache
def box_at_nut(key: Key, neck: Neck = STANDARD) -> int:
    """Return the place of a key that is nearest to the nut: :data:`OPEN` if the key has it as a place of its own,
    otherwise the lowest box, which is the open position if the key has one.

    >>> [box_at_nut(Key.read(name)) for name in ("D", "G", "C", "Eb")]
    [0, 1, 4, 3]
    """
    if has_open_position(key, neck):
        return OPEN
    return min(BOXES, key=lambda box: anchor_region(key, box, neck).low)


def _has_open_grips(key: Key, neck: Neck) -> bool:
    """Whether the key that is fretted is one of those that beginners play with open grips."""
    return ((key.tonic.pitch_class - neck.offset) % OCTAVE, key.mode) in _OPEN_KEYS


def _scale_notes(scale: list[Note], string: int, frets: range, neck: Neck) -> list[tuple[int, Note]]:
    """The scale's notes on one string between two frets."""
    by_class = {note.pitch_class: note for note in scale}
    classes = [(fret, neck.pitch(string, fret) % OCTAVE) for fret in frets]
    return [(fret, by_class[each]) for fret, each in classes if each in by_class]
