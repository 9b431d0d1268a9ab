"""Everything of one player, table by table: exported as plain values, and imported again.

Conventions. Every table with a ``player_id`` is exported, except those that are computed from the log or belong
to one installation (:data:`DERIVED`). So a table that a later revision adds is exported without a change here.
Instants are in ISO 8601 with their zone; everything else is as JSON has it. ``player_id`` is left out, because
the player has another number where the rows are imported.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Column, Table, insert, select
from sqlalchemy.orm import Session

from drill.store.models import Base, Job, KeptCheckpoint, KeptPass, LastAnswer, MemoryRow, Player

DERIVED: Final = frozenset(table.__tablename__ for table in (MemoryRow, LastAnswer, KeptCheckpoint, KeptPass, Job))

TABLES: Final[tuple[Table, ...]] = tuple(
    table for table in Base.metadata.sorted_tables if "player_id" in table.columns and table.name not in DERIVED
)
"""The tables that are exported, each after those that it refers to."""


def columns(table: Table) -> tuple[Column[Any], ...]:
    """Return the columns of a table that are exported."""
    return tuple(column for column in table.columns if column.name != "player_id")


def player_columns() -> tuple[Column[Any], ...]:
    """Return the columns of the player's own row that are exported."""
    return tuple(column for column in Base.metadata.tables[Player.__tablename__].columns if column.name != "id")


def dump_player(player: Player) -> dict[str, Any]:
    """Return the player's own row."""
    return {column.name: _plain(getattr(player, column.name)) for column in player_columns()}


def dump(db: Session, player_id: int, table: Table) -> list[dict[str, Any]]:
    """Return the player's rows of a table, in the order of its primary key."""
    exported = columns(table)
    rows = db.execute(select(*exported).where(table.c.player_id == player_id).order_by(*table.primary_key))
    names = [column.name for column in exported]
    return [dict(zip(names, map(_plain, row), strict=True)) for row in rows]


def load(db: Session, player_id: int, table: Table, rows: Sequence[Mapping[str, Any]]) -> None:
    """Insert rows into a table as the player's. Their instants are ``datetime`` values."""
    if rows:
        db.execute(insert(table), [{**row, "player_id": player_id} for row in rows])


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, datetime) else value
