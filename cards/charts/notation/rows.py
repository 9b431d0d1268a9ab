"""A row of chords to marks: words, bar lines, beats, repeats, groups.

The same for a line of a grid, of a number chart, for the chords above a line of words, and for what
stands inside a bracket of ChordPro. What a word means is not asked here.
"""

from __future__ import annotations

import re

from cards.charts.chart import Place
from cards.charts.notation.marks import Kind, Mark
from cards.charts.notation.sections import TIMES, times_of

_PIECE = re.compile(
    r"(?P<bar>:?[|‖│¦]+:?\]?|:(?=\s*\Z))(?P<ending>\s?\[?[1-9](?:[.)]|st|nd|rd)(?=[\s|\]]|\Z))?"
    r"|(?P<first>\[[1-9]\.)"
    r"|(?P<times>\(\s*(?:[x×]\s?\d{1,2}|\d{1,2}\s?[x×])\s*\)|[x×]\s?\d{1,2}(?!\S)|\d{1,2}\s?[x×](?!\S))"
    r"|(?P<word>N\.\s?C\.?|[^\s|‖│¦]+)",
    re.IGNORECASE,
)
_BEATS = re.compile(r"[/.]+\Z")
_SAME = frozenset(("%", "𝄎", "''", '"', "”", "“"))
_DASHES = "-–—"
_SEPARATORS = frozenset((*_DASHES, ",", ";", ">", "->", "→", "=>", "~", "&", "+", "…", "*", "•"))
LONGEST_WORD = 120
"""Characters of the longest run of chords without a space that is still read."""

_SLASHES = re.compile(r"(?<=[^/])/+\Z")


def lex_row(text: str, line: int, column: int = 1) -> list[Mark]:
    """The marks of a row whose first character stands at (line, column).

    >>> [mark.text for mark in lex_row("|: C  Am7 | (F G) :| x3", 1)]
    ['|:', 'C', 'Am7', '|', '(', 'F', 'G', ')', ':|', 'x3']
    """
    marks: list[Mark] = []
    for piece in _PIECE.finditer(text):
        place = Place(line, column + piece.start())
        if piece["bar"]:
            marks += _bar_line(piece, place)
        elif piece["first"]:
            marks.append(Mark(Kind.ENDING, place, piece[0], int(piece["first"][1])))
        elif piece["times"]:
            counted = TIMES.match(piece[0])
            if counted:
                marks.append(Mark(Kind.TIMES, place, piece[0], times_of(counted)))
        else:
            marks += _word(piece[0], place)
    return _held(_with_spaced_basses(marks))


def _bar_line(piece: re.Match[str], place: Place) -> list[Mark]:
    bar = piece["bar"]
    marks = []
    if bar == ":":
        bar = ":|"
    if bar.startswith(":"):
        marks.append(Mark(Kind.REPEAT, place, bar))
    if bar.endswith(":") and len(bar) > 1:
        marks.append(Mark(Kind.REPEAT_FROM, place, bar))
    if not marks:
        marks.append(Mark(Kind.BAR, place, bar))
    if piece["ending"]:
        number = int(re.sub(r"\D", "", piece["ending"]))
        marks.append(Mark(Kind.ENDING, place, piece["ending"].strip(), number))
    return marks


def _word(text: str, place: Place) -> list[Mark]:
    """One word, with the parentheses that it opens or closes for others taken off."""
    if len(text) > LONGEST_WORD:
        return [Mark(Kind.WORD, place, text[:LONGEST_WORD] + "…")]
    if text in _SAME:
        return [Mark(Kind.SAME, place, text)]
    if text in _SEPARATORS:
        return [Mark(Kind.BEAT, place, "-")] if text in _DASHES else []
    if _BEATS.match(text):
        return [] if len(text) > 2 and text[0] == "." else [Mark(Kind.BEAT, place, each) for each in text]
    if "(" not in text and ")" not in text:
        return _joined(text, place)
    marks, start, end = [], 0, len(text)
    while start < end and text[start] == "(" and text.count("(", start, end) > text.count(")", start, end):
        marks.append(Mark(Kind.OPEN, _right(place, start), "("))
        start += 1
    closing = []
    while end > start and text[end - 1] == ")" and text.count(")", start, end) > text.count("(", start, end):
        end -= 1
        closing.append(Mark(Kind.CLOSE, _right(place, end), ")"))
    if start < end:
        marks += _joined(text[start:end], _right(place, start))
    return marks + closing


def _joined(text: str, place: Place) -> list[Mark]:
    """A word; ``1_5`` and ``(1 5)`` are groups, slashes behind a chord are beats."""
    beats = []
    slashes = _SLASHES.search(text) if text.endswith("/") else None
    if slashes:
        beats = [Mark(Kind.BEAT, _right(place, at), "/") for at in range(*slashes.span())]
        text = text[: slashes.start()]
    if "_" not in text:
        return [Mark(Kind.WORD, place, text), *beats]
    words = [Mark(Kind.WORD, _right(place, part.start()), part[0]) for part in re.finditer(r"[^_]+", text)]
    if len(words) > 1:
        words = [Mark(Kind.OPEN, place, "("), *words, Mark(Kind.CLOSE, _right(place, len(text)), ")")]
    return words + beats


def _right(place: Place, columns: int) -> Place:
    return place if not columns else Place(place.line, place.column + columns)


_ROOT = re.compile(r"[A-H](?:[#♯b♭]|is|es|s)?\Z|(?:DO|RE|MI|FA|SOL|LA|SI)[#♯b♭]?\Z")


def _with_spaced_basses(marks: list[Mark]) -> list[Mark]:
    """``D / F#`` as one word, unless slashes are beats in this row."""
    beats = {at for at, mark in enumerate(marks) if mark.kind == Kind.BEAT and mark.text == "/"}
    if not beats or any(mark.kind == Kind.BAR for mark in marks):
        return marks
    for at in beats:
        around = marks[at - 1 : at] + marks[at + 1 : at + 2]
        if len(around) < 2 or any(mark.kind != Kind.WORD for mark in around) or not _ROOT.match(around[1].text):
            return marks
        if at + 2 in beats or around[0].text[:1].isdigit():
            return marks
    joined: list[Mark] = []
    for at, mark in enumerate(marks):
        if at in beats:
            joined[-1] = Mark(Kind.WORD, joined[-1].place, f"{joined[-1].text}/{marks[at + 1].text}")
        elif at - 1 not in beats:
            joined.append(mark)
    return joined


def _held(marks: list[Mark]) -> list[Mark]:
    """A dash alone between bar lines holds the bar before; any other dash only separates."""
    kept = []
    for at, mark in enumerate(marks):
        if mark.kind != Kind.BEAT or mark.text != "-":
            kept.append(mark)
            continue
        around = [*marks[at - 1 : at], *marks[at + 1 : at + 2]] if at else []
        if len(around) == 2 and all(each.kind == Kind.BAR for each in around):
            kept.append(Mark(Kind.SAME, mark.place, "-"))
    return kept
