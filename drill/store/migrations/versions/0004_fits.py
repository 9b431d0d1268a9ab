"""Checkpoints of memory, parameters fitted to a player's log, jobs; which days a player practises,
whether a card says why it is asked, and what a session is focused on."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"

EVERY_DAY = """'["mon", "tue", "wed", "thu", "fri", "sat", "sun"]'"""


def upgrade() -> None:
    """Add the tables and columns; whoever is there already practises every day."""
    op.add_column("players", sa.Column("days", sa.JSON, nullable=False, server_default=sa.text(EVERY_DAY)))
    op.add_column("players", sa.Column("why", sa.Boolean, nullable=False, server_default=sa.false()))
    op.add_column("players", sa.Column("fit", sa.Integer, nullable=False, server_default=sa.text("0")))
    op.add_column("sessions", sa.Column("focus", sa.JSON))
    op.add_column("sessions", sa.Column("horizon_days", sa.Float, nullable=False, server_default=sa.text("14")))
    op.create_table(
        "checkpoints",
        _player(),
        sa.Column("answers", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("answered_at", _instant(), nullable=False),
        sa.Column("review_id", sa.String(32), nullable=False),
        sa.Column("memory", sa.LargeBinary, nullable=False),
    )
    op.create_table(
        "fits",
        _player(),
        sa.Column("version", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("made_at", _instant(), nullable=False),
        sa.Column("parameters", sa.JSON, nullable=False),
        sa.Column("loss_before", sa.Float, nullable=False),
        sa.Column("loss_after", sa.Float, nullable=False),
        sa.Column("adopted", sa.Boolean, nullable=False),
    )
    op.create_table(
        "jobs",
        _player(),
        sa.Column("name", sa.String(32), primary_key=True),
        sa.Column("due_at", _instant(), nullable=False),
        sa.Column("ran_at", _instant()),
        sa.Column("holder", sa.String(64)),
        sa.Column("held_until", _instant()),
    )


def _instant() -> sa.DateTime:
    return sa.DateTime(timezone=True)


def _player() -> sa.Column[int]:
    return sa.Column("player_id", sa.Integer, sa.ForeignKey("players.id"), primary_key=True)
