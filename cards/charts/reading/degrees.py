"""Symbols to numerals, once the key is known."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from cards.charts.chart import Options
from cards.charts.notation.symbols import Figure, Symbol
from cards.theory.chords import DIM_FIFTH, MAJOR_THIRD, Chord, read_quality
from cards.theory.keys import Key, Mode
from cards.theory.numerals import Numeral, read_numeral
from cards.theory.pitch import Interval

_FLATTENED = frozenset(Interval(number, -1) for number in (2, 3, 5, 6, 7))
_SHARPENED = frozenset(Interval(number, 1) for number in (1, 2, 4, 5))
_USUAL_FIFTHS = range(-5, 7)  # ♭2 to ♯4


def numeral_of(chord: Chord, key: Key) -> Numeral:
    """A chord as a numeral of a key, called as players call it however it is spelled.

    >>> from cards.theory.chords import read_chord
    >>> [str(numeral_of(read_chord(name), Key.read("C"))) for name in ("A#", "C#dim", "D/F#", "Gb")]
    ['♭VII', '♯i°', 'II/♯4', '♭V']
    """
    passing = DIM_FIFTH in chord.quality.tones and chord.quality.third != MAJOR_THIRD
    root = _called(chord.root.fifths - key.tonic.fifths, passing)
    bass = None if chord.bass is None else _called(chord.bass.fifths - key.tonic.fifths, True)
    return Numeral(root, chord.quality, bass)


def _called(fifths: int, sharp: bool) -> Interval:
    """The degree so many fifths above the tonic. ♯1, ♯2 and ♯5 stay where they lead somewhere
    (``sharp``); other odd spellings become the usual degree that sounds the same."""
    written = Interval.from_fifths(fifths)
    if not written.alteration or written in _FLATTENED or (written in _SHARPENED and (sharp or written.number == 4)):
        return written
    return Interval.from_fifths(next(usual for usual in _USUAL_FIFTHS if (usual - fifths) % 12 == 0))


@dataclass(frozen=True)
class Numbering:
    """How figures are read: the sounding key, and what was chosen for the song."""

    key: Key
    options: Options

    @property
    def scale(self) -> Key:
        """The key that the figures count in."""
        relative = self.key.is_minor and self.options.minor_from != "tonic"
        return self.key.relative if relative else self.key

    def numeral(self, figure: Figure) -> Numeral:
        """A figure as a numeral of the song's key."""
        return _numeral(self, figure)


@lru_cache(maxsize=4096)
def _numeral(numbering: Numbering, figure: Figure) -> Numeral:
    scale, options = numbering.scale, numbering.options
    text = figure.text
    plain = figure.bare and not figure.accidental
    if plain and figure.degree in (2, 3, 6) and options.bare == "major" and scale.mode == Mode.MAJOR:
        text = text.replace(str(figure.degree), f"{figure.degree}:maj", 1)
    if plain and figure.degree == 7 and options.seven == "flat" and scale.mode == Mode.MAJOR:
        text = "b" + text
    found = read_numeral(text, scale)
    if scale is numbering.key:
        return found
    up = scale.tonic.fifths - numbering.key.tonic.fifths
    root = Interval.from_fifths(found.root.fifths + up)
    bass = None if found.bass is None else Interval.from_fifths(found.bass.fifths + up)
    return replace(found, root=root, bass=bass, target=None)


def to_numeral(symbol: Symbol, shapes: Key, numbering: Numbering) -> Numeral | None:
    """A symbol as a numeral: names in the key of the shapes, figures in the sounding one; None is a
    rest."""
    if isinstance(symbol.what, Figure):
        return numbering.numeral(symbol.what)
    if not isinstance(symbol.what, Chord):
        return None
    chord = symbol.what
    if symbol.zero and numbering.options.zero == "dim":
        chord = replace(chord, quality=read_quality("°7"))
    return numeral_of(chord, shapes)
