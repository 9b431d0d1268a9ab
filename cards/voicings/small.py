"""Small voicings: triads on three neighbouring strings, shells, parts of a bigger voicing.

Conventions. A small voicing sounds three or four strings, neighbours but for a shell and a spread
triad. It knows the shape it lies in and what it leaves out; where that is a tone that must sound it
is another chord, and is called by that chord's name: root and fifth alone are a power chord. A shell
is root, third and seventh, and may skip a string. A spread triad lies on strings 6 4 2 or 5 3 1; it is
plucked, so that nothing between its strings has to be muted.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import product

from cards.guitar.fingering import MEDIUM, Frets, Hand, fingering, inner_mutes
from cards.guitar.neck import STANDARD, STRINGS, Neck
from cards.guitar.regions import OCTAVE, Region
from cards.guitar.shapes import Shape, shapes_of
from cards.theory.chords import ROOT, Chord, Quality, read_quality
from cards.theory.keys import Key
from cards.theory.pitch import Interval
from cards.voicings.search import stops
from cards.voicings.voicing import Voicing, tones_of, voicings

SIZES = (3, 4)
SPREAD = ((6, 4, 2), (5, 3, 1))
"""The strings of spread triads."""

_NAMED = (
    *("", "m", "dim", "aug", "sus2", "sus4", "5", "6", "m6", "7", "maj7", "m7", "mMaj7"),
    *("m7b5", "dim7", "7#5", "7b5", "7sus4", "add9", "madd9", "9", "maj9", "m9", "6/9"),
    *("7no3", "maj7no3", "7no5", "maj7no5", "m7no5", "mMaj7no5"),
)


@dataclass(frozen=True)
class SmallVoicing:
    """A small voicing of ``chord``: its frets, its lowest tone, the shapes it lies in (the better
    cover first), what it leaves out, and the chords it then is (empty if it still is ``chord``)."""

    chord: Chord
    frets: Frets
    bass: Interval
    shapes: tuple[Shape, ...]
    left_out: tuple[Interval, ...]
    becomes: tuple[Chord, ...]

    @property
    def strings(self) -> tuple[int, ...]:
        """The numbers of its sounding strings, lowest first."""
        return tuple(s for s, fret in zip(STRINGS, self.frets, strict=True) if fret is not None)

    def held(self, region: Region, hand: Hand = MEDIUM, neck: Neck = STANDARD) -> Voicing | None:
        """It with its fingers; None if the hand cannot hold it there."""
        fingered = fingering(self.frets, region.low, neck, hand, plucked=self.is_spread)
        return None if fingered is None else Voicing(self.chord, region, fingered)

    @property
    def is_spread(self) -> bool:
        """Whether a string is left out between each two of its strings."""
        return are_spread(self.frets)

    @property
    def is_shell(self) -> bool:
        """Whether it is root, third and seventh alone."""
        quality = self.chord.quality
        return set(quality.tones) - set(self.left_out) == {ROOT, quality.third, quality.seventh}


def are_spread(frets: Frets) -> bool:
    """Whether these frets sound three strings, and a string is left out between each two of them."""
    return tuple(string for string, fret in zip(STRINGS, frets, strict=True) if fret is not None) in SPREAD


def is_spread_triad(chord: Chord, frets: Frets, neck: Neck = STANDARD) -> bool:
    """Whether these frets sound each tone of a triad once, on every second string."""
    sounding = tones_of(chord, frets, neck)
    return len(chord.tones) == SIZES[0] and are_spread(frets) and set(chord.tones) <= set(sounding)


@cache
def _vocabulary() -> tuple[Quality, ...]:
    return tuple(read_quality(suffix) for suffix in _NAMED)


def chords_of(classes: frozenset[int], key: Key) -> tuple[Chord, ...]:
    """Every chord whose notes are exactly these pitch classes, its root among them, spelled as near
    to the key as can be: A C E G is Am7 and C6.

    >>> [str(chord) for chord in chords_of(frozenset({9, 0, 4, 7}), Key.read("C"))]
    ['C6', 'Am7']
    """
    found = []
    for root in map(key.spell, sorted(classes)):
        for quality in _vocabulary():
            chord = Chord(root, quality)
            if {note.pitch_class for note in chord.notes} == classes:
                found.append(chord)
    return tuple(found)


def small_voicing(chord: Chord, frets: Frets, key: Key, neck: Neck = STANDARD) -> SmallVoicing:
    """Describe frets that are a part of ``chord``: what they leave out and what they then are."""
    tones = [tone for tone in tones_of(chord, frets, neck) if tone is not None]
    left_out = tuple(tone for tone in chord.tones if tone not in tones)
    lost = any(tone in chord.must_sound for tone in left_out)
    classes = frozenset(chord.root.above(tone).pitch_class for tone in tones)
    becomes = chords_of(classes, key) if lost else ()
    return SmallVoicing(chord, frets, tones[0], shapes_of(chord, frets, neck), left_out, becomes)


def parts_of(voicing: Voicing, key: Key) -> Iterator[SmallVoicing]:
    """Every run of three or four neighbouring strings of a voicing, whether or not it still is the
    chord."""
    sounding = [index for index, fret in enumerate(voicing.frets) if fret is not None]
    for size in SIZES:
        for start in range(len(sounding) - size + 1):
            run = sounding[start : start + size]
            if size < len(sounding) and run[-1] - run[0] == size - 1:
                frets = tuple(f if i in run else None for i, f in enumerate(voicing.frets))
                yield small_voicing(voicing.chord, frets, key, voicing.neck)


def part_without(
    chord: Chord, left_out: Interval, region: Region, key: Key, hand: Hand = MEDIUM, neck: Neck = STANDARD
) -> SmallVoicing | None:
    """The easiest three neighbouring strings in the reach that sound all tones of a chord but one;
    None where the reach has none for this hand."""
    wanted = {tone for tone in chord.tones if tone != left_out}
    found = []
    for frets in stops(chord, region, neck, any_bass=True, without=left_out):
        close = sum(fret is not None for fret in frets) == SIZES[0] and not inner_mutes(frets)
        fingered = fingering(frets, region.low, neck, hand) if close else None
        if fingered is not None and set(tones_of(chord, frets, neck)) - {None} == wanted:
            found.append((fingered.total, tuple(-1 if fret is None else fret for fret in frets), frets))
    return small_voicing(chord, min(found)[2], key, neck) if found else None


def close_triads(
    chord: Chord, region: Region, key: Key, hand: Hand = MEDIUM, neck: Neck = STANDARD
) -> list[SmallVoicing]:
    """A triad on each set of three neighbouring strings in every inversion that the reach has.

    The bass is free on all strings: that an inversion on the low strings is not taken as an answer
    is the card's affair.
    """
    found = []
    for frets in stops(chord, region, neck, any_bass=True):
        small = small_voicing(chord, frets, key, neck)
        close = len(small.strings) == 3 and not inner_mutes(frets) and not small.left_out
        if close and fingering(frets, region.low, neck, hand) is not None:
            found.append(small)
    return sorted(found, key=lambda small: (-small.strings[0], small.bass))


def spread_triads(
    chord: Chord, region: Region, key: Key, hand: Hand = MEDIUM, neck: Neck = STANDARD
) -> list[SmallVoicing]:
    """A triad on every second string, each tone once, in every inversion that the reach has: from the
    low strings up, then by the bass. The bass is free, as in :func:`close_triads`, unless the chord names it.
    [] for a chord that is no triad."""
    if len(chord.tones) != SIZES[0]:
        return []
    low, high = region.reach[0], min(region.reach[1], neck.free_frets)
    found = []
    for strings in SPREAD:
        rows = (
            [fret for fret in range(low, high + 1) if chord.tone_at(neck.pitch(string, fret) % OCTAVE) is not None]
            for string in strings
        )
        for three in product(*rows):
            at = dict(zip(strings, three, strict=True))
            small = small_voicing(chord, tuple(at.get(string) for string in STRINGS), key, neck)
            has_bass = chord.bass is None or small.bass == chord.bass_tone
            if has_bass and not small.left_out and small.held(region, hand, neck) is not None:
                found.append(small)
    return sorted(found, key=lambda small: (-small.strings[0], small.bass))


def shells(chord: Chord, region: Region, key: Key, hand: Hand = MEDIUM, neck: Neck = STANDARD) -> list[SmallVoicing]:
    """Root, third and seventh alone, with the root lowest, in the order of effort."""
    found = (
        small_voicing(chord, voicing.frets, key, neck)
        for voicing in voicings(chord, region, hand, neck)
        if voicing.strings == 3
    )
    return [small for small in found if small.is_shell and small.bass == ROOT]


def small_voicings(
    chord: Chord, region: Region, key: Key, hand: Hand = MEDIUM, neck: Neck = STANDARD
) -> list[SmallVoicing]:
    """What is small of a chord in the reach, from the low strings up, each once: a triad in every
    inversion, close and spread; of a chord with a seventh its shells and the easiest part without the root; of either
    the parts of its main voicing that have become another chord."""
    found: list[SmallVoicing] = []
    if chord.quality.seventh is None:
        found += close_triads(chord, region, key, hand, neck)
        found += spread_triads(chord, region, key, hand, neck)
    else:
        found += shells(chord, region, key, hand, neck)
        rootless = part_without(chord, ROOT, region, key, hand, neck)
        found += [rootless] if rootless else []
    for main in voicings(chord, region, hand, neck)[:1]:
        found += [part for part in parts_of(main, key) if part.becomes]
    return list({small.frets: small for small in sorted(found, key=lambda small: -small.strings[0])}.values())
