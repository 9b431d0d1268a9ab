"""Charts as players write them, read into one thing: bars of degrees with qualities in a key.

``read_chart`` takes the text of a number chart, of Roman numerals, of chord names (grids, chords
above words) or of ChordPro; ``decode`` makes text of a file's bytes. Nothing is refused for style:
what cannot be read is listed with its place, and what was guessed can be chosen otherwise. Words of
songs are dropped on the way in.
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
