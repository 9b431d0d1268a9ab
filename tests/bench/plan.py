"""How long a plan takes, its load included: ``python -m tests.bench.plan [--reviews N]``.

One player who has every card switched on and has answered N times, on SQLite. Timed is what the
start of a session does: the candidates and the memory rows from the store, and the plan. The first
plan of a process, which also works out the table of worths and the deck, is reported apart.
"""

from __future__ import annotations

import argparse
import random
import statistics
import tempfile
import time
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

from drill.learning import candidates, unseen
from drill.memory import Outcome, Row, learn
from drill.plan import plan
from drill.store import Store, prepare
from drill.store.memory import add_last_answers, keep_rows, memory_rows
from drill.store.models import LastAnswer
from tests.bench.machine import machine

NOW = datetime(2026, 5, 1, 18, tzinfo=UTC)
PLAYER = 1


def fill(store: Store, reviews: int) -> int:
    """A player's memory after so many answers; the number of rows."""
    rng = random.Random(1)
    cards = unseen()
    rows: dict[str, Row] = {}
    last: dict[str, LastAnswer] = {}
    for n in range(reviews):
        at = NOW - timedelta(minutes=10 * (reviews - n))
        features = rng.choice(cards).features
        right = rng.random() < 0.8
        rows.update(learn(rows, features, Outcome(right, 5.0, at)))
        last[features.card_id] = LastAnswer(
            card=features.card_id, reviews=1, answered_at=at, outcome="clean" if right else "missed"
        )
    with store.writing(PLAYER) as (db, _):
        keep_rows(db, PLAYER, rows.values())
        add_last_answers(db, PLAYER, last.values())
    return len(rows)


def timed(store: Store, seed: int) -> float:
    """Milliseconds of one plan with its load."""
    began = time.perf_counter()
    with store.reading() as db:
        planned = plan(
            candidates(db, PLAYER), memory_rows(db, PLAYER), NOW, 5, keys=["A♭"], allowed=lambda _: 6.0, seed=seed
        )
    assert planned
    return 1000.0 * (time.perf_counter() - began)


def main(argv: Sequence[str] | None = None) -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description="How long a plan takes, its load included.")
    parser.add_argument("--reviews", type=int, default=50_000)
    args = parser.parse_args(argv)
    with tempfile.TemporaryDirectory() as folder:
        database = f"sqlite:///{Path(folder) / 'drill.sqlite'}"
        prepare(database, NOW)
        store = Store(database)
        rows = fill(store, args.reviews)
        first = timed(store, 0)
        times = sorted(timed(store, seed) for seed in range(1, 31))
        store.close()
    print(machine())
    print(f"{len(unseen())} candidates, {args.reviews} reviews, {rows} memory rows")
    print(f"first plan of the process {first:.0f} ms; then median {statistics.median(times):.1f} ms, ", end="")
    print(f"fastest {times[0]:.1f} ms, slowest {times[-1]:.1f} ms (to reach: 50 ms)")


if __name__ == "__main__":
    main()
