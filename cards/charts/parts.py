"""The parts of a chart: sections with the same music are written only once.

Conventions. Sections with the same music are one part with all their names. A part is written as its shortest
phrase and the number of times that the phrase is played. A section that fits on one line stays as it is. If every
bar is the same, the phrase has at least one line.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from cards.charts.chart import Bar, Chart, Section
from cards.theory.keys import Key

BARS_A_LINE = 4


@dataclass(frozen=True)
class Part:
    """A part of the song: its ``names``, its sounding ``key``, the ``bars`` of its phrase, and how many ``times`` the
    phrase is played."""

    names: tuple[str, ...]
    key: Key
    bars: tuple[Bar, ...]
    times: int


@dataclass(frozen=True)
class Run:
    """A part in the playing order: its name, and how many times in a row it is played."""

    name: str
    times: int


def parts_of(chart: Chart) -> tuple[tuple[Part, ...], tuple[Run, ...]]:
    """Return (parts in the order in which they first come, playing order).

    The playing order is () if each part comes only once, so that they are played from first to last.

    >>> from cards.charts import read_chart
    >>> parts, order = parts_of(read_chart("V: 1 4 1 5\\nC: 4 5\\nV:\\n1 4 1 5\\nC: 4 5\\nC: 4 5"))
    >>> [(part.names, len(part.bars)) for part in parts], [(run.name, run.times) for run in order]
    ([(('Verse',), 4), (('Chorus',), 2)], [('Verse', 1), ('Chorus', 1), ('Verse', 1), ('Chorus', 2)])
    """
    pieces = [(section, _music_of_section(section)) for section in chart.sections]
    kinds = list(dict.fromkeys(music for _, music in pieces))
    named = [(music, section.name or _name_unnamed(kinds, music)) for section, music in pieces]
    runs = [(music, name, len(list(group))) for (music, name), group in groupby(named)]
    once = len(runs) == len(kinds)
    parts = []
    for kind in kinds:
        section = next(section for section, music in pieces if music == kind)
        length, times = _find_phrase(section.bars)
        names = tuple(dict.fromkeys(name for music, name in named if music == kind and name))
        if once:
            times *= sum(count for music, _, count in runs if music == kind)
        parts.append(Part(names, section.key, section.bars[:length], times))
    return tuple(parts), () if once else tuple(Run(name, times) for _, name, times in runs)


def same_music(one: Bar, other: Bar) -> bool:
    """Return whether two bars have the same music. How they are written does not matter."""
    return _music_of_bar(one) == _music_of_bar(other)


def _name_unnamed(kinds: list[object], music: object) -> str:
    """Name a section that has no name. The name is "" if all sections have the same music."""
    return f"Part {kinds.index(music) + 1}" if len(kinds) > 1 else ""


def _music_of_section(section: Section) -> object:
    return section.key, tuple(map(_music_of_bar, section.bars))


def _music_of_bar(bar: Bar) -> object:
    return tuple((change.numeral, change.beats, change.pushed, change.held, change.optional) for change in bar)


def _find_phrase(bars: tuple[Bar, ...]) -> tuple[int, int]:
    """Return (length in bars of the shortest phrase that fills the section, times that it is played)."""
    music = list(map(_music_of_bar, bars))
    shortest = BARS_A_LINE if len(set(music)) == 1 else 2
    for length in range(shortest, len(bars) // 2 + 1):
        times, rest = divmod(len(bars), length)
        if len(bars) > BARS_A_LINE and not rest and music == music[:length] * times:
            return length, times
    return len(bars), 1
