"""Named queries on jobs: what is due for whom, and who is at it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from drill.store.models import Job


def add_missing(db: Session, player_id: int, name: str, due_at: datetime) -> None:
    """Let a job be there for a player, first due at ``due_at``."""
    if db.get(Job, (player_id, name)) is None:
        db.add(Job(player_id=player_id, name=name, due_at=due_at))


def there(db: Session, name: str) -> Sequence[int]:
    """The players that have such a job."""
    return db.scalars(select(Job.player_id).where(Job.name == name)).all()


def due(db: Session, now: datetime) -> Sequence[tuple[int, str]]:
    """The players and names of the jobs that are due and held by nobody."""
    free = or_(Job.held_until.is_(None), Job.held_until <= now)
    rows = db.execute(select(Job.player_id, Job.name).where(Job.due_at <= now, free).order_by(Job.due_at))
    return [(player_id, name) for player_id, name in rows]


def claim(db: Session, player_id: int, name: str, holder: str, now: datetime, lease: timedelta) -> bool:
    """Hold a due job for as long as ``lease``; False if somebody else was faster."""
    job = db.get_one(Job, (player_id, name))
    if job.due_at > now or (job.held_until is not None and job.held_until > now):
        return False
    job.holder, job.held_until = holder, now + lease
    return True


def done(db: Session, player_id: int, name: str, holder: str, now: datetime, due_at: datetime) -> None:
    """Let go of a job that ran, until it is due again."""
    job = db.get_one(Job, (player_id, name))
    if job.holder == holder:
        job.holder = job.held_until = None
        job.ran_at, job.due_at = now, due_at
