"""An answer's round trip when the database is full of other players.

    python -m tests.bench.growth [--small] [--players N ...]

A player with 1,000 reviews is copied as often as wanted, inside SQLite. A few of them, chosen by a seed,
then each play a session; answers and bare commits take turns as in ``tests.bench.answer``. With 10,000
players the file has ten million reviews: it takes some minutes to write and 10 GB of a disk.
"""

from __future__ import annotations

import argparse
import random
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from tests.bench.answer import Client, Timed, free_port, percentile, play, serve, wait_for
from tests.bench.machine import machine
from tests.bench.of_many import HEADER, OfMany
from tests.bench.pages import fill, repertoire

REVIEWS, MET = 1000, 300  # Of each player: reviews, and the cards that they are of.
PLAYING, ANSWERS = 20, 40  # So many play, one after the other; so many answers each.


def crowded(folder: Path, players: int, reviews: int) -> None:
    """A file with so many players of the same log."""
    from drill import clock
    from drill.config import Config
    from drill.store import Store, prepare
    from drill.store.models import Base

    config = Config(data=folder)
    prepare(config.url, clock.now())
    store = Store(config.url)
    fill(store, reviews, repertoire(MET))
    store.close()
    with closing(sqlite3.connect(folder / "drill.sqlite")) as db, db:
        db.execute("PRAGMA synchronous=OFF")
        db.execute("PRAGMA cache_size=-500000")
        for table in Base.metadata.sorted_tables:
            of = "id" if table.name == "players" else "player_id"
            if of not in table.columns:
                continue
            into = ", ".join(f'"{column.name}"' for column in table.columns)
            taken = ", ".join(_copied(table.name, column.name, of) for column in table.columns)
            db.execute(
                "WITH RECURSIVE other(n) AS (SELECT 2 UNION ALL SELECT n + 1 FROM other WHERE n < ?)"
                f" INSERT INTO {table.name} ({into}) SELECT {taken} FROM other CROSS JOIN {table.name} WHERE {of} = 1"
                " AND ? > 1",
                (players, players),
            )


def _copied(table: str, column: str, of: str) -> str:
    """What another player's row has in a column: ids of its own that stay in order, the rest as it is."""
    if column == of:
        return "other.n"
    if column in ("session_id", "review_id") or (column == "id" and table != "players"):
        return f"printf('%08x', other.n) || substr({column}, 9)"
    return f'"{column}"'


@contextmanager
def served(folder: Path) -> Iterator[int]:
    """The port of a server on this file."""
    port = free_port()
    server = subprocess.Popen([sys.executable, "-m", "tests.bench.growth", "--serve", str(folder), str(port)])
    try:
        wait_for(port)
        yield port
    finally:
        server.terminate()
        server.wait()


def measure(port: int, players: int, answers: int) -> Timed:
    """Sessions of a few of the players, after one that is not counted."""
    timed, chance = Timed([], [], []), random.Random(1)
    play(Client(port, {HEADER: "1"}), Timed([], [], []), answers)
    for _ in range(PLAYING):
        play(Client(port, {HEADER: str(chance.randint(1, players))}), timed, answers)
    return timed


def main() -> None:
    """Write the files, one after the other, measure, print."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0] if __doc__ else None)
    parser.add_argument("--small", action="store_true", help="a few players and answers only, to see that it runs")
    parser.add_argument("--players", type=int, nargs="+", default=[1, 100, 10_000])
    parser.add_argument("--serve", nargs=2, metavar=("DIR", "PORT"), help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.serve:
        return serve(Path(given.serve[0]), int(given.serve[1]), OfMany)
    sizes, reviews, answers = ([1, 4], 50, 2) if given.small else (given.players, REVIEWS, ANSWERS)
    print(machine())
    print(f"{'players':>8}{'GB':>7}{'written s':>11}{'n':>6}{'median ms':>11}{'p99 ms':>9}{'bare ms':>9}{'median':>8}")
    first = 0.0
    for players in sizes:
        with tempfile.TemporaryDirectory() as name:
            folder, begin = Path(name), time.perf_counter()
            crowded(folder, players, reviews)
            written = time.perf_counter() - begin
            size = sum(each.stat().st_size for each in folder.iterdir()) / 1e9
            with served(folder) as port:
                timed = measure(port, players, answers)
        took = timed.answers + timed.planning
        median, bare = statistics.median(took), statistics.median(timed.bare)
        first = first or median
        print(
            f"{players:8}{size:7.2f}{written:11.1f}{len(took):6}{median:11.2f}{percentile(took):9.2f}{bare:9.2f}"
            f"{median / first:7.2f}×"
        )
    return None


if __name__ == "__main__":
    main()
