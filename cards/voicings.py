"""Voicings of a chord in the reach of an anchor region: search, order, and what is wrong with one.

Conventions. A voicing gives each string, string 6 first, a fret or a mute. It may be offered or
accepted when (1) every sounding note is a tone of the chord and every tone that must sound does,
(2) it lies in the reach, (3) one hand can play it, (4) what is muted inside can be muted; with the
root in the bass when its lowest note is on string 6 or 5, and at least three strings.

Regions that differ only by a shift share one search: the search runs in frets counted from the
reach's lowest, and only the stretch in mm is asked anew at each place.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache, cached_property, lru_cache

from cards.chords import ROOT, Chord
from cards.fingering import HAND_SCALE, MEDIUM, Effort, Frets, Grip, Hand, fingering, inner_mutes
from cards.neck import STANDARD, STRINGS, Neck
from cards.pitch import Interval
from cards.regions import Region
from cards.shapes import Shape, full_form, root_fret, shapes_of

FEWEST_STRINGS = 3
MAIN_STRINGS = 4
HARD = 15.0
"""Effort above which a voicing is called hard: a full G-shape barre costs 16, an E-shape one 13
(our estimate). The main voicing is then a part of the shape."""


@dataclass(frozen=True)
class Voicing:
    """A playable voicing of ``chord`` in the reach of ``region``, with its cheapest grip."""

    chord: Chord
    region: Region
    frets: Frets
    grip: Grip
    effort: Effort
    neck: Neck = field(default=STANDARD, repr=False)

    @cached_property
    def tones(self) -> tuple[Interval | None, ...]:
        """The chord tone on each string, string 6 first; None where muted."""
        return tones_of(self.chord, self.frets, self.neck)

    @cached_property
    def shapes(self) -> tuple[Shape, ...]:
        """The CAGED shapes it lies in, the better cover first."""
        return shapes_of(self.chord, self.frets, self.neck)

    @cached_property
    def strings(self) -> int:
        """How many strings sound."""
        return sum(fret is not None for fret in self.frets)

    @cached_property
    def bass(self) -> Interval:
        """The tone of its lowest string."""
        return next(tone for tone in self.tones if tone is not None)

    @property
    def left_out(self) -> tuple[Interval, ...]:
        """Tones of the chord that do not sound."""
        return tuple(tone for tone in self.chord.tones if tone not in self.tones)

    @property
    def outside(self) -> int:
        """The largest distance of a note from the region, in frets."""
        return max(self.region.outside(fret) for fret in self.frets if fret is not None)

    @property
    def notes_outside(self) -> int:
        """How many notes lie outside the region."""
        return sum(self.region.outside(fret) > 0 for fret in self.frets if fret is not None)

    @property
    def wide(self) -> bool:
        """Whether a small hand could not hold it: to be marked as a wide stretch."""
        return self.grip.share > HAND_SCALE["small"]

    def is_part_of(self, other: Voicing) -> bool:
        """Whether ``other`` sounds all its notes and more."""
        return self.strings < other.strings and all(
            mine in (None, theirs) for mine, theirs in zip(self.frets, other.frets, strict=True)
        )


def tones_of(chord: Chord, frets: Frets, neck: Neck = STANDARD) -> tuple[Interval | None, ...]:
    """The chord tone on each string; None where muted or foreign to the chord."""
    return tuple(
        None if fret is None else chord.tone_at(neck.pitch(string, fret) % 12)
        for string, fret in zip(STRINGS, frets, strict=True)
    )


@dataclass(frozen=True)
class _Search:
    """What a search for stops depends on, the same for all regions that differ by a shift.

    ``tones`` and ``must`` are semitones above the root; ``offsets`` the semitones of each string
    above the root at the reach's lowest fret, of which the reach has ``width``; ``lowest`` is 0 for
    a reach at the nut, where the lowest fret is the open string, else 1. ``bass`` is the tone that
    belongs lowest on strings 6 and 5 (None: any), on every string if ``strict``.
    """

    tones: frozenset[int]
    must: frozenset[int]
    offsets: tuple[int, ...]
    lowest: int
    width: int
    bass: int | None
    strict: bool


@cache
def _stops(search: _Search) -> tuple[Frets, ...]:
    """Every way to stop the strings that the notes and the bass allow, frets from ``lowest`` up."""
    choices: list[list[tuple[int | None, int]]] = []
    for offset in search.offsets:
        tones = ((step, (offset + step) % 12) for step in range(search.width))
        row: list[tuple[int | None, int]] = [(None, -1)]
        row += [(search.lowest + step, tone) for step, tone in tones if tone in search.tones]
        choices.append(row)
    found: list[Frets] = []

    def extend(frets: Frets, sounding: frozenset[int], count: int, mutes: int, gap: int) -> None:
        index = len(frets)
        if index == len(STRINGS):
            if count >= FEWEST_STRINGS and search.must <= sounding:
                found.append(frets)
            return
        # The strings left must be able to bring the tones and notes still missing.
        left = len(STRINGS) - index
        if len(search.must - sounding) > left or count + left < FEWEST_STRINGS:
            return
        for fret, tone in choices[index]:
            if fret is None:
                extend((*frets, None), sounding, count, mutes, gap + (count > 0))
            elif mutes + gap <= 1 and (count > 0 or _may_be_lowest(search, index, tone)):
                extend((*frets, fret), sounding | {tone}, count + 1, mutes + gap, 0)

    extend((), frozenset(), 0, 0, 0)
    return tuple(found)


def _may_be_lowest(search: _Search, index: int, tone: int) -> bool:
    free = search.bass is None or (index >= 2 and not search.strict)
    return free or tone == search.bass


def stops(
    chord: Chord,
    region: Region,
    neck: Neck = STANDARD,
    without: Interval | None = None,
    any_bass: bool = False,
) -> list[Frets]:
    """Every six frets in the reach that sound the chord with the right bass, fingers not asked.

    ``without`` leaves a tone out of all of them; ``any_bass`` lets any tone be lowest on any string.
    """
    low, high = region.reach[0], min(region.reach[1], neck.free_frets)
    lowest = 0 if low == 0 else 1
    tones = {tone.semitones for tone in chord.tones if tone != without}
    must = {tone.semitones for tone in chord.must_sound if tone != without}
    found = _stops(
        _Search(
            frozenset(tones),
            frozenset(must),
            tuple((neck.pitch(string, low) - chord.root.pitch_class) % 12 for string in STRINGS),
            lowest,
            max(high - low + 1, 0),
            None if any_bass else chord.bass_tone.semitones,
            chord.bass is not None,
        )
    )
    shift = low - lowest
    if shift == 0:
        return list(found)
    return [tuple(fret + shift if fret is not None else None for fret in frets) for frets in found]


@lru_cache(maxsize=8192)
def voicings(
    chord: Chord,
    region: Region,
    hand: Hand = MEDIUM,
    neck: Neck = STANDARD,
    rootless: bool = False,
) -> tuple[Voicing, ...]:
    """Every voicing of a chord in the reach: the main one first, then by rising effort.

    Empty if this hand can play none. ``rootless`` leaves the root out of all of them.
    """
    found = []
    left_out = ROOT if rootless else None
    for frets in stops(chord, region, neck, left_out, any_bass=rootless):
        fingered = fingering(frets, region.low, neck, hand)
        if fingered is not None:
            found.append(Voicing(chord, region, frets, *fingered, neck))
    found.sort(key=_by_effort)
    main = _main(found)
    if main is None:
        return ()
    return (main, *(voicing for voicing in found if voicing is not main))


def _by_effort(voicing: Voicing) -> tuple[float, int, tuple[int, ...]]:
    frets = tuple(-1 if fret is None else fret for fret in voicing.frets)
    return voicing.effort.total, -voicing.strings, frets


def _main(found: list[Voicing]) -> Voicing | None:
    """The voicing that an answer shows first.

    The root (or the asked bass) lowest, no inner mute, one shape, at least four strings: of those the shape whose
    usual full form costs least here, then fewest notes outside the region, then more strings as
    long as it is not hard. Failing those three strings with the root in the bass, then an inversion.
    """
    whole = [voicing for voicing in found if not inner_mutes(voicing.frets)]
    rooted = [voicing for voicing in whole if voicing.bass == voicing.chord.bass_tone]
    for group in (
        [v for v in rooted if v.strings >= MAIN_STRINGS and v.shapes],
        [v for v in rooted if v.strings >= MAIN_STRINGS],
        [v for v in found if v.bass == v.chord.bass_tone and v.strings >= MAIN_STRINGS],
        [v for v in rooted if v.strings == FEWEST_STRINGS],
        whole,
        found,
    ):
        if group:
            return min(group, key=_main_order)
    return None


def _main_order(voicing: Voicing) -> tuple[float, int, bool, int, float, tuple[int, ...]]:
    shape_effort = min((_shape_effort(voicing, shape) for shape in voicing.shapes), default=0.0)
    hard = voicing.effort.total > HARD
    return (shape_effort, voicing.notes_outside, hard, -voicing.strings, *_by_effort(voicing)[::2])


def _shape_effort(voicing: Voicing, shape: Shape) -> float:
    root = root_fret(shape, voicing.chord, voicing.frets, voicing.neck)
    effort = full_form(shape, voicing.chord.quality, root, voicing.region.low, voicing.neck)[1]
    return float("inf") if effort is None else effort


def best_partials(found: tuple[Voicing, ...]) -> list[Voicing]:
    """The parts of the main voicing (first in ``found``) worth knowing alone.

    On each set of three or four neighbouring strings the one that plays the main voicing's own
    notes, least effort first.
    """
    if not found:
        return []
    main = found[0]
    return [
        voicing
        for voicing in found[1:]
        if voicing.strings <= 4 and not inner_mutes(voicing.frets) and voicing.is_part_of(main)
    ]
