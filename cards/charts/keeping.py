"""A chart as plain data to be kept, and back: bars, sections and what the song says of itself.

What the text looked like is not kept: places, what could not be read, what was guessed. So no word
of a song can be among it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from cards.charts.chart import Bar, Change, Chart, ChartError, Options, Place, Section
from cards.theory.chords import ChordError, read_quality
from cards.theory.keys import Key
from cards.theory.numerals import Numeral
from cards.theory.pitch import Interval

_INTERVAL = re.compile(r"(b{0,2}|#{0,2})([1-7])\Z")
_METRE = re.compile(r"[1-9][0-9]?/[1-9][0-9]?\Z")
#: The most beats a chord lasts, and beats a minute.
_MOST = 1000
_NOWHERE = Place(1, 1)
_MARKS = ("pushed", "held", "optional")


def plain(chart: Chart) -> dict[str, Any]:
    """The chart as JSON has it; :func:`from_plain` gives it back."""
    return {
        "title": chart.title,
        "key": str(chart.key),
        "capo": chart.capo,
        "tempo": chart.tempo,
        "time": chart.time,
        "feel": chart.feel,
        "minor_from": chart.options.minor_from,
        "sections": [
            {
                "name": section.name,
                "key": str(section.key),
                "bars": [[_plain_change(change) for change in bar] for bar in section.bars],
            }
            for section in chart.sections
        ],
    }


def from_plain(data: Mapping[str, Any]) -> Chart:
    """The chart that was kept. Raises ChartError for data that is none."""
    try:
        key = Key.read(data["key"])
        sections = tuple(_section(each) for each in data["sections"])
        return Chart(
            title=_words(data["title"]),
            key=key,
            key_given=True,
            keys=(),
            capo=int(data["capo"]),
            tempo=None if data["tempo"] is None else _positive(data["tempo"]),
            time=None if data["time"] is None else _metre(data["time"]),
            feel=_words(data["feel"]),
            sections=sections,
            tokens=sum(len(bar) for section in sections for bar in section.bars),
            options=Options(key=key, minor_from=_words(data["minor_from"])),
        )
    except (KeyError, TypeError, AttributeError, ValueError, OverflowError) as error:
        raise ChartError("this is no kept chart: {reason}", reason=error) from error


def _plain_change(change: Change) -> dict[str, Any]:
    numeral = change.numeral
    marks = {mark: True for mark in _MARKS if getattr(change, mark)}
    if numeral is None:
        return {"beats": change.beats, **marks}
    return {
        "root": _degree(numeral.root),
        "quality": numeral.quality.name,
        **({} if numeral.bass is None else {"bass": _degree(numeral.bass)}),
        **({} if numeral.target is None else {"target": numeral.target}),
        "beats": change.beats,
        **marks,
    }


def _section(data: Mapping[str, Any]) -> Section:
    key = Key.read(data["key"])
    return Section(_words(data["name"]) or "", tuple(_bar(bar, key) for bar in data["bars"]), key)


def _bar(changes: list[Mapping[str, Any]], key: Key) -> Bar:
    return tuple(_change(each, key) for each in changes)


def _change(data: Mapping[str, Any], key: Key) -> Change:
    marks = {mark: bool(data.get(mark)) for mark in _MARKS}
    beats = _positive(data["beats"])
    if "root" not in data:
        return Change(None, beats, "N.C.", _NOWHERE, **marks)
    try:
        quality = read_quality(data["quality"])
    except ChordError as error:
        raise ChartError(error.sentence, **error.values) from error
    bass = data.get("bass")
    target = _words(data.get("target"))
    numeral = Numeral(_interval(data["root"]), quality, None if bass is None else _interval(bass), target)
    _ = numeral.number, str(numeral)  # A target that is no figure cannot be told.
    return Change(numeral, beats, str(numeral.chord(key)), _NOWHERE, **marks)


def _words(value: object) -> str | None:
    if value is None or isinstance(value, str):
        return value
    raise ChartError("{value} is no text", value=repr(value))


def _positive(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value <= _MOST:
        raise ChartError("{value} is no number above 0, {most} at most", value=repr(value), most=_MOST)
    return float(value)


def _metre(value: object) -> str:
    if not isinstance(value, str) or _METRE.match(value) is None:
        raise ChartError("{value} is no metre like 4/4", value=repr(value))
    return value


def _degree(interval: Interval) -> str:
    return "1" if interval == Interval(1) else interval.ascii


def _interval(text: str) -> Interval:
    match = _INTERVAL.match(text)
    if match is None:
        raise ChartError('no degree "{text}": a number 1–7 with b or # before it', text=text)
    accidental, number = match.groups()
    return Interval(int(number), accidental.count("#") - accidental.count("b"))
