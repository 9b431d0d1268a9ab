"""How long planning a session takes, the load included: ``python -m tests.bench.plan [--small]``.

A player with 50 000 reviews is written into an SQLite file row by row (the log itself is not read by a
plan: reviews, the last answer to every card, memory as it might stand after them), with
some 5 000 candidates. A plan reads the last answers and the memory rows, works out the
frontier, forecasts every candidate and fills the time. ``cold`` is the first one in a process
without the search for the cards' voicings, which a service does while it starts; ``warm`` the
next ones, each on another day, when the new cards of the one before have been answered: so no two
plans have the same candidates. The figure is the processor's time; the clock's is beside it, which on
a busy machine is that of others too. What was loaded before is frozen, as in a service that has started: the
garbage collector does not go through it.
"""

from __future__ import annotations

import argparse
import gc
import statistics
import tempfile
import time
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from itertools import islice
from pathlib import Path

import numpy as np

from cards.asks import Card, Setting, universe
from drill.config import Config
from drill.memory.rows import Row, touched_rows
from drill.planning.offered import gather_candidates
from drill.planning.repertoire import features
from drill.sessions import lifecycle, questions
from drill.store import Store, prepare
from drill.store.checkpoints import Seen
from drill.store.memory import keep_last_answers, keep_rows
from drill.store.models import Player
from tests.bench.machine import machine

NOW = datetime(2026, 6, 1, 18, tzinfo=UTC)
SEEN = 4_500
MET = ("name", "place", "number", "hands-on", "name-place", "whose-key", "shape")


def written(store: Store, cards: Sequence[Card], reviews: int) -> None:
    """The memory of a player who has given so many answers to these cards."""
    chance = np.random.default_rng(1)
    shares = chance.dirichlet(np.full(len(cards), 2.0)) * reviews
    rows: dict[str, Row] = {}
    last = {}
    for card, count in zip(cards, shares, strict=True):
        at = NOW - timedelta(days=float(chance.exponential(20.0)) + 0.1)
        last[card.id] = Seen(max(round(count), 1), at, str(chance.choice(["clean", "clean", "late", "missed"])))
        for name in touched_rows(features(card)):
            if not name.startswith("player:"):
                hold = 0.1 + float(chance.exponential(9.0))
                rows[name] = Row(name, at, 0.3, 0.05, -0.1, 0.02, 8.0, 2.0, 0.5, 0.1, 1, hold)
    with store.writing(1) as (db, player):
        player.settled = True
        keep_rows(db, 1, rows.values())
        keep_last_answers(db, 1, last)


def planned(store: Store, now: datetime) -> tuple[float, float, int]:
    """Milliseconds to plan a session of five minutes, of them the processor's, and its cards; the new
    ones among them are answered then."""
    with store.writing(1) as (db, player):
        session = lifecycle.new_session(player, 5, "tab", now)
        session.ended_at = now
        db.add(session)
        db.flush()
        begin, busy = time.perf_counter(), time.process_time()
        cards = questions.plan_cards(db, player, session, 5, now, seed=1)
        took = (time.perf_counter() - begin) * 1000, (time.process_time() - busy) * 1000, len(cards)
        new = [card.card_id for card in cards if card.reason.startswith("why-new")]
        keep_last_answers(db, 1, dict.fromkeys(new, Seen(1, now, "clean")))
        return took


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description="How long planning a session takes.")
    parser.add_argument("--small", action="store_true", help="300 cards, to see that it runs")
    small = parser.parse_args().small
    seen, reviews, rounds = (300, 3_000, 3) if small else (SEEN, 50_000, 30)
    cards = list(islice((card for card in universe() if card.ask in MET), seen))
    with tempfile.TemporaryDirectory() as folder:
        url = Config(data=Path(folder)).url
        prepare(url, NOW)
        store = Store(url)
        written(store, cards, reviews)
        with store.reading() as db:
            found = len(gather_candidates(db, db.get_one(Player, 1), Setting()))
        gc.collect()
        gc.freeze()
        cold, cold_busy, _ = planned(store, NOW)
        took = [planned(store, NOW + timedelta(days=day)) for day in range(1, rounds + 1)]
        store.close()
    print(machine())
    print(f"{reviews} reviews, {found} candidates, {took[0][2]} cards planned")
    warm, busy = [ms for ms, _, _ in took], [ms for _, ms, _ in took]
    print(
        f"cold {cold_busy:.1f} ms of the processor ({cold:.1f} by the clock); warm {statistics.median(busy):.1f} ms "
        f"(median), {max(busy):.1f} ms (most) of the processor, {statistics.median(warm):.1f} ms by the clock (median)"
    )


if __name__ == "__main__":
    main()
