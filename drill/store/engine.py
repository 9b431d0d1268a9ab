"""Engines: how the database is opened, and how a transaction begins.

SQLite runs in WAL mode with ``synchronous=FULL``, so that a committed review survives a power cut right after
it. Foreign keys are on, and there is a busy timeout. The driver's own transactions are switched off, and this
module sends ``BEGIN``. A writer sends ``BEGIN IMMEDIATE``, so that it waits for its turn at the start instead
of failing in the middle (SQLAlchemy documentation, "Serializable isolation / Savepoints / Transactional DDL").
"""

from __future__ import annotations

import sqlite3
import time
from datetime import timedelta
from typing import Any, Final

from sqlalchemy import Connection, Engine, create_engine, event, make_url
from sqlalchemy.pool import NullPool

from drill.config import LOCK_WAIT

WRITING: Final = {"drill_writing": True}
"""The execution options of an engine whose transactions write."""

_RETRY_SECONDS: Final = 0.01

PRAGMAS: Final = ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON")


def open_engine(url: str) -> Engine:
    """Return an engine for the service, with a pool of connections. Its error messages do not repeat what was
    typed."""
    if make_url(url).get_backend_name() != "sqlite":
        return create_engine(url, pool_pre_ping=True, hide_parameters=True)
    engine = create_engine(url, connect_args={"timeout": LOCK_WAIT / timedelta(seconds=1)}, hide_parameters=True)
    _begin_ourselves(engine, PRAGMAS, LOCK_WAIT)
    return engine


def open_for_migration(url: str, wait: timedelta) -> Engine:
    """Return an engine for one migration.

    On SQLite its foreign keys are off, because a migration copies tables, and they can only be switched off
    before the transaction begins.
    """
    if make_url(url).get_backend_name() != "sqlite":
        return create_engine(url, poolclass=NullPool)
    engine = create_engine(url, poolclass=NullPool, connect_args={"timeout": wait / timedelta(seconds=1)})
    _begin_ourselves(engine, (*PRAGMAS[:-1], "foreign_keys=OFF"), wait)
    return engine


def _begin_ourselves(engine: Engine, pragmas: tuple[str, ...], wait: timedelta) -> None:
    @event.listens_for(engine, "connect")
    def connected(driver: Any, record: object) -> None:
        driver.isolation_level = None
        for pragma in pragmas:
            _set(driver, pragma, wait)

    @event.listens_for(engine, "begin")
    def begun(connection: Connection) -> None:
        writing = connection.get_execution_options().get("drill_writing")
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")


def _set(driver: Any, pragma: str, wait: timedelta) -> None:
    """Set a pragma, and wait if the file is busy.

    SQLite refuses at once to put a file into WAL mode while another connection holds it, whatever the busy
    timeout (SQLite documentation, "Write-Ahead Logging").
    """
    give_up = time.monotonic() + wait / timedelta(seconds=1)
    while True:
        try:
            driver.execute(f"PRAGMA {pragma}")
            return
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode != sqlite3.SQLITE_BUSY or time.monotonic() >= give_up:
                raise
        time.sleep(_RETRY_SECONDS)
