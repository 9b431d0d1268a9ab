"""Chords: a root and a quality, their tones, their names.

Conventions. A quality lists its tones as intervals above the root and says which of them must
sound; the others may be left out of a voicing. Names are read in the spellings players use and
printed in one of our own.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import cached_property

from cards.pitch import Interval, Note, PitchError


class ChordError(ValueError):
    """A chord name that cannot be read; the message says what would be right."""


@dataclass(frozen=True)
class Quality:
    """A kind of chord; two of one name are equal.

    ``suffix`` is printed behind the root; ``tones`` are intervals above the root in the order of
    stacking; ``omissible`` are those that a voicing may leave out.
    """

    name: str
    suffix: str = field(compare=False)
    tones: tuple[Interval, ...] = field(compare=False)
    omissible: frozenset[Interval] = field(default=frozenset(), compare=False)

    @cached_property
    def tone_at(self) -> dict[int, Interval]:
        """Its tones by their semitones above the root."""
        return {tone.semitones: tone for tone in self.tones}

    @cached_property
    def must_sound(self) -> tuple[Interval, ...]:
        """The tones without which it is another chord."""
        return tuple(tone for tone in self.tones if tone not in self.omissible)


def _quality(name: str, suffix: str, tones: str, omissible: str = "") -> Quality:
    return Quality(
        name,
        suffix,
        tuple(Interval.read(tone) for tone in tones.split()),
        frozenset(Interval.read(tone) for tone in omissible.split()),
    )


QUALITIES: dict[str, Quality] = {
    quality.name: quality
    for quality in (
        _quality("major", "", "R 3 5"),
        _quality("minor", "m", "R b3 5"),
        _quality("dim", "°", "R b3 b5"),
        _quality("maj7", "maj7", "R 3 5 7", omissible="5"),
        _quality("m7", "m7", "R b3 5 b7", omissible="5"),
        _quality("7", "7", "R 3 5 b7", omissible="5"),
        _quality("m7b5", "m7♭5", "R b3 b5 b7"),
    )
}
"""Every quality by name. A seventh chord may lose its fifth, the half-diminished one nothing."""

_SPELLINGS = {
    "major": ("", "maj", "major", "ma", "M"),
    "minor": ("m", "-", "min", "mi", "minor"),
    "dim": ("°", "o", "dim", "diminished", "mb5", "m-5", "m(b5)"),
    "maj7": ("maj7", "M7", "ma7", "Δ", "Δ7", "^7", "j7"),
    "m7": ("m7", "-7", "min7", "mi7"),
    "7": ("7", "dom7"),
    "m7b5": ("m7b5", "-7b5", "min7b5", "mi7b5", "m7-5", "m7(b5)", "ø", "ø7", "half-dim"),
}
_QUALITY_BY_SPELLING = {spelling: QUALITIES[name] for name, spellings in _SPELLINGS.items() for spelling in spellings}
_ROOT = re.compile(r"[A-Ga-g][♯#♭b𝄪𝄫]*")


def quality_of(tones: tuple[Interval, ...]) -> Quality:
    """The quality with exactly these tones above the root.

    Raises ChordError when there is none.
    """
    for quality in QUALITIES.values():
        if quality.tones == tones:
            return quality
    raise ChordError(f"no chord has the tones {' '.join(map(str, tones))}")


@dataclass(frozen=True)
class Chord:
    """A chord: root and quality.

    >>> str(Chord(Note.read("Db"), QUALITIES["maj7"]))
    'D♭maj7'
    """

    root: Note
    quality: Quality

    @property
    def notes(self) -> tuple[Note, ...]:
        """Its notes, spelled, in the order of the quality's tones."""
        return tuple(self.root.above(tone) for tone in self.quality.tones)

    def tone_at(self, pitch_class: int) -> Interval | None:
        """The chord tone that a pitch class (0–11) is in this chord; None if it is foreign."""
        return self.quality.tone_at.get((pitch_class - self.root.pitch_class) % 12)

    def __str__(self) -> str:
        return f"{self.root}{self.quality.suffix}"


def _plain(suffix: str) -> str:
    """The suffix in ASCII accidentals, its word in small letters; ``M7`` and ``m7`` stay apart."""
    suffix = suffix.replace("♭", "b").replace("♯", "#")
    word = suffix[:3].lower()
    return suffix.lower() if word in ("maj", "min", "dim", "dom") else suffix


def read_chord(text: str) -> Chord:
    """Read a chord name in any of the spellings players use.

    Raises ChordError when the root or the quality cannot be read.

    >>> str(read_chord("Gmin")), str(read_chord("F#-7b5")), str(read_chord("B♭Δ"))
    ('Gm', 'F♯m7♭5', 'B♭maj7')
    """
    name = "".join(text.split())
    match = _ROOT.match(name)
    if match is None:
        raise ChordError(f'no chord "{text}": a chord starts with a letter A–G, like B♭ or F♯m7')
    # "Bbb5" and the like: give accidentals back until the rest reads as a quality.
    for end in range(match.end(), 0, -1):
        suffix = _plain(name[end:])
        if suffix in _QUALITY_BY_SPELLING:
            try:
                root = Note.read(name[:end])
            except PitchError as error:
                raise ChordError(str(error)) from error
            return Chord(root, _QUALITY_BY_SPELLING[suffix])
    rest = name[match.end() :]
    raise ChordError(
        f'no chord "{text}": "{rest}" behind {match[0]} is no quality; write for example '
        f"{match[0]}, {match[0]}m, {match[0]}7, {match[0]}maj7, {match[0]}m7 or {match[0]}m7♭5"
    )
