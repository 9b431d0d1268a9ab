"""Named queries on a player's memory: its rows, and the last answer to every card seen.

The statements that every answer needs are built once, since building one takes longer than running it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import asdict
from datetime import datetime
from functools import cache
from operator import attrgetter
from typing import Any, Final, NamedTuple

from sqlalchemy import Select, Table, TextClause, bindparam, delete, func, select, text, type_coerce
from sqlalchemy.orm import Session

from drill.memory.rows import Row
from drill.store.checkpoints import Seen
from drill.store.models import Base, Instant, LastAnswer, MemoryRow, PlainInstant

_NAMES: Final = Row._fields


def _select(model: type[Base], names: Iterable[str]) -> Select[Any]:
    """Return a query for these columns of a player's rows. It selects from the table and not from the model,
    which would build every row twice."""
    columns = model.__table__.c
    return select(*(columns[name] for name in names)).where(columns.player_id == bindparam("player"))


def _with_plain_instants(query: Select[Any]) -> Select[Any]:
    """Return the query with its instants plain (:class:`~drill.store.models.PlainInstant`)."""
    columns = query.selected_columns
    return query.with_only_columns(
        *(type_coerce(column, PlainInstant) if isinstance(column.type, Instant) else column for column in columns)
    )


_ROWS: Final = _select(MemoryRow, _NAMES)
_ROW_COLUMNS: Final = _with_plain_instants(_ROWS)
_NAMED_ROWS: Final = _ROWS.where(MemoryRow.__table__.c.name.in_(bindparam("names", expanding=True)))
_values = attrgetter(*_NAMES)


def memory_rows(db: Session, player_id: int) -> dict[str, Row]:
    """Return the rows of a player's memory by name."""
    return {row[0]: Row._make(row) for row in db.execute(_ROWS, {"player": player_id})}


def memory_columns(db: Session, player_id: int) -> Sequence[tuple[Any, ...]]:
    """Return a player's memory as one sequence for each field of :class:`~drill.memory.rows.Row`.

    The result is empty if there are no rows. Instants are plain (:class:`~drill.store.models.PlainInstant`).
    """
    return [*zip(*db.execute(_ROW_COLUMNS, {"player": player_id}).all(), strict=True)]


def memory_rows_named(db: Session, player_id: int, names: Collection[str]) -> dict[str, Row]:
    """Return those rows of a player's memory that have these names."""
    rows = db.execute(_NAMED_ROWS, {"player": player_id, "names": list(names)})
    return {row[0]: Row._make(row) for row in rows}


def keep_rows(db: Session, player_id: int, rows: Iterable[Row]) -> None:
    """Store new versions of these rows."""
    values = [{"player_id": player_id, **dict(zip(_NAMES, _values(row), strict=True))} for row in rows]
    _upsert_rows(db, MemoryRow, values)


class Last(NamedTuple):
    """The last answer to a card, and how many answers it has had."""

    card: str
    answered_at: datetime
    outcome: str
    reviews: int


_LAST: Final = _select(LastAnswer, Last._fields)
_LAST_OUTCOMES: Final = _with_plain_instants(_select(LastAnswer, ("card", "answered_at", "outcome")))


def last_answers(db: Session, player_id: int) -> dict[str, Last]:
    """Return the last answer to every card that the player has seen, by card."""
    return {row[0]: Last._make(row) for row in db.execute(_LAST, {"player": player_id})}


def count_answers_to(db: Session, player_id: int, cards: Collection[str]) -> dict[str, int]:
    """Return how often the player has answered each of these cards, without those never seen."""
    rows = select(LastAnswer.card, LastAnswer.reviews).where(
        LastAnswer.player_id == player_id, LastAnswer.card.in_(cards)
    )
    return {row.card: row.reviews for row in db.execute(rows)}


def last_outcomes(db: Session, player_id: int) -> dict[str, tuple[datetime | str, str]]:
    """Return when every card that the player has seen was last answered, as a plain instant, and the outcome."""
    return {card: (at, outcome) for card, at, outcome in db.execute(_LAST_OUTCOMES, {"player": player_id}).all()}


def add_last_answers(db: Session, player_id: int, answers: Iterable[LastAnswer]) -> None:
    """Store these as the last answers to their cards. ``reviews`` is added to the number stored before."""
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
    _upsert_rows(db, LastAnswer, rows, counting="reviews")


def keep_last_answers(db: Session, player_id: int, last: Mapping[str, Seen]) -> None:
    """Store these as the last answers to their cards. ``reviews`` replaces the number stored before."""
    rows = [{"player_id": player_id, "card": card, **asdict(seen)} for card, seen in last.items()]
    _upsert_rows(db, LastAnswer, rows)


def count_cards_seen(db: Session, player_id: int) -> int:
    """Return how many cards the player has answered at least once."""
    return db.scalar(select(func.count()).select_from(LastAnswer).where(LastAnswer.player_id == player_id)) or 0


def forget_rows(db: Session, player_id: int, names: Collection[str]) -> None:
    """Delete the rows with these names."""
    if names:
        db.execute(delete(MemoryRow).where(MemoryRow.player_id == player_id, MemoryRow.name.in_(names)))


def forget_last_answers(db: Session, player_id: int, cards: Collection[str]) -> None:
    """Delete the last answers to these cards."""
    if cards:
        db.execute(delete(LastAnswer).where(LastAnswer.player_id == player_id, LastAnswer.card.in_(cards)))


def clear_memory(db: Session, player_id: int) -> None:
    """Delete the player's memory, before it is computed again from the log."""
    db.execute(delete(MemoryRow).where(MemoryRow.player_id == player_id))
    db.execute(delete(LastAnswer).where(LastAnswer.player_id == player_id))


def _upsert_rows(db: Session, model: type[Base], rows: list[dict[str, Any]], counting: str | None = None) -> None:
    """Insert rows, or update those with the same primary key. The column ``counting`` is added to, not
    replaced."""
    if rows:
        db.execute(_upsert_statement(model, counting), rows)


@cache
def _upsert_statement(model: type[Base], counting: str | None) -> TextClause:
    """Return the statement as text, which both databases understand. SQLAlchemy would compile its own form anew
    for each execution."""
    table = model.__table__
    assert isinstance(table, Table)
    names = [column.name for column in table.columns]
    keys = [column.name for column in table.primary_key]
    changes = [
        f"{name} = {table.name}.{name} + excluded.{name}" if name == counting else f"{name} = excluded.{name}"
        for name in names
        if name not in keys
    ]
    return text(
        f"INSERT INTO {table.name} ({', '.join(names)}) VALUES ({', '.join(f':{name}' for name in names)}) "
        f"ON CONFLICT ({', '.join(keys)}) DO UPDATE SET {', '.join(changes)}"
    ).bindparams(*(bindparam(column.name, type_=column.type) for column in table.columns))
