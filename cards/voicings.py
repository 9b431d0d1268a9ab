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

from cards.chords import Chord
from cards.fingering import HAND_SCALE, Effort, Frets, Grip, fingering, inner_mutes
from cards.neck import STANDARD, STRINGS, Neck
from cards.pitch import Interval
from cards.regions import Region
from cards.shapes import ROOT, Shape, full_form, root_fret, shapes_of

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
        return tuple(tone for tone in self.chord.quality.tones if tone not in self.tones)

    @property
    def outside(self) -> int:
        """The largest distance of a note from the region, in frets."""
        return max(self.region.outside(fret) for fret in self.frets if fret is not None)

    @property
    def notes_outside(self) -> int:
        """How many notes lie outside the region."""
        return sum(self.region.outside(fret) > 0 for fret in self.frets if fret is not None)

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


@cache
def _stops(
    semitones: tuple[int, ...], must: frozenset[int], offsets: tuple[int, ...], lowest: int, width: int
) -> tuple[Frets, ...]:
    """Every way to stop the strings that the notes and the bass allow.

    ``semitones`` are the chord's tones above its root; ``offsets`` the distance in semitones of
    each string at the reach's lowest fret from the root. Frets come back counted from ``lowest``:
    1 for a reach on the neck, 0 for one at the nut, whose lowest fret is the open string.
    """
    choices: list[list[tuple[int | None, int | None]]] = []
    for offset in offsets:
        row: list[tuple[int | None, int | None]] = [(None, None)]
        row += [(lowest + step, (offset + step) % 12) for step in range(width) if (offset + step) % 12 in semitones]
        choices.append(row)
    found: list[Frets] = []

    def extend(frets: Frets, sounding: frozenset[int], count: int, mutes: int, gap: int) -> None:
        index = len(frets)
        if index == 6:
            if count >= FEWEST_STRINGS and must <= sounding:
                found.append(frets)
            return
        # The strings left must be able to bring the tones still missing.
        if len(must - sounding) > 6 - index or count + 6 - index < FEWEST_STRINGS:
            return
        for fret, tone in choices[index]:
            if tone is None:
                extend((*frets, None), sounding, count, mutes, gap + (count > 0))
            elif mutes + gap <= 1 and (count > 0 or index >= 2 or tone == 0):
                # The first sounding string is the bass: on string 6 or 5 it carries the root.
                extend((*frets, fret), sounding | {tone}, count + 1, mutes + gap, 0)

    extend((), frozenset(), 0, 0, 0)
    return tuple(found)


def stops(chord: Chord, region: Region, neck: Neck = STANDARD) -> list[Frets]:
    """Every six frets in the reach that sound the chord with the right bass, fingers not asked."""
    low, high = region.reach
    lowest = 0 if low == 0 else 1
    offsets = tuple((neck.pitch(s, low) - chord.root.pitch_class) % 12 for s in STRINGS)
    found = _stops(
        tuple(tone.semitones for tone in chord.quality.tones),
        frozenset(tone.semitones for tone in chord.quality.must_sound),
        offsets,
        lowest,
        high - low + 1,
    )
    shift = low - lowest
    if shift == 0:
        return list(found)
    return [tuple(fret + shift if fret is not None else None for fret in frets) for frets in found]


@lru_cache(maxsize=4096)
def voicings(chord: Chord, region: Region, hand: str = "medium", neck: Neck = STANDARD) -> tuple[Voicing, ...]:
    """Every voicing of a chord in the reach: the main one first, then by rising effort.

    ``hand`` is a key of HAND_SCALE. Empty if this hand can play none.
    """
    found = []
    for frets in stops(chord, region, neck):
        fingered = fingering(frets, region.low, neck, HAND_SCALE[hand])
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

    Root in the bass, no inner mute, one shape, at least four strings: of those the shape whose
    usual full form costs least here, then fewest notes outside the region, then more strings as
    long as it is not hard. Failing those three strings with the root in the bass, then an inversion.
    """
    whole = [voicing for voicing in found if not inner_mutes(voicing.frets)]
    rooted = [voicing for voicing in whole if voicing.bass == ROOT]
    for group in (
        [v for v in rooted if v.strings >= MAIN_STRINGS and v.shapes],
        [v for v in rooted if v.strings >= MAIN_STRINGS],
        [v for v in found if v.bass == ROOT and v.strings >= MAIN_STRINGS],
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
