"""Writes a chart as ChordPro with its bars in grids, so that the reader can read it again.

Chords are written by name, as the hand plays them behind the capo. Dots make a chord longer than its neighbours.
Read with :data:`AS_WRITTEN`, the text gives the same music again.
"""

from __future__ import annotations

import math
from collections.abc import Generator, Iterator
from itertools import groupby

from cards.charts.chart import Bar, Change, Chart, Options, Section
from cards.charts.reading.assembly import USUAL_BEATS

AS_WRITTEN = Options(names="letters", slash="bass", capo_key="sounding")
"""The options for reading what :func:`write` wrote."""

_BARS_A_LINE = 4
#: Parts of a beat in which lengths are counted. Every share of a bar down to a sixteenth is a whole number of parts.
_PARTS = math.lcm(*range(1, 17))
_PLAIN = str.maketrans({"♭": "b", "♯": "#", "°": "dim", "𝄫": "bb", "𝄪": "##"})


def write(chart: Chart) -> str:
    """Write a chart as text.

    >>> from cards.charts import read_chart
    >>> print(write(read_chart("Key: Bb\\n| 17 | 47 1/3 | 5:9 . . 17 |")))
    {key: Bb}
    <BLANKLINE>
    {start_of_grid}
    | Bb7 | Eb7 Bb/D | F9 . . Bb7 |
    {end_of_grid}
    """
    return "\n".join(_write_lines(chart))


def _write_lines(chart: Chart) -> Iterator[str]:
    directives = {
        "title": chart.title,
        "key": str(chart.key).translate(_PLAIN),
        "capo": chart.capo or None,
        "tempo": chart.tempo and f"{chart.tempo:g}",
        "time": chart.time,
        "feel": chart.feel,
    }
    yield from (f"{{{name}: {value}}}" for name, value in directives.items() if value)
    key, beats = chart.key, _beats_of_metre(chart)
    for section in chart.sections:
        yield ""
        if section.key != key:
            key = section.key
            yield f"{{key: {str(key).translate(_PLAIN)}}}"
        name = section.name.replace("{", "(").replace("}", ")")
        yield f"{{start_of_grid: {name}}}" if name else "{start_of_grid}"
        beats = yield from _write_rows(chart, section, beats)
        yield "{end_of_grid}"


def _beats_of_metre(chart: Chart) -> int:
    """Return the beats of a bar in the chart's first metre."""
    return int(chart.time.partition("/")[0]) if chart.time else USUAL_BEATS


def _write_rows(chart: Chart, section: Section, beats: int) -> Generator[str, None, int]:
    """Write the bars of a section, four to a line.

    ``beats`` are the beats of a bar before the section. Returns the beats of a bar at its end.
    """
    unit = chart.time.partition("/")[2] if chart.time else "4"
    for length, group in groupby(section.bars, _beats_of_bar):
        if length != beats:
            beats = length
            yield f"{{time: {beats}/{unit}}}"
        bars = [_write_bar(chart, section, bar) for bar in group]
        for start in range(0, len(bars), _BARS_A_LINE):
            yield f"| {' | '.join(bars[start : start + _BARS_A_LINE])} |"
    return beats


def _beats_of_bar(bar: Bar) -> int:
    return round(sum(change.beats for change in bar))


def _write_bar(chart: Chart, section: Section, bar: Bar) -> str:
    """Write the chords of a bar, with dots or ticks if they differ in length."""
    words = [_write_word(chart, section, change) for change in bar]
    parts = [round(change.beats * _PARTS) for change in bar]
    if len(set(parts)) == 1:
        return " ".join(words)
    unit = math.gcd(*parts)
    weights = [part // unit for part in parts]
    if min(weights) > 1:  # The reader would count the dots alone as beats.
        return " ".join(word + "'" * round(change.beats) for word, change in zip(words, bar, strict=True))
    return " ".join(" ".join([word, *"." * (weight - 1)]) for word, weight in zip(words, weights, strict=True))


def _write_word(chart: Chart, section: Section, change: Change) -> str:
    chord = chart.shape(section, change)
    name = "N.C." if chord is None else str(chord).translate(_PLAIN)
    if change.optional and "(" not in name:
        name = f"({name})"
    return ("◇" if change.held else "") + ("<" if change.pushed else "") + name
