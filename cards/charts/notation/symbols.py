"""Chords as they are written, not yet in a key.

A word of a chart holds one symbol, or several: ``1145`` and ``1-4-5`` are chords one after another,
``E/E7`` and ``D-Dsus`` share the place of one.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from cards.theory.chords import Chord
from cards.theory.pitch import Note


@dataclass(frozen=True)
class Figure:
    """A chord by number, as ``cards.theory.numerals.read_numeral`` reads it: ``b7``, ``2:m7``, ``V/vi``.

    ``bare`` is a plain figure whose chord is left to the key.
    """

    text: str
    degree: int
    accidental: str = ""
    roman: bool = False
    bare: bool = False
    minor: bool = False


@dataclass(frozen=True)
class Symbol:
    """One chord as written: by name, by number, a bass alone (a note), or a rest (None).

    ``ticks`` are beats marked behind it, as in ``1''``. ``zero`` marks a B07, which may be ° or ø.
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
    """What one word of a chart says. ``together``: its symbols share one bar.

    ``doubt`` names the guess that was made, ``rewrite`` is the word for the other reading.
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
    """The word without what stands around its chord, which becomes the marks of an empty symbol.

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
    """The word with the marks of an empty symbol on each of its chords."""
    if plain == Symbol(plain.text, None):
        return word
    symbols = tuple(
        replace(each, ticks=plain.ticks, pushed=plain.pushed, held=plain.held, optional=plain.optional)
        for each in word.symbols
    )
    return replace(word, symbols=symbols)


def is_rest(core: str) -> bool:
    """Whether a word says that nobody plays: ``N.C.``, ``NC``."""
    return _REST.match(core) is not None
