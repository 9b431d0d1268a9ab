"""Charts as players write them, read into one form: bars of numerals in a key.

``read_chart`` reads the text of a number chart, of Roman numerals, of chord names (in grids or above words) or of
ChordPro. ``decode`` turns the bytes of a file into text. No chart is refused for its style. What cannot be read is
listed with its place, and every guess can be changed. The words of a song are never kept.
"""

from __future__ import annotations

from cards.charts.chart import (
    CHOICES,
    Bar,
    Change,
    Chart,
    ChartError,
    Guess,
    KeyFit,
    Options,
    Place,
    Section,
    Unread,
)
from cards.charts.keeping import from_plain, plain
from cards.charts.reading.decoding import MOST_BYTES, decode
from cards.charts.reading.reader import read_chart

__all__ = [
    "CHOICES",
    "MOST_BYTES",
    "Bar",
    "Change",
    "Chart",
    "ChartError",
    "Guess",
    "KeyFit",
    "Options",
    "Place",
    "Section",
    "Unread",
    "decode",
    "from_plain",
    "plain",
    "read_chart",
]
