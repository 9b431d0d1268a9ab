"""Words that are chord names: in letters, in German (and Czech) ones, in DO RE MI.

On top of what ``cards.theory.chords`` reads, a word may hold an optional chord ``(D)``, an alternative
``Dm(G)``, a bass alone ``/B``, a bass with a quality ``G/Dm``, a zero ``B07``, or several chords.
"""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache

from cards.charts.notation.symbols import Symbol, Word, decorated, is_rest, undecorated
from cards.theory.chords import Chord, ChordError, read_chord
from cards.theory.pitch import Note

_SYLLABLES = {"DO": "C", "UT": "C", "RE": "D", "RÉ": "D", "MI": "E", "FA": "F", "SOL": "G", "LA": "A", "SI": "B"}
_ROOT = r"(DO|RE|RÉ|MI|FA|SOL|LA|SI|Do|Re|Ré|Mi|Fa|Sol|La|Si)([#♯b♭]?)"
_SYLLABLE = re.compile(_ROOT)
_ITALIAN = re.compile(rf"{_ROOT}(?!o)([^/]*)(?:/(.*))?\Z", re.DOTALL)
_ZERO = re.compile(r"([A-H](?:[#♯b♭]|is|es|s)?)07?((?:/.+)?)\Z")
_BETWEEN = re.compile(r"->|[-–—,;>→&~]")
_NEXT_ROOT = re.compile(r"(?<=[^/(])(?=[A-H])")
_ALTERNATIVE = re.compile(r"([^(]+)\(([^()]+)\)\Z")
_GLUED_AT_MOST = 4


@lru_cache(maxsize=4096)
def read_name(text: str, names: str = "letters", slash: str = "bass") -> Word | None:
    """What a word says as chord names; None if it is none.

    >>> [str(symbol.what) for symbol in read_name("E/E7").symbols]
    ['E', 'E7']
    >>> [str(read_name(word, names).symbols[0].what) for word, names in (("Hm", "german"), ("SIb7+", "italian"))]
    ['Bm', 'B♭maj7']
    """
    plain = undecorated(text)
    core = plain.text
    if is_rest(core):
        return Word((plain,))
    if not core:
        return None
    one = _one(core, names, slash)
    if one is not None:
        return decorated(one, plain)
    parts = [part for part in _BETWEEN.split(core) if part]
    if len(parts) > 1:
        several = _several(parts, names, slash)
        return several and decorated(several, plain)
    pieces = _NEXT_ROOT.split(core)
    if 1 < len(pieces) <= _GLUED_AT_MOST and names != "italian":
        several = _several(pieces, names, slash)
        return several and decorated(replace(several, doubt="glued-names"), plain)
    return None


def _several(parts: list[str], names: str, slash: str) -> Word | None:
    """Chords that share one place, if every part is one."""
    found: list[Symbol] = []
    for part in parts:
        word = _one(part, names, slash)
        if word is None:
            return None
        found += word.symbols
    return Word(tuple(found), together=True)


def _one(core: str, names: str, slash: str) -> Word | None:
    """A single chord in any of its forms; two for ``E/E7``."""
    if core.startswith("/"):
        note = _note(core[1:], names)
        return None if note is None else Word((Symbol(core, note),))
    before, _, behind = core.rpartition("/")
    over = _over(before, behind, core, names, slash) if before and behind else None
    if over is not None:
        return over
    chord = _chord(core, names)
    if chord is not None:
        doubt = "small" if core[0].islower() and not chord.quality.is_minor and names == "german" else None
        return Word((Symbol(core, chord),), doubt=doubt, rewrite=core + "m" if doubt else None)
    zero = _ZERO.match(core)
    if zero:
        chord = _chord(f"{zero[1]}ø7{zero[2]}", names)
        return None if chord is None else Word((Symbol(core, chord, zero=True),), doubt="zero")
    either = _ALTERNATIVE.match(core)
    if either:
        taken, other = _chord(either[1], names), _chord(either[2], names)
        if taken and other:
            return Word((Symbol(core, taken),), doubt="alternative", rewrite=either[2])
    return None


def _over(before: str, behind: str, core: str, names: str, slash: str) -> Word | None:
    """Two names around a slash where that is not simply a chord over a bass note."""
    upper, lower = _chord(before, names), _chord(behind, names)
    if upper is None or lower is None:
        return None
    alone = _note(behind, names) is not None  # G/G has a bass, E/E7 are two chords.
    if slash == "half" or (upper.root == lower.root and not alone):
        return Word((Symbol(before, upper), Symbol(behind, lower)), together=True)
    if not alone:
        return Word((Symbol(core, replace(upper, bass=lower.root)),), doubt="bass-quality")
    return None


def _chord(text: str, names: str) -> Chord | None:
    try:
        if names == "italian":
            text = in_letters(text)
        return read_chord(text, german=names == "german")
    except ChordError:
        return None


def _note(text: str, names: str) -> Note | None:
    """A root alone."""
    chord = _chord(text, names)
    return chord.root if chord and chord == Chord(chord.root, read_chord("C").quality) else None


def in_letters(text: str) -> str:
    """An Italian or French chord name in letters; behind these ``7+`` is a major seventh.

    Raises ChordError.

    >>> in_letters("FA#m7/DO#"), in_letters("SOL-"), in_letters("RE7+")
    ('F#m7/C#', 'G-', 'Dmaj7')
    """
    match = _ITALIAN.match(text)
    if match is None:
        raise ChordError('no chord "{text}": write a name like DO, LAm or SIb7', text=text)
    root, accidental, suffix, bass = match.groups()
    name = _SYLLABLES[root.upper()] + accidental + suffix.replace("7+", "maj7").replace("+7", "maj7")
    if bass is None:
        return name
    low = _SYLLABLE.match(bass)
    return f"{name}/{_SYLLABLES[low[1].upper()] + low[2] + bass[low.end() :] if low else bass}"


@lru_cache(maxsize=4096)
def is_italian(text: str) -> bool:
    """Whether a word is a chord name in syllables."""
    core = undecorated(text).text
    return _ITALIAN.match(core) is not None and _one(core, "italian", "bass") is not None


@lru_cache(maxsize=4096)
def is_german(text: str) -> bool:
    """Whether a word is a chord name in German letters only: H, Es, Fis …"""
    core = undecorated(text).text
    return _one(core, "german", "bass") is not None and _one(core, "letters", "bass") is None
