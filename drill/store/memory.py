"""Named queries on a player's memory: its rows, and the last answer to every card seen."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import asdict, fields
from typing import Any, Final

from sqlalchemy import Table, delete, func, select
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Session

from drill.memory import Row
from drill.store.models import Base, LastAnswer, MemoryRow

_COLUMNS: Final = tuple(getattr(MemoryRow, field.name) for field in fields(Row))


def memory_rows(db: Session, player_id: int, names: Collection[str] | None = None) -> dict[str, Row]:
    """The rows of a player's memory by name; ``names`` only those asked for."""
    query = select(*_COLUMNS).where(MemoryRow.player_id == player_id)
    if names is not None:
        query = query.where(MemoryRow.name.in_(names))
    return {found.name: Row(*found) for found in db.execute(query)}


def keep_rows(db: Session, player_id: int, rows: Iterable[Row]) -> None:
    """Keep new versions of these rows."""
    _put(db, MemoryRow, [{"player_id": player_id, **asdict(row)} for row in rows])


def last_answers(db: Session, player_id: int) -> dict[str, LastAnswer]:
    """The last answer to every card the player has seen, by card."""
    return {found.card: found for found in db.scalars(select(LastAnswer).where(LastAnswer.player_id == player_id))}


def add_last_answers(db: Session, player_id: int, answers: Iterable[LastAnswer]) -> None:
    """Keep these as the last answers to their cards; ``reviews`` counts on."""
    rows = [
        {
            "player_id": player_id,
            "card": last.card,
            "reviews": last.reviews,
            "answered_at": last.answered_at,
            "outcome": last.outcome,
        }
        for last in answers
    ]
    _put(db, LastAnswer, rows, counting="reviews")


def cards_seen(db: Session, player_id: int) -> int:
    """How many cards the player has answered at least once."""
    return db.scalar(select(func.count()).select_from(LastAnswer).where(LastAnswer.player_id == player_id)) or 0


def forget(db: Session, player_id: int) -> None:
    """Clear the player's memory, for it to be worked out again from the log."""
    db.execute(delete(MemoryRow).where(MemoryRow.player_id == player_id))
    db.execute(delete(LastAnswer).where(LastAnswer.player_id == player_id))


def _put(db: Session, model: type[Base], rows: list[dict[str, Any]], counting: str | None = None) -> None:
    """Insert rows, or write them over those with the same primary key; one column may count on."""
    if not rows:
        return
    table = model.__table__
    assert isinstance(table, Table)
    insert = sqlite.insert if db.get_bind().dialect.name == "sqlite" else postgresql.insert
    statement = insert(table)
    keys = [column.name for column in table.primary_key]
    others: dict[str, Any] = {name: statement.excluded[name] for name in rows[0] if name not in keys}
    if counting:
        others[counting] = table.columns[counting] + statement.excluded[counting]
    db.execute(statement.on_conflict_do_update(index_elements=keys, set_=others), rows)
