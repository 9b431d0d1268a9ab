"""Reads words that are numbers or Roman numerals.

A hyphen directly before a figure separates two chords. Before 7, 9, 11, ``maj`` or the end of the word it means
minor. A 7 or 9 directly behind a digit is an extension; any other digit there is a chord of its own.
"""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache

from cards.charts.notation.symbols import Figure, Symbol, Word, decorated, is_rest, undecorated
from cards.theory.keys import ROMANS, Key, KeyNameError
from cards.theory.numerals import BASS, TARGET, Numeral, read_numeral
from cards.theory.pitch import Interval

_ACCIDENTAL = r"(?P<accidental>[b♭#♯]?)"
_MINOR = r"(?:-(?=maj|M|ma|Δ|\^|7|9|11(?!\d)|13|[/()ø°o+]|\Z)|m(?!aj|a7)(?:i(?:n(?:or)?)?)?)"
_TAIL = (
    r"(?:maj|Maj|M|ma|Δ|\^|sus2sus4|sus[24]?|dim|°|o|ø|\+|aug|add(?:[b#♭♯]?(?:9|11|13)|[246])|no[35]|alt"
    r"|\([^()\s]*\))"
)
_DIGITS = r"(?:7|9)"
_LATER = rf"(?:{_TAIL}|7|9|11|13|6/9|[b♭#♯-](?:5|9|11|13)(?!\d))"
_NOTE = r"[A-G][b♭#♯]?(?![a-zA-Z\d])"
_CELL = re.compile(
    rf"{_ACCIDENTAL}(?P<degree>[1-7])"
    rf"(?P<suffix>:[^\s/]*|{_MINOR}{_LATER}*|{_TAIL}{_LATER}*|{_DIGITS}{_LATER}*|)"
    rf"(?P<bass>/(?:[b♭#♯]?[1-7](?!\d)|{_NOTE}))?"
)
_FIGURES = "VII|VI|IV|V|III|II|I|vii|vi|iv|v|iii|ii|i"
_ROMAN = re.compile(
    rf"{_ACCIDENTAL}(?P<degree>{_FIGURES})"
    rf"(?P<suffix>:[^\s/]*|(?:{_MINOR}|)(?:{_LATER}|[2456])*)"
    rf"(?P<bass>/(?:[b♭#♯]?(?:{_FIGURES}|[1-7])(?![a-zA-Z\d])|{_NOTE}))?"
)
_ANY_KEY = Key.read("C")
_SEPARATOR = re.compile(r"[-–—]|->|→|,")


@lru_cache(maxsize=4096)
def read_figures(text: str, glued: str = "extension") -> Word | None:
    """Read a word as numbers or Roman numerals. Return None if it is none.

    ``glued`` has the values of :class:`cards.charts.chart.Options`.

    >>> [symbol.what.text for symbol in read_figures("1-4-5").symbols]
    ['1', '4', '5']
    >>> [symbol.what.text for word in ("2-7", "1145", "V7/ii") for symbol in read_figures(word).symbols]
    ['2:-7', '1', '1', '4', '5', 'V:7/ii']
    """
    plain = undecorated(text)
    if is_rest(plain.text):
        return Word((plain,))
    cells = _read_cells(plain.text, _ROMAN, glued) or _read_cells(plain.text, _CELL, glued)
    if cells is None:
        return None
    figures = tuple(symbol.what for symbol in cells if isinstance(symbol.what, Figure))
    if not all(map(_is_chord, figures)):
        return None
    together = plain.optional and len(cells) > 1
    if together:  # (1-5) is a bar of two chords, (5) is an optional chord.
        plain = replace(plain, optional=False)
    return decorated(Word(tuple(cells), together, *_find_doubt(plain.text, figures)), plain)


def _read_cells(text: str, pattern: re.Pattern[str], glued: str) -> list[Symbol] | None:
    """Read the figures of a word, one after another. Return None unless the whole word is read."""
    figures: list[Symbol] = []
    at = 0
    while at < len(text):
        separator = _SEPARATOR.match(text, at) if figures else None
        if separator:
            at = separator.end()
        elif figures and pattern is _ROMAN:
            return None
        match = pattern.match(text, at)
        if match is None or (pattern is _ROMAN and text[match.end() : match.end() + 1].isalpha()):
            return None
        end = match.end()
        if pattern is _CELL and _starts_a_chord(match, bool(figures), glued):
            end = match.end("degree")
            match = pattern.match(text[:end], at)
            assert match is not None
        figures.append(_make_symbol(match))
        at = end
    return figures or None


def _starts_a_chord(match: re.Match[str], run: bool, glued: str) -> bool:
    """Return whether the 7 behind a digit is a chord of its own.

    It is one behind another 7, and in a run of chords if ``glued`` is ``chord``.
    """
    return match["suffix"] == "7" and not match["bass"] and (match["degree"] == "7" or (run and glued == "chord"))


def _make_symbol(match: re.Match[str]) -> Symbol:
    """Return one figure, in the spelling that ``read_numeral`` reads."""
    degree, suffix, bass = match["degree"], match["suffix"].lstrip(":"), match["bass"] or ""
    roman = not degree.isdigit()
    number = ROMANS.index(degree.upper()) + 1 if roman else int(degree)
    minor = suffix.startswith("-") or re.match(r"m(?!aj|a)", suffix) is not None or (roman and degree.islower())
    text = match["accidental"] + degree + (f":{suffix}" if suffix else "") + bass
    figure = Figure(text, number, match["accidental"], roman, not suffix and not roman, minor)
    return Symbol(match[0], figure)


def _is_chord(figure: Figure) -> bool:
    try:
        read_numeral(figure.text, _ANY_KEY)
    except KeyNameError:
        return False
    return True


def _find_doubt(text: str, figures: tuple[Figure, ...]) -> tuple[str | None, str | None]:
    """Return (name of the guess made in a word, word for the other reading), or None for either."""
    if re.match(r"[1-7]-[1-6]\Z", text):
        return "pair", f"{text[0]}:m{text[2]}"
    if len(figures) > 1 and re.search(r"[1-6]7\Z", text):
        return "glued", None
    if len(figures) > 1 and re.search(r"[1-6]-7\Z", text):
        return "minor-seven", text.replace("-", " ")
    if len(figures) == 2 and re.search(r"[1-7]m6\Z", text):
        return "minor-six", f"{text[:-2]}:m6"
    if len(figures) == 1:
        return _over(text, figures[0])
    return None, None


def _over(text: str, figure: Figure) -> tuple[str | None, str | None]:
    """Whether a numeral behind a slash was taken as a target or as a bass. A target's rewriting has the degree as
    a digit, which is a bass; that of a bass depends on the key and is found when the guess is told."""
    before, _, behind = text.rpartition("/")
    if not before or behind.lstrip("b♭#♯").upper() not in ROMANS:
        return None, None
    if read_numeral(figure.text, _ANY_KEY).target is None:
        return "over", None
    if read_numeral(figure.text, _ANY_KEY, BASS).bass is None:  # V/V: its own root in the bass
        return "target", before
    accidental = behind[: len(behind) - len(behind.lstrip("b♭#♯"))]
    return "target", f"{before}/{accidental}{ROMANS.index(behind[len(accidental) :].upper()) + 1}"


def leading_there(figure: Figure, scale: Key) -> str:
    """The word for a figure whose degree behind the slash is its target, for a chart counted in ``scale``.

    >>> word = read_figures("IV/V")
    >>> leading_there(word.symbols[0].what, Key.read("C"))
    'I'
    """
    return str(replace(read_numeral(figure.text, scale, TARGET), target=None))


def number_name(numeral: Numeral, key: Key, minor_from: str | None = "relative") -> str:
    """Write a numeral as number charts do.

    In a minor key it counts from the relative major, or from the tonic if ``minor_from`` is ``tonic``. Read again in
    the same key with ``bare="major"``, it is the same chord.

    >>> from cards.theory.numerals import read_numeral
    >>> key = Key.read("G")
    >>> [number_name(read_numeral(text, key), key) for text in ("vi", "V7", "bVII", "4/5", "1:6", "ii7")]
    ['6-', '57', '♭7', '4/5', '1:6', '2-7']
    """
    from_relative = key.is_minor and minor_from != "tonic"
    up = key.tonic.fifths - key.relative.tonic.fifths if from_relative else 0
    root = Interval.from_fifths(numeral.root.fifths + up)
    suffix = numeral.quality.suffix
    if suffix in ("m", "m7", "m9", "m7♭5"):
        suffix = "-" + suffix[1:]
    elif suffix not in ("", "7", "maj7", "°", "+", "sus4", "sus2") or (root.number == 7 and suffix == "7"):
        suffix = ":" + suffix
    elif not suffix and root in (Interval(7), Interval(4, 1)):
        suffix = ":maj"
    bass = "" if numeral.bass is None else f"/{_print_figure(Interval.from_fifths(numeral.bass.fifths + up))}"
    return _print_figure(root) + suffix + bass


def _print_figure(interval: Interval) -> str:
    return "1" if interval == Interval(1) else str(interval)
