"""How often the key finder agrees with the declared key, on made-up songs.

    python -m tests.bench.keyfinding [--small]

The songs are generated (tests/cards/charts/made_up.py) with the statistics counted on public charts;
they are no real songs, and the figures say no more than that the finder does not lose what those
statistics hold. The relative minor counts as wrong. Baseline: the key that has the most chords as its
own, ties by the keys guitarists meet.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping, Sequence

from cards.charts import Chart, read_chart
from cards.theory.keys import MAJOR_KEYS, MINOR_KEYS, Key
from tests.bench.machine import machine
from tests.cards.charts.made_up import KEYS, Song, songs

_MET = ("G", "C", "D", "A", "Am", "Em", "E")


def finder(chart: Chart) -> Key:
    """The key that the reader takes."""
    return chart.key


def most_diatonic(chart: Chart) -> Key:
    """The key with the most chords of its own."""
    heard = [chart.sounding(*step) for step in chart.changes]

    def own(key: Key) -> tuple[int, int]:
        triads = {(chord.root.pitch_class, chord.quality.third) for chord in map(key.chord, range(1, 8))}
        count = sum((chord.root.pitch_class, chord.quality.third) in triads for chord in heard if chord)
        return count, -_MET.index(str(key)) if str(key) in _MET else -len(_MET)

    return max((*MAJOR_KEYS[1:], *MINOR_KEYS[1:]), key=own)


def agreement(made: Sequence[Song], find: Callable[[Chart], Key]) -> float:
    """The share of songs whose key is found, an enharmonic name of it included."""
    right = 0
    for song in made:
        found, declared = find(read_chart(song.chordpro())), Key.read(song.key)
        right += found.tonic.pitch_class == declared.tonic.pitch_class and found.is_minor == declared.is_minor
    return right / len(made)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0] if __doc__ else None)
    parser.add_argument("--small", action="store_true", help="a few songs only, to see that it runs")
    count = 30 if parser.parse_args().small else 2000
    minor = {key: share for key, share in KEYS.items() if key.endswith("m")}
    rows: tuple[tuple[str, Mapping[str, float]], ...] = (
        ("keys as declared", KEYS),
        ("major keys only", {key: share for key, share in KEYS.items() if key not in minor}),
        ("minor keys only", minor),
    )
    print(machine())
    print(f"{'generated songs':24}{'n':>6}{'finder':>9}{'most diatonic (baseline)':>27}")
    for name, keys in rows:
        made = list(songs(count, seed=20, keys=keys))
        found, base = agreement(made, finder), agreement(made, most_diatonic)
        print(f"{name:24}{count:6}{found:9.1%}{base:27.1%}")


if __name__ == "__main__":
    main()
