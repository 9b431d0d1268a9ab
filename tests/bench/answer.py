"""An answer's round trip over HTTP, against a bare commit on the same server.

    python -m tests.bench.answer [--small]

One waitress server in a process of its own serves the drill and, beside it, a bare Flask view that
commits one row to an SQLite file of its own with the same PRAGMAs. One player answers card after
card: judge, append, move memory, next card. Answers and bare commits take turns on kept-alive
connections, so that both see the same disk at the same time. Now and then a session runs out of
cards and plans more; such answers are in the first row and are left out of the second.
"""

from __future__ import annotations

import argparse
import http.client
import json
import secrets
import socket
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from drill.web.service import Service
from tests.bench.machine import machine

BATCH = {"tab": "bench", "visible_seconds": 0}
CARDS = 150  # A session of 20 minutes plans about a hundred, and more when those are answered.


def serve(folder: Path, port: int, service: type[Service] | None = None) -> None:
    """The drill at ``/``, by a service of another kind if one is given; the bare view at ``/bare``."""
    import waitress
    from flask import Flask
    from werkzeug.middleware.dispatcher import DispatcherMiddleware

    from drill import clock
    from drill.app import create_app
    from drill.config import THREADS, Config
    from drill.planning.repertoire import warm_up
    from drill.store import Store, prepare
    from drill.store.engine import PRAGMAS

    config = Config(data=folder)
    prepare(config.url, clock.now())
    warm_up()
    bare, kept = Flask("bare"), threading.local()

    def connection() -> sqlite3.Connection:
        if not hasattr(kept, "connection"):
            kept.connection = sqlite3.connect(folder / "bare.sqlite", isolation_level=None)
            for pragma in PRAGMAS:
                kept.connection.execute(f"PRAGMA {pragma}")
            kept.connection.execute("CREATE TABLE IF NOT EXISTS rows (id INTEGER PRIMARY KEY, body TEXT)")
        return kept.connection

    @bare.post("/")
    def commit() -> dict[str, bool]:
        from flask import request

        db = connection()
        db.execute("BEGIN IMMEDIATE")
        db.execute("INSERT INTO rows (body) VALUES (?)", (request.get_data(as_text=True),))
        db.execute("COMMIT")
        return {"ok": True}

    app = create_app(config)
    if service is not None:
        app.extensions["drill"] = service(Store(config.url), config, clock.now)
    waitress.serve(DispatcherMiddleware(app, {"/bare": bare}), host="127.0.0.1", port=port, threads=THREADS)


class Client:
    """A kept-alive connection; what it sends is ready before the clock starts."""

    def __init__(self, port: int, headers: Mapping[str, str] | None = None) -> None:
        self.headers = {"Content-Type": "application/json", **(headers or {})}
        self.connection = http.client.HTTPConnection("127.0.0.1", port)
        self.connection.connect()
        self.connection.sock.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)

    def post(self, path: str, body: object) -> tuple[dict[str, Any], float]:
        """The reply, and the milliseconds from the first byte sent to the last received."""
        packed = json.dumps(body).encode()
        begin = time.perf_counter()
        self.connection.request("POST", path, packed, self.headers)
        reply = self.connection.getresponse()
        told = reply.read()
        took = (time.perf_counter() - begin) * 1000
        assert reply.status < 300, told
        return json.loads(told), took


@dataclass
class Timed:
    """Milliseconds of every round trip."""

    answers: list[float]
    planning: list[float]
    bare: list[float]


def measure(port: int, count: int) -> Timed:
    """Answer ``count`` cards after one session to warm up."""
    client, timed = Client(port), Timed([], [], [])
    play(client, Timed([], [], []), min(count, CARDS))
    while (played := len(timed.bare)) < count:
        play(client, timed, min(count - played, CARDS))
    return timed


def play(client: Client, timed: Timed, count: int) -> None:
    """A session of ``count`` answers, each followed by a bare commit."""
    session, _ = client.post("/api/sessions", {"minutes": 20, "tab": "bench"})
    questions = {each["question"]: each for each in session["questions"]}
    path = f"/api/sessions/{session['id']}"
    for number in range(count):
        body = {**BATCH, "sent_at": time.time() * 1000, "reviews": [review(questions[number])]}
        told, took = client.post(f"{path}/reviews", body)
        _, bare = client.post("/bare/", body)
        assert told["items"][0]["status"] == "accepted", told
        questions |= {each["question"]: each for each in told["next"]}
        (timed.planning if len(told["next"]) > 1 else timed.answers).append(took)
        timed.bare.append(bare)
    client.post(f"{path}/end", {"visible_seconds": 0})


def review(question: dict[str, Any]) -> dict[str, Any]:
    """The right answer, or every fifth time "show me"."""
    answer, parts = question["answer"], question["prompt"]["parts"]
    given: dict[str, Any] = {}
    known = {
        "name": lambda: {"name": answer["names"][0]},
        "frets": lambda: {"frets": [None if fret == "x" else int(fret, 36) for fret in answer["frets"][0]]},
        "number": lambda: {"number": answer["numbers"][0]},
        "hands": lambda: {"right": True},
        "choice": lambda: {"choice": answer["choices"][0]},
        "spots": lambda: {"spots": answer["spots"][0]},
        "notes": lambda: {"notes": answer["notes"]},
        "marks": lambda: {"shown": True},
    }
    for part in parts:
        given |= known[part]()
    return {
        "id": secrets.token_hex(16),
        "question": question["question"],
        "card": question["card"],
        "given": {"shown": True} if question["question"] % 5 == 4 else given,
        "seconds": 2.5,
        "mode": "touch",
        "answered_at": time.time() * 1000,
    }


def rows(timed: Timed) -> Iterator[tuple[str, Sequence[float]]]:
    """What is shown, the baseline last."""
    yield "an answer, planning more cards included", timed.answers + timed.planning
    yield "an answer", timed.answers
    if timed.planning:
        yield "an answer that plans more cards", timed.planning
    yield "bare commit (baseline)", timed.bare


def table(timed: Timed) -> str:
    """The figures, with their ratio to the bare commit."""
    base, base99 = statistics.median(timed.bare), percentile(timed.bare)
    lines = [f"{'':42}{'n':>6}{'median ms':>11}{'p99 ms':>9}{'median':>8}{'p99':>7}"]
    for name, took in rows(timed):
        median, p99 = statistics.median(took), percentile(took)
        lines.append(f"{name:42}{len(took):6}{median:11.2f}{p99:9.2f}{median / base:7.2f}×{p99 / base99:6.2f}×")
    return "\n".join(lines)


def percentile(took: Sequence[float]) -> float:
    """The 99th percentile."""
    return sorted(took)[min(int(len(took) * 0.99), len(took) - 1)]


def main() -> None:
    """Serve in a process of its own, measure, print."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0] if __doc__ else None)
    parser.add_argument("--small", action="store_true", help="a few answers only, to see that it runs")
    parser.add_argument("--serve", nargs=2, metavar=("DIR", "PORT"), help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.serve:
        return serve(Path(given.serve[0]), int(given.serve[1]))
    with tempfile.TemporaryDirectory() as folder:
        port = free_port()
        command = [sys.executable, "-m", "tests.bench.answer", "--serve", folder, str(port)]
        server = subprocess.Popen(command)
        try:
            wait_for(port)
            print(machine())
            print(table(measure(port, 40 if given.small else 2000)))
        finally:
            server.terminate()
            server.wait()
    return None


def free_port() -> int:
    """A port that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def wait_for(port: int) -> None:
    """Until the server takes connections."""
    for _ in range(600):
        try:
            return Client(port).connection.close()
        except ConnectionRefusedError:
            time.sleep(0.1)
    raise SystemExit("the server did not start within a minute")


if __name__ == "__main__":
    main()
