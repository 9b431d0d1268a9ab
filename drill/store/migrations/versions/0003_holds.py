"""Memory rows keep a hold: the days after which half of what was practised is retained.

It is 0, as if nothing had been practised, until ``drill rebuild`` has gone through the log again.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Add the column."""
    op.add_column("memory_rows", sa.Column("hold", sa.Float, nullable=False, server_default=sa.text("0")))
