"""Marks to sections of bars: what shares a bar, how long each chord lasts, repeats written out.

Where a song has bar lines, they count. Where a row has none, every chord is a bar, except those in
one group, those with ticks, and rows that mark their beats. Repeats are written out as played.
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
"""How often a repeat is written out at most."""
MOST_BARS = 4000
"""Bars after which no more repeats are written out."""
USUAL_BEATS = 4
"""Beats of a bar until a metre is given."""

_BAR_LINES = frozenset({Kind.BAR, Kind.REPEAT, Kind.REPEAT_FROM, Kind.ENDING})


@dataclass(frozen=True)
class Piece:
    """A chord of a bar as written, and its beats."""

    symbol: Symbol
    beats: float
    place: Place


Measure = tuple[Piece, ...]


@dataclass
class PartDraft:
    """A section while it is put together. ``key`` is the text of a key change at its start, ``shift``
    the semitones it is transposed by; ``goes_on`` if no heading of its own stands over it."""

    name: str
    bars: list[Measure] = field(default_factory=list)
    key: Mark | None = None
    shift: int = 0
    times: int = 1
    goes_on: bool = False


@dataclass
class _Item:
    """What stands in a bar: a symbol, or a beat more of the one before (None)."""

    symbol: Symbol | None
    place: Place


class Assembler:
    """Puts the marks of a song together, line by line."""

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
        """All sections with bars, in playing order."""
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
        """A section begins, another is played again, or the key changes."""
        now = self.parts[-1]
        self._close()
        if mark.kind == Kind.SECTION:
            waiting = None if now.bars else now.key
            self.parts.append(PartDraft(mark.text, key=waiting, shift=now.shift, times=mark.number))
        elif mark.kind == Kind.RECALL:
            self.parts += [PartDraft(mark.text, shift=now.shift), PartDraft("", shift=now.shift)]
            self._recall(self.parts[-2])
        elif mark.kind == Kind.KEY:
            self.parts.append(PartDraft(now.name, key=mark, shift=now.shift, goes_on=True))
        else:
            self.parts.append(PartDraft(now.name, shift=now.shift + mark.number, goes_on=True))
        self._from = self._line_from = 0
        self._ending = self._repeated = None

    def _close(self) -> None:
        """The last section is complete: a heading alone plays its namesake again."""
        part = self.parts[-1]
        if not part.bars and part.name and not part.goes_on:
            self._recall(part)
        part.bars += self._copies(part.bars, part.times - 1)
        part.times = 1
        if part.bars:
            self._named[part.name.casefold()] = part.bars

    def _recall(self, part: PartDraft) -> None:
        """Fill a section with the bars of the last one of its name."""
        part.bars = self._copies(self._named.get(part.name.casefold(), []), 1)

    def _copies(self, bars: list[Measure], times: int) -> list[Measure]:
        """So many copies of bars, as far as there is room for them."""
        times = min(max(times, 0), MOST_TIMES)
        if self._bars + len(bars) * times > MOST_BARS:
            return []
        self._bars += len(bars) * times
        return bars * times

    # Lines

    def _end_line(self) -> None:
        """Read the marks of a line."""
        line, self._line = self._line, []
        if not line:
            return
        if any(mark.kind in (Kind.WORD, Kind.SAME) for mark in line):
            self._line_from = len(self.parts[-1].bars)
        if any(mark.kind in _BAR_LINES for mark in line):
            self._barred(line)
        else:
            self.loose_bars |= any(mark.kind == Kind.WORD for mark in line)
            self._unbarred(line)

    def _barred(self, line: list[Mark]) -> None:
        """A line with bar lines."""
        items: list[_Item] = []
        for at, mark in enumerate(line):
            if mark.kind in _BAR_LINES or mark.kind in (Kind.TIMES, Kind.METRE):
                closed = mark.kind == Kind.BAR and len(mark.text) == 1
                if not items and closed and self._is_gap(line, at):
                    items.append(_Item(None, mark.place))
                self._emit(items)
                items = []
                self._control(mark)
            else:
                items += self._items(mark)
        self._emit(items)

    def _is_gap(self, line: list[Mark], at: int) -> bool:
        """Whether nothing but space stands between this bar line and the one before, with more to
        come: the bar before is held."""
        before = line[at - 1] if at else None
        if before is None or before.kind != Kind.BAR or len(before.text) > 1 or self._last is None:
            return False
        apart = line[at].place.column - before.place.column > 1
        return apart and any(mark.kind == Kind.WORD for mark in line[at + 1 : at + 9])

    def _control(self, mark: Mark) -> None:
        """Repeats, endings, times and metres."""
        bars = self.parts[-1].bars
        if mark.kind == Kind.METRE:
            self._beats = mark.number
        elif mark.kind == Kind.REPEAT_FROM:
            self._from, self._ending, self._repeated = len(bars), None, None
        elif mark.kind == Kind.ENDING and mark.number == 1:
            self._ending = len(bars)
        elif mark.kind == Kind.REPEAT:
            self._repeated = (self._from, len(bars))
            bars += self._copies(bars[self._from : self._ending], 1)
            self._from, self._ending = len(bars), None
        elif mark.kind == Kind.TIMES:
            if self._repeated and self._repeated[1] <= len(bars) and self._from == len(bars):
                start, end = self._repeated
                bars += self._copies(bars[start:end], mark.number - 2)
                self._from = len(bars)
            else:
                bars += self._copies(bars[self._line_from :], mark.number - 1)
            self._line_from, self._repeated = len(bars), None

    def _unbarred(self, line: list[Mark]) -> None:
        """A line without bar lines: chord by chord, group by group, or beat by beat."""
        if any(mark.kind == Kind.BEAT for mark in line):
            self._beaten(line)
            return
        group: list[_Item] | None = None
        ticked: list[_Item] = []
        for mark in line:
            if mark.kind == Kind.OPEN and group is None:
                group = []
            elif mark.kind == Kind.CLOSE and group is not None:
                self._emit(group)
                group = None
            elif mark.kind in (Kind.TIMES, Kind.METRE):
                self._control(mark)
            elif group is not None:
                group += self._items(mark)
            else:
                ticked = self._ticked(ticked, mark)
        self._emit(ticked)
        self._emit(group or [])

    def _ticked(self, waiting: list[_Item], mark: Mark) -> list[_Item]:
        """Emit the bars of a mark; chords with ticks wait until the bar is full."""
        word = self._read(mark.text) if mark.kind == Kind.WORD else None
        items = self._items(mark)
        if word is not None and word.together:
            self._emit(waiting)
            self._emit(items)
            return []
        for item in items:
            waiting = [*waiting, item]
            ticks = item.symbol.ticks if item.symbol else 0
            full = sum(each.symbol.ticks for each in waiting if each.symbol) >= self._beats
            if not ticks or full:
                self._emit(waiting)
                waiting = []
        return waiting

    def _beaten(self, line: list[Mark]) -> None:
        """A line that marks its beats: so many of them are a bar."""
        items: list[_Item] = []
        for mark in line:
            if mark.kind in (Kind.TIMES, Kind.METRE):
                self._emit(items)
                items = []
                self._control(mark)
                continue
            if mark.kind == Kind.SAME:
                self._emit(items)
                self._emit(self._items(mark))
                items = []
                continue
            for item in self._items(mark):
                items.append(item)
                if len(items) >= self._beats:
                    self._emit(items)
                    items = []
        self._emit(items)

    # Bars

    def _items(self, mark: Mark) -> list[_Item]:
        """What a mark puts into a bar."""
        if mark.kind in (Kind.SAME, Kind.BEAT):
            return [_Item(None, mark.place)]
        word = self._read(mark.text) if mark.kind == Kind.WORD else None
        if word is None:
            return []
        symbols = [self._with_root(symbol) for symbol in word.symbols]
        return [_Item(symbol, mark.place) for symbol in symbols if symbol is not None]

    def _with_root(self, symbol: Symbol) -> Symbol | None:
        """A bass alone takes the chord before it."""
        if isinstance(symbol.what, Note):
            before = self._last.what if self._last else None
            if not isinstance(before, Chord):
                return None
            symbol = replace(symbol, what=replace(before, bass=symbol.what))
        self._last = symbol
        return symbol

    def _emit(self, items: list[_Item]) -> None:
        """A bar is complete: share its beats among its chords."""
        if not items:
            return
        bars = self.parts[-1].bars
        if all(item.symbol is None for item in items):
            if self._previous is None:
                return
        else:
            self._previous = self._timed(items)
        self._bars += 1
        bars.append(self._previous)

    def _timed(self, items: list[_Item]) -> Measure:
        """The chords of a bar with their beats."""
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
        beats = self._by_ticks([symbol.ticks for symbol, _ in chords], weights)
        return tuple(Piece(symbol, each, place) for (symbol, place), each in zip(chords, beats, strict=True))

    def _by_ticks(self, ticks: list[int], weights: list[int]) -> list[float]:
        """Beats of each chord: its ticks, if any are marked, else its share of the bar."""
        if not any(ticks):
            total = sum(weights)
            return [self._beats * weight / total for weight in weights]
        left = self._beats - sum(ticks)
        plain = ticks.count(0)
        return [float(tick) if tick else max(left / plain, 1.0) for tick in ticks]
