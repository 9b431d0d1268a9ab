"""Named queries on a player's memory: its rows, and the last answer to every card seen.

What every answer asks is built once: to build a statement takes longer than to answer it.
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
    """These columns of a player's rows; by the table and not by the model, which would make each row twice."""
    columns = model.__table__.c
    return select(*(columns[name] for name in names)).where(columns.player_id == bindparam("player"))


def _plain(query: Select[Any]) -> Select[Any]:
    """The same with its instants plain (:class:`~drill.store.models.PlainInstant`)."""
    columns = query.selected_columns
    return query.with_only_columns(
        *(type_coerce(each, PlainInstant) if isinstance(each.type, Instant) else each for each in columns)
    )


_ROWS: Final = _select(MemoryRow, _NAMES)
_ROW_COLUMNS: Final = _plain(_ROWS)
_NAMED_ROWS: Final = _ROWS.where(MemoryRow.__table__.c.name.in_(bindparam("names", expanding=True)))
_values = attrgetter(*_NAMES)


def memory_rows(db: Session, player_id: int) -> dict[str, Row]:
    """The rows of a player's memory by name."""
    return {found[0]: Row._make(found) for found in db.execute(_ROWS, {"player": player_id})}


def memory_columns(db: Session, player_id: int) -> Sequence[tuple[Any, ...]]:
    """A player's memory as one sequence for each field of :class:`~drill.memory.rows.Row`, none where there is no row;
    instants are plain (:class:`~drill.store.models.PlainInstant`)."""
    return [*zip(*db.execute(_ROW_COLUMNS, {"player": player_id}).all(), strict=True)]


def memory_rows_named(db: Session, player_id: int, names: Collection[str]) -> dict[str, Row]:
    """Those of the player's rows that have these names."""
    rows = db.execute(_NAMED_ROWS, {"player": player_id, "names": list(names)})
    return {found[0]: Row._make(found) for found in rows}


def keep_rows(db: Session, player_id: int, rows: Iterable[Row]) -> None:
    """Keep new versions of these rows."""
    _put(db, MemoryRow, [{"player_id": player_id, **dict(zip(_NAMES, _values(row), strict=True))} for row in rows])


class Last(NamedTuple):
    """The last answer to a card, and how many there were."""

    card: str
    answered_at: datetime
    outcome: str
    reviews: int


_LAST: Final = _select(LastAnswer, Last._fields)
_LAST_OUTCOMES: Final = _plain(_select(LastAnswer, ("card", "answered_at", "outcome")))


def last_answers(db: Session, player_id: int) -> dict[str, Last]:
    """The last answer to every card the player has seen, by card."""
    return {found[0]: Last._make(found) for found in db.execute(_LAST, {"player": player_id})}


def answers_to(db: Session, player_id: int, cards: Collection[str]) -> dict[str, int]:
    """How often the player answered these cards; those never seen are left out."""
    rows = select(LastAnswer.card, LastAnswer.reviews).where(
        LastAnswer.player_id == player_id, LastAnswer.card.in_(cards)
    )
    return {each.card: each.reviews for each in db.execute(rows)}


def last_outcomes(db: Session, player_id: int) -> dict[str, tuple[datetime | str, str]]:
    """When every card that the player has seen was answered last, plain, and what came of it."""
    return {card: (at, outcome) for card, at, outcome in db.execute(_LAST_OUTCOMES, {"player": player_id}).all()}


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


def keep_last_answers(db: Session, player_id: int, last: Mapping[str, Seen]) -> None:
    """Keep these as all there is to say of their cards."""
    rows = [{"player_id": player_id, "card": card, **asdict(seen)} for card, seen in last.items()]
    _put(db, LastAnswer, rows)


def cards_seen(db: Session, player_id: int) -> int:
    """How many cards the player has answered at least once."""
    return db.scalar(select(func.count()).select_from(LastAnswer).where(LastAnswer.player_id == player_id)) or 0


def forget_rows(db: Session, player_id: int, names: Collection[str]) -> None:
    """Take out the rows with these names."""
    if names:
        db.execute(delete(MemoryRow).where(MemoryRow.player_id == player_id, MemoryRow.name.in_(names)))


def forget_last_answers(db: Session, player_id: int, cards: Collection[str]) -> None:
    """Take out the last answers to these cards."""
    if cards:
        db.execute(delete(LastAnswer).where(LastAnswer.player_id == player_id, LastAnswer.card.in_(cards)))


def forget(db: Session, player_id: int) -> None:
    """Clear the player's memory, for it to be worked out again from the log."""
    db.execute(delete(MemoryRow).where(MemoryRow.player_id == player_id))
    db.execute(delete(LastAnswer).where(LastAnswer.player_id == player_id))


def _put(db: Session, model: type[Base], rows: list[dict[str, Any]], counting: str | None = None) -> None:
    """Insert rows, or write them over those with the same primary key; one column may count on."""
    if rows:
        db.execute(_upsert(model, counting), rows)


@cache
def _upsert(model: type[Base], counting: str | None) -> TextClause:
    """As text, which both databases read alike: SQLAlchemy compiles its own form anew each time."""
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
