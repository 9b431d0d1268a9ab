"""How long a tune's sheet takes: the way through it, and its drawings.

    python -m tests.bench.sheets [--small]

Tunes of 64 bars without a repeat, of six or twenty chords drawn by lot, one to four a bar, in every box.
Each is made with the caches of voicings empty, as for a tune never seen, and once more with them full. The
baseline is the same way without what is remembered from one change to another: every change of the tune
weighed anew. Times are of the processor. To reach: 300 ms for the first time.
"""

from __future__ import annotations

import argparse
import random
import statistics
import time
from collections.abc import Callable
from itertools import pairwise, product
from typing import Any

from cards.asks import Setting
from cards.charts import Chart, read_chart
from cards.guitar.regions import BOXES
from cards.tune_sheet import TuneSheet, _choices, tune_sheet
from cards.voicings.routes import change
from cards.voicings.search import _stops, held_stops
from cards.voicings.voicing import voicings
from tests.bench.machine import machine

_CHORDS = "I IV V vi ii7 iii V7 IV7 bVII Imaj7 II9 V13 VI7 #ivo7 iv6 I/3 V/7 iii11 II7 IVmaj7"
_SETTING = Setting()


def tune(a_bar: int, kinds: int, seed: int, bars: int) -> Chart:
    """A tune with so many chords a bar, of so many kinds."""
    lot = random.Random(seed)
    rows = (" ".join(lot.choices(_CHORDS.split()[:kinds], k=a_bar)) for _ in range(bars))
    return read_chart("Key: Eb\n" + "".join(f"| {row} |\n" for row in rows))


def _ms(work: Callable[[], Any]) -> tuple[float, Any]:
    begun = time.process_time()
    done = work()
    return 1000 * (time.process_time() - begun), done


def _draw(sheet: TuneSheet) -> int:
    return sum(len(grip.drawing(False)) > 0 for place in sheet.places for grip in place.grips)


def _weigh_everything(sheet: TuneSheet) -> None:
    region = sheet.places[0].region
    chords = [cell.chord for cell in sheet.cells if cell.chord]
    for before, after in pairwise([_choices(voicings(chord, region, _SETTING.fingers)) for chord in chords]):
        for new in after:
            min((change(old, new).cost for old in before), default=0.0)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--small", action="store_true", help="a few bars only, to see that it runs")
    bars, boxes = (8, (1,)) if parser.parse_args().small else (64, tuple(BOXES))
    print(machine())
    print("| chords a bar | kinds | cells | drawings | first ms | at most | again | drawing them | every change anew |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- | --- |")
    for a_bar, kinds in product((1, 2, 4), (6, 20)):
        rows: list[tuple[float, ...]] = []
        for box in boxes:
            chart = tune(a_bar, kinds, box, bars)
            for cache in (voicings, held_stops, _stops):
                cache.cache_clear()
            first, sheet = _ms(lambda chart=chart, box=box: tune_sheet(chart, box, _SETTING))  # type: ignore[misc]
            again, _ = _ms(lambda chart=chart, box=box: tune_sheet(chart, box, _SETTING))  # type: ignore[misc]
            drawing, drawn = _ms(lambda sheet=sheet: _draw(sheet))  # type: ignore[misc]
            anew, _ = _ms(lambda sheet=sheet: _weigh_everything(sheet))  # type: ignore[misc]
            rows.append((len(list(sheet.cells)), drawn, first, again, drawing, anew))
        cells, drawn, first, again, drawing, anew = (statistics.median(column) for column in zip(*rows, strict=True))
        most = max(row[2] for row in rows)
        print(
            f"| {a_bar} | {kinds} | {cells:.0f} | {drawn:.0f} | {first:.0f} | {most:.0f} | {again:.0f} "
            f"| {drawing:.0f} | {anew:.0f} |"
        )


if __name__ == "__main__":
    main()
