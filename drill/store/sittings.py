"""Named queries on sessions and the questions of their plans."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from drill.store.models import DrillSession, Player, Question, Review


@dataclass(frozen=True)
class Progress:
    """How far a session has come.

    questions   how many it has so far
    answered    how many of them are answered
    predicted   seconds that the others are predicted to take
    """

    questions: int
    answered: int
    predicted: float


def only_player(db: Session) -> int:
    """The player of this service, as long as there is no sign-in."""
    return db.scalars(select(Player.id).order_by(Player.id).limit(1)).one()


def all_players(db: Session) -> Sequence[int]:
    """Every player."""
    return db.scalars(select(Player.id).order_by(Player.id)).all()


def open_session(db: Session, player_id: int) -> DrillSession | None:
    """The player's session that was not ended, if there is one."""
    return db.scalars(
        select(DrillSession).where(DrillSession.player_id == player_id, DrillSession.ended_at.is_(None))
    ).first()


def session_of(db: Session, player_id: int, session_id: str) -> DrillSession | None:
    """One session of the player's; never somebody else's."""
    return db.scalars(
        select(DrillSession).where(DrillSession.id == session_id, DrillSession.player_id == player_id)
    ).first()


def questions_of(db: Session, session_id: str) -> Sequence[Question]:
    """The questions of a session by number."""
    return db.scalars(
        select(Question).where(Question.session_id == session_id).order_by(Question.question)
    ).all()


def answered_so_far(
    db: Session, session_id: str, numbers: Collection[int]
) -> dict[int, tuple[Question, Review | None]]:
    """Some questions of a session by number, each with the review that stands for it."""
    rows = db.execute(
        select(Question, Review)
        .outerjoin(Review, (Review.session_id == Question.session_id) & (Review.question == Question.question))
        .where(Question.session_id == session_id, Question.question.in_(numbers))
    )
    return {question.question: (question, review) for question, review in rows}


def progress(db: Session, session_id: str) -> Progress:
    """How far a session has come."""
    row = db.execute(
        select(
            func.count(),
            func.count(Review.id),
            func.coalesce(func.sum(Question.predicted_seconds).filter(Review.id.is_(None)), 0.0),
        )
        .select_from(Question)
        .outerjoin(
            Review, (Review.session_id == Question.session_id) & (Review.question == Question.question)
        )
        .where(Question.session_id == session_id)
    ).one()
    return Progress(row[0], row[1], float(row[2]))


def visible_between(db: Session, player_id: int, begin: datetime, end: datetime) -> float:
    """Seconds that the player's sessions, started from ``begin`` up to ``end``, were on the screen."""
    return db.scalar(
        select(func.coalesce(func.sum(DrillSession.visible_seconds), 0.0)).where(
            DrillSession.player_id == player_id,
            DrillSession.started_at >= begin,
            DrillSession.started_at < end,
        )
    ) or 0.0
