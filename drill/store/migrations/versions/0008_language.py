"""The language that a player reads."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"


def upgrade() -> None:
    """Add the column; whoever is there already reads English."""
    op.add_column("players", sa.Column("language", sa.String(35), nullable=False, server_default="en"))
