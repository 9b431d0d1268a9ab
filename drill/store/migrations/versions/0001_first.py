"""The first schema: players, sessions and their questions, the log, and what is learnt from it.

A later revision that copies ``reviews`` or ``mistaps`` (batch mode on SQLite) must make their
triggers again.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

LOG = ("reviews", "mistaps")


def upgrade() -> None:
    """Create the tables, make the log append-only, and let one player in."""
    _players()
    _sessions()
    _log()
    _memory()
    for table in LOG:
        _append_only(table)
    op.execute(
        "INSERT INTO players (created_at, settled, keys, left_handed, hand, tempo, minutes, richer, day_start, zone) "
        "VALUES (CURRENT_TIMESTAMP, FALSE, '[]', FALSE, 'medium', 80, 5, FALSE, 4, 'UTC')"
    )


def _instant() -> sa.DateTime:
    return sa.DateTime(timezone=True)


def _player(*, key: bool = False) -> sa.Column[int]:
    return sa.Column("player_id", sa.Integer, sa.ForeignKey("players.id"), nullable=False, primary_key=key)


def _players() -> None:
    op.create_table(
        "players",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("created_at", _instant(), nullable=False),
        sa.Column("settled", sa.Boolean, nullable=False),
        sa.Column("keys", sa.JSON, nullable=False),
        sa.Column("left_handed", sa.Boolean, nullable=False),
        sa.Column("hand", sa.String(8), nullable=False),
        sa.Column("tempo", sa.Integer, nullable=False),
        sa.Column("minutes", sa.Integer, nullable=False),
        sa.Column("richer", sa.Boolean, nullable=False),
        sa.Column("day_start", sa.Integer, nullable=False),
        sa.Column("zone", sa.String(64), nullable=False),
    )


def _sessions() -> None:
    op.create_table(
        "sessions",
        sa.Column("id", sa.String(32), primary_key=True),
        _player(),
        sa.Column("minutes", sa.Integer, nullable=False),
        sa.Column("tempo", sa.Integer, nullable=False),
        sa.Column("hand", sa.String(8), nullable=False),
        sa.Column("left_handed", sa.Boolean, nullable=False),
        sa.Column("richer", sa.Boolean, nullable=False),
        sa.Column("started_at", _instant(), nullable=False),
        sa.Column("until", _instant(), nullable=False),
        sa.Column("visible_seconds", sa.Float, nullable=False),
        sa.Column("tab", sa.String(64), nullable=False),
        sa.Column("ended_at", _instant()),
    )
    op.create_index(
        "ix_sessions_running",
        "sessions",
        ["player_id"],
        unique=True,
        sqlite_where=sa.text("ended_at IS NULL"),
        postgresql_where=sa.text("ended_at IS NULL"),
    )
    op.create_index("ix_sessions_player_started", "sessions", ["player_id", "started_at"])
    op.create_table(
        "questions",
        sa.Column("session_id", sa.String(32), sa.ForeignKey("sessions.id"), primary_key=True),
        sa.Column("question", sa.Integer, primary_key=True, autoincrement=False),
        _player(),
        sa.Column("card", sa.String(64), nullable=False),
        sa.Column("after", sa.Integer),
        sa.Column("reason", sa.String(32), nullable=False),
        sa.Column("reason_values", sa.JSON, nullable=False),
        sa.Column("predicted_seconds", sa.Float, nullable=False),
        sqlite_with_rowid=False,
    )


def _log() -> None:
    op.create_table(
        "reviews",
        sa.Column("id", sa.String(32), primary_key=True),
        _player(),
        sa.Column("session_id", sa.String(32), nullable=False),
        sa.Column("question", sa.Integer, nullable=False),
        sa.Column("card", sa.String(64), nullable=False),
        sa.Column("outcome", sa.String(8), nullable=False),
        sa.Column("right", sa.Boolean, nullable=False),
        sa.Column("seconds", sa.Float),
        sa.Column("allowance", sa.Float, nullable=False),
        sa.Column("tempo", sa.Integer, nullable=False),
        sa.Column("mode", sa.String(16), nullable=False),
        sa.Column("given", sa.JSON, nullable=False),
        sa.Column("drawn", sa.JSON, nullable=False),
        sa.Column("answered_at", _instant(), nullable=False),
        sa.Column("received_at", _instant(), nullable=False),
        sa.UniqueConstraint("session_id", "question"),
        sa.ForeignKeyConstraint(["session_id", "question"], ["questions.session_id", "questions.question"]),
        sa.CheckConstraint("outcome IN ('clean', 'late', 'missed')", name="outcome"),
    )
    op.create_index("ix_reviews_player_answered", "reviews", ["player_id", "answered_at", "id"])
    op.create_table(
        "mistaps",
        sa.Column("review_id", sa.String(32), sa.ForeignKey("reviews.id"), primary_key=True),
        _player(),
        sa.Column("received_at", _instant(), nullable=False),
    )
    op.create_index("ix_mistaps_player_id", "mistaps", ["player_id"])


def _memory() -> None:
    numbers = (
        "mean",
        "variance",
        "pace",
        "pace_variance",
        "successes",
        "failures",
        "recent_successes",
        "recent_failures",
    )
    op.create_table(
        "memory_rows",
        _player(key=True),
        sa.Column("name", sa.String(80), primary_key=True),
        sa.Column("at", _instant(), nullable=False),
        *(sa.Column(number, sa.Float, nullable=False) for number in numbers),
        sa.Column("last", sa.Integer, nullable=False),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "last_answers",
        _player(key=True),
        sa.Column("card", sa.String(64), primary_key=True),
        sa.Column("reviews", sa.Integer, nullable=False),
        sa.Column("answered_at", _instant(), nullable=False),
        sa.Column("outcome", sa.String(8), nullable=False),
        sqlite_with_rowid=False,
    )


def _append_only(table: str) -> None:
    """Let the database itself refuse to change or delete a row of the log."""
    if op.get_bind().dialect.name == "sqlite":
        for change in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{change.lower()} BEFORE {change} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{table} are never changed or deleted'); END"
            )
        return
    op.execute(
        f"CREATE FUNCTION {table}_stay() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{table} are never changed or deleted'; END $$"
    )
    op.execute(
        f"CREATE TRIGGER {table}_stay BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
        f"FOR EACH STATEMENT EXECUTE FUNCTION {table}_stay()"
    )
