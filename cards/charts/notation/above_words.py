"""Plain sheets: chords above words, grids, number charts.

A line is judged as a whole: A and Am are chords among chords and words among words. Lines of words
are passed over; a line that is nearly all chords is read, and what is no chord in it is listed.
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
# Chords that are words of English, Italian, German or French too.
_ALSO_WORDS = frozenset(("A", "Am", "Go", "Do", "Co", "Bo", "Fa", "La", "Mi", "Re", "Si", "Sol", "As", "Es", "I"))
_SAID = re.compile(
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
    """What a word can be: chord names, numbers, or neither."""
    found = set()
    name = read_name(word) or read_name(word, "german")
    small = word[:1].islower() and len(word) > 1 and read_figures(word) is None
    if is_italian(word) or (name is not None and name.doubt != "glued-names"):
        found.add(NAMES)
    if read_figures(word) is not None and not (small and NAMES in found):
        found.add(NUMBERS)
    return frozenset(found)


def judge(text: str, notation: str = NAMES, sure_only: bool = False) -> bool:
    """Whether a line is a row of chords in a notation.

    All its words are, or at least two in three. One word at least must be no English or Italian
    word besides being a chord, unless the song has other rows of chords (then not ``sure_only``).

    >>> judge("G   D  Em  C"), judge("A day in May"), judge("| A | Am |"), judge("A Am", sure_only=True)
    (True, False, True, False)
    """
    return _is_row(lex_row(_uncommented(text), 1), notation, sure_only)


def _is_row(marks: list[Mark], notation: str, sure_only: bool = False) -> bool:
    words = [mark.text for mark in marks if mark.kind == Kind.WORD]
    barred = any(mark.kind in (Kind.BAR, Kind.REPEAT, Kind.REPEAT_FROM) for mark in marks)
    if not words:
        return barred and any(mark.kind == Kind.SAME for mark in marks)
    chords = [word for word in words if notation in kinds(word)]
    if notation == NAMES and not any(word[:1].isupper() or word[:1] in "(<◇/" for word in chords):
        return False
    sure = [word for word in chords if word not in _ALSO_WORDS]
    if len(chords) < len(words):
        few = 3 * len(chords) >= 2 * len(words) or (barred and 2 * len(chords) >= len(words))
        return few and len(sure) >= 2
    if sure_only:
        return len(sure) >= (1 if barred else 2)
    return bool(sure) or barred or (notation == NAMES and len(words) <= 4 and set(words) <= {"A", "Am"})


@dataclass(frozen=True)
class _Line:
    """A line of a sheet: whole, and behind the label that may stand in front."""

    number: int
    text: str

    @cached_property
    def marks(self) -> list[Mark]:
        """The line as a row."""
        return lex_row(_uncommented(self.text), self.number)

    @cached_property
    def label(self) -> str:
        """What stands before a colon, or in brackets."""
        return _headed(self.text)[0]

    @cached_property
    def behind(self) -> list[Mark]:
        """The row behind the label."""
        rest = _headed(self.text)[1] if self.label else ""
        return lex_row(_uncommented(rest), self.number, len(self.text) - len(rest) + 1)

    @property
    def row(self) -> list[Mark]:
        """The row behind the label if there is one, else the whole line."""
        return self.behind or self.marks


class SheetReader:
    """Reads the lines of a plain sheet into a draft."""

    def __init__(self, lines: list[tuple[int, str]]) -> None:
        self.draft = Draft()
        self._lines = [_Line(number, text) for number, text in lines if text.strip()]
        self._blank = {number for number, text in lines if not text.strip()}
        self.draft.notation = self.notation = _notation(self._lines)

    def read(self) -> Draft:
        """The song as marks."""
        self._title()
        after_chords = False
        for line in self._lines:
            if _TABLATURE.match(line.text):
                continue
            if self._said(line.number, line.text) or self._heading(line):
                after_chords = False
            elif self._row(line):
                after_chords = True
            elif after_chords:
                self.draft.times_at_end(line.text, line.number)
                after_chords = False
            self.draft.end_line(line.number)
        return self.draft

    def _title(self) -> None:
        """The first line, if it stands alone or above another that is no chords either."""
        first, second, third = [*self._lines[:3], None, None, None][:3]
        if first is None or not self._is_words(first) or len(first.text.strip()) > LONGEST_NAME:
            return
        alone = first.number + 1 in self._blank or not self._is_words(second)
        if second and (alone or not self._is_words(third)):
            self.draft.head.heading = first.text.strip().strip("#*= ") or None

    def _is_words(self, line: _Line | None) -> bool:
        if line is None or _SAID.search(line.text) or section_name(line.text):
            return False
        return not _is_row(line.row, self.notation)

    def _said(self, number: int, text: str) -> bool:
        """Lines like ``Key: G   Capo: 2``."""
        places = list(_SAID.finditer(text))
        if not places or text[: places[0].start()].strip(" *_-#(["):
            return False
        for match, following in zip(places, [*places[1:], None], strict=True):
            end = following.start() if following else len(text)
            name = (match["name"] or match["key"] or match["capo"] or match["bpm"] or "bpm").lower()
            name = {"style": "feel", "metre": "time", "meter": "time"}.get(name, name)
            self.draft.say(name, text[match.end() : end], Place(number, match.start() + 1))
        return True

    def _heading(self, line: _Line) -> bool:
        """A section's name on a line of its own, or in front of its chords."""
        place = Place(line.number, 1)
        named = section_name(line.text)
        if named:
            self.draft.section(named[0], place, named[1])
            return True
        if not line.label:
            return False
        named = section_name(line.label, loose=True)
        if not named and not is_letter(line.label) and (len(line.label.split()) > 3 or not line.behind):
            return False
        if line.behind and not _is_row(line.behind, self.notation):
            return False
        self.draft.section(named[0] if named else line.label, place, named[1] if named else 1)
        self.draft.add(line.behind)
        return True

    def _row(self, line: _Line) -> bool:
        """A row of chords, perhaps with a metre in front."""
        marks = line.marks
        metre = _METRE_IN_FRONT.match(line.text)
        if metre and (metre[1] in _NEVER_CHORDS or self.notation == NAMES or not self._is_bass(metre[1])):
            rest = lex_row(_uncommented(line.text[metre.end() :]), line.number, metre.end() + 1)
            if not rest or _is_row(rest, self.notation):
                self.draft.say("time", metre[1], Place(line.number, metre.start(1) + 1))
                return self.draft.add(rest) or True
        return _is_row(marks, self.notation) and self.draft.add(marks)

    def _is_bass(self, text: str) -> bool:
        """5/4 and 2/4 in the middle of a song are chords over a bass; 3/4 hardly is."""
        return text in ("5/4", "2/4") and self.draft.started


def _headed(text: str) -> tuple[str, str]:
    """A line's label and what follows it, for ``V: 1 4``, ``[Verse] | G |`` and ``Riff A: G D``."""
    front = text[:_LONGEST_HEADING]
    at = front.find("]") if front.lstrip().startswith("[") else front.find(":")
    label = front[: max(at, 0)].strip(" \t[(*_=#-")
    if not label or label.isdigit() or front[at : at + 2] in (":|", "::") or "|" in front[:at]:
        return "", text
    if front[at] == ":" and all(map(read_figures, label.split())) and text[at + 1 : at + 2].strip(" |"):
        return "", text  # V:7 is a chord, and so is the last of 6- 6- 2:9; V: 1 4 is a verse.
    return label, text[at + 1 :].removeprefix(":")


def _uncommented(text: str) -> str:
    """A row without the comment behind it and the remarks in parentheses, its columns unchanged."""
    if "#" in text:
        text = _COMMENT.sub("", text)
    return _REMARK.sub(_blank, text) if "(" in text else text


def _blank(remark: re.Match[str]) -> str:
    """Spaces for a remark without chords in it; anything else as it stands."""
    words = remark[1].split()
    kept = TIMES.fullmatch(remark[1].strip()) or any(kinds(word) for word in words)
    return remark[0] if kept else " " * len(remark[0])


def _notation(lines: list[_Line]) -> str:
    """Names or numbers: what the rows of a song are written in."""
    counted = {NAMES: 0, NUMBERS: 0}
    for line in lines:
        words = [mark.text for mark in line.row if mark.kind == Kind.WORD]
        for notation in counted:
            if _is_row(line.row, notation):
                counted[notation] += sum(notation in kinds(word) for word in words)
    return NUMBERS if counted[NUMBERS] > counted[NAMES] else NAMES


def more_of(words: list[str]) -> str:
    """Whether words are names or numbers."""
    numbers, names = (sum(notation in kinds(word) for word in words) for notation in (NUMBERS, NAMES))
    return NUMBERS if numbers > names else NAMES
