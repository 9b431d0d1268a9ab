"""Server time of the Keys page: a player with a long log against one who has not begun.

    python -m tests.bench.pages [--small]

The figures of the map come from memory's rows and the last answer to each card, so a longer log costs
nothing by itself; more cards do. What needs the log (over time, said and seen) is loaded apart: its first
pass through the log is shown, and then the pass that was kept, by the process and by the store. Requests
run one at a time in this process, with nothing between them and the view but the WSGI call, and what was
loaded before is frozen, as in a service that has started: the garbage collector does not go through it. Times
are processor time of that one thread, so that what else the machine does is not counted.
"""

from __future__ import annotations

import argparse
import gc
import random
import statistics
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from flask.testing import FlaskClient
from sqlalchemy import insert

from cards.asks import Card, universe
from cards.theory.keys import Mode
from drill.app import create_app
from drill.config import Config
from drill.learning.learn import relearn
from drill.players.preferences import Preferences, kept_setting
from drill.progress.key_map import place_of
from drill.store import Store, prepare
from drill.store.models import Base, DrillSession, Question, Review
from tests.bench.machine import machine

NOW = datetime(2026, 5, 1, 18, 0, tzinfo=UTC)
PAGES = ("/api/keys", "/api/keys?ask=place&chords=triads", "/api/keys/Ab/4", "/api/keys/why")
COURSE = "/api/keys/course"
PER_SESSION = 40
OUTCOMES = ("clean", "clean", "clean", "late", "missed")


def repertoire(count: int) -> list[Card]:
    """The cards that a player meets first in major keys, so many of them."""
    found = [card for card in universe() if (at := place_of(card.id)) and at.card.key.mode == Mode.MAJOR]
    found.sort(key=lambda card: (card.box or 0, card.id))
    return found[:count]


def rows(reviews: int, cards: list[Card]) -> Iterator[tuple[type[Base], dict[str, Any]]]:
    """Sessions of a made-up log over two years, with their questions and reviews."""
    chance, every = random.Random(1), timedelta(days=730) / reviews
    guitar = kept_setting(Preferences())
    for number in range(reviews):
        place, at = number % PER_SESSION, NOW - every * (reviews - number)
        session = f"{number // PER_SESSION:032x}"
        if place == 0:
            yield DrillSession, {
                "id": session, "player_id": 1, "minutes": 5, "tempo": 80, "started_at": at, "until": at,
                "visible_seconds": 300.0, "tab": "bench", "ended_at": at, **guitar,
            }  # fmt: skip
        card = chance.choice(cards).id
        asked = {"session_id": session, "question": place, "player_id": 1, "card": card}
        yield Question, {**asked, "after": None, "reason": "why-warm", "reason_values": {}, "predicted_seconds": 6.0}
        outcome = chance.choice(OUTCOMES)
        yield Review, {
            **asked, "id": f"{number:032x}", "outcome": outcome, "right": outcome != "missed",
            "seconds": chance.lognormvariate(1.2, 0.4), "allowance": 2.2, "tempo": 80, "mode": "touch", "given": {},
            "drawn": {}, "answered_at": at, "received_at": at,
        }  # fmt: skip


def fill(store: Store, reviews: int, cards: list[Card]) -> None:
    """Write the log and learn from it."""
    by_table: dict[type[Base], list[dict[str, Any]]] = {DrillSession: [], Question: [], Review: []}
    for model, row in rows(reviews, cards):
        by_table[model].append(row)
    with store.writing(1) as (db, _):
        for model, lines in by_table.items():
            db.execute(insert(model), lines)
    relearn(store, 1)


def took(call: Callable[[], object]) -> float:
    """Milliseconds of the processor for one call."""
    begin = time.process_time()
    call()
    return (time.process_time() - begin) * 1000


def get(client: FlaskClient, path: str) -> float:
    """Milliseconds of one request."""

    def call() -> None:
        assert client.get(path).status_code == 200

    return took(call)


def served(folder: Path, reviews: int, cards: list[Card]) -> FlaskClient:
    """An app with such a player in it."""
    config = Config(data=folder)
    prepare(config.url, NOW)
    if reviews:
        store = Store(config.url)
        fill(store, reviews, cards)
        store.close()
    return create_app(config, lambda: NOW).test_client()


def table(empty: FlaskClient, full: FlaskClient, times: int) -> str:
    """The figures, with their ratio to the player who has not begun."""
    lines = [f"{'':36}{'empty ms':>10}{'first ms':>10}{'median ms':>11}{'p99 ms':>9}{'ratio':>8}"]
    for path in PAGES:
        first = get(full, path)
        base = statistics.median(get(empty, path) for _ in range(times))
        timed = sorted(get(full, path) for _ in range(times))
        median, p99 = statistics.median(timed), timed[min(int(times * 0.99), times - 1)]
        lines.append(f"{path:36}{base:10.2f}{first:10.1f}{median:11.2f}{p99:9.2f}{median / base:7.1f}×")
    base = statistics.median(get(empty, COURSE) for _ in range(times))
    parts, kept = whole_course(full), statistics.median(get(full, COURSE) for _ in range(times))
    lines.append(f"{COURSE:36}{base:10.2f}{sum(parts):10.1f}{kept:11.2f}{'':9}{kept / base:7.1f}×")
    lines.append(f"{'in parts, the longest':46}{max(parts):10.1f}")
    return "\n".join(lines)


def whole_course(client: FlaskClient) -> list[float]:
    """Milliseconds of each request until the log is gone through."""
    parts, done = [], False

    def call() -> None:
        nonlocal done
        done = client.get(COURSE).status_code == 200

    while not done:
        parts.append(took(call))
    return parts


def main() -> None:
    """Make both players, measure, print."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0] if __doc__ else None)
    parser.add_argument("--small", action="store_true", help="a short log only, to see that it runs")
    parser.add_argument("--reviews", type=int, default=50_000)
    parser.add_argument("--cards", type=int, default=2_000, help="how many cards the player has met")
    given = parser.parse_args()
    reviews, count, times = (400, 100, 5) if given.small else (given.reviews, given.cards, 50)
    print(machine())
    with tempfile.TemporaryDirectory() as one, tempfile.TemporaryDirectory() as other:
        empty = served(Path(one), 0, [])
        full = served(Path(other), reviews, repertoire(count))
        gc.collect()
        gc.freeze()
        print(f"{reviews} reviews of {count} cards")
        print(table(empty, full, times))
        # Another service on the same data: nothing in it but what the store has.
        again = create_app(Config(data=Path(other)), lambda: NOW).test_client()
        print(f"{COURSE + ' after a restart':46}{sum(whole_course(again)):10.1f}")


if __name__ == "__main__":
    main()
