"""Named queries on jobs: which are due for which player, and which process holds them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from drill.store.models import Job


def add_if_missing(db: Session, player_id: int, name: str, due_at: datetime) -> None:
    """Add the row of a job for a player, first due at ``due_at``, unless it exists."""
    if db.get(Job, (player_id, name)) is None:
        db.add(Job(player_id=player_id, name=name, due_at=due_at))


def players_with(db: Session, name: str) -> Sequence[int]:
    """Return the players that have a row for this job."""
    return db.scalars(select(Job.player_id).where(Job.name == name)).all()


def jobs_due(db: Session, now: datetime) -> Sequence[tuple[int, str]]:
    """Return the players and names of the jobs that are due and that nobody holds."""
    free = or_(Job.held_until.is_(None), Job.held_until <= now)
    rows = db.execute(select(Job.player_id, Job.name).where(Job.due_at <= now, free).order_by(Job.due_at))
    return [(player_id, name) for player_id, name in rows]


def claim(db: Session, player_id: int, name: str, holder: str, now: datetime, lease: timedelta) -> bool:
    """Hold a due job for the time of the lease. Return False if another process was faster."""
    job = db.get_one(Job, (player_id, name))
    if job.due_at > now or (job.held_until is not None and job.held_until > now):
        return False
    job.holder, job.held_until = holder, now + lease
    return True


def reschedule(db: Session, player_id: int, name: str, holder: str, now: datetime, due_at: datetime) -> None:
    """Let go of a job that ran, and set when it is due again."""
    job = db.get_one(Job, (player_id, name))
    if job.holder == holder:
        job.holder = job.held_until = None
        job.ran_at, job.due_at = now, due_at
