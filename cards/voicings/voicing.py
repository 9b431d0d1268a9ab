"""Voicings of a chord in the reach of an anchor region: search, order, and what is wrong with one.

Conventions. A voicing gives each string, string 6 first, a fret or a mute. It may be offered or
accepted when (1) every sounding note is a tone of the chord and every tone that must sound does,
(2) it lies in the reach, (3) one hand can play it, (4) what is muted inside can be muted; with the
root in the bass when its lowest note is on string 6 or 5, and at least three strings.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from operator import itemgetter

from cards.guitar.fingering import HAND_SCALE, MEDIUM, Effort, Fingered, Frets, Grip, Hand, inner_mutes
from cards.guitar.neck import STANDARD, STRINGS, Neck
from cards.guitar.regions import Region
from cards.guitar.shapes import Shape, full_form, shapes_of
from cards.theory.chords import ROOT, Chord
from cards.theory.pitch import Interval
from cards.voicings.search import HeldStop, held_stops, search_for

MAIN_STRINGS = 4
_IMPOSSIBLE = float("inf")
HARD = 15.0
"""Effort above which a voicing is called hard: a full G-shape barre costs 16, an E-shape one 13
(our estimate). The main voicing is then a part of the shape."""


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
) -> tuple[Voicing, ...]:
    """Every voicing of a chord in the reach: the main one first, then by rising effort.

    Empty if this hand can play none. ``rootless`` leaves the root out of all of them.
    """
    search = search_for(chord, region, neck, ROOT if rootless else None, any_bass=rootless)
    shift = region.reach[0] - search.lowest
    found: list[tuple[float, int, tuple[int, ...], Voicing, HeldStop]] = []
    for held in held_stops(search, region.low - shift, region.high - shift, hand.thumb):
        fingered = held.ways.at(held.base + shift, neck, hand)
        if fingered is not None:
            voicing = Voicing(chord, region, fingered)
            found.append((fingered.total, -held.strings, held.order, voicing, held))
    if not found:
        return ()
    found.sort(key=itemgetter(0, 1, 2))
    main = _main([(voicing, held) for *_, voicing, held in found], shift)
    return (main, *(voicing for *_, voicing, _ in found if voicing is not main))


def _main(found: list[tuple[Voicing, HeldStop]], shift: int) -> Voicing:
    """The voicing that an answer shows first, of some that stand in the order of their effort.

    The root (or the asked bass) lowest, no inner mute, one shape, at least four strings: of those
    the shape whose usual full form costs least here, then fewest notes outside the region, then more
    strings as long as it is not hard, then the least effort. Failing those three strings with the
    root in the bass, then an inversion. ``shift`` is the fret where the search counts 0.
    """
    whole = [each for each in found if each[1].is_whole]
    rooted = [each for each in whole if each[1].is_rooted]
    large = [each for each in rooted if each[1].strings >= MAIN_STRINGS]
    plain = [each for each in large if not each[1].is_hybrid]
    shaped = [each for each in plain if each[1].covers]
    muted = [each for each in found if each[1].is_rooted and each[1].strings >= MAIN_STRINGS]
    group = shaped or plain or large or muted or rooted or whole or found
    return min(group, key=lambda each: _main_order(each[0], each[1], shift))[0]


def _main_order(voicing: Voicing, held: HeldStop, shift: int) -> tuple[float, int, bool, int]:
    efforts = (
        full_form(shape, voicing.chord.quality, root + shift, voicing.region.low, voicing.neck)[1]
        for shape, root in held.covers
        if root + shift >= 0
    )
    shape_effort = min((_IMPOSSIBLE if effort is None else effort for effort in efforts), default=_IMPOSSIBLE)
    return shape_effort, held.outside, voicing.fingered.total > HARD, -held.strings


def worth_knowing(found: tuple[Voicing, ...]) -> list[Voicing]:
    """Beside the main voicing (first in ``found``), in the order of effort: its parts on three and
    four neighbouring strings; other voicings with the root lowest on four strings or more that are no
    harder (the half-diminished seven has several); and on the upper strings, where the main voicing
    has no part of three, the easiest one there.
    """
    if not found:
        return []
    main = found[0]
    chosen = [voicing for voicing in found[1:] if _is_part(voicing, main) or _is_as_good(voicing, main)]
    for strings in ((4, 3, 2), (3, 2, 1)):
        if not any(voicing.sounding == strings for voicing in chosen):
            chosen += [voicing for voicing in found[1:] if voicing.sounding == strings][:1]
    return [voicing for voicing in found[1:] if voicing in chosen]


def _is_part(voicing: Voicing, main: Voicing) -> bool:
    return voicing.strings <= MAIN_STRINGS and not inner_mutes(voicing.frets) and voicing.is_part_of(main)


def _is_as_good(voicing: Voicing, main: Voicing) -> bool:
    rooted = voicing.bass == main.bass and voicing.strings >= MAIN_STRINGS
    own = not voicing.is_part_of(main) and bool(voicing.shapes)
    return rooted and own and voicing.fingered.total <= main.fingered.total
