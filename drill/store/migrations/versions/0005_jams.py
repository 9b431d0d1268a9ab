"""Tunes, jams and their set lists; what kind a session is, which jam it is aimed at, and how long a
question's chord lasts in its tune."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    """Add the tables and columns; sessions so far were drills."""
    op.add_column("sessions", sa.Column("kind", sa.String(16), nullable=False, server_default=sa.text("'drill'")))
    op.add_column("sessions", sa.Column("jam_id", sa.String(32)))
    op.add_column("questions", sa.Column("beats", sa.Float))
    op.create_table(
        "tunes",
        sa.Column("id", sa.String(32), primary_key=True),
        _player(index=True),
        sa.Column("title", sa.String(120), nullable=False),
        sa.Column("chart", sa.JSON, nullable=False),
        sa.Column("made_at", _instant(), nullable=False),
        sa.Column("changed_at", _instant(), nullable=False),
        sa.Column("deleted_at", _instant()),
    )
    op.create_table(
        "jams",
        sa.Column("id", sa.String(32), primary_key=True),
        _player(index=True),
        sa.Column("name", sa.String(120), nullable=False),
        sa.Column("at", _instant(), nullable=False),
        sa.Column("place", sa.String(120), nullable=False),
        sa.Column("boxes", sa.JSON, nullable=False),
        sa.Column("made_at", _instant(), nullable=False),
        sa.Column("deleted_at", _instant()),
    )
    op.create_table(
        "set_list",
        sa.Column("id", sa.String(32), primary_key=True),
        _player(),
        sa.Column("jam_id", sa.String(32), sa.ForeignKey("jams.id"), nullable=False),
        sa.Column("position", sa.Integer, nullable=False),
        sa.Column("tune_id", sa.String(32), sa.ForeignKey("tunes.id"), nullable=False),
        sa.Column("key", sa.String(16)),
        sa.Column("tempo", sa.Integer),
        sa.Index("ix_set_list_jam_position", "jam_id", "position"),
    )


def _instant() -> sa.DateTime:
    return sa.DateTime(timezone=True)


def _player(index: bool = False) -> sa.Column[int]:
    return sa.Column("player_id", sa.Integer, sa.ForeignKey("players.id"), nullable=False, index=index)
