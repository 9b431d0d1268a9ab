"""Who is spoken to in which language: pages and errors of a request, a job, the terminal."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest
from click.testing import CliRunner
from flask.testing import FlaskClient

from drill import jobs
from drill.app import create_app
from drill.cli.command import main
from drill.config import Config, ConfigError
from drill.store import Store
from drill.store.models import Player
from drill.words import speaking, spoken
from tests.conftest import Clock

ROOT = Path(__file__).parents[2]


@pytest.fixture
def reader(database: str, tmp_path: Path, clock: Clock) -> Iterator[FlaskClient]:
    """A client of a service that offers the pseudo-language too."""
    given = {"data": tmp_path} if database.startswith("sqlite") else {"database": database}
    app = create_app(Config.read({"DRILL_LANGUAGES": "en, en-XA"}, **given), clock)
    yield app.test_client()
    app.extensions["drill"].store.close()


def test_pages_and_refusals_follow_the_players_setting(reader: FlaskClient) -> None:
    assert '<html lang="en">' in reader.get("/settings").text
    assert reader.put("/api/settings", json={"language": "en-XA"}).json["language"] == "en-XA"
    page = reader.get("/settings").text
    assert '<html lang="en-XA">' in page
    assert 'href="/static/words/en-XA.json"' in page
    for reply in (
        reader.put("/api/settings", json={"tempo": 1}),
        reader.get("/api/neck?key=Q"),
        reader.get("/api/jams/none"),
        reader.get("/api/none"),
        reader.put("/api/jams/none", data="x"),
    ):
        assert reply.json["error"].startswith("⟦"), reply.json
    assert spoken() == "en"


def test_a_question_is_put_in_the_language_of_whoever_looks_at_it(reader: FlaskClient) -> None:
    address = "/api/neck?key=Ab&box=2"
    english = reader.get(address).json["chords"][0]
    reader.put("/api/settings", json={"language": "en-XA"})
    pseudo = reader.get(address).json["chords"][0]
    assert "⟦" in pseudo["drawing"]
    assert "⟦" in pseudo["description"]
    reader.put("/api/settings", json={"language": "en"})
    assert reader.get(address).json["chords"][0] == english
    assert "⟦" not in str(english)


def test_a_language_that_is_not_offered_is_refused(client: FlaskClient) -> None:
    reply = client.put("/api/settings", json={"language": "en-XA"})
    assert (reply.status_code, reply.json["field"]) == (422, "language")
    assert '<select name="language"' not in client.get("/settings").text


def test_a_language_without_a_catalogue_cannot_be_offered() -> None:
    with pytest.raises(ConfigError, match='DRILL_LANGUAGES names "xx"'):
        Config.read({"DRILL_LANGUAGES": "en,xx"})


def test_a_job_speaks_the_players_language(store: Store, clock: Clock) -> None:
    heard = []

    def listen(store: Store, player_id: int, now: datetime) -> None:
        heard.append(spoken())

    jobs.run_due(store, clock, {"listen": listen})
    with store.writing(1) as (_, player):
        assert isinstance(player, Player)
        player.language = "en-XA"
    clock.go_on(days=2)
    jobs.run_due(store, clock, {"listen": listen})
    assert heard == ["en-XA"]
    assert spoken() == "en"


def test_the_terminal_speaks_the_first_language_that_is_offered() -> None:
    with speaking("en"):
        result = CliRunner().invoke(main, ["chord", "Q", "4"], env={"DRILL_LANGUAGES": "en-XA"})
    assert result.exit_code == 2
    assert result.stderr.startswith("⟦ñö ķéý")


def test_the_terminal_starts_without_what_formats_dates_and_serves_pages() -> None:
    code = "import sys, drill.cli.command; print({'babel', 'flask', 'jinja2', 'sqlalchemy'} & set(sys.modules))"
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.strip() == "set()"
