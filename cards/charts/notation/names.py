"""Reads words that are chord names: in letters, in German (and Czech) letters, or in DO RE MI.

``cards.theory.chords`` reads single names. Besides these, a word may hold an optional chord ``(D)``, an alternative
``Dm(G)``, a bass alone ``/B``, a bass with a quality ``G/Dm``, a zero ``B07``, or several chords.
"""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache

from cards.charts.notation.symbols import Symbol, Word, decorated, is_rest, undecorated
from cards.messages import echo
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
    """Read a word as chord names. Return None if it is none.

    ``names`` and ``slash`` have the values of :class:`cards.charts.chart.Options`.

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
    single = _read_one(core, names, slash)
    if single is not None:
        return decorated(single, plain)
    parts = [part for part in _BETWEEN.split(core) if part]
    if len(parts) > 1:
        several = _read_several(parts, names, slash)
        return several and decorated(several, plain)
    glued_names = _NEXT_ROOT.split(core)
    if 1 < len(glued_names) <= _GLUED_AT_MOST and names != "italian":
        several = _read_several(glued_names, names, slash)
        return several and decorated(replace(several, doubt="glued-names"), plain)
    return None


def _read_several(parts: list[str], names: str, slash: str) -> Word | None:
    """Read chords that share one place. Return None unless every part is a chord."""
    symbols: list[Symbol] = []
    for part in parts:
        word = _read_one(part, names, slash)
        if word is None:
            return None
        symbols += word.symbols
    return Word(tuple(symbols), together=True)


def _read_one(core: str, names: str, slash: str) -> Word | None:
    """Read a single chord in any of its forms, or the two chords of ``E/E7``. Return None if it is no chord."""
    if core.startswith("/"):
        note = _read_note(core[1:], names)
        return None if note is None else Word((Symbol(core, note),))
    before, _, behind = core.rpartition("/")
    slashed = _read_slashed(before, behind, core, names, slash) if before and behind else None
    if slashed is not None:
        return slashed
    chord = _read_chord(core, names)
    if chord is not None:
        doubt = "small" if core[0].islower() and not chord.quality.is_minor and names == "german" else None
        return Word((Symbol(core, chord),), doubt=doubt, rewrite=core + "m" if doubt else None)
    zero = _ZERO.match(core)
    if zero:
        chord = _read_chord(f"{zero[1]}ø7{zero[2]}", names)
        return None if chord is None else Word((Symbol(core, chord, zero=True),), doubt="zero")
    either = _ALTERNATIVE.match(core)
    if either:
        taken, other = _read_chord(either[1], names), _read_chord(either[2], names)
        if taken and other:
            return Word((Symbol(core, taken),), doubt="alternative", rewrite=either[2])
    return None


def _read_slashed(before: str, behind: str, core: str, names: str, slash: str) -> Word | None:
    """Read two names around a slash. Return None if they are simply a chord over a bass note."""
    upper, lower = _read_chord(before, names), _read_chord(behind, names)
    if upper is None or lower is None:
        return None
    is_note = _read_note(behind, names) is not None  # G/G has a bass, E/E7 are two chords.
    if slash == "half" or (upper.root == lower.root and not is_note):
        return Word((Symbol(before, upper), Symbol(behind, lower)), together=True)
    if not is_note:
        return Word((Symbol(core, replace(upper, bass=lower.root)),), doubt="bass-quality")
    return None


def _read_chord(text: str, names: str) -> Chord | None:
    try:
        if names == "italian":
            text = in_letters(text)
        return read_chord(text, german=names == "german")
    except ChordError:
        return None


def _read_note(text: str, names: str) -> Note | None:
    """Read a note name. Return None if it is none, or if a quality follows it."""
    chord = _read_chord(text, names)
    return chord.root if chord and chord == Chord(chord.root, read_chord("C").quality) else None


def in_letters(text: str) -> str:
    """Turn an Italian or French chord name into letters. In such names ``7+`` is a major seventh.

    Raises ChordError for a text that is no such name.

    >>> in_letters("FA#m7/DO#"), in_letters("SOL-"), in_letters("RE7+")
    ('F#m7/C#', 'G-', 'Dmaj7')
    """
    match = _ITALIAN.match(text)
    if match is None:
        raise ChordError('no chord "{text}": write a name like DO, LAm or SIb7', text=echo(text))
    root, accidental, suffix, bass = match.groups()
    name = _SYLLABLES[root.upper()] + accidental + suffix.replace("7+", "maj7").replace("+7", "maj7")
    if bass is None:
        return name
    low = _SYLLABLE.match(bass)
    return f"{name}/{_SYLLABLES[low[1].upper()] + low[2] + bass[low.end() :] if low else bass}"


@lru_cache(maxsize=4096)
def is_italian(text: str) -> bool:
    """Return whether a word is a chord name in syllables (DO RE MI)."""
    core = undecorated(text).text
    return _ITALIAN.match(core) is not None and _read_one(core, "italian", "bass") is not None


@lru_cache(maxsize=4096)
def is_german(text: str) -> bool:
    """Return whether a word is a chord name only in German letters, such as H, Es or Fis."""
    core = undecorated(text).text
    return _read_one(core, "german", "bass") is not None and _read_one(core, "letters", "bass") is None
