"""Fixtures: a database of its own for every test, on SQLite or a real PostgreSQL; the app; a player.

A test marked ``both_databases`` runs on both. PostgreSQL is a throwaway cluster, started once from
the binaries that are installed; without them such tests are skipped, and fail where CI is set.
"""

from __future__ import annotations

import os
import secrets
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from filelock import FileLock
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import settings

from drill.app import create_app
from drill.config import FILE_NAME, Config
from drill.store import Store, prepare
from tests import postgres as postgres_server

ROOT = Path(__file__).parents[1]
EVENING = datetime(2026, 5, 1, 18, 0, tzinfo=UTC)

# No test asserts a time: a busy machine is no fault. What must be fast is shown in tests/bench.
settings.register_profile("drill", deadline=None)
settings.load_profile("drill")


SLOWEST_FIRST = (
    "browser/test_asks.py",
    "browser/test_play.py",
    "cards/asks/test_universe.py",
    "test_house.py",
    "drill/test_serve.py",
    "browser/test_pseudo_states.py",
    "browser/test_keys.py",
    "browser/test_jams.py",
    "browser/test_tunes.py",
    "browser/test_away.py",
    "browser/test_session.py",
    "cards/asks/test_asks.py",
    "browser/test_pages.py",
    "browser/test_sheets.py",
    "browser/test_why.py",
    "drill/demo/test_guitarist.py",
    "browser/test_pseudo_locale.py",
    "browser/test_readiness.py",
    "test_javascript.py",
    "browser/test_guitar.py",
    "bench/test_learning.py",
    "drill/sessions/test_pacing.py",
)
"""The files that take longest, longest first. A run on several cores begins with them, so that no core is left
alone with a long file at the end."""


def pytest_configure(config: pytest.Config) -> None:
    """Let pytest-xdist hand out the files in the order of collection, not by how many tests they hold."""
    if hasattr(config.option, "loadscopereorder"):
        config.option.loadscopereorder = False


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the slowest files first."""
    place = {ROOT / "tests" / name: n for n, name in enumerate(SLOWEST_FIRST)}
    items.sort(key=lambda item: place.get(item.path, len(place)))


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Run tests marked ``both_databases`` on both."""
    if metafunc.definition.get_closest_marker("both_databases"):
        metafunc.parametrize("database", ["sqlite", "postgresql"], indirect=True)


@dataclass
class Clock:
    """A clock that stands still until it is told to go on."""

    instant: datetime = EVENING

    def __call__(self) -> datetime:
        return self.instant

    def go_on(self, **by: float) -> None:
        self.instant += timedelta(**by)

    @property
    def ms(self) -> float:
        """The instant as a browser tells it."""
        return self.instant.timestamp() * 1000


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture(scope="session")
def migrated(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An SQLite file with nothing in it but the schema and the player."""
    file = tmp_path_factory.mktemp("migrated") / FILE_NAME
    prepare(f"sqlite:///{file}", EVENING)
    return file


@dataclass(frozen=True)
class DemoRun:
    """What ``drill demo`` left in a folder, to be copied and not to be changed, and what it printed."""

    data: Path
    printed: str


@pytest.fixture(scope="session")
def demo_run(tmp_path_factory: pytest.TempPathFactory) -> DemoRun:
    """The demo data of this run of the tests, made by the command once for all processes of pytest-xdist."""
    shared = tmp_path_factory.getbasetemp()
    if os.environ.get("PYTEST_XDIST_WORKER"):
        shared = shared.parent
    data, printed = shared / "demo-data", shared / "demo-printed"
    with FileLock(shared / "demo-lock"):
        # The words are written last: without them, whoever made the data did not come to the end.
        if not printed.exists():
            shutil.rmtree(data, ignore_errors=True)
            command = [sys.executable, "-c", "from drill.cli.command import main; main()", "demo", "--data", str(data)]
            made = subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.PIPE, text=True)
            printed.write_text(made.stdout)
    return DemoRun(data, printed.read_text())


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    """The URL of a throwaway PostgreSQL server, with ``{}`` for the database's name."""
    programs = postgres_server.programs()
    if programs is None:
        if os.environ.get("CI"):
            pytest.fail("CI needs PostgreSQL: .ci/run installs it")
        pytest.skip("PostgreSQL is not installed")
    with postgres_server.throwaway(programs, durable=False) as url:
        postgres_server.execute(url, "CREATE DATABASE migrated")
        prepare(url.format("migrated"), EVENING)
        yield url


@contextmanager
def _own_database(server: str, template: str) -> Iterator[str]:
    name = f"test_{secrets.token_hex(6)}"
    postgres_server.execute(server, f"CREATE DATABASE {name} TEMPLATE {template}")
    try:
        yield server.format(name)
    finally:
        postgres_server.execute(server, f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture
def empty_database(database: str, request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """The URL of a database with nothing in it, of the same kind as ``database``."""
    if database.startswith("sqlite"):
        yield f"sqlite:///{tmp_path / 'empty' / FILE_NAME}"
        return
    with _own_database(request.getfixturevalue("postgres"), "template0") as url:
        yield url


@pytest.fixture
def database(request: pytest.FixtureRequest, tmp_path: Path, migrated: Path) -> Iterator[str]:
    """The URL of a migrated database of the test's own; SQLite unless asked otherwise."""
    if getattr(request, "param", "sqlite") == "sqlite":
        shutil.copy(migrated, tmp_path / FILE_NAME)
        yield f"sqlite:///{tmp_path / FILE_NAME}"
        return
    with _own_database(request.getfixturevalue("postgres"), "migrated") as url:
        yield url


@pytest.fixture
def store(database: str) -> Iterator[Store]:
    store = Store(database)
    yield store
    store.close()


@pytest.fixture
def app(database: str, tmp_path: Path, clock: Clock) -> Iterator[Flask]:
    config = Config(data=tmp_path) if database.startswith("sqlite") else Config(database=database)
    app = create_app(config, clock)
    app.testing = True
    yield app
    app.extensions["drill"].store.close()


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    return app.test_client()


@pytest.fixture
def guitarist(client: FlaskClient, clock: Clock) -> Guitarist:
    return Guitarist(client, clock)


class Guitarist:
    """Plays a session over the API, as a page does."""

    def __init__(self, client: FlaskClient, clock: Clock, tab: str = "tab") -> None:
        self.client = client
        self.clock = clock
        self.tab = tab
        self.session: dict[str, Any] = {}
        self.visible = 0.0

    @property
    def address(self) -> str:
        return f"/api/sessions/{self.session['id']}"

    def start(self, minutes: int = 5) -> dict[str, Any]:
        reply = self.client.post("/api/sessions", json={"minutes": minutes, "tab": self.tab})
        assert reply.status_code == 201, reply.json
        self.session, self.visible = reply.json, 0.0
        return self.session

    def question(self, number: int) -> dict[str, Any]:
        return next(each for each in self.session["questions"] if each["question"] == number)

    def right(self, number: int) -> dict[str, Any]:
        """The right answer to a question, as the page would send it."""
        question = self.question(number)
        answer, given = question["answer"], {}
        for part in question["prompt"]["parts"]:
            if part == "name":
                given["name"] = answer["names"][0]
            elif part == "frets":
                given["frets"] = [None if fret == "x" else int(fret, 36) for fret in answer["frets"][0]]
            elif part == "number":
                given["number"] = answer["numbers"][0]
            elif part == "hands":
                given["right"] = True
            elif part in ("choice", "spots"):
                given[part] = answer[f"{part.removesuffix('s')}s"][0]
            elif part == "notes":
                given["notes"] = answer["notes"]
            elif part == "marks":
                given["marks"] = [True] * len(question["prompt"]["beats"])
        return given

    def review(self, number: int, given: dict[str, Any] | None = None, **parts: Any) -> dict[str, Any]:
        """One answer as the page keeps it; right and in time unless said otherwise."""
        return {
            "id": secrets.token_hex(16),
            "question": number,
            "card": self.question(number)["card"],
            "given": self.right(number) if given is None else given,
            "seconds": 2.0,
            "mode": "touch",
            "answered_at": self.clock.ms,
            **parts,
        }

    def send(self, *reviews: Any, **parts: Any) -> dict[str, Any]:
        reply = self.client.post(
            f"{self.address}/reviews",
            json={
                "sent_at": self.clock.ms,
                "tab": self.tab,
                "visible_seconds": self.visible,
                "reviews": list(reviews),
                **parts,
            },
        )
        assert reply.status_code == 200, reply.json
        self.session["questions"] += reply.json["next"]
        return reply.json

    def answer(self, number: int, given: dict[str, Any] | None = None, **parts: Any) -> dict[str, Any]:
        """Answer a question, a few seconds after the one before; the reply's only item."""
        self.clock.go_on(seconds=6)
        self.visible += 6
        (item,) = self.send(self.review(number, given, **parts))["items"]
        return item

    def end(self) -> dict[str, Any]:
        reply = self.client.post(f"{self.address}/end", json={"visible_seconds": self.visible})
        assert reply.status_code == 200, reply.json
        return reply.json
