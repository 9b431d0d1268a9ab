"""Barres and pinned grips of players, which sessions keep; whether the hand is tired, and what is then not asked.

The main voicings, and with them the difficulty of cards, are new in this version too. So memory is worked out again
from the log, as after every revision (0007 says how).
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"


def upgrade() -> None:
    """Add the columns; whoever is there already plays full barres, as all main voicings could have them."""
    for table in ("players", "sessions"):
        op.add_column(table, sa.Column("barre", sa.String(8), nullable=False, server_default="full"))
        op.add_column(table, sa.Column("pins", sa.JSON, nullable=False, server_default="[]"))
    op.add_column("sessions", sa.Column("tired", sa.Boolean, nullable=False, server_default=sa.false()))
    op.add_column("questions", sa.Column("dropped", sa.Boolean, nullable=False, server_default=sa.false()))
