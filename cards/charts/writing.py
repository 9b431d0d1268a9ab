"""A chart as text that the reader takes again: ChordPro with its bars in grids.

Chords are written by name, as the hand plays them behind the capo; dots hold a chord for longer
than its neighbours. Read again with :data:`AS_WRITTEN` it is the same music.
"""

from __future__ import annotations

import math
from collections.abc import Generator, Iterator
from itertools import groupby

from cards.charts.chart import Bar, Change, Chart, Options, Section
from cards.charts.reading.assembly import USUAL_BEATS

AS_WRITTEN = Options(names="letters", slash="bass", capo_key="sounding")
"""How to read what :func:`write` wrote."""

_BARS_A_LINE = 4
#: Parts of a beat in which lengths are counted: every share of a bar up to a sixteenth is a whole number of them.
_PARTS = math.lcm(*range(1, 17))
_PLAIN = str.maketrans({"♭": "b", "♯": "#", "°": "dim", "𝄫": "bb", "𝄪": "##"})


def write(chart: Chart) -> str:
    """The chart as text.

    >>> from cards.charts import read_chart
    >>> print(write(read_chart("Key: Bb\\n| 17 | 47 1/3 | 5:9 . . 17 |")))
    {key: Bb}
    <BLANKLINE>
    {start_of_grid}
    | Bb7 | Eb7 Bb/D | F9 . . Bb7 |
    {end_of_grid}
    """
    return "\n".join(_lines(chart))


def _lines(chart: Chart) -> Iterator[str]:
    said = {
        "title": chart.title,
        "key": str(chart.key).translate(_PLAIN),
        "capo": chart.capo or None,
        "tempo": chart.tempo and f"{chart.tempo:g}",
        "time": chart.time,
        "feel": chart.feel,
    }
    yield from (f"{{{name}: {value}}}" for name, value in said.items() if value)
    key, usual = chart.key, _beats_of(chart)
    for section in chart.sections:
        yield ""
        if section.key != key:
            key = section.key
            yield f"{{key: {str(key).translate(_PLAIN)}}}"
        name = section.name.replace("{", "(").replace("}", ")")
        yield f"{{start_of_grid: {name}}}" if name else "{start_of_grid}"
        usual = yield from _rows(chart, section, usual)
        yield "{end_of_grid}"


def _beats_of(chart: Chart) -> int:
    """Beats of a bar by the metre."""
    return int(chart.time.partition("/")[0]) if chart.time else USUAL_BEATS


def _rows(chart: Chart, section: Section, beats: int) -> Generator[str, None, int]:
    """The bars of a section, four to a line; returns the metre it ends in."""
    unit = chart.time.partition("/")[2] if chart.time else "4"
    for length, group in groupby(section.bars, _length):
        if length != beats:
            beats = length
            yield f"{{time: {beats}/{unit}}}"
        bars = [_bar(chart, section, bar) for bar in group]
        for start in range(0, len(bars), _BARS_A_LINE):
            yield f"| {' | '.join(bars[start : start + _BARS_A_LINE])} |"
    return beats


def _length(bar: Bar) -> int:
    return round(sum(change.beats for change in bar))


def _bar(chart: Chart, section: Section, bar: Bar) -> str:
    """The chords of a bar, with dots or ticks where they are of unlike length."""
    words = [_word(chart, section, change) for change in bar]
    parts = [round(change.beats * _PARTS) for change in bar]
    if len(set(parts)) == 1:
        return " ".join(words)
    most = math.gcd(*parts)
    weights = [part // most for part in parts]
    if min(weights) > 1:  # Dots alone would be taken for the beats themselves.
        return " ".join(word + "'" * round(change.beats) for word, change in zip(words, bar, strict=True))
    return " ".join(" ".join([word, *"." * (weight - 1)]) for word, weight in zip(words, weights, strict=True))


def _word(chart: Chart, section: Section, change: Change) -> str:
    chord = chart.shape(section, change)
    name = "N.C." if chord is None else str(chord).translate(_PLAIN)
    if change.optional and "(" not in name:
        name = f"({name})"
    return ("◇" if change.held else "") + ("<" if change.pushed else "") + name
