"""Named queries on checkpoints: a player's whole memory, kept at intervals along the log."""

from __future__ import annotations

import json
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from drill.memory.replay import Checkpoint, LogPlace, checkpoints_to_keep
from drill.memory.rows import Row
from drill.store.models import KeptCheckpoint

_QUICKLY = 1


@dataclass(frozen=True)
class Seen:
    """How often a card was answered, when it was answered last, and the outcome of that answer."""

    reviews: int
    answered_at: datetime
    outcome: str


@dataclass(frozen=True)
class MemoryState:
    """All of a player's memory at a place in the log: its rows, and the last answer to every card."""

    memory: Checkpoint = field(default_factory=Checkpoint)
    last: Mapping[str, Seen] = field(default_factory=dict)


def list_checkpoints(db: Session, player_id: int) -> Sequence[Checkpoint]:
    """Return the player's checkpoints with their places and numbers of answers, without their rows."""
    rows = db.execute(
        select(KeptCheckpoint.answered_at, KeptCheckpoint.review_id, KeptCheckpoint.answers).where(
            KeptCheckpoint.player_id == player_id
        )
    )
    return [Checkpoint({}, (answered_at, review_id), answers) for answered_at, review_id, answers in rows]


def load_state(db: Session, player_id: int, checkpoint: Checkpoint) -> MemoryState:
    """Return the state at one of :func:`list_checkpoints`. Before the first, it is empty."""
    kept = db.get(KeptCheckpoint, (player_id, checkpoint.answers)) if checkpoint.answers else None
    return MemoryState() if kept is None else MemoryState(*_unpack(kept.memory, checkpoint))


def keep_state(db: Session, player_id: int, state: MemoryState) -> None:
    """Keep a state as a checkpoint, and drop the checkpoints that are no longer worth keeping."""
    answered_at, review_id = state.memory.place
    kept = {
        "answers": state.memory.answers,
        "answered_at": answered_at,
        "review_id": review_id,
        "memory": _pack(state),
    }
    db.merge(KeptCheckpoint(player_id=player_id, **kept))
    db.flush()
    answers = {place.answers for place in list_checkpoints(db, player_id)}
    _drop(db, player_id, answers - checkpoints_to_keep(answers))


def drop_checkpoints_from(db: Session, player_id: int, place: LogPlace) -> None:
    """Drop the checkpoints that an answer at ``place`` would change."""
    checkpoints = list_checkpoints(db, player_id)
    _drop(db, player_id, {checkpoint.answers for checkpoint in checkpoints if checkpoint.place >= place})


def _drop(db: Session, player_id: int, answers: set[int]) -> None:
    if answers:
        db.execute(
            delete(KeptCheckpoint).where(KeptCheckpoint.player_id == player_id, KeptCheckpoint.answers.in_(answers))
        )


def _pack(state: MemoryState) -> bytes:
    """Return a state as compressed JSON, which keeps every float exactly."""
    rows = list(state.memory.rows.values())
    last = [(card, seen.reviews, seen.answered_at, seen.outcome) for card, seen in state.last.items()]
    return zlib.compress(json.dumps([rows, last], default=datetime.isoformat).encode(), _QUICKLY)


def _unpack(memory: bytes, at: Checkpoint) -> tuple[Checkpoint, dict[str, Seen]]:
    rows, last = json.loads(zlib.decompress(memory))
    named = {name: Row(name, datetime.fromisoformat(since), *rest) for name, since, *rest in rows}
    seen = {card: Seen(reviews, datetime.fromisoformat(since), outcome) for card, reviews, since, outcome in last}
    return Checkpoint(named, at.place, at.answers), seen
