"""The store: transactions for reading and for writing, on SQLite or PostgreSQL.

>>> store = Store("sqlite:///band.sqlite")  # doctest: +SKIP
>>> with store.writing(player_id=1) as (db, player):  # doctest: +SKIP
...     player.tempo = 96
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session, sessionmaker

from drill.store.engine import WRITING, open_engine
from drill.store.models import Player
from drill.store.schema import StoreError, check, prepare

__all__ = ["Store", "StoreError", "check", "prepare"]

_LOCKED: Final = select(Player).where(Player.id == bindparam("player")).with_for_update()


class Store:
    """One database. Threads may share it."""

    def __init__(self, url: str) -> None:
        self.engine = open_engine(url)
        self._reading = sessionmaker(self.engine, expire_on_commit=False)
        self._writing = sessionmaker(self.engine.execution_options(**WRITING), expire_on_commit=False)

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """A transaction that sees one state of the database and changes nothing."""
        with self._reading() as db:
            yield db

    @contextmanager
    def writing(self, player_id: int) -> Iterator[tuple[Session, Player]]:
        """A transaction that changes what belongs to one player, with the player's row locked.

        It is committed when the block ends without an error. Writers of the same player wait for each other; on
        SQLite all writers do.
        """
        with self._writing.begin() as db:
            yield db, db.scalars(_LOCKED, {"player": player_id}).one()

    def close(self) -> None:
        """Close every connection."""
        self.engine.dispose()
