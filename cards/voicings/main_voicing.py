"""The choice of the main voicing: what a good teacher shows first for a chord in a region.

Conventions. The root (or the asked bass) is lowest, on four strings or more; a string may be muted
inside only where the trade does it: string 5 of a chord of four tones (or over a slash bass), touched
by the finger on string 6, as the drop 3 grips do. Of those the cheapest is the main one. What it
costs is a sum of parts, in the unit of an effort (about one finger set down):

* the **hand**: the fingers' effort; how far it reaches out of the region, where a barring finger
  counts once, wherever its notes lie; how far the index moves away from the region's lowest fret;
* the **tones**: the fifth, or a ninth below the highest tension, that does not sound; treble strings
  that stay silent, which in a triad lose more than in a chord that four strings sound whole;
* the **ear**: seconds and thirds that lie too low, a fourth over the root, two strings in unison, a
  second at the top, a tension below the third or not at the top;
* the **shape**: none, only the upper part of one, or a C or G shape with a barre on five strings;
* **open strings**: one between two pressed strings, muted treble strings above open ones, and open
  strings mixed with a pressed root where the region begins above the nut.

The same degree in the same box takes the same grip in every key. So everything is priced at one
place of the neck, wherever the region lies: the stretch in mm at fret 3, the pitches as low as the
grip can lie, and a grip that the hand cannot hold down there costs more. What the hand cannot hold
where the region is falls out, and the next one takes its place. Only a region whose reach touches
the nut has a choice of its own, because it has the open strings.

Sources. The hand's parts follow Sayegh 1989, Radicioni & Lombardo 2005 and Heijink & Meulenbroek 2002
(see :mod:`cards.guitar.fingering`). Low-interval limits: Lowell & Pullig, *Arranging for Large Jazz Ensemble*,
2003, who place the minor second at E3, the minor third at C3, the major third near B♭2; the reason is
roughness inside a critical band, Plomp & Levelt, *Tonal consonance and critical bandwidth*, JASA 38,
1965. That a fourth is heard with its root on top: Hindemith, *The Craft of Musical Composition*, 1942.
Tensions above the third, the fifth as the first tone to leave out, drop 2 and drop 3: Pease & Pullig,
*Modern Jazz Voicings*, 2001. The weights are our own estimates, fitted to what teachers show
(``tests/cards/test_teachers_grips.py``).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from cards.guitar.fingering import PER_MM, CheapestHold, Hand, inner_mutes
from cards.guitar.neck import STANDARD, STRINGS
from cards.guitar.shapes import Shape, covers
from cards.theory.chords import FIFTH
from cards.voicings.search import HeldStop, Search, held_stops

MAIN_STRINGS = 4
"""Strings that a main voicing sounds at least."""

_PRICED_AT = 3
"""The fret at which the region's lowest fret is thought to lie when a stretch is priced."""

_LOWEST_PLACE = 1
"""The lowest fret at which a region without open strings can begin."""

# The hand: for each fret that it reaches out of the region, and that the index moves beyond the first;
# for a muted string, more where open strings ring and the grip is strummed; for a grip that the hand
# could not hold near the nut, so that keys there would need another one.
_PER_FRET_OUT = 2.5
_PER_FRET_MOVED = 0.4
_PER_MUTE = 2.2
_MUTE_AMONG_OPEN = 1.0
_NOT_HELD_BELOW = 5.0
# The tones: what does not sound, and for each silent string above the highest. Two of them leave a chord
# of four tones on the low strings alone, where it is dark.
_NO_FIFTH = 2.0
_NO_FIFTH_UNDER_TENSION = 0.75
_NO_LOWER_TENSION = 0.75
_SILENT_IN_TRIAD = 2.0
_SILENT_WITHOUT_BARRE = 1.0
_SILENT = 1.4
_LOW_STRINGS_ONLY = 4.0
# The ear.
_LOW_SECOND = 8.0
_LOW_THIRD = 0.7
_FOURTH_OVER_ROOT = 2.0
_UNISON = 6.0
_SECOND_AT_TOP = 1.6
_TENSION_BELOW_THIRD = 8.0
_TENSION_HIDDEN = 0.6
# The shape. A C or G shape is big on more than four strings if it spans more than two frets. In open position the
# upper part of a shape costs less: D and Dm leave out the low strings as well, and F beside them is xx3211.
_NO_SHAPE = 3.0
_UPPER_PART = 2.5
_UPPER_PART_IN_OPEN = 1.5
_BIG_SHAPE = 20.0
_HIGH_SLASH_BASS = 5.0
_WIDEST_SMALL_SPAN = 2
# Open strings: framed by two pressed ones, which damp it easily; under silent treble strings; mixed with
# a pressed root above the nut, where only grips that ring on five strings or more are usual, and an open
# string that a triad needs for nothing makes another grip of the one that all keys share.
_FRAMED = 1.2
_CHOKED = 2.4
_HYBRID = 6.0
_HYBRID_THAT_RINGS = 1.0
_OPEN_STRING_DOUBLES = 2.2
_RINGING_STRINGS = 5

_LOWEST_SECOND = 52
_LOWEST_THIRD = {3: 48, 4: 46}
"""The lowest pitch (MIDI) of the lower note: E3 for seconds, C3 and B♭2 for minor and major thirds."""


@dataclass(frozen=True)
class _Price:
    """What speaks against a grip as the main voicing, in parts; lower is better."""

    effort: float
    hand: float
    tones: float
    ear: float
    shape: float
    open: float

    @property
    def total(self) -> float:
        """The sum of the parts."""
        return round(self.effort + self.hand + self.tones + self.ear + self.shape + self.open, 3)


@cache
def main_order(search: Search, low: int, high: int, hand: Hand, is_open: bool = False) -> tuple[int, ...]:
    """The indices of :func:`cards.voicings.search.held_stops`, what should be the main voicing first.

    ``low`` and ``high`` are the region's frets, counted as the search counts; ``is_open`` says that the region is
    the open position. Grips that need a longer
    barre than the hand's setting allows come last. Of the others come first those with the root
    lowest on four strings or more by their price, then three strings with the root lowest, then whole
    inversions, then the rest, each by effort.
    """
    stops = held_stops(search, low, hand.thumb)
    keys = [(_key(search, stop, (low, high), hand, is_open), stop.order, index) for index, stop in enumerate(stops)]
    return tuple(index for _, _, index in sorted(keys))


def _key(search: Search, stop: HeldStop, region: tuple[int, int], hand: Hand, is_open: bool) -> tuple[bool, int, float]:
    holding = stop.ways.cheapest(hand.barre_strings)
    needs_barre = holding is None
    held = holding or stop.ways.cheapest(len(STRINGS))
    assert held is not None, "a held stop has a way to hold it"
    rank = _rank(search, stop)
    if rank < _THREE_STRINGS:
        return needs_barre, rank, _price(search, stop, region, hand, held, is_open).total
    return needs_barre, rank, _effort(stop, region[0], held)


_MAIN, _MUTED_ELSEWHERE, _THREE_STRINGS, _INVERSION, _REST = range(5)


def _rank(search: Search, stop: HeldStop) -> int:
    """Which kind of grip it is, the kinds that a main voicing is taken from first."""
    if stop.is_rooted and stop.strings >= MAIN_STRINGS:
        return _MAIN if stop.is_whole or _is_muted_as_usual(search, stop) else _MUTED_ELSEWHERE
    if not stop.is_whole:
        return _REST
    return _THREE_STRINGS if stop.is_rooted else _INVERSION


def _is_muted_as_usual(search: Search, stop: HeldStop) -> bool:
    """Whether string 5 alone is muted, by the finger on string 6, in a chord that four strings fill."""
    fills = search.strict or len(search.quality.tones) >= MAIN_STRINGS
    return fills and stop.order[0] > 0 and inner_mutes(stop.ways.frets) == (1,)


def _price(
    search: Search, stop: HeldStop, region: tuple[int, int], hand: Hand, held: CheapestHold, is_open: bool
) -> _Price:
    """What speaks against a stop, the asked bass lowest on four strings or more, as the main voicing."""
    low = region[0]
    return _Price(
        _effort(stop, low, held),
        _hand_cost(stop, region, hand, held),
        _tones_cost(search, stop, hand),
        _ear_cost(search, stop, low),
        _shape_cost(search, stop, is_open),
        _open_cost(search, stop, low),
    )


def _effort(stop: HeldStop, low: int, held: CheapestHold) -> float:
    """The effort of the grip with its stretch at the place where all are priced."""
    base = max(_PRICED_AT + stop.base - low, 0)
    return held.cost + PER_MM * (STANDARD.fret_mm(base + stop.ways.span - 1) - STANDARD.fret_mm(base))


def _hand_cost(stop: HeldStop, region: tuple[int, int], hand: Hand, held: CheapestHold) -> float:
    """How far the hand leaves the region, and what it must mute."""
    low, high = region
    cost = 0.0
    if _is_pressed(stop):
        top = stop.base + stop.ways.span - 1
        cost += _PER_FRET_OUT * (max(low - stop.base, 0) + max(top - high, 0))
        # The first fret counts as the place of a region at the nut: no finger lies on fret 0.
        place = max(low, _LOWEST_PLACE)
        cost += _PER_FRET_MOVED * max(abs(stop.base + held.index - 1 - place) - 1, 0)
    if not stop.is_whole:
        cost += _PER_MUTE + _MUTE_AMONG_OPEN * (0 in stop.order)
    below = STANDARD.string_mm - STANDARD.fret_mm(max(_LOWEST_PLACE + stop.base - low, 0))
    if low > _LOWEST_PLACE and stop.ways.need * below > hand.scale:
        cost += _NOT_HELD_BELOW
    return cost


def _is_pressed(stop: HeldStop) -> bool:
    """Whether any finger presses a string."""
    return any(fret > 0 for fret in stop.order)


def _silent_treble(stop: HeldStop) -> int:
    """Strings above the highest that sounds."""
    return len(STRINGS) - 1 - max(index for index, fret in enumerate(stop.order) if fret >= 0)


def _tones_cost(search: Search, stop: HeldStop, hand: Hand) -> float:
    """Tones that are left out, and treble strings that stay silent."""
    tones = search.quality.tones
    sounding = {tone for _, tone in _notes(search, stop, 0)}
    cost = 0.0
    for tone in tones:
        if tone.semitones in sounding:
            continue
        if tone == FIFTH:
            cost += _NO_FIFTH if len(tones) <= MAIN_STRINGS else _NO_FIFTH_UNDER_TENSION
        else:
            cost += _NO_LOWER_TENSION
    silent = _silent_treble(stop)
    if len(tones) < MAIN_STRINGS:
        # A hand that bars no more than three strings does not reach the treble behind a low bass.
        return cost + (_SILENT_IN_TRIAD if hand.barre_strings == len(STRINGS) else _SILENT_WITHOUT_BARRE) * silent
    # A grip with a string muted inside is plucked, not strummed: the treble does not have to ring.
    is_plucked = not stop.is_whole and 0 not in stop.order
    return cost + _SILENT * silent * (not is_plucked) + _LOW_STRINGS_ONLY * (silent > 1)


def _notes(search: Search, stop: HeldStop, shift: int) -> list[tuple[int, int]]:
    """(pitch, semitones above the root) of what sounds, the lowest first."""
    return sorted(
        (search.strings[index] + fret + shift, (search.offsets[index] + fret - search.lowest) % 12)
        for index, fret in enumerate(stop.order)
        if fret >= 0
    )


def _ear_cost(search: Search, stop: HeldStop, low: int) -> float:
    """What an arranger would mend, at the lowest place where the grip can lie."""
    notes = _notes(search, stop, _LOWEST_PLACE - low if search.lowest else 0)
    steps = [(lower[0], upper[0] - lower[0]) for lower, upper in pairwise(notes)]
    cost = sum(_step_cost(pitch, step) for pitch, step in steps)
    if steps[-1][1] in (1, 2):
        cost += _SECOND_AT_TOP
    if steps[0][1] == 5 and notes[0][1] == 0:
        cost += _FOURTH_OVER_ROOT
    thirds = {tone.semitones for tone in search.quality.tones if tone.number == 3}
    tensions = {tone.semitones for tone in search.quality.tones if tone.number > 7}
    if tensions and notes[-1][1] not in tensions:
        cost += _TENSION_HIDDEN
    third = next((pitch for pitch, tone in notes if tone in thirds), 0)
    return cost + _TENSION_BELOW_THIRD * sum(tone in tensions and pitch < third for pitch, tone in notes)


def _step_cost(pitch: int, step: int) -> float:
    """What two neighbouring notes cost, the lower one at ``pitch``, ``step`` semitones apart."""
    if step == 0:
        return _UNISON
    if step in (1, 2):
        return _LOW_SECOND * (pitch < _LOWEST_SECOND)
    return _LOW_THIRD * (pitch < _LOWEST_THIRD.get(step, 0))


def _shape_cost(search: Search, stop: HeldStop, is_open: bool) -> float:
    """A grip of no shape, the upper part of one (less where the open grips beside it leave low strings out too),
    a C or G shape that needs a barre; a slash bass that is not on the low strings."""
    bass = next(index for index, fret in enumerate(stop.order) if fret >= 0)
    if search.strict:
        return _HIGH_SLASH_BASS * (STRINGS[bass] < 5)
    shapes = _shapes(search, stop)
    if not shapes:
        return _NO_SHAPE
    # The skeleton of a C or G shape reaches back behind its bass: the index bars what the little
    # finger holds the bass for. Beyond the nut four strings of it are enough.
    is_big = stop.strings > MAIN_STRINGS and stop.ways.span > _WIDEST_SMALL_SPAN
    if shapes[0].span.start < 0 and is_big and 0 not in stop.order:
        return _BIG_SHAPE
    return (_UPPER_PART_IN_OPEN if is_open else _UPPER_PART) * all(shape.bass != STRINGS[bass] for shape in shapes)


def _shapes(search: Search, stop: HeldStop) -> list[Shape]:
    string_1 = (search.offsets[-1] - search.lowest) % 12
    frets = tuple(None if fret < 0 else fret for fret in stop.order)
    return [shape for shape, _ in covers(search.quality, frets, string_1, search.standard)]


def _open_cost(search: Search, stop: HeldStop, low: int) -> float:
    """What is wrong with the open strings of a grip."""
    frets = stop.order
    if 0 not in frets:
        return 0.0
    middle = range(1, len(STRINGS) - 1)
    cost = _FRAMED * sum(frets[i] == 0 and frets[i - 1] > 0 and frets[i + 1] > 0 for i in middle)
    silent = _silent_treble(stop)
    cost += _CHOKED * (silent > 0)
    bass = next(fret for fret in frets if fret >= 0)
    if low == 0 or bass == 0 or search.strict:
        return cost
    if silent or not stop.is_whole or stop.strings < _RINGING_STRINGS:
        return cost + _HYBRID
    is_whole_without = len(search.quality.tones) < MAIN_STRINGS and sum(fret > 0 for fret in frets) >= MAIN_STRINGS
    return cost + (_OPEN_STRING_DOUBLES if is_whole_without else _HYBRID_THAT_RINGS)
