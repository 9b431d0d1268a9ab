"""Memory rows keep a hold: the days after which half of what was practised is retained.

What is there gets a hold by its right answers alone; ``drill rebuild``, which goes through the log again,
puts the right one in its place.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Add the column and fill it."""
    op.add_column("memory_rows", sa.Column("hold", sa.Float, nullable=False, server_default=sa.text("0")))
    op.execute("UPDATE memory_rows SET hold = 0.3 * (1.0 + 2.0 * successes) WHERE name NOT LIKE 'player:%'")
