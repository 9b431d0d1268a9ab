"""Keys, their scales and their diatonic chords.

Conventions. A key is a tonic and a mode. Degrees 1–7 count along its scale: the major scale, or the natural
minor scale in a minor key. The chord on a degree is a stack of thirds from the notes of the scale, so the
four of G♭ is C♭ and the three of D is F♯m. A blues counts along the major scale. It uses the degrees 1, 4
and 5, each with a dominant seventh chord (I7 IV7 V7).

The boxes of a key come from a minor pentatonic. In a major key it is that of the relative minor; in a minor
key and in a blues it is that of the tonic.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from functools import cache, cached_property

from cards.messages import Message, RefusalError, echo, message
from cards.theory.chords import MINOR_SEVENTH, Chord, Quality, read_quality
from cards.theory.pitch import Interval, Note, PitchError

DEGREES = range(1, 8)
ROMANS = ("I", "II", "III", "IV", "V", "VI", "VII")
BLUES_DEGREES = (1, 4, 5)
_RELATIVE = Interval(6).fifths
_MOST_ACCIDENTALS = 6


class KeyNameError(RefusalError, ValueError):
    """A key or degree that cannot be read; the message says what would be right."""


class Mode(StrEnum):
    """The mode of a key."""

    MAJOR = "major"
    MINOR = "minor"
    BLUES = "blues"


_SCALES = {
    Mode.MAJOR: tuple(Interval(degree) for degree in DEGREES),
    Mode.MINOR: tuple(Interval.read(degree) for degree in ("R", "2", "b3", "4", "5", "b6", "b7")),
    Mode.BLUES: tuple(Interval(degree) for degree in DEGREES),
}
_KEY = re.compile(
    r"(?P<letter>[A-Ha-h])"
    r"(?P<mark>𝄪|𝄫|##|♯♯|bb|♭♭|[#♯b♭]|[\s-]*(?i:sharp|flat)|[ie]s|(?<=[AaEe])s)?"
    r"(?:\s*(?P<sign>[m-])|[\s-]*(?P<mode>(?i:min|minor|moll|maj|major|dur|blues)))?\Z"
)
_MODES = {"m": Mode.MINOR, "-": Mode.MINOR, "min": Mode.MINOR, "minor": Mode.MINOR, "moll": Mode.MINOR}
_MODES["blues"] = Mode.BLUES
_SHARPS, _FLATS = ("is", "sharp"), ("es", "s", "flat")
_GERMAN_MODES = ("dur", "moll")


@dataclass(frozen=True, order=True)
class Key:
    """A key.

    >>> str(Key.read("bb")), str(Key.read("bb").chord(4)), Key.read("bb").numeral(2)
    ('B♭', 'E♭', 'ii')
    >>> str(Key.read("F#m").chord(5)), Key.read("F#m").numeral(3)
    ('C♯m', '♭III')
    """

    tonic: Note
    mode: Mode = Mode.MAJOR

    @classmethod
    def read(cls, text: str) -> Key:
        """Read ``B♭``, ``bb`` (a lower-case letter is the same key), ``F#m``, ``A minor``, ``A Blues``, ``B flat``,
        ``F sharp minor``, and German names: ``Fis``, ``Es``, ``C dur``, ``H``, ``B dur`` (which is B♭ major).

        :func:`key_reading` says what German letters were taken for. Raises KeyNameError.

        >>> [str(Key.read(text)) for text in ("F sharp minor", "Fis", "H", "B moll", "A Blues")]
        ['F♯m', 'F♯', 'B', 'B♭m', 'A blues']
        """
        match = _KEY.match(text.strip())
        if match is None:
            raise KeyNameError(
                'no key "{text}": a key is a letter A–G with ♯ or ♭, like B♭, and m for minor, like F♯m',
                text=echo(text),
            )
        mark = (match["mark"] or "").strip(" \t-").lower()
        mark = "#" if mark in _SHARPS else "b" if mark in _FLATS else mark
        letter, mode = match["letter"].upper(), (match["mode"] or match["sign"] or "").lower()
        if letter == "B" and not mark and mode in _GERMAN_MODES:
            mark = "b"
        try:
            tonic = Note.read(("B" if letter == "H" else letter) + mark)
        except PitchError as error:
            raise KeyNameError(error.sentence, **error.values) from error
        return cls(tonic, _MODES.get(mode, Mode.MAJOR))

    @property
    def is_minor(self) -> bool:
        """Whether it is a minor key."""
        return self.mode == Mode.MINOR

    @property
    def signature(self) -> int:
        """The number of sharps in the key signature, or of flats if negative."""
        return self.tonic.fifths - (_RELATIVE if self.is_minor else 0)

    @property
    def practical(self) -> Key:
        """The same key in the spelling that players use, with at most six accidentals.

        >>> str(Key.read("G#").practical), str(Key.read("G#m").practical)
        ('A♭', 'G♯m')
        """
        turns = 0 if abs(self.signature) <= _MOST_ACCIDENTALS else round(self.signature / 12)
        return Key(Note(self.tonic.fifths - 12 * turns), self.mode)

    @property
    def relative(self) -> Key:
        """The relative minor of a major key, or the relative major of a minor key.

        Raises KeyNameError for a blues, which has no relative key.
        """
        if self.mode == Mode.BLUES:
            raise KeyNameError("{key} has no relative key", key=self)
        if self.is_minor:
            return Key(Note(self.tonic.fifths - _RELATIVE))
        return Key(self.relative_minor, Mode.MINOR)

    @property
    def relative_minor(self) -> Note:
        """The tonic of the minor pentatonic that the key's boxes come from."""
        return self.tonic if self.mode != Mode.MAJOR else self.tonic.above(Interval(6))

    def moved(self, semitones: int) -> Key:
        """Return the :attr:`practical` key ``semitones`` higher, or lower if negative."""
        return Key(Note(self.tonic.fifths + 7 * semitones), self.mode).practical

    @property
    def slug(self) -> str:
        """Its name in card ids and web addresses: ``Ab``, ``Fsm``, ``A-blues``."""
        mark = {Mode.MAJOR: "", Mode.MINOR: "m", Mode.BLUES: "-blues"}[self.mode]
        return self.tonic.ascii.replace("#", "s") + mark

    @classmethod
    def from_slug(cls, slug: str) -> Key:
        """Read a key from its :attr:`slug`. Raises KeyNameError if there is no such key."""
        return cls.read(slug[:1] + slug[1:].replace("-blues", " blues").replace("s", "#", slug[1:2] == "s"))

    @cached_property
    def intervals(self) -> tuple[Interval, ...]:
        """Its scale as seven intervals above the tonic."""
        return _SCALES[self.mode]

    @cached_property
    def scale(self) -> tuple[Note, ...]:
        """The seven notes of its scale, from the tonic up."""
        return tuple(self.tonic.above(interval) for interval in self.intervals)

    @property
    def degrees(self) -> tuple[int, ...]:
        """The degrees that have a diatonic chord: 1–7, or 1, 4 and 5 in a blues."""
        return BLUES_DEGREES if self.mode == Mode.BLUES else tuple(DEGREES)

    def spell(self, pitch_class: int) -> Note:
        """Spell a pitch class (0–11) as players write it in this key.

        A note of the scale has its spelling in the scale. Any other note is a natural if there is one (the open
        E string in G♭ is E), or else the spelling that is nearest on the line of fifths.

        >>> [str(Key.read(key).spell(pitch)) for key, pitch in (("Ab", 6), ("D", 6), ("Gb", 11), ("Gb", 4))]
        ['G♭', 'F♯', 'C♭', 'E']
        """
        middle = self.signature + 2
        nearest = (Note(fifths) for fifths in range(middle - 6, middle + 6))
        naturals = (Note(fifths) for fifths in range(-1, 6))
        return next(note for note in (*self.scale, *naturals, *nearest) if note.pitch_class == pitch_class)

    def chord(self, degree: int, seventh: bool = False) -> Chord:
        """Return the diatonic triad on a degree (1–7), or its seventh chord. A blues always gives the seventh
        chord."""
        return _own_chord(self, degree, seventh)

    def numeral(self, degree: int, seventh: bool = False) -> str:
        """Return the Roman numeral of the diatonic chord: ``IV``, ``ii7``, ``vii°``, ``viiø7``, ``♭VI``."""
        return roman(self.intervals[degree - 1], self.chord(degree, seventh).quality)

    @property
    def long_name(self) -> str:
        """Its tonic and the word for its mode: ``G♯ major``."""
        return f"{self.tonic} {self.mode}"

    def __str__(self) -> str:
        return str(self.tonic) + {Mode.MAJOR: "", Mode.MINOR: "m", Mode.BLUES: " blues"}[self.mode]


def key_reading(text: str) -> Message | None:
    """What German letters were taken for: H is B, B dur is B♭ major; None if none were.

    Raises KeyNameError.

    >>> dict(key_reading("H").values)["key"], key_reading("B♭")
    ('B major', None)
    """
    key = Key.read(text)
    letter = text.strip()[0].upper()
    if letter == "H" or (letter == "B" and text.lower().split("-")[-1].split()[-1] in _GERMAN_MODES):
        return message("key.german", text=text.strip(), key=key.long_name)
    return None


@cache
def _own_chord(key: Key, degree: int, seventh: bool) -> Chord:
    """Stack thirds on a degree of the key's scale, or build a dominant seventh chord in a blues."""
    root = key.scale[degree - 1]
    if key.mode == Mode.BLUES:
        return Chord(root, read_quality("7"))
    steps = (0, 2, 4, 6) if seventh else (0, 2, 4)
    stack = [key.scale[(degree - 1 + step) % 7] for step in steps]
    return Chord(root, Quality.of(Interval.from_fifths(note.fifths - root.fifths) for note in stack))


def roman(root: Interval, quality: Quality) -> str:
    """Print a Roman numeral with the suffix of its quality. It is in lower case if the third is minor.

    >>> roman(Interval(7, -1), read_quality("")), roman(Interval(2), read_quality("m7b5"))
    ('♭VII', 'iiø7')
    """
    accidental = str(root)[: -len(str(root.number))] if root.alteration else ""
    figure = ROMANS[root.number - 1]
    if not quality.is_minor:
        return accidental + figure + quality.suffix
    suffix = quality.suffix
    if MINOR_SEVENTH in quality.tones and suffix.endswith("m7♭5"):
        suffix = "ø7"
    return accidental + figure.lower() + suffix.removeprefix("m")


MAJOR_KEYS: tuple[Key, ...] = tuple(Key(Note(fifths)) for fifths in range(-6, 7))
"""The thirteen major keys with at most six accidentals, from G♭ (six flats) to F♯ (six sharps)."""

MINOR_KEYS: tuple[Key, ...] = tuple(key.relative for key in MAJOR_KEYS)
"""The relative minors of :data:`MAJOR_KEYS`, from E♭m to D♯m."""

BLUES_KEYS: tuple[Key, ...] = tuple(Key(key.tonic, Mode.BLUES) for key in MAJOR_KEYS)
"""A blues on the tonic of each key in :data:`MAJOR_KEYS`."""
