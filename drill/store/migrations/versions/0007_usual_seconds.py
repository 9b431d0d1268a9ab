"""Every ask has usual seconds of its own; until now eleven of them shared one figure.

The pace of a memory row is an offset from these seconds, so rows that were worked out with the old figures
mean something else with the new ones. No table changes. A new revision is what makes ``drill serve`` and
``drill upgrade`` work memory out again from the log; on PostgreSQL ``drill rebuild`` does it.
"""

from __future__ import annotations

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    """Change nothing in the tables."""
