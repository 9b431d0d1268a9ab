"""A throwaway PostgreSQL server, for tests and benchmarks."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


def programs() -> Path | None:
    """The folder with PostgreSQL's programs, the newest if there are several; None if it is not installed."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    on_path = shutil.which("initdb")
    return found[-1].parent if found else Path(on_path).parent if on_path else None


@contextmanager
def throwaway(folder: Path, *, durable: bool) -> Iterator[str]:
    """The URL of a server run by the programs in ``folder``, with ``{}`` for the database's name.

    Only a ``durable`` one waits for the disk when a transaction is committed, as a real one does.
    """
    # It refuses to run as root; its socket needs a short path.
    user = {"user": "postgres", "group": "postgres"} if os.geteuid() == 0 else {}
    home = Path(tempfile.mkdtemp(prefix="drill-pg-"))
    if user:
        shutil.chown(home, **user)

    def run(program: str, *arguments: str) -> None:
        subprocess.run([folder / program, *arguments], check=True, cwd=home, stdout=subprocess.DEVNULL, **user)

    data, log = str(home / "data"), str(home / "log")
    run("initdb", "-D", data, "-U", "drill", "-A", "trust", "-E", "UTF8", "--no-sync")
    options = f"-k {home} -c listen_addresses= -c fsync={'on' if durable else 'off'}"
    run("pg_ctl", "-D", data, "-l", log, "-o", options, "-w", "start")
    try:
        yield f"postgresql+psycopg://drill@/{{}}?host={home}"
    finally:
        run("pg_ctl", "-D", data, "-m", "immediate", "-w", "stop")
        shutil.rmtree(home)


def execute(url: str, statement: str) -> None:
    """Run one statement beside any database, like CREATE DATABASE."""
    import psycopg

    place = url.format("postgres").replace("+psycopg", "")
    with psycopg.connect(place, autocommit=True) as connection:
        connection.execute(statement.encode())
