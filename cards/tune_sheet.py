"""A tune on one sheet: its bars by number and by name, and one way through them under the hand.

Conventions. The way goes through what is written, in the anchor region of one box of each section's key, in the
manner of a sheet (:data:`SHEET_MANNER`) or in another. The box :data:`OPEN` is the place of each key that is nearest to
the nut. The way takes voicings wholly inside the region, or in its reach where there is none inside. A chord that stays
keeps its voicing. What the hand cannot play as it is written is shown as bands play it then
(:attr:`cards.theory.numerals.Numeral.simpler`). Frets count from the tune's capo.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import groupby

from cards.asks import hands_on
from cards.asks.card import Card, Setting
from cards.charts import Bar, Change, Chart
from cards.charts.notation.numbers import number_name
from cards.charts.parts import BARS_A_LINE, Part, Run, parts_of, same_music
from cards.drawings.region import region_title
from cards.drawings.voicing import describe, draw_voicings, panel
from cards.guitar.regions import OPEN, Region, box_at_nut
from cards.messages import phrase
from cards.theory.chords import Chord
from cards.theory.keys import Key
from cards.theory.numerals import Numeral
from cards.voicings.routes import MANNERS, SMOOTH, Manner, smoothest_among
from cards.voicings.voicing import MAIN_STRINGS, Voicing

_NUMBER = re.compile(r"(?P<figure>[♭♯]*[1-7]-?):?(?P<suffix>.*?)(?P<bass>/[♭♯]*[1-7])?\Z")
SHEET_MANNER = replace(SMOOTH, fewest=MAIN_STRINGS, taught=3.0)
"""The manner of a sheet unless another is asked for: four strings or more, and the grips that were taught, so that
a chord seldom has two."""

SHEET_MANNERS = {**MANNERS, SHEET_MANNER.name: SHEET_MANNER}
"""The manners of a sheet by name: *smooth* is the sheet's own."""

_MARKS = "abcdefghijklmnopqrstuvwxyz"

_Step = tuple[Key, Chord]


@dataclass(frozen=True)
class Number:
    """A chord by number as it is printed, for example ``2-`` with a raised ``7`` and then ``/5``.

    >>> Number.read("2-7"), str(Number.read("1:6/9")), Number.read("4/5").bass
    (Number(figure='2-', suffix='7', bass=''), '16/9', '/5')
    """

    figure: str
    suffix: str
    bass: str

    @classmethod
    def read(cls, name: str) -> Number:
        """Split a name that :func:`cards.charts.notation.numbers.number_name` wrote."""
        match = _NUMBER.match(name)
        assert match is not None, name
        return cls(match["figure"], match["suffix"], match["bass"] or "")

    def __str__(self) -> str:
        return self.figure + self.suffix + self.bass


@dataclass(frozen=True)
class SheetCell:
    """A chord of a bar, or a rest. A rest has None for ``number``, ``chord`` and ``shape``.

    ``shape`` is the chord that the hand plays behind the capo. ``uneven`` is True if the chords of the bar differ in
    length. ``mark`` is a letter that tells apart the voicings of a chord that has several, else "".
    """

    number: Number | None
    chord: Chord | None
    shape: Chord | None
    beats: float
    uneven: bool
    pushed: bool
    held: bool
    optional: bool
    mark: str


@dataclass(frozen=True)
class SheetBar:
    """A bar with its chords. ``again`` is True if it repeats the bar before it on the same line."""

    cells: tuple[SheetCell, ...]
    again: bool


@dataclass(frozen=True)
class SheetPart:
    """A section of the sheet (:class:`cards.charts.parts.Part`) with its printed bars."""

    names: tuple[str, ...]
    key: Key
    times: int
    bars: tuple[SheetBar, ...]

    @property
    def widest(self) -> int:
        """The width of the widest bar, in characters, with one space between chords."""
        return max(sum(len(str(cell.chord or "N.C.")) + 1 for cell in bar.cells) - 1 for bar in self.bars)


@dataclass(frozen=True)
class SheetGrip:
    """A voicing of the way.

    ``sounds`` is the chord that is heard, ``shape`` the chord that the hand plays behind the capo, and ``numbers``
    the numbers in the chart that it is played for. ``instead_of`` are the written chords that it replaces.
    """

    numbers: tuple[Number, ...]
    sounds: Chord
    shape: Chord
    mark: str
    voicing: Voicing
    instead_of: tuple[Chord, ...]

    @property
    def words(self) -> str:
        """The voicing in words, string by string, string 6 first."""
        return describe(self.voicing.frets, self.voicing.chord, self.voicing.neck)

    def drawing(self, left_handed: bool) -> str:
        """The voicing as SVG."""
        box = self.voicing.region.box
        if box == OPEN and self.voicing.neck.capo:
            title = phrase("{chord} as {shape} behind the capo, open position", chord=self.sounds, shape=self.shape)
        elif box == OPEN:
            title = phrase("{chord}, open position", chord=self.sounds)
        elif self.voicing.neck.capo:
            title = phrase(
                "{chord} as {shape} behind the capo, box {box}", chord=self.sounds, shape=self.shape, box=box
            )
        else:
            title = phrase("{chord}, box {box}", chord=self.sounds, box=box)
        return draw_voicings([panel(self.voicing)], title, left_handed)


@dataclass(frozen=True)
class SheetPlace:
    """A region in which the hand stays.

    ``grips`` are in the order in which the tune needs them. ``missing`` are the chords without a voicing in the
    region. ``room`` is False if the region is above the highest comfortable fret.
    """

    key: Key
    region: Region
    room: bool
    grips: tuple[SheetGrip, ...]
    missing: tuple[Chord, ...]

    @property
    def title(self) -> str:
        """The region in a few words."""
        return region_title(self.region)


@dataclass(frozen=True)
class TuneSheet:
    """A tune on one sheet: its parts, the order in which they are played, and the regions of the hand.

    ``order`` is () if each part comes only once, so that they are played from first to last.
    """

    chart: Chart
    parts: tuple[SheetPart, ...]
    order: tuple[Run, ...]
    places: tuple[SheetPlace, ...]

    @property
    def cells(self) -> Iterator[SheetCell]:
        """All cells of the sheet, in order."""
        return (cell for part in self.parts for bar in part.bars for cell in bar.cells)


@dataclass(frozen=True)
class _Hand:
    """A region and what the hand can play in it.

    ``plays`` gives the chord that is played for each numeral of the tune, ``choices`` the voicings of each such chord.
    """

    region: Region
    room: bool
    plays: dict[Numeral, Chord]
    choices: dict[Chord, tuple[Voicing, ...]]


def tune_sheet(chart: Chart, box: int, setting: Setting, manner: Manner = SHEET_MANNER) -> TuneSheet:
    """A tune in a box for a player's hand and guitar and in a manner, the capo where the chart has it.

    Raises RegionError for a box that does not exist, NeckError for a capo that no neck has.

    >>> from cards.charts.forms import form
    >>> sheet = tune_sheet(form("12-bar blues", Key.read("Bb")), 1, Setting())
    >>> "".join(str(cell.number) for cell in sheet.cells), [str(grip.sounds) for grip in sheet.places[0].grips]
    ('171717174747171757471757', ['B♭7', 'E♭7', 'F7'])
    """
    setting = replace(setting, capo=chart.capo)
    parts, order = parts_of(chart)
    called: dict[Key, list[Numeral]] = {}
    for part in parts:
        called.setdefault(part.key, []).extend(change.numeral for change in _changes(part) if change.numeral)
    hands = {key: _choose_hand(key, dict.fromkeys(numerals), box, setting) for key, numerals in called.items()}
    steps = [_step(part.key, change, hands) for part in parts for change in _changes(part)]
    choices = {(key, chord): found for key, hand in hands.items() for chord, found in hand.choices.items()}
    way = _way(steps, choices, manner)
    marks = _marks(steps, way)
    on_the_way = iter(way)
    return TuneSheet(
        chart,
        tuple(_lay_out_part(chart, part, [next(on_the_way) for _ in _changes(part)], marks) for part in parts),
        order,
        tuple(
            _lay_out_place(chart, key, hand, dict.fromkeys(called[key]), steps, way, marks)
            for key, hand in hands.items()
        ),
    )


def _changes(part: Part) -> Iterator[Change]:
    return (change for bar in part.bars for change in bar)


def _choose_hand(key: Key, numerals: Iterable[Numeral], box: int, setting: Setting) -> _Hand:
    """Choose a chord that the hand can play in the region for each numeral, as it is written or plainer."""
    place = Card(hands_on.ASK, key, box=box_at_nut(key, setting.neck) if box == OPEN else box)
    plays: dict[Numeral, Chord] = {}
    choices: dict[Chord, tuple[Voicing, ...]] = {}
    room = place.fits(setting)
    for numeral in numerals if room else ():
        for simpler in numeral.simpler:
            chord = simpler.chord(key)
            voicings = choices.get(chord) or _choices(place.voicings(setting, chord))
            if voicings:
                plays[numeral], choices[chord] = chord, voicings
                break
    return _Hand(place.region(setting), room, plays, choices)


def _choices(found: tuple[Voicing, ...]) -> tuple[Voicing, ...]:
    """The voicings wholly inside the region; all if there is none."""
    return tuple(voicing for voicing in found if not voicing.outside) or found


def _step(key: Key, change: Change, hands: dict[Key, _Hand]) -> _Step | None:
    """Return what the hand plays for a change, or None if it plays nothing."""
    chord = hands[key].plays.get(change.numeral) if change.numeral else None
    return None if chord is None else (key, chord)


def _way(steps: list[_Step | None], choices: dict[_Step, tuple[Voicing, ...]], manner: Manner) -> list[Voicing | None]:
    """The voicing at each step; a chord that stays, also over a rest, is one step of the way."""
    played = [step for step in steps if step is not None]
    route = iter(smoothest_among([step for step, _ in groupby(played)], choices, manner).voicings)
    way: list[Voicing | None] = []
    last: _Step | None = None
    voicing: Voicing | None = None
    for step in steps:
        if step is not None and step != last:
            last, voicing = step, next(route)
        way.append(None if step is None else voicing)
    return way


def _marks(steps: list[_Step | None], way: list[Voicing | None]) -> dict[Voicing, str]:
    """Return a letter for each voicing of a chord that has several voicings, and "" for any other voicing."""
    voicings_of: dict[_Step, dict[Voicing, None]] = {}
    for step, voicing in zip(steps, way, strict=True):
        if step is not None and voicing is not None:
            voicings_of.setdefault(step, {})[voicing] = None
    return {
        voicing: mark if len(voicings) > 1 else ""
        for voicings in voicings_of.values()
        for voicing, mark in zip(voicings, _MARKS, strict=False)
    }


def _lay_out_part(chart: Chart, part: Part, way: list[Voicing | None], marks: dict[Voicing, str]) -> SheetPart:
    """Return a part with its printed bars.

    A bar repeats the one before it only if the hand also plays the same voicings.
    """
    bars: list[SheetBar] = []
    voicings = iter(way)
    for number, bar in enumerate(part.bars):
        cells = tuple(_lay_out_cell(chart, part.key, bar, change, next(voicings), marks) for change in bar)
        again = number % BARS_A_LINE > 0 and same_music(part.bars[number - 1], bar) and bars[-1].cells == cells
        bars.append(SheetBar(cells, again))
    return SheetPart(part.names, part.key, part.times, tuple(bars))


def _lay_out_cell(
    chart: Chart, key: Key, bar: Bar, change: Change, voicing: Voicing | None, marks: dict[Voicing, str]
) -> SheetCell:
    numeral = change.numeral
    return SheetCell(
        number=None if numeral is None else _read_number(chart, key, numeral),
        chord=None if numeral is None else numeral.chord(key),
        shape=None if numeral is None else numeral.chord(key.moved(-chart.capo)),
        beats=change.beats,
        uneven=len({other.beats for other in bar}) > 1,
        pushed=change.pushed,
        held=change.held,
        optional=change.optional,
        mark="" if voicing is None else marks[voicing],
    )


def _read_number(chart: Chart, key: Key, numeral: Numeral) -> Number:
    return Number.read(number_name(numeral, key, chart.options.minor_from))


def _lay_out_place(
    chart: Chart,
    key: Key,
    hand: _Hand,
    called: Iterable[Numeral],
    steps: list[_Step | None],
    way: list[Voicing | None],
    marks: dict[Voicing, str],
) -> SheetPlace:
    """Return a region with the grips that the way takes in it. ``called`` are the numerals of the tune in its key."""
    called = tuple(called)
    grips = []
    for (step_key, chord), voicing in dict.fromkeys(
        (step, voicing) for step, voicing in zip(steps, way, strict=True) if step is not None
    ):
        if step_key != key or voicing is None:
            continue
        callers = [numeral for numeral in called if hand.plays.get(numeral) == chord]
        played = next(plainer for numeral in callers for plainer in numeral.simpler if plainer.chord(key) == chord)
        grips.append(
            SheetGrip(
                numbers=tuple(dict.fromkeys(_read_number(chart, key, numeral) for numeral in callers)),
                sounds=chord,
                shape=played.chord(key.moved(-chart.capo)),
                mark=marks[voicing],
                voicing=voicing,
                instead_of=tuple(dict.fromkeys(caller.chord(key) for caller in callers if caller.chord(key) != chord)),
            )
        )
    missing = tuple(dict.fromkeys(numeral.chord(key) for numeral in called if numeral not in hand.plays and hand.room))
    return SheetPlace(key, hand.region, hand.room, tuple(grips), missing)
