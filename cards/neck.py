"""The neck: strings, frets, and where a fret lies in millimetres.

Conventions. Six strings, written low to high: index 0 is string 6. Frets count from the nut
(0 = open). Lengths are in mm from the nut along the neck.
"""

from __future__ import annotations

from dataclasses import dataclass

STRINGS = (6, 5, 4, 3, 2, 1)
"""String numbers in the order of every six-tuple in this package."""


@dataclass(frozen=True)
class Neck:
    """A six-string guitar: open pitches (MIDI, low to high), scale length in mm, frets.

    648 mm (25.5 in) is the common long scale. A fret divides the string so that each semitone
    shortens it by the twelfth root of two (equal temperament).
    """

    tuning: tuple[int, ...] = (40, 45, 50, 55, 59, 64)
    scale_mm: float = 648.0
    frets: int = 22

    def fret_mm(self, fret: int) -> float:
        """Distance of a fret from the nut in mm.

        >>> round(STANDARD.fret_mm(12), 1)
        324.0
        """
        return self.scale_mm * (1 - 2 ** (-fret / 12))

    def pitch(self, string: int, fret: int) -> int:
        """MIDI pitch of a string number (6–1) at a fret."""
        return self.tuning[6 - string] + fret


STANDARD = Neck()
"""Standard tuning E A D G B E, 648 mm, 22 frets."""
