"""A progression on one line: numbers or numerals, as a player types them.

Conventions. Spaces, commas, bar lines and dashes between figures separate chords, as in a chart
(:mod:`cards.charts.notation.numbers`): ``1-5-6-4`` and ``1,5,6-,4`` are four chords, ``2-7`` is one.
A bare number is the
key's own chord.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from cards.charts.chart import Options, Place
from cards.charts.notation.numbers import read_figures
from cards.charts.notation.symbols import Figure
from cards.charts.reading.guessing import word_guess
from cards.messages import Message
from cards.theory.keys import Key, KeyNameError
from cards.theory.numerals import Numeral, borrowed_reading, read_numeral, slash_reading

_BETWEEN = re.compile(r"[\s|,]+")
_ONLY_DASHES = re.compile(r"(?:[-–—→>]+)\Z")


@dataclass(frozen=True)
class Progression:
    """Chords in order, and what was taken for what where there was a choice."""

    numerals: tuple[Numeral, ...]
    taken: tuple[Message, ...]


def read_progression(text: str, key: Key, slash: str | None = None) -> Progression:
    """Read a progression in a key.

    ``slash`` says what a Roman numeral behind a slash is (:func:`cards.theory.numerals.read_numeral`). Raises
    KeyNameError naming the first word that is no chord.

    >>> [str(each) for each in read_progression("1-5-6-4", Key.read("C")).numerals]
    ['I', 'V', 'vi', 'IV']
    """
    numerals: list[Numeral] = []
    taken: list[Message | None] = []
    for word in _BETWEEN.split(text):
        if not word or _ONLY_DASHES.match(word):
            continue
        figures, said = _figures(word, key)
        numerals += [read_numeral(figure, key, slash) for figure in figures]
        taken.append(said)
        for figure in figures:
            taken += [slash_reading(figure, key, slash), borrowed_reading(figure, key)]
    return Progression(tuple(numerals), tuple(dict.fromkeys(said for said in taken if said is not None)))


def _figures(text: str, key: Key) -> tuple[list[str], Message | None]:
    """The figures that one word holds, and the guess that was made in dividing it."""
    word = read_figures(text)
    symbols = word.symbols if word is not None else ()
    figures = [symbol.what.text for symbol in symbols if isinstance(symbol.what, Figure)]
    if word is None or len(figures) < len(symbols):
        return [text], None
    if len(figures) > 1:
        guess = word_guess(word, text, Place(1, 1), Options(glued="extension"), key)
        return figures, None if guess is None else guess.message
    try:
        read_numeral(text, key)
    except KeyNameError:
        return figures, None
    return [text], None
