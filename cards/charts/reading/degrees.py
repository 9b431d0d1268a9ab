"""Turns symbols into numerals once the key is known."""

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
    """Return the numeral of a chord in a key, as players name it. The spelling of the chord does not matter.

    >>> from cards.theory.chords import read_chord
    >>> [str(numeral_of(read_chord(name), Key.read("C"))) for name in ("A#", "C#dim", "D/F#", "Gb")]
    ['♭VII', '♯i°', 'II/♯4', '♭V']
    """
    is_passing = DIM_FIFTH in chord.quality.tones and chord.quality.third != MAJOR_THIRD
    root = _usual_degree(chord.root.fifths - key.tonic.fifths, is_passing)
    bass = None if chord.bass is None else _usual_degree(chord.bass.fifths - key.tonic.fifths, True)
    return Numeral(root, chord.quality, bass)


def _usual_degree(fifths: int, sharp: bool) -> Interval:
    """Return the degree that is ``fifths`` places above the tonic on the line of fifths.

    ``sharp`` says that the tone leads upwards, and so keeps ♯1, ♯2 and ♯5. Any other unusual spelling becomes the usual
    degree that sounds the same.
    """
    written = Interval.from_fifths(fifths)
    if not written.alteration or written in _FLATTENED or (written in _SHARPENED and (sharp or written.number == 4)):
        return written
    return Interval.from_fifths(next(usual for usual in _USUAL_FIFTHS if (usual - fifths) % 12 == 0))


@dataclass(frozen=True)
class Numbering:
    """How the figures of a song are read: its sounding key and its options."""

    key: Key
    options: Options

    @property
    def scale(self) -> Key:
        """The key in which the figures count."""
        relative = self.key.is_minor and self.options.minor_from != "tonic"
        return self.key.relative if relative else self.key

    def numeral(self, figure: Figure) -> Numeral:
        """Return a figure as a numeral of the song's key."""
        return _read_figure(self, figure)


@lru_cache(maxsize=4096)
def _read_figure(numbering: Numbering, figure: Figure) -> Numeral:
    scale, options = numbering.scale, numbering.options
    text = figure.text
    is_plain = figure.bare and not figure.accidental
    if is_plain and figure.degree in (2, 3, 6) and options.bare == "major" and scale.mode == Mode.MAJOR:
        text = text.replace(str(figure.degree), f"{figure.degree}:maj", 1)
    if is_plain and figure.degree == 7 and options.seven == "flat" and scale.mode == Mode.MAJOR:
        text = "b" + text
    numeral = read_numeral(text, scale)
    if scale is numbering.key:
        return numeral
    up = scale.tonic.fifths - numbering.key.tonic.fifths
    root = Interval.from_fifths(numeral.root.fifths + up)
    bass = None if numeral.bass is None else Interval.from_fifths(numeral.bass.fifths + up)
    return replace(numeral, root=root, bass=bass, target=None)


def to_numeral(symbol: Symbol, shapes: Key, numbering: Numbering) -> Numeral | None:
    """Return a symbol as a numeral, or None for a rest.

    A chord name counts in ``shapes``, the key of the shapes. A figure counts in the sounding key.
    """
    if isinstance(symbol.what, Figure):
        return numbering.numeral(symbol.what)
    if not isinstance(symbol.what, Chord):
        return None
    chord = symbol.what
    if symbol.zero and numbering.options.zero == "dim":
        chord = replace(chord, quality=read_quality("°7"))
    return numeral_of(chord, shapes)
