"""Reads ChordPro: chords in square brackets among words, directives in braces.

Words are skipped. Real files have unbalanced brackets, contain grids and plain headings, and put other things than
chords in brackets. The reader takes from all of this what makes sense.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from cards.charts.chart import Place
from cards.charts.notation.above_words import NAMES, NUMBERS, judge, kinds
from cards.charts.notation.drafts import Draft
from cards.charts.notation.marks import Kind, Mark
from cards.charts.notation.rows import lex_row
from cards.charts.notation.sections import TIMES, section_name, times_of

_OPENING = re.compile(r"[\[{]")
_DIRECTIVE = re.compile(r"\s*([A-Za-z_]+)(?:-[A-Za-z_!]+)?\s*(?::|\s|\Z)\s*(.*)\Z", re.DOTALL)
_SHORT = {"soc": "chorus", "sov": "verse", "sob": "bridge", "sot": "tab", "sog": "grid"}
_LONG_START, _LONG_END = "start_of_", "end_of_"
_SILENT = frozenset({"tab", "abc", "ly", "svg", "textblock", "musicxml"})
_COMMENTS = frozenset({"comment", "c", "comment_italic", "ci", "comment_box", "cb", "highlight"})
_HEAD = frozenset({"title", "t", "key", "capo", "tempo", "time", "bpm", "feel"})
_KNOWN = (
    _HEAD
    | _COMMENTS
    | frozenset(_SHORT)
    | {"subtitle", "st", "artist", "meta", "chorus", "transpose", "define", "columns", "new_song", "ns"}
    | {"eoc", "eov", "eob", "eot", "eog"}
)
_LABEL = re.compile(r"label\s*=\s*[\"'“”]?([^\"'“”]*)")
_FRETS = re.compile(r"(?:[xX]|\d{1,2})(?:[ -]?(?:[xX]|\d{1,2})){3,6}\Z")
_LINK = re.compile(r"\((?:https?:|www\.|#|/|mailto:|[^()\s]*\.(?:md|html?|com|org|net)\b)")


def is_directive(line: str) -> bool:
    """Return whether a line begins with a directive of ChordPro."""
    match = re.match(r"\s*\{\s*([A-Za-z_]+)", line)
    return match is not None and (match[1].lower() in _KNOWN or match[1].lower().startswith((_LONG_START, _LONG_END)))


def brackets(line: str) -> Iterator[re.Match[str]]:
    """Find the square brackets of a line. Group 1 of each match is the text between them."""
    return re.finditer(r"\[([^\[\]{}]+)[\]}]", line)


class ChordProReader:
    """Reads the lines of one song into a draft."""

    def __init__(self) -> None:
        self.draft = Draft()
        self._environment = ""
        self._line = 0
        self._numbered = False

    def read(self, lines: list[tuple[int, str]]) -> Draft:
        """Read the song into marks. ``lines`` are (line number from 1, text)."""
        for self._line, text in lines:
            if text.lstrip().startswith("#"):
                continue
            if self._environment in _SILENT:
                self._skip_silent(text)
            elif self._environment == "grid" and not is_directive(text):
                self.draft.add_row(text, self._line)
            else:
                self._read_line(text)
            self.draft.end_line(self._line)
        words = [mark.text for mark in self.draft.marks if mark.kind == Kind.WORD]
        if self._numbered and any(kinds(word) == {NAMES} for word in words):
            self.draft.notation = NAMES  # Rows of numbers in a song with chord names are listed as unread.
        return self.draft

    def _skip_silent(self, text: str) -> None:
        """Skip a line inside an environment without chords, such as a tablature, unless it is a directive."""
        if is_directive(text):
            self._read_line(text)

    def _read_line(self, text: str) -> None:
        """Read a line of words, chords and directives."""
        at, has_chords = 0, False
        opening = _OPENING.search(text)
        if opening is None:
            self._read_plain(text)
            return
        self._read_heading(text[: opening.start()])
        while opening:
            start = opening.start()
            if text[start] == "{":
                end = text.find("}", start)
                at = len(text) if end < 0 else end + 1
                self._read_directive(text[start + 1 : at if end < 0 else end], Place(self._line, start + 1))
            else:
                at, holds_chords = self._read_bracket(text, start)
                has_chords |= holds_chords
            opening = _OPENING.search(text, at)
        if has_chords:
            self.draft.add_times_at_end(text, self._line, at)

    def _read_heading(self, before: str) -> None:
        """Read the name of a section before the first bracket, such as ``Intro:``."""
        named = section_name(before) if before.strip() else None
        if named:
            self.draft.begin_section(named[0], Place(self._line, 1), named[1])

    def _read_plain(self, text: str) -> None:
        """Read a line without brackets: a heading, a row of chords, or words, which are skipped."""
        named = section_name(text) if text.strip() else None
        if named:
            self.draft.begin_section(named[0], Place(self._line, 1), named[1])
        elif judge(text, sure_only=True):
            self.draft.add_row(text, self._line)
        elif judge(text, NUMBERS, sure_only=True):
            self._numbered = True
            self.draft.add_row(text, self._line)

    def _read_bracket(self, text: str, start: int) -> tuple[int, bool]:
        """Read the bracket at ``start``. Return (index behind it, whether it holds chords)."""
        end = next((at for at in range(start + 1, len(text)) if text[at] in "]}[{"), len(text))
        content, closed = text[start + 1 : end], end < len(text) and text[end] in "]}"
        if not closed:
            # In "[G word" only the text that touches the bracket can be a chord.
            content = content.split(maxsplit=1)[0] if content.strip() and not content[:1].isspace() else ""
        after = end + 1 if closed else end
        if closed and _LINK.match(text, after):
            return after, False
        return after, self._read_content(content, Place(self._line, start + 2))

    def _read_content(self, content: str, place: Place) -> bool:
        """Read the text between brackets. Return whether it holds chords."""
        bare = content.strip()
        if not bare:
            return False
        if bare.startswith("*") or section_name(bare):
            named = section_name(bare.lstrip("*"), loose=True)
            if named:
                self.draft.begin_section(named[0], place, named[1])
            return False
        if _FRETS.match(bare) and any(fret in bare for fret in "xX0"):
            return self.draft.add([Mark(Kind.WORD, place, bare)])
        counted = TIMES.fullmatch(bare)
        if counted:
            return self.draft.add([Mark(Kind.TIMES, place, bare, times_of(counted))])
        marks = self._lex_bracket(content, place)
        words = [mark for mark in marks if mark.kind == Kind.WORD]
        if len(words) > 1 and not any(mark.kind in (Kind.BAR, Kind.OPEN) for mark in marks):
            marks = [Mark(Kind.OPEN, place, "["), *marks, Mark(Kind.CLOSE, place, "]")]
        return self.draft.add(marks)

    def _lex_bracket(self, content: str, place: Place) -> list[Mark]:
        """Return the marks of a bracket. Its chords are optional if it shares a parenthesis with another bracket."""
        if content.count("(") == content.count(")"):
            return lex_row(content, place.line, place.column)
        marks = lex_row(content.replace("(", " ").replace(")", " "), place.line, place.column)
        return [replace(mark, text=f"({mark.text})") if mark.kind == Kind.WORD else mark for mark in marks]

    def _read_directive(self, text: str, place: Place) -> None:
        """Read one directive, given without its braces."""
        match = _DIRECTIVE.match(text)
        if match is None:
            return
        name, value = match[1].lower(), match[2]
        place = Place(place.line, place.column + 1 + match.start(2))
        if name == "meta":
            inside = value.split(maxsplit=1)
            name, value = (inside[0].lower(), inside[1]) if len(inside) > 1 else ("", "")
        if name in _HEAD:
            self.draft.take_value(name, value, place)
        elif name in _COMMENTS:
            self._read_comment(value, place)
        elif name in _SHORT or name.startswith(_LONG_START):
            self._begin_environment(_SHORT.get(name) or name.removeprefix(_LONG_START), value, place)
        elif name.startswith(_LONG_END) or name in ("eoc", "eov", "eob", "eot", "eog"):
            self._environment = ""
            self.draft.begin_section("", place)
        elif name == "chorus":
            self.draft.marks.append(Mark(Kind.RECALL, place, _read_label(value) or "Chorus"))
        elif name == "transpose":
            steps = re.match(r"\s*([+-]?\d{1,2})\s*\Z", value)
            self.draft.marks += [Mark(Kind.SHIFT, place, value, int(steps[1]))] if steps else []

    def _begin_environment(self, name: str, value: str, place: Place) -> None:
        """Begin an environment and, if it can hold chords, its section."""
        self._environment = name
        if name not in _SILENT:
            default_name = "" if name == "grid" else name.replace("_", " ").capitalize()
            self.draft.begin_section(_read_label(value) or default_name, place)

    def _read_comment(self, value: str, place: Place) -> None:
        """Read a comment, which may name a section, hold chords, or give a number of times."""
        words = _OPENING.split(value, maxsplit=1)[0]
        named = section_name(words, loose=True)
        if named:
            self.draft.begin_section(named[0], place, named[1])
        self.draft.take_value("feel", words, place)
        for bracket in brackets(value):
            self._read_content(bracket[1], Place(place.line, place.column + bracket.start(1)))
        if not named and TIMES.fullmatch(value.strip()):
            self.draft.add_times_at_end(value, place.line)


def _read_label(value: str) -> str:
    """Read the label of an environment, written plainly or as ``label="…"``."""
    named = _LABEL.search(value)
    return (named[1] if named else value).strip().strip("\"'“”")
