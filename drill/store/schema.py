"""The revision of the schema: reading it, creating the tables, migrating them.

Only ``drill serve`` and ``drill upgrade`` migrate (:func:`prepare`). Everything else calls :func:`check`.
Alembic does the migration and is imported only for it, so that a service whose database is up to date starts
without it. One transaction holds the lock, every step of the migration and, on SQLite, the check of foreign
keys. So either all of it is done or none of it. Before an SQLite file is migrated, a copy is kept beside it.
"""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from sqlalchemy import Connection, Engine, inspect, make_url, text
from sqlalchemy.exc import OperationalError

from cards.messages import RefusalError, refusal
from drill.config import MIGRATION_WAIT
from drill.store.engine import WRITING, open_for_migration

APPLICATION_ID: Final = 0x4144524C
"""``ADRL`` in the header of an SQLite file of this service. On PostgreSQL it is the number of the lock."""

MIGRATIONS: Final = Path(__file__).parent / "migrations"

_MEND: Final = refusal("choose another folder with --data or DRILL_DATA")


class StoreError(RefusalError):
    """The database cannot be used as it is. The message says why and what to do."""


def revisions() -> tuple[str, ...]:
    """Return the revisions that this version knows, oldest first, from the names of the scripts."""
    scripts = sorted((MIGRATIONS / "versions").glob("[0-9]*.py"))
    return tuple(script.name.partition("_")[0] for script in scripts)


def prepare(url: str, now: datetime) -> Path | None:
    """Create the database or migrate it to this version. Return the backup copy, if one was made.

    Raises StoreError.
    """
    if _read_revision(url) == revisions()[-1]:
        return None
    engine = open_for_migration(url, MIGRATION_WAIT)
    try:
        with engine.execution_options(**WRITING).begin() as connection:
            return _migrate(connection, now)
    except OperationalError as error:
        raise StoreError("the database cannot be opened: {reason}", reason=error.orig) from error
    finally:
        engine.dispose()


def check(engine: Engine) -> None:
    """Raise StoreError unless the database belongs to this service and is at this version's revision."""
    revision = _read_revision(engine.url.render_as_string(hide_password=False))
    if revision != revisions()[-1]:
        state = refusal("at revision {revision}", revision=revision) if revision else refusal("empty")
        raise StoreError(
            "the database is {state}, this version needs {revision}: run drill upgrade",
            state=state,
            revision=revisions()[-1],
        )


def _read_revision(url: str) -> str | None:
    """Return the revision of the database, or None if it is empty. Raises StoreError."""
    place = make_url(url)
    if place.get_backend_name() == "sqlite":
        file = Path(place.database or "")
        revision = _read_revision_of_file(file)
        what = f"the file {file}"
    else:
        revision = _read_revision_on_server(url)
        what = f"the database {place.database}"
    if revision is not None and revision not in revisions():
        raise StoreError(
            "{what} comes from a newer version (revision {revision}; this one knows up to {latest}): install the "
            "newer version, or {mend}",
            what=what,
            revision=revision,
            latest=revisions()[-1],
            mend=_MEND,
        )
    return revision


def _read_revision_of_file(file: Path) -> str | None:
    """Return the revision of an SQLite file without changing the file, or None if it is empty. Raises
    StoreError."""
    _make_folder(file.parent)
    if not file.exists() or file.stat().st_size == 0:
        return None
    try:
        with closing(sqlite3.connect(f"{file.as_uri()}?mode=ro", uri=True)) as driver:
            (ours,) = driver.execute("PRAGMA application_id").fetchone()
            (tables,) = driver.execute("SELECT count(*) FROM sqlite_master").fetchone()
            if ours == APPLICATION_ID:
                return str(driver.execute("SELECT version_num FROM alembic_version").fetchone()[0])
    except sqlite3.OperationalError as error:
        raise StoreError(
            "the file {file} cannot be read ({reason}): {mend}", file=file, reason=error, mend=_MEND
        ) from error
    except sqlite3.DatabaseError:
        ours, tables = 0, 1
    if ours or tables:
        raise StoreError("the file {file} is not one of Anchor Drill's: move it away, or {mend}", file=file, mend=_MEND)
    return None


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(
            "the folder {folder} cannot be made ({reason}): {mend}",
            folder=folder,
            reason=error.strerror,
            mend=_MEND,
        ) from error
    if not os.access(folder, os.W_OK | os.X_OK):
        raise StoreError(
            "the folder {folder} is not writable: {mend}, or change its permissions", folder=folder, mend=_MEND
        )


def _read_revision_on_server(url: str) -> str | None:
    engine = open_for_migration(url, MIGRATION_WAIT)
    try:
        with engine.connect() as connection:
            return _query_revision(connection)
    except OperationalError as error:
        raise StoreError("the database server does not answer: {reason}", reason=str(error.orig).strip()) from error
    finally:
        engine.dispose()


def _query_revision(connection: Connection) -> str | None:
    """Return the revision over an open connection, or None for an empty database. Raises StoreError."""
    tables = inspect(connection).get_table_names()
    if "alembic_version" not in tables:
        if tables:
            raise StoreError(
                "the database {database} is not empty and not Anchor Drill's", database=connection.engine.url.database
            )
        return None
    return str(connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one())


def _migrate(connection: Connection, now: datetime) -> Path | None:
    """Migrate within the open transaction, which holds the lock on SQLite. Return the backup copy, if one was
    made."""
    on_file = connection.dialect.name == "sqlite"
    if not on_file:
        connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": APPLICATION_ID})
    revision = _query_revision(connection)
    if revision == revisions()[-1]:
        return None  # Another process has migrated it meanwhile.
    kept = _keep_copy(connection, revision, now) if on_file and revision else None
    _run_alembic(connection)
    if on_file:
        _check_foreign_keys(connection)
        connection.exec_driver_sql(f"PRAGMA application_id={APPLICATION_ID}")
    return kept


def _keep_copy(connection: Connection, revision: str, now: datetime) -> Path:
    """Copy the file as it was last committed. The open transaction keeps other writers out meanwhile. Raises
    StoreError."""
    file = Path(connection.engine.url.database or "")
    stamp = now.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
    copy = file.parent / "backups" / f"{file.stem}-{revision}-{stamp}{file.suffix}"
    _make_folder(copy.parent)
    try:
        with closing(sqlite3.connect(file)) as source, closing(sqlite3.connect(copy)) as target:
            source.backup(target)
    except sqlite3.Error as error:
        raise StoreError(
            "no backup copy could be written to {copy} ({reason}); nothing was changed", copy=copy, reason=error
        ) from error
    return copy


def _run_alembic(connection: Connection) -> None:
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, "head")


def _check_foreign_keys(connection: Connection) -> None:
    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
    if broken:
        tables = ", ".join(sorted({row[0] for row in broken}))
        raise StoreError(
            "the migration would have left rows without their owner in {tables}: nothing was changed", tables=tables
        )
