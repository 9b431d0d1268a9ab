"""The cards of the open position; whoever is there already has them switched off, so that no plan changes."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"

_OPEN_POSITION = "open position"


def upgrade() -> None:
    """Switch the group off for every player."""
    players = sa.table("players", sa.column("id", sa.Integer), sa.column("switched_off", sa.JSON))
    connection = op.get_bind()
    for player_id, switched_off in connection.execute(sa.select(players.c.id, players.c.switched_off)).all():
        changed = [*switched_off, _OPEN_POSITION]
        connection.execute(players.update().where(players.c.id == player_id).values(switched_off=changed))
