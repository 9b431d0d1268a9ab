"""Many players at once on PostgreSQL, against bare commits through the same servers.

    python -m tests.bench.crowd [--small] [--players N] [--workers N]

Several processes of waitress serve the drill on one PostgreSQL that waits for its disk, and beside it a
bare Flask view that commits one row there. Every player has a connection of its own and answers card
after card: judge, append, move memory, next card. Rounds of answers and rounds of bare commits take
turns, all players at once, so that both see the same machine, which the clients share. At the end the
log is counted: every answer that was acknowledged is there once.
"""

from __future__ import annotations

import argparse
import logging
import os
import statistics
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from typing import Any

from tests import postgres
from tests.bench.answer import BATCH, Client, free_port, percentile, review, wait_for
from tests.bench.machine import machine
from tests.bench.of_many import HEADER, OfMany

ROUND = 10  # Answers of every player between two rounds of bare commits.


def serve(url: str, port: int) -> None:
    """The drill at ``/``, the bare view at ``/bare``."""
    import psycopg
    import waitress
    from flask import Flask, request
    from werkzeug.middleware.dispatcher import DispatcherMiddleware

    from drill import clock
    from drill.app import create_app
    from drill.config import THREADS, Config
    from drill.planning.repertoire import warm_up
    from drill.store import Store

    config = Config(database=url.replace("+psycopg", ""))
    warm_up()
    app = create_app(config)
    app.extensions["drill"] = OfMany(Store(config.url), config, clock.now)
    bare, kept = Flask("bare"), threading.local()

    @bare.post("/")
    def commit() -> dict[str, bool]:
        if not hasattr(kept, "connection"):
            kept.connection = psycopg.connect(url.replace("+psycopg", ""))
        with kept.connection.transaction():
            kept.connection.execute("INSERT INTO bare (body) VALUES (%s)", (request.get_data(as_text=True),))
        return {"ok": True}

    logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # Requests have to wait here.
    waitress.serve(DispatcherMiddleware(app, {"/bare": bare}), host="127.0.0.1", port=port, threads=THREADS)


@contextmanager
def served(url: str, workers: int) -> Iterator[list[int]]:
    """The ports of so many servers."""
    ports = [free_port() for _ in range(workers)]
    command = [sys.executable, "-m", "tests.bench.crowd", "--serve", url]
    servers = [subprocess.Popen([*command, str(port)]) for port in ports]
    try:
        for port in ports:
            wait_for(port)
        yield ports
    finally:
        for server in servers:
            server.terminate()
        for server in servers:
            server.wait()


def settle(url: str, players: int) -> None:
    """So many players, each like the first."""
    from sqlalchemy import insert, select, text

    from drill import clock
    from drill.store import Store, prepare
    from drill.store.models import Player

    prepare(url, clock.now())
    store = Store(url)
    with store.engine.begin() as db:
        first = dict(db.execute(select(Player.__table__)).mappings().one())
        others = [{**first, "id": number} for number in range(first["id"] + 1, first["id"] + players)]
        if others:
            db.execute(insert(Player.__table__), others)
        db.execute(text("CREATE TABLE bare (id BIGSERIAL PRIMARY KEY, body TEXT)"))
    store.close()


@dataclass
class Guitarist:
    """One player at work; ``acknowledged`` are the ids of its reviews that the service has taken."""

    number: int
    client: Client
    path: str = ""
    questions: dict[int, dict[str, Any]] = field(default_factory=dict)
    acknowledged: list[str] = field(default_factory=list)

    def sit_down(self) -> None:
        """Begin a session."""
        session, _ = self.client.post("/api/sessions", {"minutes": 20, "tab": "bench"})
        self.path = f"/api/sessions/{session['id']}"
        self.questions = {each["question"]: each for each in session["questions"]}

    def answer(self) -> float:
        """Answer the next card; the milliseconds it took."""
        given = review(self.questions[len(self.acknowledged)])
        body = {**BATCH, "sent_at": time.time() * 1000, "reviews": [given]}
        told, took = self.client.post(f"{self.path}/reviews", body)
        assert told["items"][0]["status"] == "accepted", told
        self.acknowledged.append(given["id"])
        self.questions |= {each["question"]: each for each in told["next"]}
        return took

    def commit(self) -> float:
        """As large a request to the bare view; the milliseconds it took."""
        given = review(self.questions[len(self.acknowledged)])
        return self.client.post("/bare/", {**BATCH, "sent_at": time.time() * 1000, "reviews": [given]})[1]


@dataclass
class Timed:
    """What so many requests took one by one (ms), and all of them together (s)."""

    took: list[float] = field(default_factory=list)
    seconds: float = 0.0

    def together(self, pool: ThreadPoolExecutor, does: Sequence[Callable[[], float]]) -> None:
        """One round: every player does so ``ROUND`` times, all at once."""
        begin = time.perf_counter()
        for each in pool.map(lambda do: [do() for _ in range(ROUND)], does):
            self.took += each
        self.seconds += time.perf_counter() - begin

    @property
    def throughput(self) -> float:
        """Requests a second."""
        return len(self.took) / self.seconds


def measure(ports: Sequence[int], players: int, rounds: int) -> tuple[Timed, Timed, list[Guitarist]]:
    """Rounds of answers and of bare commits after one of each to warm up, which is not counted."""
    band = [
        Guitarist(number, Client(ports[number % len(ports)], {HEADER: str(number)})) for number in range(1, players + 1)
    ]
    answers, bare = Timed(), Timed()
    with ThreadPoolExecutor(players) as pool:
        list(pool.map(Guitarist.sit_down, band))
        for number in range(rounds + 1):
            here = (answers, bare) if number else (Timed(), Timed())
            here[0].together(pool, [each.answer for each in band])
            here[1].together(pool, [each.commit for each in band])
    return answers, bare, band


def count(url: str, band: Sequence[Guitarist]) -> int:
    """How many reviews the log has. Raises AssertionError if they are not those that were acknowledged."""
    from sqlalchemy import select

    from drill.store import Store
    from drill.store.models import Review

    store = Store(url)
    with store.reading() as db:
        there = sorted(map(tuple, db.execute(select(Review.player_id, Review.id))))
    store.close()
    assert there == sorted((each.number, review) for each in band for review in each.acknowledged)
    return len(there)


def table(answers: Timed, bare: Timed) -> str:
    """The figures, with their ratio to the bare commits."""
    lines = [f"{'':24}{'n':>7}{'a second':>10}{'ratio':>8}{'median ms':>11}{'p99 ms':>9}"]
    for name, timed in (("answers", answers), ("bare commits (baseline)", bare)):
        ratio = timed.throughput / bare.throughput
        middle = statistics.median(timed.took)
        lines.append(
            f"{name:24}{len(timed.took):7}{timed.throughput:10.0f}{ratio:7.2f}×{middle:11.1f}{percentile(timed.took):9.1f}"
        )
    return "\n".join(lines)


def main() -> None:
    """Start PostgreSQL and the servers, measure, count, print."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0] if __doc__ else None)
    parser.add_argument("--small", action="store_true", help="a few answers only, to see that it runs")
    parser.add_argument("--players", type=int, default=32)
    parser.add_argument("--workers", type=int, default=2, help="server processes")
    parser.add_argument("--serve", nargs=2, metavar=("URL", "PORT"), help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.serve:
        return serve(given.serve[0], int(given.serve[1]))
    print(machine())
    folder = postgres.programs()
    if folder is None:
        if os.environ.get("CI"):
            raise SystemExit("CI needs PostgreSQL: .ci/run installs it")
        print("Nothing was measured: PostgreSQL is not installed.")
        return None
    players, rounds = (3, 1) if given.small else (given.players, 8)
    with ExitStack() as stack:
        server = stack.enter_context(postgres.throwaway(folder, durable=True))
        postgres.execute(server, "CREATE DATABASE band")
        url = server.format("band")
        settle(url, players)
        ports = stack.enter_context(served(url, given.workers))
        answers, bare, band = measure(ports, players, rounds)
        print(f"{players} players at once, {given.workers} server processes, PostgreSQL")
        print(table(answers, bare))
        print(f"{count(url, band)} answers acknowledged, each in the log once; no request failed.")
    return None


if __name__ == "__main__":
    main()
