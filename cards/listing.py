"""A chord of a key in a region, with its voicings, as plain data for JSON.

The fields: ``key``, ``degree``, ``numeral``, ``chord``, ``tones`` (note names), ``region``, and
``voicings``, the main one first, then by rising effort. Names print ♯ ♭ 𝄪; the tone of each string
is in ASCII (R b3 3 b5 5 b7 7). Lengths are in mm.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from cards.keys import Key
from cards.neck import STRINGS
from cards.regions import Region
from cards.voicings import Voicing, best_partials, voicings


@dataclass(frozen=True)
class ChordListing:
    """What ``drill chord`` shows: the chord on a degree, its region, its voicings."""

    key: Key
    degree: int
    seventh: bool
    region: Region
    voicings: tuple[Voicing, ...]

    def part_of(self, voicing: Voicing) -> int | None:
        """Index of the listed voicing that this one is a part of: the main one if it is, else the
        one with the most strings."""
        wholes = [
            (index != 0, -whole.strings, index)
            for index, whole in enumerate(self.voicings)
            if voicing.is_part_of(whole)
        ]
        return min(wholes)[2] if wholes else None

    def as_json(self) -> dict[str, Any]:
        """The listing as the JSON of ``drill chord --json``."""
        chord = self.key.chord(self.degree, self.seventh)
        return {
            "key": str(self.key),
            "degree": self.degree,
            "numeral": self.key.numeral(self.degree, self.seventh),
            "chord": str(chord),
            "tones": [str(note) for note in chord.notes],
            "region": {"box": self.region.box, "low": self.region.low, "high": self.region.high},
            "voicings": [self._voicing(voicing) for voicing in self.voicings],
        }

    def _voicing(self, voicing: Voicing) -> dict[str, Any]:
        effort = asdict(voicing.effort)
        effort["total"] = voicing.effort.total
        return {
            "strings": [
                {"string": string, "fret": fret, "finger": finger, "tone": tone and tone.ascii}
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
            "effort": effort,
            "outside": voicing.outside,
            "part_of": self.part_of(voicing),
        }


def list_chord(key: Key, degree: int, region: Region, seventh: bool = False, everything: bool = False) -> ChordListing:
    """The main voicing and its best parts, or with ``everything`` all voicings in the reach."""
    found = voicings(key.chord(degree, seventh), region)
    shown = found if everything else (*found[:1], *best_partials(found))
    return ChordListing(key, degree, seventh, region, shown)
