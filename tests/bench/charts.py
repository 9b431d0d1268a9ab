"""How long a chart takes to read, and whether that grows with its length alone.

    python -m tests.bench.charts [--small]

Made-up songs (tests/cards/charts/made_up.py) in every notation, brought to so many lines. Each
reading starts with empty caches, as for a song never seen. Reading waits for nothing, so what is
measured is the processor's time. The baseline is splitting the same text into words. To reach: a
song of 200 lines in 50 ms, and a time per line that does not grow. The editor's request, with its
answer as JSON, is measured on the same 200 lines; nothing in it depends on what is kept.
"""

from __future__ import annotations

import argparse
import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from flask.testing import FlaskClient

from cards.charts import read_chart
from cards.charts.notation import above_words, names, numbers
from cards.charts.reading import degrees
from cards.theory.chords import _read_suffix
from drill.app import create_app
from drill.config import Config
from drill.store import prepare
from tests.bench.machine import machine
from tests.cards.charts.made_up import songs

_CACHES = (
    *(degrees._read_figure, names.read_name, names.is_german, names.is_italian),
    *(numbers.read_figures, above_words.kinds, _read_suffix),
)
_NUMBERS = "V: 1 4 | 5 6- |\n1-4-5 2-7 57\n(1 5) b7 4/1\n||: 1 | 4 5 :|| (x2)\n"
_FULL = 200


def texts(lines: int) -> dict[str, str]:
    """A text of so many lines in each notation."""
    made = list(songs(lines // 8 + 1, seed=5))
    sources = {
        "ChordPro": "\n".join(song.chordpro() for song in made),
        "chords above words": "\n".join(song.sheet() for song in made),
        "grid": "\n".join(song.grid() for song in made),
        "numbers": _NUMBERS * (lines // 4 + 1),
        "one long line": " ".join(["| C | Am7 D7 | G/B |"] * lines),
        "unread words": "{t: x}\n" + "[hm]la [no]la [G]la [oh] x\n" * lines,
    }
    return {name: "\n".join(source.splitlines()[:lines]) for name, source in sources.items()}


def milliseconds(act: Callable[[], object], rounds: int) -> float:
    """The median processor time of a call with empty caches."""
    took = []
    for _ in range(rounds):
        for cache in _CACHES:
            cache.cache_clear()
        begin = time.process_time()
        act()
        took.append((time.process_time() - begin) * 1000)
    return statistics.median(took)


def service(data: Path) -> FlaskClient:
    """The service with nothing in it."""
    config, now = Config(data=data), datetime(2026, 5, 1, tzinfo=UTC)
    prepare(config.url, now)
    return create_app(config, lambda: now).test_client()


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0] if __doc__ else None)
    parser.add_argument("--small", action="store_true", help="short texts once, to see that it runs")
    small = parser.parse_args().small
    sizes = (20, 40) if small else (_FULL // 2, _FULL, 4 * _FULL, 16 * _FULL)
    rounds = 1 if small else 9
    print(machine())
    print(f"{'ms (ms per 100 lines)':20}" + "".join(f"{size:>9} lines" for size in sizes) + f"{'÷ split':>12}")
    made = {size: texts(size) for size in sizes}
    for name in made[sizes[0]]:
        row, base = f"{name:20}", 1.0
        for size in sizes:
            text = made[size][name]
            took = milliseconds(lambda text=text: read_chart(text), rounds)  # type: ignore[misc]
            base = took / milliseconds(text.split, rounds)
            row += f"{took:7.1f} ({took * 100 / size:4.1f})"
        print(row + f"{base:12.0f}")
    size = sizes[0] if small else _FULL
    print(f"\nms of the editor's request, {size} lines")
    with tempfile.TemporaryDirectory() as data:
        client = service(Path(data))
        for name, text in made[size].items():
            took = milliseconds(lambda text=text: client.post("/api/charts/read", json={"text": text}), rounds)  # type: ignore[misc]
            print(f"{name:20}{took:7.1f}")
        client.application.extensions["drill"].store.close()


if __name__ == "__main__":
    main()
