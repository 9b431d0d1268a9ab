"""Assembles marks into sections of bars: which chords share a bar, how long each lasts, repeats written out.

Bar lines divide a row that has them. In a row without bar lines every chord is a bar. Exceptions are chords in one
group, chords with ticks, and rows that mark their beats. Repeats are written out as they are played.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace

from cards.charts.chart import Place
from cards.charts.notation.marks import Kind, Mark
from cards.charts.notation.symbols import Symbol, Word
from cards.theory.chords import Chord
from cards.theory.pitch import Note

MOST_TIMES = 32
"""The most times that a repeat is written out."""
MOST_BARS = 4000
"""The number of bars beyond which no repeat is written out."""
USUAL_BEATS = 4
"""The beats of a bar before any metre is given."""

_BAR_LINES = frozenset({Kind.BAR, Kind.REPEAT, Kind.REPEAT_FROM, Kind.ENDING})


@dataclass(frozen=True)
class Piece:
    """A chord of a bar as it is written, its length in beats, and its place in the text."""

    symbol: Symbol
    beats: float
    place: Place


Measure = tuple[Piece, ...]


@dataclass
class PartDraft:
    """A section while it is assembled.

    ``key`` is the mark of a key change at its start, ``shift`` the semitones that it is transposed by, and ``times``
    how many times it is played. ``goes_on`` is True if the section has no heading of its own.
    """

    name: str
    bars: list[Measure] = field(default_factory=list)
    key: Mark | None = None
    shift: int = 0
    times: int = 1
    goes_on: bool = False


@dataclass
class _Item:
    """An item of a bar: a symbol, or None for one more beat of the symbol before it."""

    symbol: Symbol | None
    place: Place


class Assembler:
    """Assembles the marks of a song, line by line.

    ``read`` reads a word, or returns None for a word that is no chord. ``loose_bars`` is True once a row of chords has
    had no bar lines.
    """

    def __init__(self, read: Callable[[str], Word | None]) -> None:
        self.parts: list[PartDraft] = [PartDraft("")]
        self.loose_bars = False
        self._read = read
        self._beats = USUAL_BEATS
        self._bars = 0
        self._line: list[Mark] = []
        self._named: dict[str, list[Measure]] = {}
        self._last: Symbol | None = None
        self._previous: Measure | None = None
        self._from = self._line_from = 0
        self._ending: int | None = None
        self._repeated: tuple[int, int] | None = None

    def assemble(self, marks: Iterable[Mark]) -> list[PartDraft]:
        """Return the sections that have bars, in playing order."""
        for mark in marks:
            if mark.kind == Kind.LINE:
                self._end_line()
            elif mark.kind in (Kind.SECTION, Kind.RECALL, Kind.KEY, Kind.SHIFT):
                self._end_line()
                self._divide(mark)
            else:
                self._line.append(mark)
        self._end_line()
        self._close()
        return [part for part in self.parts if part.bars]

    # Sections

    def _divide(self, mark: Mark) -> None:
        """End the section at a mark that begins a section, plays one again, or changes the key."""
        part = self.parts[-1]
        self._close()
        if mark.kind == Kind.SECTION:
            key = None if part.bars else part.key
            self.parts.append(PartDraft(mark.text, key=key, shift=part.shift, times=mark.number))
        elif mark.kind == Kind.RECALL:
            self.parts += [PartDraft(mark.text, shift=part.shift), PartDraft("", shift=part.shift)]
            self._recall(self.parts[-2])
        elif mark.kind == Kind.KEY:
            self.parts.append(PartDraft(part.name, key=mark, shift=part.shift, goes_on=True))
        else:
            self.parts.append(PartDraft(part.name, shift=part.shift + mark.number, goes_on=True))
        self._from = self._line_from = 0
        self._ending = self._repeated = None

    def _close(self) -> None:
        """Complete the last section. A heading without bars plays the last section of the same name again."""
        part = self.parts[-1]
        if not part.bars and part.name and not part.goes_on:
            self._recall(part)
        part.bars += self._copy(part.bars, part.times - 1)
        part.times = 1
        if part.bars:
            self._named[part.name.casefold()] = part.bars

    def _recall(self, part: PartDraft) -> None:
        """Fill a section with the bars of the last section of the same name."""
        part.bars = self._copy(self._named.get(part.name.casefold(), []), 1)

    def _copy(self, bars: list[Measure], times: int) -> list[Measure]:
        """Return copies of bars, at most MOST_TIMES, or none if the song would have more than MOST_BARS bars."""
        times = min(max(times, 0), MOST_TIMES)
        if self._bars + len(bars) * times > MOST_BARS:
            return []
        self._bars += len(bars) * times
        return bars * times

    # Lines

    def _end_line(self) -> None:
        """Add the bars of the line that ends here."""
        line, self._line = self._line, []
        if not line:
            return
        if any(mark.kind in (Kind.WORD, Kind.SAME) for mark in line):
            self._line_from = len(self.parts[-1].bars)
        if any(mark.kind in _BAR_LINES for mark in line):
            self._add_barred_line(line)
        else:
            self.loose_bars |= any(mark.kind == Kind.WORD for mark in line)
            self._add_unbarred_line(line)

    def _add_barred_line(self, line: list[Mark]) -> None:
        """Add the bars of a line with bar lines."""
        items: list[_Item] = []
        for at, mark in enumerate(line):
            if mark.kind in _BAR_LINES or mark.kind in (Kind.TIMES, Kind.METRE):
                closed = mark.kind == Kind.BAR and len(mark.text) == 1
                if not items and closed and self._is_gap(line, at):
                    items.append(_Item(None, mark.place))
                self._add_bar(items)
                items = []
                self._carry_out(mark)
            else:
                items += self._items_of(mark)
        self._add_bar(items)

    def _is_gap(self, line: list[Mark], at: int) -> bool:
        """Return whether there is only space between this bar line and the one before it, and a chord soon after.

        Such a bar repeats the bar before it.
        """
        before = line[at - 1] if at else None
        if before is None or before.kind != Kind.BAR or len(before.text) > 1 or self._last is None:
            return False
        apart = line[at].place.column - before.place.column > 1
        return apart and any(mark.kind == Kind.WORD for mark in line[at + 1 : at + 9])

    def _carry_out(self, mark: Mark) -> None:
        """Carry out a mark of a repeat, an ending, a number of times or a metre."""
        bars = self.parts[-1].bars
        if mark.kind == Kind.METRE:
            self._beats = mark.number
        elif mark.kind == Kind.REPEAT_FROM:
            self._from, self._ending, self._repeated = len(bars), None, None
        elif mark.kind == Kind.ENDING and mark.number == 1:
            self._ending = len(bars)
        elif mark.kind == Kind.REPEAT:
            self._repeated = (self._from, len(bars))
            bars += self._copy(bars[self._from : self._ending], 1)
            self._from, self._ending = len(bars), None
        elif mark.kind == Kind.TIMES:
            if self._repeated and self._repeated[1] <= len(bars) and self._from == len(bars):
                start, end = self._repeated
                bars += self._copy(bars[start:end], mark.number - 2)
                self._from = len(bars)
            else:
                bars += self._copy(bars[self._line_from :], mark.number - 1)
            self._line_from, self._repeated = len(bars), None

    def _add_unbarred_line(self, line: list[Mark]) -> None:
        """Add the bars of a line without bar lines: chord by chord, group by group, or beat by beat."""
        if any(mark.kind == Kind.BEAT for mark in line):
            self._add_beaten_line(line)
            return
        group: list[_Item] | None = None
        ticked: list[_Item] = []
        for mark in line:
            if mark.kind == Kind.OPEN and group is None:
                group = []
            elif mark.kind == Kind.CLOSE and group is not None:
                self._add_bar(group)
                group = None
            elif mark.kind in (Kind.TIMES, Kind.METRE):
                self._carry_out(mark)
            elif group is not None:
                group += self._items_of(mark)
            else:
                ticked = self._add_ticked(ticked, mark)
        self._add_bar(ticked)
        self._add_bar(group or [])

    def _add_ticked(self, waiting: list[_Item], mark: Mark) -> list[_Item]:
        """Add the bars of a mark. Return the chords with ticks that wait until their bar is full."""
        word = self._read(mark.text) if mark.kind == Kind.WORD else None
        items = self._items_of(mark)
        if word is not None and word.together:
            self._add_bar(waiting)
            self._add_bar(items)
            return []
        for item in items:
            waiting = [*waiting, item]
            ticks = item.symbol.ticks if item.symbol else 0
            full = sum(other.symbol.ticks for other in waiting if other.symbol) >= self._beats
            if not ticks or full:
                self._add_bar(waiting)
                waiting = []
        return waiting

    def _add_beaten_line(self, line: list[Mark]) -> None:
        """Add the bars of a line that marks its beats."""
        items: list[_Item] = []
        for mark in line:
            if mark.kind in (Kind.TIMES, Kind.METRE):
                self._add_bar(items)
                items = []
                self._carry_out(mark)
                continue
            if mark.kind == Kind.SAME:
                self._add_bar(items)
                self._add_bar(self._items_of(mark))
                items = []
                continue
            for item in self._items_of(mark):
                items.append(item)
                if len(items) >= self._beats:
                    self._add_bar(items)
                    items = []
        self._add_bar(items)

    # Bars

    def _items_of(self, mark: Mark) -> list[_Item]:
        """Return the items that a mark puts into a bar."""
        if mark.kind in (Kind.SAME, Kind.BEAT):
            return [_Item(None, mark.place)]
        word = self._read(mark.text) if mark.kind == Kind.WORD else None
        if word is None:
            return []
        symbols = [self._complete_bass(symbol) for symbol in word.symbols]
        return [_Item(symbol, mark.place) for symbol in symbols if symbol is not None]

    def _complete_bass(self, symbol: Symbol) -> Symbol | None:
        """Return a symbol with the chord before it if it is a bass alone, or None if there is no such chord."""
        if isinstance(symbol.what, Note):
            before = self._last.what if self._last else None
            if not isinstance(before, Chord):
                return None
            symbol = replace(symbol, what=replace(before, bass=symbol.what))
        self._last = symbol
        return symbol

    def _add_bar(self, items: list[_Item]) -> None:
        """Add a bar, and divide its beats among its chords. A bar of beats alone repeats the bar before it."""
        if not items:
            return
        bars = self.parts[-1].bars
        if all(item.symbol is None for item in items):
            if self._previous is None:
                return
        else:
            self._previous = self._divide_beats(items)
        self._bars += 1
        bars.append(self._previous)

    def _divide_beats(self, items: list[_Item]) -> Measure:
        """Return the chords of a bar with their beats."""
        chords: list[tuple[Symbol, Place]] = []
        weights: list[int] = []
        if items[0].symbol is None and self._previous:
            chords, weights = [(self._previous[-1].symbol, items[0].place)], [0]
        for item in items:
            if item.symbol is not None:
                chords.append((item.symbol, item.place))
                weights.append(1)
            elif weights:
                weights[-1] += 1
        marked = sum(weights) - len(weights)
        if marked == self._beats and min(weights) > 1:
            weights = [weight - 1 for weight in weights]
        beats = self._beats_of_chords([symbol.ticks for symbol, _ in chords], weights)
        return tuple(Piece(symbol, length, place) for (symbol, place), length in zip(chords, beats, strict=True))

    def _beats_of_chords(self, ticks: list[int], weights: list[int]) -> list[float]:
        """Return the beats of each chord: its ticks if any chord has them, else its share of the bar."""
        if not any(ticks):
            total = sum(weights)
            return [self._beats * weight / total for weight in weights]
        left = self._beats - sum(ticks)
        plain = ticks.count(0)
        return [float(tick) if tick else max(left / plain, 1.0) for tick in ticks]
