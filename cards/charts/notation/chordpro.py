"""ChordPro: chords in square brackets among words, directives in braces.

Words are passed over as they are met. Real files are unbalanced, mix in grids and plain headings,
and put in brackets what is no chord; all of that is read as far as it makes sense.
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
    """Whether a line begins with a directive of ChordPro."""
    match = re.match(r"\s*\{\s*([A-Za-z_]+)", line)
    return match is not None and (match[1].lower() in _KNOWN or match[1].lower().startswith((_LONG_START, _LONG_END)))


def brackets(line: str) -> Iterator[re.Match[str]]:
    """The square brackets of a line; group 1 is what stands in them."""
    return re.finditer(r"\[([^\[\]{}]+)[\]}]", line)


class ChordProReader:
    """Reads the lines of one song into a draft."""

    def __init__(self) -> None:
        self.draft = Draft()
        self._environment = ""
        self._line = 0
        self._numbered = False

    def read(self, lines: list[tuple[int, str]]) -> Draft:
        """The song as marks; ``lines`` are numbered."""
        for self._line, text in lines:
            if text.lstrip().startswith("#"):
                continue
            if self._environment in _SILENT:
                self._silent(text)
            elif self._environment == "grid" and not is_directive(text):
                self.draft.row(text, self._line)
            else:
                self._scan(text)
            self.draft.end_line(self._line)
        words = [mark.text for mark in self.draft.marks if mark.kind == Kind.WORD]
        if self._numbered and any(kinds(word) == {NAMES} for word in words):
            self.draft.notation = NAMES  # Rows of numbers below chords by name are listed, and take nothing away.
        return self.draft

    def _silent(self, text: str) -> None:
        """A line inside a tablature or the like; only a directive ends it."""
        if is_directive(text):
            self._scan(text)

    def _scan(self, text: str) -> None:
        """A line of words, chords and directives."""
        at, chords = 0, False
        opening = _OPENING.search(text)
        if opening is None:
            self._plain(text)
            return
        self._heading(text[: opening.start()])
        while opening:
            start = opening.start()
            if text[start] == "{":
                end = text.find("}", start)
                at = len(text) if end < 0 else end + 1
                self._directive(text[start + 1 : at if end < 0 else end], Place(self._line, start + 1))
            else:
                at, found = self._bracket(text, start)
                chords |= found
            opening = _OPENING.search(text, at)
        if chords:
            self.draft.times_at_end(text, self._line, at)

    def _heading(self, before: str) -> None:
        """``Intro:`` in front of the first bracket."""
        named = section_name(before) if before.strip() else None
        if named:
            self.draft.section(named[0], Place(self._line, 1), named[1])

    def _plain(self, text: str) -> None:
        """A line without brackets: a heading, a grid among the words, or words."""
        named = section_name(text) if text.strip() else None
        if named:
            self.draft.section(named[0], Place(self._line, 1), named[1])
        elif judge(text, sure_only=True):
            self.draft.row(text, self._line)
        elif judge(text, NUMBERS, sure_only=True):
            self._numbered = True
            self.draft.row(text, self._line)

    def _bracket(self, text: str, start: int) -> tuple[int, bool]:
        """Read the bracket at ``start``: where it ends, and whether chords were in it."""
        end = next((at for at in range(start + 1, len(text)) if text[at] in "]}[{"), len(text))
        content, closed = text[start + 1 : end], end < len(text) and text[end] in "]}"
        if not closed:
            # [G word: only what touches the bracket can be a chord.
            content = content.split(maxsplit=1)[0] if content.strip() and not content[:1].isspace() else ""
        after = end + 1 if closed else end
        if closed and _LINK.match(text, after):
            return after, False
        return after, self._content(content, Place(self._line, start + 2))

    def _content(self, content: str, place: Place) -> bool:
        """What stood in a bracket."""
        bare = content.strip()
        if not bare:
            return False
        if bare.startswith("*") or section_name(bare):
            named = section_name(bare.lstrip("*"), loose=True)
            if named:
                self.draft.section(named[0], place, named[1])
            return False
        if _FRETS.match(bare) and any(each in bare for each in "xX0"):
            return self.draft.add([Mark(Kind.WORD, place, bare)])
        counted = TIMES.fullmatch(bare)
        if counted:
            return self.draft.add([Mark(Kind.TIMES, place, bare, times_of(counted))])
        marks = self._lex(content, place)
        words = [mark for mark in marks if mark.kind == Kind.WORD]
        if len(words) > 1 and not any(mark.kind in (Kind.BAR, Kind.OPEN) for mark in marks):
            marks = [Mark(Kind.OPEN, place, "["), *marks, Mark(Kind.CLOSE, place, "]")]
        return self.draft.add(marks)

    def _lex(self, content: str, place: Place) -> list[Mark]:
        """The marks of a bracket; its chords are optional if it shares a parenthesis with another."""
        if content.count("(") == content.count(")"):
            return lex_row(content, place.line, place.column)
        marks = lex_row(content.replace("(", " ").replace(")", " "), place.line, place.column)
        return [replace(mark, text=f"({mark.text})") if mark.kind == Kind.WORD else mark for mark in marks]

    def _directive(self, text: str, place: Place) -> None:
        """One directive."""
        match = _DIRECTIVE.match(text)
        if match is None:
            return
        name, value = match[1].lower(), match[2]
        place = Place(place.line, place.column + 1 + match.start(2))
        if name == "meta":
            inside = value.split(maxsplit=1)
            name, value = (inside[0].lower(), inside[1]) if len(inside) > 1 else ("", "")
        if name in _HEAD:
            self.draft.say(name, value, place)
        elif name in _COMMENTS:
            self._comment(value, place)
        elif name in _SHORT or name.startswith(_LONG_START):
            self._start(_SHORT.get(name) or name.removeprefix(_LONG_START), value, place)
        elif name.startswith(_LONG_END) or name in ("eoc", "eov", "eob", "eot", "eog"):
            self._environment = ""
            self.draft.section("", place)
        elif name == "chorus":
            self.draft.marks.append(Mark(Kind.RECALL, place, _label(value) or "Chorus"))
        elif name == "transpose":
            steps = re.match(r"\s*([+-]?\d{1,2})\s*\Z", value)
            self.draft.marks += [Mark(Kind.SHIFT, place, value, int(steps[1]))] if steps else []

    def _start(self, name: str, value: str, place: Place) -> None:
        """An environment begins."""
        self._environment = name
        if name not in _SILENT:
            usual = "" if name == "grid" else name.replace("_", " ").capitalize()
            self.draft.section(_label(value) or usual, place)

    def _comment(self, value: str, place: Place) -> None:
        """A comment may name a section, hold chords, or say how often."""
        words = _OPENING.split(value, maxsplit=1)[0]
        named = section_name(words, loose=True)
        if named:
            self.draft.section(named[0], place, named[1])
        self.draft.say("feel", words, place)
        for bracket in brackets(value):
            self._content(bracket[1], Place(place.line, place.column + bracket.start(1)))
        if not named and TIMES.fullmatch(value.strip()):
            self.draft.times_at_end(value, place.line)


def _label(value: str) -> str:
    """The label of an environment: plain, or ``label="…"``."""
    named = _LABEL.search(value)
    return (named[1] if named else value).strip().strip("\"'“”")
