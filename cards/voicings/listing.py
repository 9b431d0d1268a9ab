"""A chord of a key in a region, with its voicings, as plain data for JSON.

The fields: ``key``, ``degree``, ``numeral``, ``chord``, ``tones`` (note names), ``region``, and
``voicings``, the main one first, then by rising effort. Names print ♯ ♭ 𝄪; the tone of each string
is in ASCII (R b3 3 b5 5 b7 7 …). Lengths are in mm, frets count from the capo; ``fretted`` says what the
hand would be playing without it. ``becomes`` names the chords that a part is instead, where it leaves
out a tone that must sound. ``wide`` marks a stretch that a small hand does not have. ``position`` is the
fret where the index finger lies or would lie, ``moves`` how many frets that is from the region's place
(negative: down), ``hand_stays`` whether it is one at most. ``drop`` is 2 or 3 for a voicing that the trade
calls so. Where the main voicing moves the index finger it is ``called`` full, and the one beside it that
does not *hand stays*.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from cards.guitar.fingering import MEDIUM, THUMB, Hand
from cards.guitar.neck import STANDARD, STRINGS, Neck
from cards.guitar.regions import Region
from cards.messages import Refusal
from cards.theory.chords import Chord
from cards.theory.keys import Key
from cards.theory.numerals import Numeral
from cards.voicings.mending import find_mend
from cards.voicings.small import small_voicing, small_voicings, spread_triads
from cards.voicings.voicing import Voicing, hand_stays_beside, voicings, worth_knowing


@dataclass(frozen=True)
class ChordListing:
    """What ``drill chord`` shows: the chord a numeral calls for, its region, its voicings."""

    key: Key
    numeral: Numeral
    region: Region
    voicings: tuple[Voicing, ...]
    neck: Neck = STANDARD
    staying: Voicing | None = None
    """The grip with which the hand stays, where the main voicing moves the index finger."""

    @property
    def degree(self) -> int:
        """The degree, 1–7, whatever its accidental."""
        return self.numeral.root.number

    @property
    def fretted_key(self) -> Key:
        """The key that the hand plays in, counted from the capo."""
        return self.key.moved(-self.neck.capo)

    def part_of(self, voicing: Voicing) -> int | None:
        """Index of the listed voicing that this one is a part of: the main one if it is, else the
        one with the most strings."""
        wholes = [
            (index != 0, -whole.strings, index)
            for index, whole in enumerate(self.voicings)
            if voicing.is_part_of(whole)
        ]
        return min(wholes)[2] if wholes else None

    def called(self, voicing: Voicing) -> str | None:
        """``full`` or ``hand stays`` for the two grips of a pair; None for any other."""
        if self.staying is None:
            return None
        return {self.voicings[0].frets: "full", self.staying.frets: "hand stays"}.get(voicing.frets)

    def becomes(self, voicing: Voicing) -> tuple[Chord, ...]:
        """The chords that a voicing is instead, where it leaves out a tone that must sound."""
        return small_voicing(voicing.chord, voicing.frets, self.key, self.neck).becomes

    def as_json(self) -> dict[str, Any]:
        """The listing as the JSON of ``drill chord --json``."""
        chord = self.numeral.chord(self.key)
        return {
            "key": str(self.key),
            "degree": self.degree,
            "numeral": str(self.numeral),
            "chord": str(chord),
            "tones": [str(note) for note in chord.notes],
            "region": {"box": self.region.box, "low": self.region.low, "high": self.region.high},
            "voicings": [self._voicing(voicing) for voicing in self.voicings],
            "capo": self.neck.capo,
            "fretted": {"key": str(self.fretted_key), "chord": str(self.numeral.chord(self.fretted_key))},
            "tuning": list(self.neck.tuning),
        }

    def _voicing(self, voicing: Voicing) -> dict[str, Any]:
        effort = asdict(voicing.effort)
        effort["total"] = voicing.effort.total
        return {
            "strings": [
                {
                    "string": string,
                    "fret": fret,
                    "finger": "T" if finger == THUMB else finger,
                    "tone": tone and tone.ascii,
                }
                for string, fret, finger, tone in zip(
                    STRINGS, voicing.frets, voicing.grip.fingers, voicing.tones, strict=True
                )
            ],
            "barres": [
                {"finger": barre.finger, "fret": barre.fret, "from": barre.low, "to": barre.high}
                for barre in voicing.grip.barres
            ],
            "shapes": [shape.name for shape in voicing.shapes],
            "left_out": [tone.ascii for tone in voicing.left_out],
            "bass": voicing.bass.ascii,
            "stretch_mm": voicing.grip.stretch_mm,
            "wide": voicing.wide,
            "effort": effort,
            "outside": voicing.outside,
            "position": voicing.position,
            "moves": voicing.moves,
            "hand_stays": voicing.hand_stays,
            "drop": voicing.drop,
            "called": self.called(voicing),
            "part_of": self.part_of(voicing),
            "becomes": [str(chord) for chord in self.becomes(voicing)],
        }


def list_chord(
    key: Key,
    numeral: Numeral,
    region: Region,
    everything: bool = False,
    hand: Hand = MEDIUM,
    neck: Neck = STANDARD,
) -> ChordListing:
    """The main voicing, the one beside it with which the hand stays, and what is worth knowing, or with
    ``everything`` all voicings in the reach; last the spread triads, by rising effort."""
    chord = numeral.chord(key)
    found = voicings(chord, region, hand, neck)
    staying = hand_stays_beside(chord, region, hand, neck)
    known = worth_knowing(found)
    shown = [voicing for voicing in found if everything or voicing in (*found[:1], staying, *known)]
    return ChordListing(key, numeral, region, (*shown, *_spread(key, chord, region, hand, neck)), neck, staying)


def _spread(key: Key, chord: Chord, region: Region, hand: Hand, neck: Neck) -> list[Voicing]:
    """The spread triads of a chord, by rising effort; [] if it is no triad."""
    held = (small.held(region, hand, neck) for small in spread_triads(chord, region, key, hand, neck))
    return sorted((voicing for voicing in held if voicing), key=lambda voicing: voicing.fingered.total)


def list_small(key: Key, numeral: Numeral, region: Region, hand: Hand = MEDIUM, neck: Neck = STANDARD) -> ChordListing:
    """The small voicings of a chord, from the low strings up."""
    found = small_voicings(numeral.chord(key), region, key, hand, neck)
    shown = (small.held(region, hand, neck) for small in found)
    return ChordListing(key, numeral, region, tuple(voicing for voicing in shown if voicing is not None), neck)


def mend_chord(
    key: Key, numeral: Numeral, region: Region, hand: Hand = MEDIUM, neck: Neck = STANDARD
) -> Refusal | None:
    """What helps where a hand has no voicing of a chord in a region; None if nothing does."""
    chord = numeral.chord(key)
    return find_mend(region, hand, neck, lambda place, other: bool(voicings(chord, place, other, neck)))


def mend_small(
    key: Key, numeral: Numeral, region: Region, hand: Hand = MEDIUM, neck: Neck = STANDARD
) -> Refusal | None:
    """What helps where a hand has no small voicing of a chord in a region; None if nothing does."""
    return find_mend(
        region, hand, neck, lambda place, other: bool(list_small(key, numeral, place, other, neck).voicings)
    )
