"""The marks that the readers of ChordPro and of plain sheets find, in the order of the text.

A mark is a word that looks like a chord, or something around chords: a bar line, a beat, a repeat, a section. The
meaning of a mark does not depend on the key.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, auto

from cards.charts.chart import Place


class Kind(Enum):
    """The kind of a mark."""

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
    """One mark, with its place and its text.

    ``number`` is the count of a TIMES, the number of an ENDING, the semitones of a SHIFT, the beats of a METRE, or how
    many times a SECTION is played.
    """

    kind: Kind
    place: Place
    text: str = ""
    number: int = 0
