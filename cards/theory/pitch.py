"""Notes and intervals on the line of fifths.

Conventions. A spelled note is a place on the line of fifths: … F −1, C 0, G 1, D 2 …. Seven places up add
one sharp, seven places down add one flat. So spelling is addition: a major third is four places up in every
key, and double accidentals need no special case. Pitch is separate: a pitch class counts semitones from C
(0–11), a pitch is a MIDI number (middle C = 60).

The line of fifths as a coordinate of spelling: Temperley, *The Cognition of Basic Musical
Structures*, MIT Press 2001, ch. 5.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from cards.messages import RefusalError, echo

LETTERS = "FCGDAEB"
"""The letters in the order of the line of fifths. F has place −1."""

_ACCIDENTALS = {"♯": 1, "#": 1, "𝄪": 2, "x": 2, "♭": -1, "b": -1, "𝄫": -2}
_TONE_WORDS = (
    *("root", "second", "third", "fourth", "fifth", "sixth", "seventh"),
    *("octave", "ninth", "tenth", "eleventh", "twelfth", "thirteenth"),
)
_NOTE = re.compile(r"([A-Ga-g])(♯|#|𝄪|x|♭|b|𝄫)*\Z")


class PitchError(RefusalError, ValueError):
    """A note or interval name that cannot be read; the message says what would be right."""


def accidentals(count: int) -> str:
    """Print ``count`` sharps, or flats if it is negative, as ♯, 𝄪, ♭ and 𝄫.

    >>> accidentals(2), accidentals(-1), accidentals(-3)
    ('𝄪', '♭', '𝄫♭')
    """
    double, single = ("𝄪", "♯") if count > 0 else ("𝄫", "♭")
    return double * (abs(count) // 2) + single * (abs(count) % 2)


@dataclass(frozen=True, order=True)
class Interval:
    """A spelled interval above a root: a scale degree and an alteration in semitones.

    ``number`` is 1–13. It counts along the major scale, so ``Interval(3, -1)`` is the minor third.

    >>> str(Interval(3, -1)), Interval(3, -1).semitones, Interval(9).semitones
    ('♭3', 3, 2)
    """

    number: int
    alteration: int = 0

    @property
    def fifths(self) -> int:
        """Its size in places on the line of fifths. Degree d of a major scale has place ((2d − 1) mod 7) − 1."""
        return (2 * self.number - 1) % 7 - 1 + 7 * self.alteration

    @classmethod
    def from_fifths(cls, fifths: int) -> Interval:
        """Return the interval within an octave that is ``fifths`` places up the line of fifths.

        >>> str(Interval.from_fifths(-2)), str(Interval.from_fifths(6))
        ('♭7', '♯4')
        """
        number = 4 * fifths % 7 + 1
        return cls(number, (fifths - cls(number).fifths) // 7)

    @property
    def semitones(self) -> int:
        """Its size within one octave, in semitones (0–11)."""
        return self.fifths * 7 % 12

    @property
    def ascii(self) -> str:
        """Its name in JSON: ``R``, ``b3``, ``#5``, ``bb7``."""
        if self == Interval(1):
            return "R"
        return ("#" if self.alteration > 0 else "b") * abs(self.alteration) + str(self.number)

    @property
    def name(self) -> str:
        """The word for its number: ``root``, ``third``, ``seventh``. The alteration is not part of it."""
        return _TONE_WORDS[self.number - 1]

    def __str__(self) -> str:
        if self == Interval(1):
            return "R"
        return accidentals(self.alteration) + str(self.number)

    @classmethod
    def read(cls, text: str) -> Interval:
        """Read an interval such as ``R``, ``3``, ``b3`` or ``♯5``.

        Raises PitchError if the text is not a degree with accidentals before it.

        >>> Interval.read("b7").semitones
        10
        """
        if text == "R":
            return cls(1)
        match = re.match(r"([♯#𝄪♭b𝄫]*)(\d{1,2})\Z", text)
        if match is None or not 1 <= int(match[2]) <= 13:
            raise PitchError('no chord tone "{text}": write R, or a degree like 3, b7 or #5', text=echo(text))
        return cls(int(match[2]), sum(_ACCIDENTALS[mark] for mark in match[1]))


@dataclass(frozen=True, order=True)
class Note:
    """A spelled note without an octave.

    >>> Note.read("Bb").above(Interval(4))
    Note(fifths=-3)
    >>> str(Note.read("Bb").above(Interval(4)))
    'E♭'
    """

    fifths: int

    @property
    def letter(self) -> str:
        """Its letter, A–G."""
        return LETTERS[(self.fifths + 1) % 7]

    @property
    def alteration(self) -> int:
        """The number of its sharps, or of its flats if negative."""
        return (self.fifths + 1) // 7

    @property
    def pitch_class(self) -> int:
        """Its pitch class: semitones above C (0–11)."""
        return self.fifths * 7 % 12

    @property
    def ascii(self) -> str:
        """Its name in ASCII: ``F#``, ``Ab``."""
        return self.letter + ("#" if self.alteration > 0 else "b") * abs(self.alteration)

    def above(self, interval: Interval) -> Note:
        """Return the note that is ``interval`` above this one, in its correct spelling."""
        return Note(self.fifths + interval.fifths)

    def __str__(self) -> str:
        return self.letter + accidentals(self.alteration)

    @classmethod
    def read(cls, text: str) -> Note:
        """Read a letter in either case, with ASCII or Unicode accidentals after it.

        Raises PitchError for anything else.

        >>> str(Note.read("f#")), str(Note.read("F𝄪")), str(Note.read("bb"))
        ('F♯', 'F𝄪', 'B♭')
        """
        if _NOTE.match(text) is None:
            raise PitchError('no note "{text}": a note is a letter A–G with ♯ or ♭ after it, like B♭', text=echo(text))
        alteration = sum(_ACCIDENTALS[mark] for mark in text[1:])
        return cls(LETTERS.index(text[0].upper()) - 1 + 7 * alteration)
