"""What the readers of ChordPro and of plain sheets find, in the order it stands in the text.

A mark is a word that looks like a chord, or what stands around chords: bar lines, beats, repeats,
sections. Marks know nothing of keys.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, auto

from cards.charts.chart import Place


class Kind(Enum):
    """What a mark is."""

    WORD = auto()
    BAR = auto()
    REPEAT_FROM = auto()
    REPEAT = auto()
    ENDING = auto()
    SAME = auto()
    BEAT = auto()
    OPEN = auto()
    CLOSE = auto()
    TIMES = auto()
    SECTION = auto()
    RECALL = auto()
    KEY = auto()
    METRE = auto()
    SHIFT = auto()
    LINE = auto()


@dataclass(frozen=True, slots=True)
class Mark:
    """One thing in the text.

    ``number`` is a count: of a TIMES, of an ENDING, of semitones in a SHIFT, of beats in a METRE.
    """

    kind: Kind
    place: Place
    text: str = ""
    number: int = 0
