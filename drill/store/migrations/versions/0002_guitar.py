"""The player's guitar and band, and the groups of cards switched off; sessions keep what they were
judged by."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Add the columns; whoever is there already plays a plain guitar and is asked everything."""
    for table in ("players", "sessions"):
        for column in _guitar():
            op.add_column(table, column)
    op.add_column("players", sa.Column("switched_off", sa.JSON, nullable=False, server_default="[]"))


def _guitar() -> tuple[sa.Column[Any], ...]:
    return (
        sa.Column("thumb", sa.Boolean, nullable=False, server_default=sa.false()),
        sa.Column("band", sa.Boolean, nullable=False, server_default=sa.false()),
        sa.Column("tuning", sa.String(64), nullable=False, server_default="standard"),
        sa.Column("capo", sa.Integer, nullable=False, server_default="0"),
        sa.Column("frets", sa.Integer, nullable=False, server_default="22"),
        sa.Column("scale_mm", sa.Float, nullable=False, server_default="648"),
        sa.Column("highest", sa.Integer, nullable=False, server_default="22"),
    )
