"""The search for voicings: every way to stop the strings that sounds a chord in a reach.

Conventions. A stop gives each string, string 6 first, a fret or a mute. Regions that differ only by
a shift share one search: it runs in frets counted from the reach's lowest, which is 1, or 0 for a
reach at the nut, and only the stretch in mm is asked anew at each place.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from cards.guitar.fingering import Frets, Ways, at_home, lowest_pressed, moved, ways_to_hold
from cards.guitar.neck import STANDARD, STRINGS, Neck
from cards.guitar.regions import Region
from cards.theory.chords import Chord, Quality
from cards.theory.pitch import Interval

FEWEST_STRINGS = 3


@dataclass(frozen=True)
class Search:
    """What a search for stops depends on, the same for all regions that differ by a shift.

    ``tones`` and ``must`` are semitones above the root; ``offsets`` the semitones of each string
    above the root at the reach's lowest fret, of which the reach has ``width``; ``lowest`` is 0 for
    a reach at the nut, where the lowest fret is the open string, else 1. ``bass`` is the tone that
    belongs lowest on strings 6 and 5 (None: any), on every string if ``strict``. From string number
    ``standard`` on the strings stand in standard intervals. ``strings`` are the open pitches (MIDI),
    moved so that a guitar tuned lower or with a capo counts like one in standard tuning.
    """

    quality: Quality
    tones: frozenset[int]
    must: frozenset[int]
    offsets: tuple[int, ...]
    lowest: int
    width: int
    bass: int | None
    strict: bool
    standard: int
    strings: tuple[int, ...]


@cache
def _stops(search: Search) -> tuple[Frets, ...]:
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


def _may_be_lowest(search: Search, index: int, tone: int) -> bool:
    free = search.bass is None or (index >= 2 and not search.strict)
    return free or tone == search.bass


def search_for(
    chord: Chord,
    region: Region,
    neck: Neck = STANDARD,
    without: Interval | None = None,
    any_bass: bool = False,
) -> Search:
    """The search for a chord in the reach of a region.

    ``without`` leaves a tone out of all stops; ``any_bass`` lets any tone be lowest on any string.
    """
    low, high = region.reach[0], min(region.reach[1], neck.free_frets)
    return Search(
        chord.quality,
        frozenset(tone.semitones for tone in chord.tones if tone != without),
        frozenset(tone.semitones for tone in chord.must_sound if tone != without),
        tuple((neck.pitch(string, low) - chord.root.pitch_class) % 12 for string in STRINGS),
        0 if low == 0 else 1,
        max(high - low + 1, 0),
        None if any_bass else chord.bass_tone.semitones,
        chord.bass is not None,
        neck.standard_from,
        tuple(pitch + neck.capo - neck.offset for pitch in neck.tuning),
    )


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
    search = search_for(chord, region, neck, without, any_bass)
    shift = region.reach[0] - search.lowest
    return [tuple(fret + shift if fret is not None else None for fret in frets) for frets in _stops(search)]


@dataclass(frozen=True, slots=True)
class HeldStop:
    """A stop that fingers can hold, stretch apart, for all places that differ by a shift.

    ``base`` is its lowest pressed fret (1 if none is pressed), ``order`` its frets for sorting, muted
    strings (-1) below open ones. ``is_whole`` says that nothing is muted inside, ``is_rooted`` that
    the asked bass is lowest.
    """

    ways: Ways
    base: int
    strings: int
    order: tuple[int, ...]
    is_whole: bool
    is_rooted: bool


@cache
def held_stops(search: Search, low: int, thumb: bool) -> tuple[HeldStop, ...]:
    """The stops of a search that fingers can hold. ``low`` is the region's lowest fret, counted as the
    search counts."""
    found = []
    for frets in _stops(search):
        base = max(lowest_pressed(frets), 1)
        ways = ways_to_hold(moved(frets, 1 - base), at_home(low, base), thumb)
        if ways is not None:
            found.append(_held(search, frets, base, ways))
    return tuple(found)


def _held(search: Search, frets: Frets, base: int, ways: Ways) -> HeldStop:
    sounding = [(index, fret) for index, fret in enumerate(frets) if fret is not None]
    first, bass = sounding[0]
    return HeldStop(
        ways,
        base,
        len(sounding),
        tuple(-1 if fret is None else fret for fret in frets),
        is_whole=sounding[-1][0] - first == len(sounding) - 1,
        is_rooted=(search.offsets[first] + bass - search.lowest) % 12 == search.bass,
    )
