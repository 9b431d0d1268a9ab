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


def load_pass(db: Session, player_id: int, frame: dict[str, Any]) -> Any:
    """Return the kept state of a pass as JSON has it, or None if none was kept that depends on the same frame."""
    kept = db.get(KeptPass, player_id)
    return json.loads(zlib.decompress(kept.state)) if kept and kept.frame == frame else None


def keep_pass(db: Session, player_id: int, frame: dict[str, Any], state: Any) -> None:
    """Keep the state of a pass, replacing any other. Instants and days become text.

    It is stored as compressed JSON, which keeps every float exactly.
    """
    packed = zlib.compress(json.dumps(state, default=_plain).encode(), _QUICKLY)
    db.merge(KeptPass(player_id=player_id, frame=frame, state=packed))


def _plain(value: object) -> str:
    if isinstance(value, date):
        return value.isoformat()
    raise TypeError(f"{value!r} cannot be kept")


def drop_pass(db: Session, player_id: int) -> None:
    """Delete the kept state of a pass, so that it begins anew."""
    db.execute(delete(KeptPass).where(KeptPass.player_id == player_id))
