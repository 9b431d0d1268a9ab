"""A chart with everything that comes more than once written once.

Conventions. Sections with the same music are one part, under all the names they have. A part is the
shortest phrase that makes it up, played so many times; what fits on one line, or is one bar over and
over, is left as it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from cards.charts.chart import Bar, Chart, Section
from cards.theory.keys import Key

BARS_A_LINE = 4


@dataclass(frozen=True)
class Part:
    """A section as it is written: its ``names`` in the song, its sounding ``key``, its phrase and how many
    ``times`` that is played."""

    names: tuple[str, ...]
    key: Key
    bars: tuple[Bar, ...]
    times: int


@dataclass(frozen=True)
class Run:
    """A part in the order of playing, so many times in a row."""

    name: str
    times: int


def parts_of(chart: Chart) -> tuple[tuple[Part, ...], tuple[Run, ...]]:
    """The parts as they first come, and the order they are played in; () where they are simply played
    through.

    >>> from cards.charts import read_chart
    >>> parts, order = parts_of(read_chart("V: 1 4 1 5\\nC: 4 5\\nV:\\n1 4 1 5\\nC: 4 5\\nC: 4 5"))
    >>> [(part.names, len(part.bars)) for part in parts], [(run.name, run.times) for run in order]
    ([(('Verse',), 4), (('Chorus',), 2)], [('Verse', 1), ('Chorus', 1), ('Verse', 1), ('Chorus', 2)])
    """
    pieces = [(section, _music(section)) for section in chart.sections]
    kinds = list(dict.fromkeys(music for _, music in pieces))
    named = [(music, section.name or _unnamed(kinds, music)) for section, music in pieces]
    runs = [(music, name, len(list(group))) for (music, name), group in groupby(named)]
    once = len(runs) == len(kinds)
    parts = []
    for kind in kinds:
        section = next(section for section, music in pieces if music == kind)
        length, times = _phrase(section.bars)
        names = tuple(dict.fromkeys(name for music, name in named if music == kind and name))
        if once:
            times *= sum(count for music, _, count in runs if music == kind)
        parts.append(Part(names, section.key, section.bars[:length], times))
    return tuple(parts), () if once else tuple(Run(name, times) for _, name, times in runs)


def same_music(one: Bar, other: Bar) -> bool:
    """Whether two bars are the same, however they were written."""
    return _of_bar(one) == _of_bar(other)


def _unnamed(kinds: list[object], music: object) -> str:
    """What a section without a name is called beside others."""
    return f"Part {kinds.index(music) + 1}" if len(kinds) > 1 else ""


def _music(section: Section) -> object:
    return section.key, tuple(map(_of_bar, section.bars))


def _of_bar(bar: Bar) -> object:
    return tuple((each.numeral, each.beats, each.pushed, each.held, each.optional) for each in bar)


def _phrase(bars: tuple[Bar, ...]) -> tuple[int, int]:
    """The length in bars of the shortest phrase that makes up all of them, and how often it does."""
    music = list(map(_of_bar, bars))
    shortest = BARS_A_LINE if len(set(music)) == 1 else 2
    for length in range(shortest, len(bars) // 2 + 1):
        times, rest = divmod(len(bars), length)
        if len(bars) > BARS_A_LINE and not rest and music == music[:length] * times:
            return length, times
    return len(bars), 1
