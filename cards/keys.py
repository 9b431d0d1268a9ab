"""Major keys, their scales, their diatonic chords by number.

Conventions. A key is its tonic; degrees count 1–7 along its major scale. The chord on a degree
stacks thirds on the scale's own letters, so the four of G♭ is C♭ and the three of D is F♯m.
"""

from __future__ import annotations

from dataclasses import dataclass

from cards.chords import Chord, quality_of
from cards.pitch import Interval, Note, PitchError

DEGREES = range(1, 8)
_ROMANS = ("I", "II", "III", "IV", "V", "VI", "VII")
_NUMBER_WORDS = ("one", "two", "three", "four", "five", "six", "seven")


class KeyNameError(ValueError):
    """A key or degree that cannot be read; the message says what would be right."""


@dataclass(frozen=True, order=True)
class Key:
    """A major key.

    >>> str(Key.read("bb")), str(Key.read("bb").chord(4)), Key.read("bb").numeral(2)
    ('B♭', 'E♭', 'ii')
    """

    tonic: Note

    @classmethod
    def read(cls, text: str) -> Key:
        """Read a key from its tonic; a lower-case letter is the same key (``bb`` is B♭ major).

        Raises KeyNameError.
        """
        try:
            return cls(Note.read(text.strip()))
        except PitchError as error:
            raise KeyNameError(f'no key "{text}": a key is a letter A–G with ♯ or ♭, like B♭') from error

    @property
    def practical(self) -> Key:
        """The same key as players write it: the one of the thirteen (six flats to six sharps).

        >>> str(Key.read("G#").practical)
        'A♭'
        """
        if abs(self.tonic.fifths) <= 6:
            return self
        turns = round(self.tonic.fifths / 12)
        return Key(Note(self.tonic.fifths - 12 * turns))

    @property
    def slug(self) -> str:
        """The name in ids and addresses: ``Ab``, ``Fs``."""
        return self.tonic.ascii.replace("#", "s")

    @classmethod
    def from_slug(cls, slug: str) -> Key:
        """Inverse of :attr:`slug`. Raises KeyNameError."""
        return cls.read(slug[:1] + slug[1:].replace("s", "#"))

    @property
    def relative_minor(self) -> Note:
        """The tonic of the relative minor: degree six."""
        return self.tonic.above(Interval(6))

    @property
    def scale(self) -> tuple[Note, ...]:
        """The seven notes from the tonic up."""
        return tuple(self.tonic.above(Interval(degree)) for degree in DEGREES)

    def spell(self, pitch_class: int) -> Note:
        """A pitch class (0–11) as players of this key write it: a note of the scale as it stands
        there, another without accidentals if it can be (the open E string in G♭ is E), or else on
        the nearest place of the line of fifths.

        >>> [str(Key.read(key).spell(pitch)) for key, pitch in (("Ab", 6), ("D", 6), ("Gb", 11), ("Gb", 4))]
        ['G♭', 'F♯', 'C♭', 'E']
        """
        middle = self.tonic.fifths + 2
        nearest = (Note(fifths) for fifths in range(middle - 6, middle + 6))
        naturals = (Note(fifths) for fifths in range(-1, 6))
        return next(note for note in (*self.scale, *naturals, *nearest) if note.pitch_class == pitch_class)

    def chord(self, degree: int, seventh: bool = False) -> Chord:
        """The diatonic triad on a degree (1–7), or its seventh chord."""
        root = self.scale[degree - 1]
        stack = [self.scale[(degree - 1 + step) % 7] for step in (0, 2, 4, 6)[: 4 if seventh else 3]]
        tones = tuple(
            # The number is known (1, 3, 5, 7); the alteration is what is left on the line.
            Interval(number, (note.fifths - root.fifths - Interval(number).fifths) // 7)
            for number, note in zip((1, 3, 5, 7), stack, strict=False)
        )
        return Chord(root, quality_of(tones))

    def numeral(self, degree: int, seventh: bool = False) -> str:
        """The Roman numeral of the diatonic chord: ``IV``, ``ii7``, ``vii°``, ``viiø7``."""
        quality = self.chord(degree, seventh).quality
        roman = _ROMANS[degree - 1]
        if Interval(3, -1) in quality.tones:
            roman = roman.lower()
        marks = {"dim": "°", "m7b5": "ø7", "m7": "7", "minor": ""}
        return roman + marks.get(quality.name, quality.suffix)

    def __str__(self) -> str:
        return str(self.tonic)


PRACTICAL_KEYS: tuple[Key, ...] = tuple(Key(Note(fifths)) for fifths in range(-6, 7))
"""The thirteen major keys that players meet, from G♭ (six flats) to F♯ (six sharps)."""


def number_word(degree: int) -> str:
    """How a player says the number: ``four``."""
    return _NUMBER_WORDS[degree - 1]


def read_degree(text: str, key: Key) -> int:
    """Read ``4``, ``IV``, ``ii`` or ``vii°`` as a degree of ``key``.

    Raises KeyNameError when it is none, or when a numeral's case or its ° disagrees with the key.
    """
    stripped = text.strip()
    if stripped in "1234567" and len(stripped) == 1:
        return int(stripped)
    bare = stripped.rstrip("°oø")
    if bare.upper() not in _ROMANS or bare not in (bare.upper(), bare.lower()):
        raise KeyNameError(f'no degree "{text}": write a number 1–7 or a numeral like IV or ii')
    degree = _ROMANS.index(bare.upper()) + 1
    diatonic = key.numeral(degree)
    if bare != diatonic.rstrip("°") or (bare != stripped and not diatonic.endswith("°")):
        raise KeyNameError(
            f'"{text}" is not diatonic in {key}: the {number_word(degree)} there is {diatonic} ({key.chord(degree)})'
        )
    return degree
