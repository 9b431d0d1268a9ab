"""Chords as they are written, before the key is known.

A word of a chart holds one symbol or several. The chords of ``1145`` and ``1-4-5`` come one after another; those of
``E/E7`` and ``D-Dsus`` share the place of one chord.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from cards.theory.chords import Chord
from cards.theory.pitch import Note


@dataclass(frozen=True)
class Figure:
    """A chord by number. ``text`` is in the spelling that ``cards.theory.numerals.read_numeral`` reads: ``b7``,
    ``2:m7``, ``V/vi``.

    A ``bare`` figure has no quality of its own; the key gives it one. ``roman`` marks a Roman numeral, ``minor`` a
    figure that is written as minor.
    """

    text: str
    degree: int
    accidental: str = ""
    roman: bool = False
    bare: bool = False
    minor: bool = False


@dataclass(frozen=True)
class Symbol:
    """One chord as it is written.

    ``what`` is a chord by name, a figure by number, a note if only a bass is written, or None for a rest. ``ticks`` is
    the number of beats marked behind the chord, as in ``1''``. ``zero`` marks a name like B07, which can mean ° or ø.
    """

    text: str
    what: Chord | Figure | Note | None
    ticks: int = 0
    pushed: bool = False
    held: bool = False
    optional: bool = False
    zero: bool = False


@dataclass(frozen=True)
class Word:
    """The symbols of one word of a chart.

    ``together`` is True if they share one bar. ``doubt`` names the guess that was made in reading the word, and
    ``rewrite`` is the word for the other reading.
    """

    symbols: tuple[Symbol, ...]
    together: bool = False
    doubt: str | None = None
    rewrite: str | None = None


_HELD = "◇◊⬦♢⋄"
_TICKS = re.compile(r"['’′]+\Z")
_PUNCTUATION = '*.,;:!?~"“”„`'
_REST = re.compile(r"n\.?\s?/?c\.?\Z|no ?chord\Z|tacet\Z", re.IGNORECASE)


def undecorated(text: str) -> Symbol:
    """Strip a word of the signs around its chord.

    Return a symbol whose ``text`` is the chord, still unread, and whose other fields hold the signs.

    >>> undecorated("<4''").text, undecorated("<4''").pushed, undecorated("<4''").ticks
    ('4', True, 2)
    >>> undecorated("(D)").optional, undecorated("◇1").held, undecorated("G7(b9)").text
    (True, True, 'G7(b9)')
    """
    plain = Symbol(text, None)
    if text.isalnum():
        return plain
    core = text.strip(_PUNCTUATION)
    ticks = _TICKS.search(core)
    if ticks:
        plain = replace(plain, ticks=len(ticks[0]))
        core = core[: ticks.start()]
    if core[:1] in _HELD or core[-1:] in _HELD:
        plain = replace(plain, held=True)
        core = core.strip(_HELD)
    if core.startswith("<"):
        held = core.endswith(">")
        plain = replace(plain, held=plain.held or held, pushed=not held)
        core = core.strip("<>")
    if core.startswith("(") and core.endswith(")") and core.count("(") == 1:
        plain = replace(plain, optional=True)
        core = core[1:-1].strip(_PUNCTUATION)
    return replace(plain, text=core)


def decorated(word: Word, plain: Symbol) -> Word:
    """Return the word with the signs of ``plain``, a result of :func:`undecorated`, on each of its chords."""
    if plain == Symbol(plain.text, None):
        return word
    symbols = tuple(
        replace(symbol, ticks=plain.ticks, pushed=plain.pushed, held=plain.held, optional=plain.optional)
        for symbol in word.symbols
    )
    return replace(word, symbols=symbols)


def is_rest(core: str) -> bool:
    """Return whether a word means a rest: ``N.C.``, ``NC``, ``no chord`` or ``tacet``."""
    return _REST.match(core) is not None
