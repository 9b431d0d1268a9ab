"""The song as marks, which both readers of text produce."""

from __future__ import annotations

from dataclasses import dataclass, field

from cards.charts.chart import ChartError, Place
from cards.charts.notation.heads import LONGEST_NAME, Head, read_metre
from cards.charts.notation.marks import Kind, Mark
from cards.charts.notation.rows import lex_row
from cards.charts.notation.sections import TIMES, times_of
from cards.messages import echo

_LONGEST_TIMES = len("( x 16 )")


@dataclass
class Draft:
    """The head and the marks read so far, in the order of the text.

    ``started`` is True once there are chords. ``notation`` is the notation of the song if the reader has decided it.
    """

    head: Head = field(default_factory=Head)
    marks: list[Mark] = field(default_factory=list)
    started: bool = False
    notation: str | None = None

    def take_value(self, name: str, value: str, place: Place) -> None:
        """Take a value of the head: title, key, capo, tempo, time or feel."""
        self.marks += self.head.take(name, value, place, self.started)

    def begin_in(self, time: str) -> None:
        """Make the song begin in a metre, which overrules its own. Raises ChartError for a text that is no metre."""
        metre = read_metre(time)
        if metre is None:
            raise ChartError('no metre "{time}": beats and their unit, like 3/4 or 6/8', time=echo(time))
        first = next((at for at, mark in enumerate(self.marks) if mark.kind == Kind.WORD), len(self.marks))
        before = [mark for mark in self.marks[:first] if mark.kind != Kind.METRE]
        self.head.time = f"{metre[0]}/{metre[1]}"
        self.marks = [Mark(Kind.METRE, Place(1, 1), self.head.time, metre[0]), *before, *self.marks[first:]]

    def begin_section(self, name: str, place: Place, times: int = 1) -> None:
        """Begin a section that is played a number of times."""
        self.marks.append(Mark(Kind.SECTION, place, name.strip()[:LONGEST_NAME], times))

    def add(self, marks: list[Mark]) -> bool:
        """Add the marks of a row. Return whether there are chords among them."""
        self.marks += marks
        chords = any(mark.kind == Kind.WORD for mark in marks)
        self.started |= chords
        return chords

    def add_row(self, text: str, line: int, column: int = 1) -> bool:
        """Add a row of chords. Return whether there are chords in it."""
        return self.add(lex_row(text, line, column))

    def end_line(self, line: int) -> None:
        """End a line of chords. Do nothing if the last line is already ended."""
        if self.marks and self.marks[-1].kind != Kind.LINE:
            self.marks.append(Mark(Kind.LINE, Place(line, 1)))

    def add_times_at_end(self, text: str, line: int, since: int = 0) -> None:
        """Add the ``(x2)`` at the end of a line of words, if it begins at the index ``since`` or later."""
        end = len(text.rstrip())
        start = max(since, end - _LONGEST_TIMES)
        counted = next((times for times in TIMES.finditer(text, start, end) if times.end() == end), None)
        if counted and not (counted[0][0].isalnum() and text[counted.start() - 1 : counted.start()].isalnum()):
            place = Place(line, counted.start() + 1)
            self.marks.append(Mark(Kind.TIMES, place, counted[0].strip(), times_of(counted)))
