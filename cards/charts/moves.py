"""Where the chord changes in a chart: what a player has to find in time.

Conventions. A move is a chord other than the one that sounded before it, rests between them passed
over, and the chord that a tune opens with; a chord that goes on for four bars is one move. A move
lasts as long as its chord goes on, but a bar at most: what is found after a bar came too late for
the band.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from cards.charts.chart import Bar, Change, Chart, Section
from cards.theory.keys import Key
from cards.theory.numerals import Numeral

Step = tuple[int, int, int]
"""Where a chord is written: its section, its bar there, its place in the bar, each from 0."""


@dataclass(frozen=True)
class Move:
    """A change of chord: where it comes, what it is in which key, the beats it lasts, and every place
    at which its chord goes on. The key is the one in which cards ask for what the hand plays (see :func:`moves`)."""

    at: Step
    numeral: Numeral
    key: Key
    beats: float
    places: tuple[Step, ...]


def moves(chart: Chart, capo: int = 0) -> tuple[Move, ...]:
    """The moves of one playing, in order, as cards ask for them on a guitar with its capo at a fret.

    A tune that has a capo of its own is learnt by its shapes. Behind the guitar's capo they sound in another
    key, and that is the key of its moves: the key of the shapes on a guitar without one, the key that the tune
    sounds in where both capos are at the same fret. A tune without a capo is asked for in the key it sounds in.

    >>> from cards.charts import read_chart
    >>> [(str(move.numeral), move.at, move.beats) for move in moves(read_chart("| B♭7 | B♭7 | E♭7 F7 |"))]
    [('I7', (0, 0, 0), 4.0), ('IV7', (0, 2, 0), 2.0), ('V7', (0, 2, 1), 2.0)]
    """
    written = [
        ((number, at, place), section, bar, change)
        for number, section in enumerate(chart.sections)
        for at, bar in enumerate(section.bars)
        for place, change in enumerate(bar)
        if change.numeral is not None
    ]
    runs = groupby(written, lambda each: chart.sounding(each[1], each[3]))
    return tuple(_move(list(run), capo - chart.capo if chart.capo else 0) for _, run in runs)


def _move(run: Sequence[tuple[Step, Section, Bar, Change]], up: int) -> Move:
    at, section, bar, first = run[0]
    assert first.numeral is not None
    goes_on = sum(change.beats for *_, change in run)
    beats = min(goes_on, sum(change.beats for change in bar))
    key = section.key.moved(up) if up else section.key
    return Move(at, first.numeral, key, beats, tuple(step for step, *_ in run))
