"""Splits a row of chords into marks: words, bar lines, beats, repeats and groups.

A row is a line of a grid or of a number chart, the chords above a line of words, or the text inside a bracket of
ChordPro. This module does not ask what a word means.
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
"""The longest run of chords without a space that is read, in characters."""

_SLASHES = re.compile(r"(?<=[^/])/+\Z")


def lex_row(text: str, line: int, column: int = 1) -> list[Mark]:
    """Return the marks of a row whose first character is at (line, column).

    >>> [mark.text for mark in lex_row("|: C  Am7 | (F G) :| x3", 1)]
    ['|:', 'C', 'Am7', '|', '(', 'F', 'G', ')', ':|', 'x3']
    """
    marks: list[Mark] = []
    for piece in _PIECE.finditer(text):
        place = Place(line, column + piece.start())
        if piece["bar"]:
            marks += _lex_bar_line(piece, place)
        elif piece["first"]:
            marks.append(Mark(Kind.ENDING, place, piece[0], int(piece["first"][1])))
        elif piece["times"]:
            counted = TIMES.match(piece[0])
            if counted:
                marks.append(Mark(Kind.TIMES, place, piece[0], times_of(counted)))
        else:
            marks += _lex_word(piece[0], place)
    return _resolve_dashes(_join_spaced_basses(marks))


def _lex_bar_line(piece: re.Match[str], place: Place) -> list[Mark]:
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


def _lex_word(text: str, place: Place) -> list[Mark]:
    """Return the marks of one word. Parentheses that also hold other words become marks of their own."""
    if len(text) > LONGEST_WORD:
        return [Mark(Kind.WORD, place, text[:LONGEST_WORD] + "…")]
    if text in _SAME:
        return [Mark(Kind.SAME, place, text)]
    if text in _SEPARATORS:
        return [Mark(Kind.BEAT, place, "-")] if text in _DASHES else []
    if _BEATS.match(text):
        return [] if len(text) > 2 and text[0] == "." else [Mark(Kind.BEAT, place, sign) for sign in text]
    if "(" not in text and ")" not in text:
        return _lex_joined(text, place)
    marks, start, end = [], 0, len(text)
    while start < end and text[start] == "(" and text.count("(", start, end) > text.count(")", start, end):
        marks.append(Mark(Kind.OPEN, _move_right(place, start), "("))
        start += 1
    closing = []
    while end > start and text[end - 1] == ")" and text.count(")", start, end) > text.count("(", start, end):
        end -= 1
        closing.append(Mark(Kind.CLOSE, _move_right(place, end), ")"))
    if start < end:
        marks += _lex_joined(text[start:end], _move_right(place, start))
    return marks + closing


def _lex_joined(text: str, place: Place) -> list[Mark]:
    """Return the marks of a word without loose parentheses. ``1_5`` is a group, slashes behind a chord are beats."""
    beats = []
    slashes = _SLASHES.search(text) if text.endswith("/") else None
    if slashes:
        beats = [Mark(Kind.BEAT, _move_right(place, at), "/") for at in range(*slashes.span())]
        text = text[: slashes.start()]
    if "_" not in text:
        return [Mark(Kind.WORD, place, text), *beats]
    words = [Mark(Kind.WORD, _move_right(place, part.start()), part[0]) for part in re.finditer(r"[^_]+", text)]
    if len(words) > 1:
        words = [Mark(Kind.OPEN, place, "("), *words, Mark(Kind.CLOSE, _move_right(place, len(text)), ")")]
    return words + beats


def _move_right(place: Place, columns: int) -> Place:
    return place if not columns else Place(place.line, place.column + columns)


_ROOT = re.compile(r"[A-H](?:[#♯b♭]|is|es|s)?\Z|(?:DO|RE|MI|FA|SOL|LA|SI)[#♯b♭]?\Z")


def _join_spaced_basses(marks: list[Mark]) -> list[Mark]:
    """Join ``D / F#`` into one word, unless the slashes of this row are beats."""
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


def _resolve_dashes(marks: list[Mark]) -> list[Mark]:
    """Turn a dash alone between bar lines into a repeat of the bar before. Drop any other dash, which only
    separates."""
    kept = []
    for at, mark in enumerate(marks):
        if mark.kind != Kind.BEAT or mark.text != "-":
            kept.append(mark)
            continue
        around = [*marks[at - 1 : at], *marks[at + 1 : at + 2]] if at else []
        if len(around) == 2 and all(neighbour.kind == Kind.BAR for neighbour in around):
            kept.append(Mark(Kind.SAME, mark.place, "-"))
    return kept
