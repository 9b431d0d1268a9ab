"""The five CAGED shapes, as octave skeletons of the root.

Conventions. A shape is the strings that carry its root and the frets of those roots counted from
the lowest one (standard intervals between strings only). Its usual full form fills the strings from
the lowest root to string 1 with the chord tones nearest to the skeleton; nothing is listed. A
quality bends the form: each tone moves to its counterpart, and the seventh comes from a root moved
down or a fifth moved up. The shape's name stays.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import product

from cards.chords import QUALITIES, Chord, Quality
from cards.fingering import Frets, fingering
from cards.neck import STANDARD, STRINGS, Neck
from cards.pitch import Interval

ROOT = Interval(1)
THIRD = 3
FIFTH = 5
SEVENTH = 7


@dataclass(frozen=True)
class Shape:
    """A CAGED shape: ``roots`` are (string number, frets above the lowest root), bass first."""

    name: str
    roots: tuple[tuple[int, int], ...]

    @property
    def bass(self) -> int:
        """The string of the lowest root."""
        return self.roots[0][0]

    @property
    def span(self) -> range:
        """Frets, counted from the lowest root's, from the skeleton's lowest to its highest."""
        offsets = [offset for _, offset in self.roots]
        return range(min(offsets), max(offsets) + 1)


SHAPES = (
    Shape("C", ((5, 0), (2, -2))),
    Shape("A", ((5, 0), (3, 2))),
    Shape("G", ((6, 0), (3, -3), (1, 0))),
    Shape("E", ((6, 0), (4, 2), (1, 0))),
    Shape("D", ((4, 0), (2, 3))),
)

Place = tuple[int, Interval]
"""Frets above the shape's lowest root, and the chord tone there."""


def _tone_at(shape: Shape, quality: Quality, string: int, offset: int) -> Interval | None:
    """The chord tone on a string, ``offset`` frets from the lowest root's fret."""
    distance = STANDARD.pitch(string, offset) - STANDARD.pitch(shape.bass, 0)
    return next((tone for tone in quality.tones if tone.semitones == distance % 12), None)


@cache
def _major_form(shape: Shape) -> dict[int, Place]:
    """The usual form of the major triad: string number -> place.

    On each string the lowest chord tone inside the skeleton's span; where the open form reaches
    one fret below the skeleton (the C shape), the whole of it does.
    """
    strings = [string for string in STRINGS if string <= shape.bass]
    for below in (0, 1):
        form = {
            string: (offset, tone)
            for string in strings
            for offset in reversed(range(shape.span.start - below, shape.span.stop))
            if (tone := _tone_at(shape, QUALITIES["major"], string, offset)) is not None
            if tone != ROOT or (string, offset) in shape.roots
        }
        if len(form) == len(strings):
            return form
    raise AssertionError(f"the {shape.name} shape has no form on the neck")


def _bends(place: Place, quality: Quality) -> list[Place]:
    """Where one tone of the major form may go in a chord of ``quality``."""
    offset, tone = place
    places = []
    for goal in quality.tones:
        rise = goal.semitones - tone.semitones
        if goal.number == tone.number or (goal.number == SEVENTH and tone.number == FIFTH):
            places.append((offset + rise, goal))
        elif goal.number == SEVENTH and tone == ROOT:
            places.append((offset + rise - 12, goal))
    return places


@cache
def _places(shape: Shape, quality: Quality) -> dict[int, frozenset[int]]:
    """Where a voicing of this shape may stop each string: frets from the lowest root's fret.

    Root strings keep the root or what it bends to; the others also take any chord tone inside the
    skeleton's span.
    """
    carriers = dict(shape.roots)
    allowed = {}
    for string, place in _major_form(shape).items():
        offsets = {offset for offset, _ in _bends(place, quality)}
        if string not in carriers:
            offsets |= {offset for offset in shape.span if _tone_at(shape, quality, string, offset) not in (None, ROOT)}
        allowed[string] = frozenset({0}) if string == shape.bass else frozenset(offsets)
    return allowed


def _cover(shape: Shape, quality: Quality, frets: Frets, roots: tuple[int, ...]) -> tuple[int, int] | None:
    """How well a shape covers these frets, as (roots on the skeleton, frets lying in the usual
    form); None if it does not, or if no root string of the skeleton sounds the root."""
    skeleton = dict(shape.roots)
    lowest = {
        fret - skeleton[string]
        for string, fret in zip(STRINGS, frets, strict=True)
        if fret is not None and string in skeleton and string in roots
    }
    if len(lowest) != 1:
        return None
    root = lowest.pop()
    places = _places(shape, quality)
    form = _major_form(shape)
    on_skeleton = usual = 0
    for string, fret in zip(STRINGS, frets, strict=True):
        if fret is None:
            continue
        if string not in places or fret - root not in places[string]:
            return None
        on_skeleton += (string, fret - root) in shape.roots
        usual += fret - root in {offset for offset, _ in _bends(form[string], quality)}
    return on_skeleton, usual


def shapes_of(chord: Chord, frets: Frets, neck: Neck) -> tuple[Shape, ...]:
    """The shapes that cover a voicing, the better cover first; () for a mixed one."""
    lowest = min((fret for fret in frets if fret is not None), default=0)
    moved = tuple(None if fret is None else fret - lowest for fret in frets)
    roots = tuple(
        string
        for string, fret in zip(STRINGS, frets, strict=True)
        if fret is not None and neck.pitch(string, fret) % 12 == chord.root.pitch_class
    )
    return _shapes(chord.quality, moved, roots)


@cache
def _shapes(quality: Quality, frets: Frets, roots: tuple[int, ...]) -> tuple[Shape, ...]:
    """The same wherever it lies: frets from the lowest one, and the strings that sound the root."""
    covers = [(cover, shape) for shape in SHAPES if (cover := _cover(shape, quality, frets, roots)) is not None]
    # sorted is stable: of equal covers the one earlier in C A G E D comes first.
    return tuple(shape for _, shape in sorted(covers, key=lambda pair: pair[0], reverse=True))


@cache
def _full_forms(shape: Shape, quality: Quality) -> tuple[tuple[int, ...], ...]:
    """All ways to bend the major form into ``quality``: offsets per string from the bass up."""
    form = _major_form(shape)
    choices = [
        list(_bends(form[string], quality)) if string != shape.bass else [(0, ROOT)]
        for string in STRINGS
        if string <= shape.bass
    ]
    return tuple(
        tuple(offset for offset, _ in way)
        for way in product(*choices)
        if set(quality.must_sound) <= {tone for _, tone in way}
    )


def root_fret(shape: Shape, chord: Chord, frets: Frets, neck: Neck) -> int:
    """The fret of the shape's lowest root, for frets that the shape covers."""
    for string, offset in shape.roots:
        fret = frets[6 - string]
        if fret is not None and neck.pitch(string, fret) % 12 == chord.root.pitch_class:
            return fret - offset
    raise ValueError(f"no root of {chord} lies on the {shape.name} shape in {frets}")


@cache
def full_form(shape: Shape, quality: Quality, root: int, low: int, neck: Neck) -> tuple[Frets, float | None]:
    """The shape's usual full form with its lowest root on fret ``root``, and its effort.

    The effort lifts the stretch limits, so that big shapes can be compared at every place; it is
    None where no hand could finger the form (the minor C and G shapes) or where it falls below the
    nut. ``low`` is the region's lowest fret.
    """
    mutes: Frets = (None,) * (6 - shape.bass)
    forms = [mutes + tuple(root + offset for offset in offsets) for offsets in _full_forms(shape, quality)]
    efforts = [
        (fingered[1].total, frets)
        for frets in forms
        if all(fret is None or fret >= 0 for fret in frets)
        and (fingered := fingering(frets, low, neck, None)) is not None
    ]
    if efforts:
        effort, frets = min(efforts, key=lambda pair: pair[0])
        return frets, effort
    return forms[0], None
