"""Sheets: one tune, or the set list of a night, as it is to lie on the music stand.

Conventions. A request consists of names with texts, as in an address: ``box``, ``paper`` and ``manner`` (how the way
is found) for the sheet; ``key``, ``up`` (semitones, applied after the key) and ``capo`` for a tune. For a night these
three hold for all tunes; ``key-3``, ``up-3`` and ``capo-3`` hold for the third tune only. A sheet changes no tune.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final

from cards.asks import Card, Setting
from cards.charts import Chart
from cards.guitar.regions import BOXES, RegionError, read_box
from cards.messages import RefusalError, echo
from cards.theory.keys import Key, KeyNameError
from cards.tune_sheet import SHEET_MANNER, SHEET_MANNERS, TuneSheet, tune_sheet
from cards.voicings.routes import Manner
from drill.jams.nights import night
from drill.players.preferences import Preferences, preferences, read_setting
from drill.store import Store
from drill.tunes.library import chart_of, tune

PAPERS: Final = ("a4", "letter")
FARTHEST: Final = 11
"""The most semitones that a tune can be moved by."""

_NAME: Final = re.compile(r"(key|up|capo)(?:-([0-9]+))?\Z")
_WHOLE: Final = re.compile(r"[+-]?[0-9]{1,2}\Z")
_NEAREST: Final = range(-5, 7)

_Row = tuple[str, str | None, str, Chart, int | None]


class SheetError(RefusalError, ValueError):
    """A sheet that cannot be made; the message says what would be right."""


@dataclass(frozen=True)
class Transposition:
    """How a tune is moved: to ``key``, then ``up`` semitones, with the capo at a fret. None leaves it as it is."""

    key: Key | None = None
    up: int = 0
    capo: int | None = None

    def of(self, chart: Chart) -> Chart:
        """Return the moved chart; a minor tune stays minor."""
        if self.key is not None:
            chart = chart.in_key(Key(self.key.tonic, chart.key.mode).practical)
        if self.up:
            chart = chart.moved(self.up)
        return chart if self.capo is None else chart.with_capo(self.capo)


@dataclass(frozen=True)
class SheetRequest:
    """What a request asks for: the box, the paper, the transposition of each tune, and the manner of the way.

    The box may be :data:`OPEN`.
    """

    box: int
    paper: str
    moves: tuple[Transposition, ...]
    manner: Manner = SHEET_MANNER


@dataclass(frozen=True)
class TunePage:
    """One tune of a sheet, with its ``number`` from 1.

    ``sheet`` has the chart as it is shown. ``own`` is the chart as it is kept (for a night, in the key called).
    ``tempo`` is in beats per minute. ``after`` is the title of the next tune.
    """

    number: int
    tune_id: str
    entry_id: str | None
    title: str
    own: Chart
    tempo: int | None
    sheet: TuneSheet
    after: str | None

    @property
    def chart(self) -> Chart:
        """The chart as it is shown."""
        return self.sheet.chart

    @property
    def up(self) -> int:
        """How many semitones it is shown above its own key, from -5 to 6."""
        shown_key = self.chart.key
        steps = (step for step in _NEAREST if self.own.key.moved(step).tonic.pitch_class == shown_key.tonic.pitch_class)
        return next(steps)

    @property
    def keys_around(self) -> tuple[tuple[int, Key], ...]:
        """All keys from a fourth below its own key to a tritone above, each with its semitones."""
        return tuple((step, self.own.key if step == 0 else self.own.key.moved(step)) for step in _NEAREST)


@dataclass(frozen=True)
class NightSheet:
    """The sheet of a night, or of one tune.

    ``at`` is the night's time in the player's zone, None for one tune. ``with_room`` are the boxes that the player's
    guitar has room for in every tune.
    """

    title: str
    at: datetime | None
    place: str
    box: int
    paper: str
    setting: Setting
    tuning: str
    pages: tuple[TunePage, ...]
    with_room: tuple[int, ...]
    manner: Manner = SHEET_MANNER


def nearest(step: int) -> int:
    """Return the same key by a step from -5 to 6 semitones.

    >>> [nearest(step) for step in (7, 6, -6, 12)]
    [-5, 6, 6, 0]
    """
    return (step + 5) % 12 - 5


def sheet_of_tune(store: Store, player_id: int, tune_id: str, asked: Mapping[str, str]) -> NightSheet:
    """Return one tune's sheet, in box 1 unless another is asked for. Raises NoTuneError, SheetError."""
    kept = tune(store, player_id, tune_id)
    chart = chart_of(kept)
    tempo = round(chart.tempo) if chart.tempo else None
    rows: list[_Row] = [(kept.id, None, kept.title, chart, tempo)]
    return _sheet(kept.title, None, "", rows, read_wanted(asked, 1, 1), preferences(store, player_id))


def sheet_of_jam(store: Store, player_id: int, jam_id: str, asked: Mapping[str, str], now: datetime) -> NightSheet:
    """Return a night's sheet, in its first box unless another is asked for. Raises NoJamError, SheetError."""
    evening = night(store, player_id, jam_id, now)
    jam = evening.jam
    wanted = read_wanted(asked, len(evening.entries), jam.boxes[0] if jam.boxes else 1)
    rows: list[_Row] = [(entry.tune_id, entry.id, entry.title, entry.chart, entry.tempo) for entry in evening.entries]
    return _sheet(jam.name, evening.local, jam.place, rows, wanted, preferences(store, player_id))


def _sheet(
    title: str, at: datetime | None, place: str, rows: list[_Row], wanted: SheetRequest, kept: Preferences
) -> NightSheet:
    setting = read_setting(kept)
    after = [name for _, _, name, *_ in rows[1:]]
    pages = tuple(
        TunePage(
            number=number,
            tune_id=tune_id,
            entry_id=entry_id,
            title=name,
            own=chart,
            tempo=tempo,
            sheet=tune_sheet(move.of(chart), wanted.box, setting, wanted.manner),
            after=after[number - 1] if number < len(rows) else None,
        )
        for number, ((tune_id, entry_id, name, chart, tempo), move) in enumerate(
            zip(rows, wanted.moves, strict=True), start=1
        )
    )
    with_room = tuple(box for box in BOXES if all(_has_room(page.chart, box, setting) for page in pages))
    return NightSheet(title, at, place, wanted.box, wanted.paper, setting, kept.tuning, pages, with_room, wanted.manner)


def _has_room(chart: Chart, box: int, setting: Setting) -> bool:
    """Return whether the player's guitar has room for a box in every key of a tune."""
    behind = replace(setting, capo=chart.capo)
    return all(Card("hands-on", section.key, box=box).fits(behind) for section in chart.sections)


def read_wanted(asked: Mapping[str, str], tunes: int, box: int) -> SheetRequest:
    """Read what is asked of a sheet of ``tunes`` tunes, in ``box`` unless it names another. Raises SheetError.

    >>> wanted = read_wanted({"up": "5", "key-2": "eb", "paper": "letter"}, 2, 1)
    >>> [(str(move.key), move.up) for move in wanted.moves], wanted.paper
    ([('None', 5), ('E♭', 0)], 'letter')
    """
    every: dict[str, Any] = {}
    single: dict[int, dict[str, Any]] = {}
    for name, text in asked.items():
        match = _NAME.match(name)
        if match is None:
            continue
        kind, number = match.groups()
        if number is not None and not 1 <= int(number) <= tunes:
            raise _no_such_tune(number, name, tunes)
        (every if number is None else single.setdefault(int(number), {}))[kind] = _READERS[kind](text)
    moves = tuple(_transposition(every, single.get(number, {})) for number in range(1, tunes + 1))
    paper = asked.get("paper", PAPERS[0]).strip().lower()
    if paper not in PAPERS:
        raise SheetError('no paper "{paper}": write a4 or letter', paper=echo(asked["paper"]))
    manner = asked.get("manner", SHEET_MANNER.name).strip().lower()
    if manner not in SHEET_MANNERS:
        raise SheetError('no manner "{manner}": write smooth, strum, comp or small', manner=echo(asked["manner"]))
    return SheetRequest(_read_box(asked["box"]) if "box" in asked else box, paper, moves, SHEET_MANNERS[manner])


def _transposition(every: Mapping[str, Any], single: Mapping[str, Any]) -> Transposition:
    """Return the transposition of one tune: its own key or semitones replace those of all tunes."""
    if single.keys() & {"key", "up"}:
        return Transposition(**{"capo": every.get("capo"), **single})
    return Transposition(**{**every, **single})


def _no_such_tune(number: str, name: str, tunes: int) -> SheetError:
    if tunes == 1:
        return SheetError('no tune {number}, as "{name}" says: there is one', number=number, name=name)
    if tunes == 0:
        return SheetError('no tune {number}, as "{name}" says: there are none yet', number=number, name=name)
    return SheetError(
        'no tune {number}, as "{name}" says: they are numbered 1 to {last}', number=number, name=name, last=tunes
    )


def _read_box(text: str) -> int:
    try:
        return read_box(text)
    except RegionError as error:
        raise SheetError(error.sentence, **error.values) from error


def _read_key(text: str) -> Key:
    try:
        return Key.read(text)
    except KeyNameError as error:
        raise SheetError(error.sentence, **error.values) from error


def _read_up(text: str) -> int:
    step = _whole_number(text)
    if step is None or abs(step) > FARTHEST:
        raise SheetError(
            'not "{text}" semitones up: write a number from -11 to 11, like 5 for a fourth', text=echo(text)
        )
    return step


def _read_capo(text: str) -> int:
    fret = _whole_number(text)
    if fret is None or not 0 <= fret <= FARTHEST:
        raise SheetError('no capo on "{text}": it lies on a fret from 1 to 11, or 0 for none', text=echo(text))
    return fret


def _whole_number(text: str) -> int | None:
    stripped = text.strip()
    return int(stripped) if _WHOLE.match(stripped) else None


_READERS: Final = {"key": _read_key, "up": _read_up, "capo": _read_capo}
