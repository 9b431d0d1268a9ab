"""Named queries on passes: how far a pass through a player's log has come, one for each player."""

from __future__ import annotations

import json
import zlib
from datetime import date
from typing import Any

from sqlalchemy import delete
from sqlalchemy.orm import Session

from drill.store.models import KeptPass

_QUICKLY = 1


def kept_pass(db: Session, player_id: int, frame: dict[str, Any]) -> Any:
    """What was kept of a pass that depends on the same, as JSON has it; None if there is none."""
    kept = db.get(KeptPass, player_id)
    return json.loads(zlib.decompress(kept.state)) if kept and kept.frame == frame else None


def keep_pass(db: Session, player_id: int, frame: dict[str, Any], state: Any) -> None:
    """Keep how far a pass has come, in the place of any other. As compressed JSON, which keeps every float as it
    is; instants and days become texts."""
    packed = zlib.compress(json.dumps(state, default=_plain).encode(), _QUICKLY)
    db.merge(KeptPass(player_id=player_id, frame=frame, state=packed))


def _plain(value: object) -> str:
    if isinstance(value, date):
        return value.isoformat()
    raise TypeError(f"{value!r} cannot be kept")


def drop_pass(db: Session, player_id: int) -> None:
    """Let it begin anew."""
    db.execute(delete(KeptPass).where(KeptPass.player_id == player_id))
