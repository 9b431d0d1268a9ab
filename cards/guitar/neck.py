"""The neck: strings, tuning, capo, and where a fret lies in millimetres.

Conventions. Six strings, written low to high: index 0 is string 6. Frets count from the nut, or
from the capo (0 = open). Lengths are in mm from the nut (or capo) along the neck. What is called
*sounding* is heard; what is called *fretted* is what the hand would be playing without the capo.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property

from cards.messages import RefusalError, echo
from cards.theory.pitch import Note, PitchError

STRINGS = (6, 5, 4, 3, 2, 1)
"""String numbers in the order of every six-tuple in this package."""

STANDARD_TUNING = (40, 45, 50, 55, 59, 64)
FRETS = range(12, 25)
SCALES_MM = range(500, 751)
_GLUED_NOTE = re.compile(r"[A-G][#♯b♭]?")
_LOWEST_PITCH, _HIGHEST_PITCH = 28, 76


class NeckError(RefusalError, ValueError):
    """A tuning, capo or length that no six-string guitar has; the message says what would be right."""


@dataclass(frozen=True)
class Neck:
    """A six-string guitar: open pitches without capo (MIDI, low to high), scale length in mm,
    frets, and the fret of the capo (0 = none).

    648 mm (25.5 in) is the common long scale. A fret divides the string so that each semitone
    shortens it by the twelfth root of two (equal temperament). Raises NeckError when a value is
    none that a guitar has.
    """

    tuning: tuple[int, ...] = STANDARD_TUNING
    scale_mm: float = 648.0
    frets: int = 22
    capo: int = 0

    def __post_init__(self) -> None:
        if len(self.tuning) != len(STRINGS):
            raise NeckError("a tuning has six strings, not {count}", count=len(self.tuning))
        if not all(_LOWEST_PITCH <= pitch <= _HIGHEST_PITCH for pitch in self.tuning):
            raise NeckError("an open string of a guitar lies between E1 and E5")
        if self.frets not in FRETS:
            raise NeckError("a neck has 12 to 24 frets, not {frets}", frets=self.frets)
        if not SCALES_MM.start <= self.scale_mm < SCALES_MM.stop:
            raise NeckError("a scale length is 500 to 750 mm, not {scale_mm}", scale_mm=f"{self.scale_mm:g}")
        if not 0 <= self.capo <= 11:
            raise NeckError("a capo lies on fret 0 (none) to 11, not {capo}", capo=self.capo)

    @property
    def free_frets(self) -> int:
        """Frets above the capo."""
        return self.frets - self.capo

    @cached_property
    def string_mm(self) -> float:
        """Length that an open string sounds, from the capo or nut to the bridge, in mm."""
        return self.scale_mm * float(2 ** (-self.capo / 12))

    def fret_mm(self, fret: int) -> float:
        """Distance of a fret from the nut or capo in mm.

        >>> round(STANDARD.fret_mm(12), 1)
        324.0
        """
        return self._frets_mm[fret]

    @cached_property
    def _frets_mm(self) -> tuple[float, ...]:
        """Where every fret lies, with an octave more than any neck has."""
        return tuple(self.string_mm * (1 - 2 ** (-fret / 12)) for fret in range(FRETS.stop + 12))

    def pitch(self, string: int, fret: int) -> int:
        """MIDI pitch that sounds on a string number (6–1) at a fret counted from the capo."""
        return self.tuning[6 - string] + self.capo + fret

    @cached_property
    def offset(self) -> int:
        """Semitones that the strings as a whole lie above standard tuning, capo included.

        Strings in standard tuning decide, else most strings: drop D is standard with one string
        altered, half a step down is standard moved by −1.
        """
        steps = [mine - theirs for mine, theirs in zip(self.tuning, STANDARD_TUNING, strict=True)]
        return min(steps, key=lambda step: (step != 0, -steps.count(step), abs(step), step)) + self.capo

    @cached_property
    def standard_from(self) -> int:
        """The lowest string from which on the strings to 1 stand in standard intervals: 6 in standard
        tuning and moved as a whole, 5 in drop D."""
        steps = [mine - theirs for mine, theirs in zip(self.tuning, STANDARD_TUNING, strict=True)]
        return next(string for string in STRINGS if len(set(steps[6 - string :])) == 1)


STANDARD = Neck()
"""Standard tuning E A D G B E, 648 mm, 22 frets, no capo."""

TUNINGS: dict[str, tuple[int, ...]] = {
    "standard": STANDARD_TUNING,
    "drop D": (38, 45, 50, 55, 59, 64),
    "half step down": (39, 44, 49, 54, 58, 63),
    "whole step down": (38, 43, 48, 53, 57, 62),
    "double drop D": (38, 45, 50, 55, 59, 62),
    "D A D G A D": (38, 45, 50, 55, 57, 62),
    "open G": (38, 43, 50, 55, 59, 62),
    "open D": (38, 45, 50, 54, 57, 62),
    "open E": (40, 47, 52, 56, 59, 64),
    "open A": (40, 45, 52, 57, 61, 64),
}
"""Tunings by the names players use, as open pitches low to high."""


def read_tuning(text: str) -> tuple[int, ...]:
    """A tuning by its name, or six note names low to high (``D A D G B E``, ``DADGAD``).

    Each string takes the octave nearest to its standard pitch. Raises NeckError.

    >>> read_tuning("drop d") == read_tuning("D A D G B E")
    True
    """
    wanted = _folded(text)
    for name, tuning in TUNINGS.items():
        if _folded(name) == wanted:
            return tuning
    names = text.split() if len(text.split()) == len(STRINGS) else _GLUED_NOTE.findall(text)
    if len(names) != len(STRINGS) or _folded("".join(names)) != wanted:
        raise NeckError(
            'no tuning "{text}": name one ({tunings}), or six notes low to high, like D A D G B E',
            text=echo(text),
            tunings=", ".join(TUNINGS),
        )
    try:
        notes = [Note.read(name) for name in names]
    except PitchError as error:
        raise NeckError(error.sentence, **error.values) from error
    return tuple(
        standard + (note.pitch_class - standard + 6) % 12 - 6
        for note, standard in zip(notes, STANDARD_TUNING, strict=True)
    )


def _folded(text: str) -> str:
    return re.sub(r"[\s,·-]+", "", text).lower().replace("♯", "#").replace("♭", "b")
