"""Charts as plain data for storage: sections, bars, and the title, key, capo, tempo, metre and feel.

Places in the text, unread texts and guesses are not kept, so no words of a song can be stored.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from cards.charts.chart import Bar, Change, Chart, ChartError, Options, Place, Section
from cards.messages import echo
from cards.theory.chords import ChordError, read_quality
from cards.theory.keys import Key
from cards.theory.numerals import Numeral
from cards.theory.pitch import Interval

_INTERVAL = re.compile(r"(b{0,2}|#{0,2})([1-7])\Z")
_METRE = re.compile(r"[1-9][0-9]?/[1-9][0-9]?\Z")
#: The longest chord, in beats, and the fastest tempo, in beats a minute.
_MOST = 1000
_NOWHERE = Place(1, 1)
_MARKS = ("pushed", "held", "optional")


def plain(chart: Chart) -> dict[str, Any]:
    """Return the chart as values that JSON can hold. :func:`from_plain` is the inverse."""
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
    """Restore a chart from what :func:`plain` returned. Raises ChartError for any other data."""
    try:
        key = Key.read(data["key"])
        sections = tuple(_restore_section(section) for section in data["sections"])
        return Chart(
            title=_check_text(data["title"]),
            key=key,
            key_given=True,
            keys=(),
            capo=int(data["capo"]),
            tempo=None if data["tempo"] is None else _check_positive(data["tempo"]),
            time=None if data["time"] is None else _check_metre(data["time"]),
            feel=_check_text(data["feel"]),
            sections=sections,
            tokens=sum(len(bar) for section in sections for bar in section.bars),
            options=Options(key=key, minor_from=_check_text(data["minor_from"])),
        )
    except (KeyError, TypeError, AttributeError, ValueError, OverflowError) as error:
        raise ChartError("this is no kept chart: {reason}", reason=error) from error


def _plain_change(change: Change) -> dict[str, Any]:
    numeral = change.numeral
    marks = {mark: True for mark in _MARKS if getattr(change, mark)}
    if numeral is None:
        return {"beats": change.beats, **marks}
    return {
        "root": _print_degree(numeral.root),
        "quality": numeral.quality.name,
        **({} if numeral.bass is None else {"bass": _print_degree(numeral.bass)}),
        **({} if numeral.target is None else {"target": numeral.target}),
        "beats": change.beats,
        **marks,
    }


def _restore_section(data: Mapping[str, Any]) -> Section:
    key = Key.read(data["key"])
    return Section(_check_text(data["name"]) or "", tuple(_restore_bar(bar, key) for bar in data["bars"]), key)


def _restore_bar(changes: list[Mapping[str, Any]], key: Key) -> Bar:
    return tuple(_restore_change(change, key) for change in changes)


def _restore_change(data: Mapping[str, Any], key: Key) -> Change:
    marks = {mark: bool(data.get(mark)) for mark in _MARKS}
    beats = _check_positive(data["beats"])
    if "root" not in data:
        return Change(None, beats, "N.C.", _NOWHERE, **marks)
    try:
        quality = read_quality(data["quality"])
    except ChordError as error:
        raise ChartError(error.sentence, **error.values) from error
    bass = data.get("bass")
    target = _check_text(data.get("target"))
    numeral = Numeral(_read_interval(data["root"]), quality, None if bass is None else _read_interval(bass), target)
    _ = numeral.number, str(numeral)  # These raise an error if the target is no Roman numeral.
    return Change(numeral, beats, str(numeral.chord(key)), _NOWHERE, **marks)


def _check_text(value: object) -> str | None:
    if value is None or isinstance(value, str):
        return value
    raise ChartError("{value} is no text", value=echo(repr(value)))


def _check_positive(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value <= _MOST:
        raise ChartError("{value} is no number above 0, {most} at most", value=echo(repr(value)), most=_MOST)
    return float(value)


def _check_metre(value: object) -> str:
    if not isinstance(value, str) or _METRE.match(value) is None:
        raise ChartError("{value} is no metre like 4/4", value=echo(repr(value)))
    return value


def _print_degree(interval: Interval) -> str:
    return "1" if interval == Interval(1) else interval.ascii


def _read_interval(text: str) -> Interval:
    match = _INTERVAL.match(text)
    if match is None:
        raise ChartError('no degree "{text}": a number 1–7 with b or # before it', text=echo(text))
    accidental, number = match.groups()
    return Interval(int(number), accidental.count("#") - accidental.count("b"))
