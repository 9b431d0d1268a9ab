"""Sheets: a tune, or a whole night's set list, as it is to lie on the music stand.

Conventions. What is asked for comes as names with texts, as an address has them: ``box``, ``paper``, and
for a tune ``key`` and ``up`` (semitones, after the key) and ``capo``; a night has these for all its tunes,
or for its third one alone as ``key-3``, ``up-3``, ``capo-3``. Nothing of it changes a tune.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final

from cards.asks import Card, Setting
from cards.charts import Chart
from cards.guitar.regions import BOXES
from cards.messages import RefusalError, echo
from cards.theory.keys import Key, KeyNameError
from cards.tune_sheet import TuneSheet, tune_sheet
from drill.jams.nights import night
from drill.players.preferences import Preferences, preferences, read_setting
from drill.store import Store
from drill.tunes.library import chart_of, tune

PAPERS: Final = ("a4", "letter")
FARTHEST: Final = 11
"""Semitones that a tune can be moved."""

_NAME: Final = re.compile(r"(key|up|capo)(?:-([0-9]+))?\Z")
_WHOLE: Final = re.compile(r"[+-]?[0-9]{1,2}\Z")
_NEAREST: Final = range(-5, 7)

_Row = tuple[str, str | None, str, Chart, int | None]


class SheetError(RefusalError, ValueError):
    """A sheet that there is not; the message says what would be right."""


@dataclass(frozen=True)
class Transposition:
    """Where a tune is put: the key called, then so many semitones up, the capo's fret; as it is if None."""

    key: Key | None = None
    up: int = 0
    capo: int | None = None

    def of(self, chart: Chart) -> Chart:
        """The chart there; a minor tune stays minor."""
        if self.key is not None:
            chart = chart.in_key(Key(self.key.tonic, chart.key.mode).practical)
        if self.up:
            chart = chart.moved(self.up)
        return chart if self.capo is None else chart.with_capo(self.capo)


@dataclass(frozen=True)
class SheetRequest:
    """What is asked of a sheet: the box, the paper, the move of each tune."""

    box: int
    paper: str
    moves: tuple[Transposition, ...]


@dataclass(frozen=True)
class TunePage:
    """A tune's part of a sheet: the ``number``-th, ``sheet`` with its chart as it is shown, ``own`` as it is
    kept (in the key called that night), ``tempo`` in beats a minute, the title of the tune after it."""

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
        """Semitones that it is shown above its own key, from -5 to 6."""
        here = self.chart.key
        steps = (step for step in _NEAREST if self.own.key.moved(step).tonic.pitch_class == here.tonic.pitch_class)
        return next(steps)

    @property
    def keys_around(self) -> tuple[tuple[int, Key], ...]:
        """All keys from a fourth below its own to a tritone above, each with its semitones."""
        return tuple((step, self.own.key if step == 0 else self.own.key.moved(step)) for step in _NEAREST)


@dataclass(frozen=True)
class NightSheet:
    """The sheet of a night that is ``at`` a time in the player's zone, or of one tune: then there is no such
    time. ``with_room`` are the boxes that the player's guitar has room for in every tune.
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


def nearest(step: int) -> int:
    """The same key by so many semitones, from -5 to 6.

    >>> [nearest(step) for step in (7, 6, -6, 12)]
    [-5, 6, 6, 0]
    """
    return (step + 5) % 12 - 5


def sheet_of_tune(store: Store, player_id: int, tune_id: str, asked: Mapping[str, str]) -> NightSheet:
    """One tune's sheet, in box 1 unless another is asked for. Raises NoTuneError, SheetError."""
    found = tune(store, player_id, tune_id)
    chart = chart_of(found)
    tempo = round(chart.tempo) if chart.tempo else None
    rows: list[_Row] = [(found.id, None, found.title, chart, tempo)]
    return _sheet(found.title, None, "", rows, read_wanted(asked, 1, 1), preferences(store, player_id))


def sheet_of_jam(store: Store, player_id: int, jam_id: str, asked: Mapping[str, str], now: datetime) -> NightSheet:
    """The sheet of a night, in the first of its boxes unless another is asked for. Raises NoJamError,
    SheetError."""
    found = night(store, player_id, jam_id, now)
    jam = found.jam
    wanted = read_wanted(asked, len(found.entries), jam.boxes[0] if jam.boxes else 1)
    rows: list[_Row] = [(each.tune_id, each.id, each.title, each.chart, each.tempo) for each in found.entries]
    return _sheet(jam.name, found.local, jam.place, rows, wanted, preferences(store, player_id))


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
            sheet=tune_sheet(move.of(chart), wanted.box, setting),
            after=after[number - 1] if number < len(rows) else None,
        )
        for number, ((tune_id, entry_id, name, chart, tempo), move) in enumerate(
            zip(rows, wanted.moves, strict=True), start=1
        )
    )
    with_room = tuple(box for box in BOXES if all(_has_room(page.chart, box, setting) for page in pages))
    return NightSheet(title, at, place, wanted.box, wanted.paper, setting, kept.tuning, pages, with_room)


def _has_room(chart: Chart, box: int, setting: Setting) -> bool:
    """Whether the player's guitar has room for a box in every key of a tune."""
    behind = replace(setting, capo=chart.capo)
    return all(Card("hands-on", section.key, box=box).fits(behind) for section in chart.sections)


def read_wanted(asked: Mapping[str, str], tunes: int, box: int) -> SheetRequest:
    """What is asked of a sheet with so many tunes, in ``box`` unless it says otherwise. Raises SheetError.

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
            raise _no_tune(number, name, tunes)
        (every if number is None else single.setdefault(int(number), {}))[kind] = _READERS[kind](text)
    moves = tuple(_move(every, single.get(number, {})) for number in range(1, tunes + 1))
    paper = asked.get("paper", PAPERS[0]).strip().lower()
    if paper not in PAPERS:
        raise SheetError('no paper "{paper}": write a4 or letter', paper=echo(asked["paper"]))
    return SheetRequest(_box(asked["box"]) if "box" in asked else box, paper, moves)


def _move(every: Mapping[str, Any], single: Mapping[str, Any]) -> Transposition:
    """The move of one tune: a key or semitones of its own go before those of all."""
    if single.keys() & {"key", "up"}:
        return Transposition(**{"capo": every.get("capo"), **single})
    return Transposition(**{**every, **single})


def _no_tune(number: str, name: str, tunes: int) -> SheetError:
    if tunes == 1:
        return SheetError('no tune {number}, as "{name}" says: there is one', number=number, name=name)
    if tunes == 0:
        return SheetError('no tune {number}, as "{name}" says: there are none yet', number=number, name=name)
    return SheetError(
        'no tune {number}, as "{name}" says: they are numbered 1 to {last}', number=number, name=name, last=tunes
    )


def _box(text: str) -> int:
    box = _whole(text)
    if box is None or box not in BOXES:
        raise SheetError('no box "{box}": a box is a number from 1 to 5', box=echo(text))
    return box


def _key(text: str) -> Key:
    try:
        return Key.read(text)
    except KeyNameError as error:
        raise SheetError(error.sentence, **error.values) from error


def _up(text: str) -> int:
    step = _whole(text)
    if step is None or abs(step) > FARTHEST:
        raise SheetError(
            'not "{text}" semitones up: write a number from -11 to 11, like 5 for a fourth', text=echo(text)
        )
    return step


def _capo(text: str) -> int:
    fret = _whole(text)
    if fret is None or not 0 <= fret <= FARTHEST:
        raise SheetError('no capo on "{text}": it lies on a fret from 1 to 11, or 0 for none', text=echo(text))
    return fret


def _whole(text: str) -> int | None:
    stripped = text.strip()
    return int(stripped) if _WHOLE.match(stripped) else None


_READERS: Final = {"key": _key, "up": _up, "capo": _capo}
