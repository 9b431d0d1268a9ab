"""Creating the database and moving it up, from the first revision with data in it."""

from __future__ import annotations

import shutil
import sqlite3
import threading
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config as AlembicConfig
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError

from cards.asks import Setting, universe
from drill.players.preferences import Preferences, read_setting
from drill.sessions.answers import judge_again
from drill.store import Store, StoreError, check, prepare, schema
from drill.store.engine import open_for_migration
from drill.store.models import Base, DrillSession, Review
from tests.drill.rows import log_one

NOW = datetime(2026, 5, 1, 18, 0, tzinfo=UTC)

HEAD = schema.revisions()[-1]

NEXT = '''
"""Reviews get a note; the table is copied on SQLite."""

import sqlalchemy as sa
from alembic import op

revision = "{revision}"
down_revision = "{before}"


def upgrade() -> None:
    with op.batch_alter_table("last_answers") as table:
        table.add_column(sa.Column("note", sa.String(8), nullable=False, server_default="none"))
    {more}
'''


@pytest.fixture
def next_version(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """This version with one revision more."""
    return a_next_version(monkeypatch, tmp_path, more="")


def a_next_version(monkeypatch: pytest.MonkeyPatch, folder: Path, more: str) -> Path:
    migrations = folder / "migrations"
    shutil.copytree(schema.MIGRATIONS, migrations)
    script = NEXT.format(revision="9999", before=schema.revisions()[-1], more=more)
    (migrations / "versions" / "9999_note.py").write_text(script)
    monkeypatch.setattr(schema, "MIGRATIONS", migrations)
    return migrations


@pytest.mark.both_databases
def test_the_migrations_give_what_the_models_say(store: Store) -> None:
    with store.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, Base.metadata) == []


def test_the_scripts_names_are_the_revisions() -> None:
    config = AlembicConfig()
    config.set_main_option("script_location", str(schema.MIGRATIONS))
    scripts = [script.revision for script in ScriptDirectory.from_config(config).walk_revisions()]
    assert tuple(reversed(scripts)) == schema.revisions()


@pytest.mark.both_databases
def test_a_new_database_is_made_once(empty_database: str) -> None:
    assert prepare(empty_database, NOW) is None
    assert prepare(empty_database, NOW) is None
    store = Store(empty_database)
    check(store.engine)
    with store.writing(1) as (_, player):
        assert (player.keys, player.tempo, player.minutes, player.settled) == ([], 80, 5, False)
    store.close()


@pytest.mark.both_databases
def test_moving_up_keeps_every_row(store: Store, database: str, next_version: Path) -> None:
    review_id = log_one(store)
    before = {table.name: rows_of(store, table.name) for table in Base.metadata.sorted_tables}
    with pytest.raises(StoreError, match="run drill upgrade"):
        check(store.engine)
    copy = prepare(database, NOW)
    check(store.engine)
    assert {table.name: rows_of(store, table.name) for table in Base.metadata.sorted_tables} == before
    with store.reading() as db:
        assert db.get_one(Review, review_id).outcome == "clean"
    if database.startswith("sqlite"):
        assert copy is not None
        assert copy.name == f"drill-{HEAD}-20260501T180000Z.sqlite"
        with closing(sqlite3.connect(copy)) as kept:
            assert kept.execute("SELECT version_num FROM alembic_version").fetchall() == [(HEAD,)]
            assert kept.execute("SELECT count(*) FROM reviews").fetchone() == (1,)


def the_first_version(monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
    """The version whose only revision was the first."""
    migrations = folder / "first"
    shutil.copytree(schema.MIGRATIONS, migrations)
    for script in (migrations / "versions").glob("[0-9]*.py"):
        if not script.name.startswith("0001"):
            script.unlink()
    monkeypatch.setattr(schema, "MIGRATIONS", migrations)


FIRST_ROWS = (
    "UPDATE players SET keys = '[\"B♭\"]', tempo = 96, hand = 'small', left_handed = TRUE, settled = TRUE",
    "INSERT INTO sessions (id, player_id, minutes, tempo, hand, left_handed, richer, started_at, until, "
    "visible_seconds, tab) VALUES ('s', 1, 5, 96, 'small', TRUE, FALSE, '2026-05-01 18:00:00', "
    "'2026-05-02 02:00:00', 12.5, 'tab')",
    "INSERT INTO questions (session_id, question, player_id, card, reason, reason_values, predicted_seconds) "
    "VALUES ('s', 0, 1, 'place:Bb:4:box1', 'why-new', '{}', 6.5)",
    'INSERT INTO reviews (id, player_id, session_id, question, card, outcome, "right", seconds, allowance, tempo, '
    "mode, given, drawn, answered_at, received_at) VALUES ('r', 1, 's', 0, 'place:Bb:4:box1', 'clean', TRUE, 3.25, "
    '5.5, 96, \'touch\', \'{"frets": [null, 6, 5, 3, 4, null]}\', \'{"tuning": "EADGBE", "hand": "small"}\', '
    "'2026-05-01 18:00:30', '2026-05-01 18:00:31')",
)
"""What a player of the first version has: settings, a running session, an answer."""


@pytest.mark.both_databases
def test_a_player_of_the_first_version_keeps_everything_and_plays_a_plain_guitar(
    empty_database: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as first:
        the_first_version(first, tmp_path)
        prepare(empty_database, NOW)
        store = Store(empty_database)
        with store.engine.begin() as connection:
            for statement in FIRST_ROWS:
                connection.exec_driver_sql(statement)
        before = {table: rows_of(store, table, "id", "player_id") for table in ("sessions", "reviews")}
        store.close()
    prepare(empty_database, NOW)
    store = Store(empty_database)
    check(store.engine)
    assert {table: rows_of(store, table, "id", "player_id") for table in before} == before
    with store.writing(1) as (db, player):
        kept = Preferences.of(player)
        assert kept == Preferences(keys=("B♭",), tempo=96, hand="small", left_handed=True)
        assert (kept.tuning, kept.capo, kept.frets, kept.scale_mm, kept.highest) == ("standard", 0, 22, 648.0, 22)
        assert (kept.switched_off, kept.barre) == (("open position",), "full")
        session = db.get_one(DrillSession, "s")
        assert read_setting(session) == Setting(hand="small", left_handed=True)
        review = db.get_one(Review, "r")
        assert judge_again(session, review).right
        assert review.drawn == {"tuning": "EADGBE", "hand": "small"}
    store.close()


def rows_of(store: Store, table: str, *columns: str) -> list[tuple[object, ...]]:
    with store.engine.connect() as connection:
        chosen = ", ".join(columns) or "*"
        return sorted(map(tuple, connection.execute(text(f"SELECT {chosen} FROM {table}"))), key=repr)


def test_a_migration_that_would_orphan_a_review_changes_nothing(
    store: Store, database: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log_one(store)
    a_next_version(monkeypatch, tmp_path, more="op.execute('DELETE FROM questions')")
    with pytest.raises(StoreError, match="without their owner in reviews"):
        prepare(database, NOW)
    assert rows_of(store, "questions")
    assert rows_of(store, "alembic_version") == [(HEAD,)]
    assert "note" not in str(rows_of(store, "sqlite_master"))


@pytest.mark.both_databases
def test_a_migration_that_fails_halfway_changes_nothing(
    store: Store, database: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    more = "op.execute('INSERT INTO sessions (id) VALUES (NULL)')"
    a_next_version(monkeypatch, tmp_path, more)
    with pytest.raises(IntegrityError):
        prepare(database, NOW)
    assert rows_of(store, "alembic_version") == [(HEAD,)]


def test_a_new_file_is_opened_while_another_connection_holds_it(tmp_path: Path) -> None:
    file = tmp_path / "drill.sqlite"
    holder = sqlite3.connect(file, isolation_level=None, check_same_thread=False)
    holder.execute("BEGIN IMMEDIATE")
    holder.execute("CREATE TABLE held (id INTEGER)")
    later = threading.Timer(0.3, lambda: holder.execute("ROLLBACK"))
    later.start()
    engine = open_for_migration(f"sqlite:///{file}", timedelta(seconds=10))
    with engine.connect() as connection:
        assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "wal"
    later.join()
    holder.close()
    engine.dispose()


@pytest.mark.both_databases
def test_two_that_move_up_at_once_do_it_once(empty_database: str) -> None:
    errors: list[BaseException] = []

    def move_up() -> None:
        try:
            prepare(empty_database, NOW)
        except BaseException as error:
            errors.append(error)

    threads = [threading.Thread(target=move_up) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert errors == []
    store = Store(empty_database)
    assert len(rows_of(store, "players")) == 1
    store.close()


@pytest.mark.both_databases
def test_a_database_from_a_newer_version_is_left_alone(store: Store, database: str) -> None:
    with store.engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(StoreError, match="comes from a newer version"):
        prepare(database, NOW)


def test_a_file_of_somebody_elses_is_left_alone(tmp_path: Path) -> None:
    songs = tmp_path / "songs.sqlite"
    with closing(sqlite3.connect(songs)) as connection:
        connection.execute("CREATE TABLE songs (title)")
    text_file = tmp_path / "notes.sqlite"
    text_file.write_text("The Box Four Band: set list")
    for file in (songs, text_file):
        before = file.read_bytes()
        with pytest.raises(StoreError, match="is not one of Anchor Drill's"):
            prepare(f"sqlite:///{file}", NOW)
        assert file.read_bytes() == before


def test_a_folder_that_cannot_be_made_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(StoreError, match="file/data cannot be made"):
        prepare(f"sqlite:///{tmp_path}/file/data/drill.sqlite", NOW)


def test_every_cards_id_fits_its_column() -> None:
    width = Review.__table__.c.card.type.length
    assert max(len(card.id) for card in universe()) <= width
