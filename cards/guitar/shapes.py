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

from cards.guitar.fingering import Frets, fingering
from cards.guitar.neck import STANDARD, STRINGS, Neck
from cards.theory.chords import ROOT, Chord, Quality, read_quality
from cards.theory.pitch import Interval

MAJOR = read_quality("")
TRIAD = (1, 3, 5)
_FARTHEST_BEND = 4
_LOOSE_BEND = 2


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

_Places = dict[int, frozenset[int]]
"""String numbers, and the frets above the shape's lowest root where each may be stopped."""


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
            if (tone := _tone_at(shape, MAJOR, string, offset)) is not None
            if tone != ROOT or (string, offset) in shape.roots
        }
        if len(form) == len(strings):
            return form
    raise AssertionError(f"the {shape.name} shape has no form on the neck")


def _bends(place: Place, quality: Quality) -> list[Place]:
    """Where one tone of the major form may go in a chord of ``quality``.

    Root, third and fifth move to their counterpart; any other tone comes from a neighbour at most
    four frets away: the seventh from a root moved down or a fifth moved up, the fourth from a third.
    """
    offset, tone = place
    places = []
    for goal in quality.tones:
        rise = (goal.semitones - tone.semitones + 6) % 12 - 6
        if goal.number == tone.number or (goal.number not in TRIAD and abs(rise) <= _FARTHEST_BEND):
            places.append((offset + rise, goal))
    return places


def _places(shape: Shape, quality: Quality) -> _Places:
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


def _usual_places(shape: Shape, quality: Quality) -> _Places:
    """Where the usual form stops each string, bent into ``quality``."""
    return {
        string: frozenset(offset for offset, _ in _bends(place, quality))
        for string, place in _major_form(shape).items()
    }


@cache
def _skeletons(quality: Quality) -> tuple[tuple[Shape, _Places, _Places], ...]:
    """Every shape with where it may stop each string, and where its usual form does."""
    return tuple((shape, _places(shape, quality), _usual_places(shape, quality)) for shape in SHAPES)


def _cover(shape: Shape, places: _Places, usual_places: _Places, root: int, frets: Frets) -> tuple[int, int] | None:
    """How well a shape with its lowest root on fret ``root`` covers these frets, as (roots on the
    skeleton, frets lying in the usual form); None if it does not."""
    roots = usual = 0
    for string, fret in zip(STRINGS, frets, strict=True):
        if fret is None:
            continue
        offset = fret - root
        if string not in places or offset not in places[string]:
            return None
        roots += (string, offset) in shape.roots
        usual += offset in usual_places[string]
    return roots, usual


@cache
def covers(quality: Quality, frets: Frets, root: int, standard: int) -> tuple[tuple[Shape, int], ...]:
    """(shape, fret of its lowest root) of every shape that covers these frets, the better cover first.

    ``root`` is how many semitones fret 0 of string 1 lies above a root, ``standard`` the lowest
    string from which on the strings stand in standard intervals. Nothing else is asked, so all
    places that differ by a shift share an answer; a root may come out below the nut.
    """
    found = []
    for shape, places, usual_places in _skeletons(quality):
        if shape.bass > standard:
            continue
        lowest = (STANDARD.pitch(1, 0) - STANDARD.pitch(shape.bass, 0) - root) % 12
        for fret in (lowest - 12, lowest, lowest + 12):
            cover = _cover(shape, places, usual_places, fret, frets)
            if cover is not None:
                found.append((cover, shape, fret))
    # sorted is stable: of equal covers the one earlier in C A G E D comes first.
    return tuple((shape, fret) for _, shape, fret in sorted(found, key=lambda each: each[0], reverse=True))


def _placed(chord: Chord, frets: Frets, neck: Neck) -> list[tuple[Shape, int]]:
    """The shapes that cover a voicing with the frets of their lowest roots, none below the nut."""
    lowest = min(fret for fret in frets if fret is not None)
    moved = tuple(None if fret is None else fret - lowest for fret in frets)
    root = (neck.pitch(1, lowest) - chord.root.pitch_class) % 12
    found = covers(chord.quality, moved, root, neck.standard_from)
    return [(shape, fret + lowest) for shape, fret in found if 0 <= fret + lowest <= neck.free_frets]


def shapes_of(chord: Chord, frets: Frets, neck: Neck = STANDARD) -> tuple[Shape, ...]:
    """The shapes that cover a voicing, the better cover first; () for a mixed one.

    Shapes are named only where the strings from the shape's bass up stand in standard intervals.
    """
    return tuple(shape for shape, _ in _placed(chord, frets, neck))


@cache
def _full_forms(shape: Shape, quality: Quality) -> tuple[tuple[int | None, ...], ...]:
    """The ways to bend the major form into ``quality`` that move its tones least: offsets per
    string from the bass up. A string whose tone has no counterpart is muted."""
    form = _major_form(shape)
    ways: list[tuple[int, tuple[int | None, ...]]] = []
    choices: list[list[Place] | list[None]] = [
        (_bends(form[string], quality) or [None]) if string != shape.bass else [(0, ROOT)]
        for string in STRINGS
        if string <= shape.bass
    ]
    for way in product(*choices):
        tones = {place[1] for place in way if place}
        if set(quality.must_sound) <= tones:
            moved = sum(abs(place[0] - own[0]) for place, own in zip(way, form.values(), strict=True) if place)
            ways.append((moved, tuple(place[0] if place else None for place in way)))
    least = min((moved for moved, _ in ways), default=0)
    return tuple(offsets for moved, offsets in ways if moved <= least + _LOOSE_BEND)


def root_fret(shape: Shape, chord: Chord, frets: Frets, neck: Neck = STANDARD) -> int:
    """The fret of the shape's lowest root, for frets that the shape covers.

    Raises ValueError if it does not cover them.
    """
    for covering, root in _placed(chord, frets, neck):
        if covering == shape:
            return root
    raise ValueError(f"the {shape.name} shape does not cover {frets} as {chord}")


@cache
def full_form(shape: Shape, quality: Quality, root: int, low: int, neck: Neck) -> Frets:
    """The shape's usual full form with its lowest root on fret ``root``.

    Of several ways to bend the form it is the easiest one, the stretch limits lifted, so that big
    shapes have one at every place; the first where no hand could finger any (the minor C and G
    shapes) or all fall below the nut. ``low`` is the region's lowest fret: where the reach does not
    touch the nut, a form with an open string is none.
    """
    mutes: Frets = (None,) * (6 - shape.bass)
    lowest = 0 if low <= 1 else 1
    forms = [
        mutes + tuple(None if offset is None else root + offset for offset in offsets)
        for offsets in _full_forms(shape, quality)
    ]
    efforts = [
        (fingered.total, frets)
        for frets in forms
        if all(fret is None or fret >= lowest for fret in frets)
        and (fingered := fingering(frets, low, neck, None)) is not None
    ]
    if efforts:
        return min(efforts, key=lambda pair: pair[0])[1]
    return forms[0] if forms else (None,) * 6
