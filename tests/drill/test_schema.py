"""Creating the database and moving it up, from the first revision with data in it."""

from __future__ import annotations

import shutil
import sqlite3
import threading
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config as AlembicConfig
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError

from drill.store import Store, StoreError, check, prepare, schema
from drill.store.models import Base, Review
from tests.drill.rows import log_one

NOW = datetime(2026, 5, 1, 18, 0, tzinfo=UTC)

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
        assert copy.name == "drill-0002-20260501T180000Z.sqlite"
        with closing(sqlite3.connect(copy)) as kept:
            assert kept.execute("SELECT version_num FROM alembic_version").fetchall() == [("0002",)]
            assert kept.execute("SELECT count(*) FROM reviews").fetchone() == (1,)


def rows_of(store: Store, table: str) -> list[tuple[object, ...]]:
    with store.engine.connect() as connection:
        return sorted(map(tuple, connection.execute(text(f"SELECT * FROM {table}"))), key=repr)


def test_a_migration_that_would_orphan_a_review_changes_nothing(
    store: Store, database: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    log_one(store)
    a_next_version(monkeypatch, tmp_path, more="op.execute('DELETE FROM questions')")
    with pytest.raises(StoreError, match="without their owner in reviews"):
        prepare(database, NOW)
    assert rows_of(store, "questions")
    assert rows_of(store, "alembic_version") == [("0002",)]
    assert "note" not in str(rows_of(store, "sqlite_master"))


@pytest.mark.both_databases
def test_a_migration_that_fails_halfway_changes_nothing(
    store: Store, database: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    more = "op.execute('INSERT INTO sessions (id) VALUES (NULL)')"
    a_next_version(monkeypatch, tmp_path, more)
    with pytest.raises(IntegrityError):
        prepare(database, NOW)
    assert rows_of(store, "alembic_version") == [("0002",)]


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
