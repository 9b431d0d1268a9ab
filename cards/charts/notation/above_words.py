"""Reads plain sheets: chords above words, grids and number charts.

A line is judged as a whole, because A and Am are chords among chords but words among words. Lines of words are
skipped. A line that is nearly all chords is read, and the words in it that are no chords are listed.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property, lru_cache

from cards.charts.chart import Place
from cards.charts.notation.drafts import Draft
from cards.charts.notation.heads import LONGEST_NAME
from cards.charts.notation.marks import Kind, Mark
from cards.charts.notation.names import is_italian, read_name
from cards.charts.notation.numbers import read_figures
from cards.charts.notation.rows import lex_row
from cards.charts.notation.sections import TIMES, is_letter, section_name

NAMES, NUMBERS = "names", "numbers"
# Chords that are also words in English, Italian, German or French.
_ALSO_WORDS = frozenset(("A", "Am", "Go", "Do", "Co", "Bo", "Fa", "La", "Mi", "Re", "Si", "Sol", "As", "Es", "I"))
_HEAD_VALUE = re.compile(
    r"\b(?:(?P<name>title|artist|key|capo|tempo|bpm|time|feel|style|metre|meter|tuning)\**\s*[:=]\**"
    r"|(?P<key>key)\s+(?:of\b|(?=[A-H][#b♯♭]?m?\b))|(?P<capo>capo)\s+(?=\w)|(?P<bpm>tempo|bpm)\s+(?=\d)"
    r"|(?=(?P<count>\d{2,3}\s?bpm\b)))",
    re.IGNORECASE,
)
_LONGEST_HEADING = 60
_TABLATURE = re.compile(r"\s*[eEBGDAbgda]?[|:]?-{2,}[-\d|hpbrxX/\\~()]*")
_METRE_IN_FRONT = re.compile(r"\s*((?:2|3|4|5|6|7|9|12)/(?:2|4|8))(?=\s|\||\Z)")
_NEVER_CHORDS = frozenset(("2/2", "4/4", "6/8", "7/8", "9/8", "12/8"))
_REMARK = re.compile(r"(?<!\S)\(([^()]*)\)(?!\S)")
_COMMENT = re.compile(r"(?<!\S)#(?![1-7iIvV#♯b♭]).*")


@lru_cache(maxsize=4096)
def kinds(word: str) -> frozenset[str]:
    """Return which notations a word can be in: NAMES, NUMBERS, both or none."""
    notations = set()
    name = read_name(word) or read_name(word, "german")
    small = word[:1].islower() and len(word) > 1 and read_figures(word) is None
    if is_italian(word) or (name is not None and name.doubt != "glued-names"):
        notations.add(NAMES)
    if read_figures(word) is not None and not (small and NAMES in notations):
        notations.add(NUMBERS)
    return frozenset(notations)


def judge(text: str, notation: str = NAMES, sure_only: bool = False) -> bool:
    """Return whether a line is a row of chords in a notation.

    Some chords, such as A and Am, are also ordinary words. A line is a row if all its words are chords and one of them
    is no ordinary word, or the line has bar lines, or it is only a few A and Am. It is also a row if two words in three
    are chords, or one in two with bar lines, and two of them are no ordinary words. With ``sure_only`` a line of chords
    alone needs two that are no ordinary words, or one with bar lines. Callers ask for this if the song has no other
    rows of chords.

    >>> judge("G   D  Em  C"), judge("A day in May"), judge("| A | Am |"), judge("A Am", sure_only=True)
    (True, False, True, False)
    """
    return _is_row(lex_row(_remove_comments(text), 1), notation, sure_only)


def _is_row(marks: list[Mark], notation: str, sure_only: bool = False) -> bool:
    """Return whether the marks of a line are a row of chords, by the rule of :func:`judge`."""
    words = [mark.text for mark in marks if mark.kind == Kind.WORD]
    barred = any(mark.kind in (Kind.BAR, Kind.REPEAT, Kind.REPEAT_FROM) for mark in marks)
    if not words:
        return barred and any(mark.kind == Kind.SAME for mark in marks)
    chords = [word for word in words if notation in kinds(word)]
    if notation == NAMES and not any(word[:1].isupper() or word[:1] in "(<◇/" for word in chords):
        return False
    sure = [word for word in chords if word not in _ALSO_WORDS]
    if len(chords) < len(words):
        mostly_chords = 3 * len(chords) >= 2 * len(words) or (barred and 2 * len(chords) >= len(words))
        return mostly_chords and len(sure) >= 2
    if sure_only:
        return len(sure) >= (1 if barred else 2)
    return bool(sure) or barred or (notation == NAMES and len(words) <= 4 and set(words) <= {"A", "Am"})


@dataclass(frozen=True)
class _Line:
    """A line of a sheet. It may begin with a label, such as ``V:`` or ``[Verse]``."""

    number: int
    text: str

    @cached_property
    def marks(self) -> list[Mark]:
        """The marks of the whole line, read as a row of chords."""
        return lex_row(_remove_comments(self.text), self.number)

    @cached_property
    def label(self) -> str:
        """The label before a colon or in brackets, or "" if there is none."""
        return _split_label(self.text)[0]

    @cached_property
    def behind(self) -> list[Mark]:
        """The marks behind the label, read as a row of chords."""
        rest = _split_label(self.text)[1] if self.label else ""
        return lex_row(_remove_comments(rest), self.number, len(self.text) - len(rest) + 1)

    @property
    def row(self) -> list[Mark]:
        """The marks behind the label if there are any, else those of the whole line."""
        return self.behind or self.marks


class SheetReader:
    """Reads the lines of a plain sheet into a draft."""

    def __init__(self, lines: list[tuple[int, str]]) -> None:
        self.draft = Draft()
        self._lines = [_Line(number, text) for number, text in lines if text.strip()]
        self._blank = {number for number, text in lines if not text.strip()}
        self.draft.notation = self.notation = _find_notation(self._lines)

    def read(self) -> Draft:
        """Read the song into marks."""
        self._read_title()
        after_chords = False
        for line in self._lines:
            if _TABLATURE.match(line.text):
                continue
            if self._read_head(line.number, line.text) or self._read_heading(line):
                after_chords = False
            elif self._read_row(line):
                after_chords = True
            elif after_chords:
                self.draft.add_times_at_end(line.text, line.number)
                after_chords = False
            self.draft.end_line(line.number)
        return self.draft

    def _read_title(self) -> None:
        """Take the first line as the heading if it has no chords and stands apart.

        It stands apart if a blank line follows it, or if one of the next two lines is no line of words.
        """
        first, second, third = [*self._lines[:3], None, None, None][:3]
        if first is None or not self._is_words(first) or len(first.text.strip()) > LONGEST_NAME:
            return
        alone = first.number + 1 in self._blank or not self._is_words(second)
        if second and (alone or not self._is_words(third)):
            self.draft.head.heading = first.text.strip().strip("#*= ") or None

    def _is_words(self, line: _Line | None) -> bool:
        """Return whether a line is neither chords, nor a value of the head, nor the name of a section."""
        if line is None or _HEAD_VALUE.search(line.text) or section_name(line.text):
            return False
        return not _is_row(line.row, self.notation)

    def _read_head(self, number: int, text: str) -> bool:
        """Read a line like ``Key: G   Capo: 2``. Return whether it is one."""
        places = list(_HEAD_VALUE.finditer(text))
        if not places or text[: places[0].start()].strip(" *_-#(["):
            return False
        for match, following in zip(places, [*places[1:], None], strict=True):
            end = following.start() if following else len(text)
            name = (match["name"] or match["key"] or match["capo"] or match["bpm"] or "bpm").lower()
            name = {"style": "feel", "metre": "time", "meter": "time"}.get(name, name)
            self.draft.take_value(name, text[match.end() : end], Place(number, match.start() + 1))
        return True

    def _read_heading(self, line: _Line) -> bool:
        """Read the name of a section on its own line or in front of its chords. Return whether there is one."""
        place = Place(line.number, 1)
        named = section_name(line.text)
        if named:
            self.draft.begin_section(named[0], place, named[1])
            return True
        if not line.label:
            return False
        named = section_name(line.label, loose=True)
        if not named and not is_letter(line.label) and (len(line.label.split()) > 3 or not line.behind):
            return False
        if line.behind and not _is_row(line.behind, self.notation):
            return False
        self.draft.begin_section(named[0] if named else line.label, place, named[1] if named else 1)
        self.draft.add(line.behind)
        return True

    def _read_row(self, line: _Line) -> bool:
        """Read a row of chords that may begin with a metre. Return whether it has chords."""
        marks = line.marks
        metre = _METRE_IN_FRONT.match(line.text)
        if metre and (metre[1] in _NEVER_CHORDS or self.notation == NAMES or not self._is_bass(metre[1])):
            rest = lex_row(_remove_comments(line.text[metre.end() :]), line.number, metre.end() + 1)
            if not rest or _is_row(rest, self.notation):
                self.draft.take_value("time", metre[1], Place(line.number, metre.start(1) + 1))
                return self.draft.add(rest) or True
        return _is_row(marks, self.notation) and self.draft.add(marks)

    def _is_bass(self, text: str) -> bool:
        """Return whether a metre is a chord over a bass. 5/4 and 2/4 in the middle of a song are; 3/4 is a metre."""
        return text in ("5/4", "2/4") and self.draft.started


def _split_label(text: str) -> tuple[str, str]:
    """Split a line such as ``V: 1 4``, ``[Verse] | G |`` or ``Riff A: G D``.

    Return (label, text behind it). The label is "" if there is none.
    """
    front = text[:_LONGEST_HEADING]
    at = front.find("]") if front.lstrip().startswith("[") else front.find(":")
    label = front[: max(at, 0)].strip(" \t[(*_=#-")
    if not label or label.isdigit() or front[at : at + 2] in (":|", "::") or "|" in front[:at]:
        return "", text
    if front[at] == ":" and all(map(read_figures, label.split())) and text[at + 1 : at + 2].strip(" |"):
        return "", text  # V:7 is a chord, and 6- 6- 2:9 are three; V: 1 4 is a verse.
    return label, text[at + 1 :].removeprefix(":")


def _remove_comments(text: str) -> str:
    """Remove the comment behind a row, and blank out the remarks in parentheses. The columns stay the same."""
    if "#" in text:
        text = _COMMENT.sub("", text)
    return _REMARK.sub(_blank_remark, text) if "(" in text else text


def _blank_remark(remark: re.Match[str]) -> str:
    """Return spaces for a remark that has no chords and no number of times, else the remark itself."""
    words = remark[1].split()
    is_music = TIMES.fullmatch(remark[1].strip()) or any(kinds(word) for word in words)
    return remark[0] if is_music else " " * len(remark[0])


def _find_notation(lines: list[_Line]) -> str:
    """Return whether the rows of a song are written in NAMES or NUMBERS."""
    counted = {NAMES: 0, NUMBERS: 0}
    for line in lines:
        words = [mark.text for mark in line.row if mark.kind == Kind.WORD]
        for notation in counted:
            if _is_row(line.row, notation):
                counted[notation] += sum(notation in kinds(word) for word in words)
    return NUMBERS if counted[NUMBERS] > counted[NAMES] else NAMES


def more_of(words: list[str]) -> str:
    """Return NUMBERS if more of the words are numbers than names, else NAMES."""
    numbers, names = (sum(notation in kinds(word) for word in words) for notation in (NUMBERS, NAMES))
    return NUMBERS if numbers > names else NAMES
