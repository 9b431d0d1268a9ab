"""Voicings of a chord in the reach of an anchor region, the main one first; what each of them is.

Conventions. A voicing gives each string, string 6 first, a fret or a mute. It may be offered or
accepted when (1) every sounding note is a tone of the chord and every tone that must sound does,
(2) it lies in the reach, (3) one hand can play it, (4) what is muted inside can be muted; with the
root in the bass when its lowest note is on string 6 or 5, and at least three strings. Which one is
the main voicing is decided in :mod:`cards.voicings.main_voicing`.

A close chord of four tones whose second or third voice from the top is moved to the bass is called
drop 2 or drop 3 (Pease & Pullig, *Modern Jazz Voicings*, 2001).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property, lru_cache

from cards.guitar.fingering import HAND_SCALE, MEDIUM, Effort, Fingered, Frets, Grip, Hand, inner_mutes
from cards.guitar.neck import STANDARD, STRINGS, Neck
from cards.guitar.regions import OCTAVE, Region
from cards.guitar.shapes import Shape, shapes_of
from cards.theory.chords import ROOT, Chord
from cards.theory.pitch import Interval
from cards.voicings.main_voicing import MAIN_STRINGS as MAIN_STRINGS
from cards.voicings.main_voicing import main_order
from cards.voicings.search import held_stops, search_for

_FULL_CHORD = 4
"""Tones of the chords that drop 2 and drop 3 are names for."""


@dataclass(frozen=True)
class Voicing:
    """A playable voicing of ``chord`` in the reach of ``region``, with its cheapest fingering."""

    chord: Chord
    region: Region
    fingered: Fingered

    @property
    def frets(self) -> Frets:
        """Six frets, string 6 first."""
        return self.fingered.frets

    @property
    def neck(self) -> Neck:
        """The guitar it lies on."""
        return self.fingered.neck

    @cached_property
    def grip(self) -> Grip:
        """Its fingers."""
        return self.fingered.grip

    @cached_property
    def effort(self) -> Effort:
        """What it costs the hand."""
        return self.fingered.effort

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

    @property
    def sounding(self) -> tuple[int, ...]:
        """The numbers of its sounding strings, lowest first."""
        return tuple(s for s, fret in zip(STRINGS, self.frets, strict=True) if fret is not None)

    @cached_property
    def bass(self) -> Interval:
        """The tone of its lowest string."""
        string, fret = next((s, f) for s, f in zip(STRINGS, self.frets, strict=True) if f is not None)
        tone = self.chord.tone_at(self.neck.pitch(string, fret) % 12)
        assert tone is not None, f"{self.frets} sounds a note that {self.chord} has not"
        return tone

    @property
    def left_out(self) -> tuple[Interval, ...]:
        """Tones of the chord that do not sound."""
        return tuple(tone for tone in self.chord.tones if tone not in self.tones)

    @property
    def outside(self) -> int:
        """The largest distance of a note from the region, in frets."""
        return max(self.region.outside(fret) for fret in self.frets if fret is not None)

    @property
    def position(self) -> int:
        """The fret where the index finger lies or would lie; the region's place if no finger presses."""
        position = self.fingered.position
        return self.region.place if position is None else position

    @property
    def moves(self) -> int:
        """How many frets the index finger moves up from the region's place to it; negative for down."""
        return self.position - self.region.place

    @property
    def hand_stays(self) -> bool:
        """Whether its position is within one fret of the region's place."""
        return abs(self.moves) <= 1

    def needs_longer_barre(self, hand: Hand) -> bool:
        """Whether it takes a longer barre than the hand's setting allows."""
        return self.fingered.barre_strings > hand.barre_strings

    @property
    def is_full(self) -> bool:
        """Whether every tone of the chord sounds, the asked bass lowest, on four strings or more."""
        return self.strings >= MAIN_STRINGS and self.bass == self.chord.bass_tone and not self.left_out

    @cached_property
    def pitches(self) -> tuple[int, ...]:
        """What sounds (MIDI), string 6 first."""
        return tuple(self.neck.pitch(s, f) for s, f in zip(STRINGS, self.frets, strict=True) if f is not None)

    @cached_property
    def drop(self) -> int | None:
        """2 for a drop 2 voicing, 3 for a drop 3; None for any other.

        The lowest note, moved up an octave, must make a close chord with the others, and become its
        second or third voice from the top.
        """
        if len(self.pitches) != _FULL_CHORD or len({pitch % OCTAVE for pitch in self.pitches}) != _FULL_CHORD:
            return None
        dropped, *others = sorted(self.pitches)
        close = sorted([*others, dropped + OCTAVE], reverse=True)
        from_top = close.index(dropped + OCTAVE) + 1
        return from_top if close[0] - close[-1] < OCTAVE and from_top in (2, 3) else None

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


@lru_cache(maxsize=8192)
def voicings(
    chord: Chord,
    region: Region,
    hand: Hand = MEDIUM,
    neck: Neck = STANDARD,
    rootless: bool = False,
    any_bass: bool = False,
) -> tuple[Voicing, ...]:
    """Every voicing of a chord in the reach: the main one first, then by rising effort, those that need
    a longer barre than the hand's setting allows last.

    Empty if this hand can play none. ``rootless`` leaves the root out of all of them; ``any_bass`` lets
    any tone be lowest on strings 6 and 5 too.
    """
    held, order = _held(chord, region, hand, neck, rootless, any_bass)
    if not held:
        return ()
    main = _barred_last([held[index] for index in order if index in held], hand)[0]
    # Stops come in the order of their frets, which decides between equal ones.
    rest = sorted(held.values(), key=lambda voicing: (voicing.fingered.total, -voicing.strings))
    return (main, *(voicing for voicing in _barred_last(rest, hand) if voicing is not main))


def _barred_last(found: list[Voicing], hand: Hand) -> list[Voicing]:
    """Voicings in their order, those that need a longer barre than the hand's setting allows last: here and
    there the fingers that need none are too wide for the hand."""
    if hand.barre_strings == len(STRINGS):
        return found
    return sorted(found, key=lambda voicing: voicing.needs_longer_barre(hand))


def _held(
    chord: Chord, region: Region, hand: Hand, neck: Neck, rootless: bool = False, any_bass: bool = False
) -> tuple[dict[int, Voicing], tuple[int, ...]]:
    """The voicings that a hand can play by the index of their stop, and the order of all stops: what a
    teacher would rather show first."""
    search = search_for(chord, region, neck, ROOT if rootless else None, rootless or any_bass)
    shift = region.reach[0] - search.lowest
    held = {}
    for index, stop in enumerate(held_stops(search, region.low - shift, hand.thumb)):
        fingered = stop.ways.at(stop.base + shift, neck, hand)
        if fingered is not None:
            held[index] = Voicing(chord, region, fingered)
    return held, main_order(search, region.low - shift, region.high - shift, hand, region.is_open)


@lru_cache(maxsize=4096)
def hand_stays_beside(chord: Chord, region: Region, hand: Hand = MEDIUM, neck: Neck = STANDARD) -> Voicing | None:
    """The grip to show beside a main voicing that moves the index finger away: of those with the asked
    bass lowest on four strings or more, and nothing muted inside, the one that moves it least; of equal
    ones what a teacher would rather show. None if the main voicing's hand stays, or if with none it does.
    """
    held, order = _held(chord, region, hand, neck)
    by_choice = _barred_last([held[index] for index in order if index in held], hand)
    if not by_choice or by_choice[0].hand_stays:
        return None
    rooted = (each for each in by_choice if each.bass == chord.bass_tone and each.strings >= MAIN_STRINGS)
    staying = [voicing for voicing in rooted if voicing.hand_stays and not inner_mutes(voicing.frets)]
    return min(staying, key=lambda voicing: abs(voicing.moves), default=None)


def pinned_first(found: tuple[Voicing, ...], frets: Frets | None) -> tuple[Voicing, ...]:
    """Voicings with the one that a player has pinned first; as they are if it is none of them."""
    if frets is None:
        return found
    pinned = tuple(voicing for voicing in found if voicing.frets == frets)
    return (*pinned, *(voicing for voicing in found if voicing.frets != frets))


def worth_knowing(found: Iterable[Voicing]) -> list[Voicing]:
    """What is worth knowing of some voicings beside the main one, which comes first among them.

    In their order: the main voicing's parts on three and four neighbouring strings; other voicings
    with the root lowest on four strings or more that are no harder and sound no fewer tones (the
    half-diminished seven has several); drop 2 and drop 3 with the asked bass lowest; open grips in
    which every string from the bass up rings; of a chord with tensions the easiest with its highest
    tension at the top that leaves out the fewest tones; and on the upper strings, where the main
    voicing has no part of three, the easiest one there.
    """
    voicings = tuple(found)
    if not voicings:
        return []
    main, *others = voicings
    chosen = [voicing for voicing in others if _is_part(voicing, main) or _is_as_good(voicing, main)]
    chosen += [voicing for voicing in others if voicing.drop and voicing.bass == main.chord.bass_tone]
    chosen += [voicing for voicing in others if _rings(voicing)]
    chosen += _with_tension_on_top(others)[:1]
    for strings in ((4, 3, 2), (3, 2, 1)):
        if not any(voicing.sounding == strings for voicing in chosen):
            chosen += [voicing for voicing in others if voicing.sounding == strings][:1]
    return [voicing for voicing in others if voicing in chosen]


def _rings(voicing: Voicing) -> bool:
    """Whether it is an open grip: complete, the asked bass lowest, no string above it silent, no open
    string between two pressed ones, and the index at the nut."""
    frets = voicing.frets
    rings = 0 in frets and not inner_mutes(frets) and frets[-1] is not None
    return rings and voicing.is_full and voicing.hand_stays and not voicing.outside


def _with_tension_on_top(voicings: Iterable[Voicing]) -> list[Voicing]:
    """Those of four strings or more, the asked bass lowest, with the chord's highest tension at the
    top: fewest tones left out first."""
    rooted = [each for each in voicings if each.strings >= MAIN_STRINGS and each.bass == each.chord.bass_tone]
    topped = [each for each in rooted if each.chord.tones[-1].number > 7 and _top(each) == each.chord.tones[-1]]
    return sorted(topped, key=lambda voicing: (len(voicing.left_out), voicing.fingered.total))


def _top(voicing: Voicing) -> Interval | None:
    """The tone of its highest string."""
    return next(tone for tone in reversed(voicing.tones) if tone is not None)


def _is_part(voicing: Voicing, main: Voicing) -> bool:
    return voicing.strings <= MAIN_STRINGS and not inner_mutes(voicing.frets) and voicing.is_part_of(main)


def _is_as_good(voicing: Voicing, main: Voicing) -> bool:
    rooted = voicing.bass == main.bass and voicing.strings >= MAIN_STRINGS
    own = not voicing.is_part_of(main) and bool(voicing.shapes)
    sounds = len(voicing.left_out) <= len(main.left_out) and not inner_mutes(voicing.frets)
    return rooted and own and sounds and voicing.fingered.total <= main.fingered.total
