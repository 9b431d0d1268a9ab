"""Named queries on checkpoints: a player's whole memory, kept every so many answers."""

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
    """How often a card was answered, and the last time with what came of it."""

    reviews: int
    answered_at: datetime
    outcome: str


@dataclass(frozen=True)
class MemoryState:
    """All of a player's memory at a place in the log: its rows, and the last answer to every card."""

    memory: Checkpoint = field(default_factory=Checkpoint)
    last: Mapping[str, Seen] = field(default_factory=dict)


def places(db: Session, player_id: int) -> Sequence[Checkpoint]:
    """The player's checkpoints by answers and place, without what is in them."""
    rows = db.execute(
        select(KeptCheckpoint.answered_at, KeptCheckpoint.review_id, KeptCheckpoint.answers).where(
            KeptCheckpoint.player_id == player_id
        )
    )
    return [Checkpoint({}, (answered_at, review_id), answers) for answered_at, review_id, answers in rows]


def known_at(db: Session, player_id: int, checkpoint: Checkpoint) -> MemoryState:
    """Everything that was known at one of :func:`places`; nothing before the first."""
    kept = db.get(KeptCheckpoint, (player_id, checkpoint.answers)) if checkpoint.answers else None
    return MemoryState() if kept is None else MemoryState(*_unpacked(kept.memory, checkpoint))


def keep_known(db: Session, player_id: int, known: MemoryState) -> None:
    """Keep a checkpoint, and of the others those that are worth it."""
    answered_at, review_id = known.memory.place
    kept = {
        "answers": known.memory.answers,
        "answered_at": answered_at,
        "review_id": review_id,
        "memory": _packed(known),
    }
    db.merge(KeptCheckpoint(player_id=player_id, **kept))
    db.flush()
    there = {place.answers for place in places(db, player_id)}
    _drop(db, player_id, there - checkpoints_to_keep(there))


def drop_from(db: Session, player_id: int, place: LogPlace) -> None:
    """Drop the checkpoints that an answer at ``place`` would have changed."""
    _drop(db, player_id, {each.answers for each in places(db, player_id) if each.place >= place})


def _drop(db: Session, player_id: int, answers: set[int]) -> None:
    if answers:
        db.execute(
            delete(KeptCheckpoint).where(KeptCheckpoint.player_id == player_id, KeptCheckpoint.answers.in_(answers))
        )


def _packed(known: MemoryState) -> bytes:
    """As compressed JSON, which keeps every float as it is."""
    rows = list(known.memory.rows.values())
    last = [(card, seen.reviews, seen.answered_at, seen.outcome) for card, seen in known.last.items()]
    return zlib.compress(json.dumps([rows, last], default=datetime.isoformat).encode(), _QUICKLY)


def _unpacked(memory: bytes, at: Checkpoint) -> tuple[Checkpoint, dict[str, Seen]]:
    rows, last = json.loads(zlib.decompress(memory))
    named = {name: Row(name, datetime.fromisoformat(since), *rest) for name, since, *rest in rows}
    seen = {card: Seen(reviews, datetime.fromisoformat(since), outcome) for card, reviews, since, outcome in last}
    return Checkpoint(named, at.place, at.answers), seen
