"""Passes through a player's log, kept as far as they have come."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    """Add the table; passes are made by who looks at them."""
    op.create_table(
        "passes",
        sa.Column("player_id", sa.Integer, sa.ForeignKey("players.id"), primary_key=True),
        sa.Column("frame", sa.JSON, nullable=False),
        sa.Column("state", sa.LargeBinary, nullable=False),
    )
