"""The moves of a chart: the places where the chord changes and a player has to find the new one in time.

Conventions. The first chord of a tune is a move. So is each chord that differs from the sounding chord before it;
rests between the two are ignored. A chord that sounds for four bars is one move. A move lasts as long as its chord
sounds, but at most one bar: a player who needs longer is too late for the band.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from cards.charts.chart import Bar, Change, Chart, Section
from cards.theory.keys import Key
from cards.theory.numerals import Numeral

Step = tuple[int, int, int]
"""The place of a chord: (section, bar in the section, chord in the bar), each from 0."""


@dataclass(frozen=True)
class Move:
    """A change of chord.

    ``at`` is its place and ``beats`` its length. ``places`` are all the places at which its chord is written, ``at``
    first. ``key`` is the key in which cards ask for what the hand plays (see :func:`moves`), and ``numeral`` is the
    chord in that key.
    """

    at: Step
    numeral: Numeral
    key: Key
    beats: float
    places: tuple[Step, ...]


def moves(chart: Chart, capo: int = 0) -> tuple[Move, ...]:
    """Return the moves of a chart in playing order, in the keys in which cards ask for them.

    ``capo`` is the fret of the capo on the player's guitar. A tune without a capo of its own is asked for in its
    sounding key. A tune with a capo is learnt by its shapes, so its moves are in the key in which these shapes sound
    behind the guitar's capo. Without a capo on the guitar that is the key of the shapes. With both capos at the same
    fret it is the sounding key of the tune.

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
    runs = groupby(written, lambda step: chart.sounding(step[1], step[3]))
    return tuple(_move_of(list(run), capo - chart.capo if chart.capo else 0) for _, run in runs)


def _move_of(run: Sequence[tuple[Step, Section, Bar, Change]], up: int) -> Move:
    at, section, bar, first = run[0]
    assert first.numeral is not None
    sounding_beats = sum(change.beats for *_, change in run)
    beats = min(sounding_beats, sum(change.beats for change in bar))
    key = section.key.moved(up) if up else section.key
    return Move(at, first.numeral, key, beats, tuple(step for step, *_ in run))
