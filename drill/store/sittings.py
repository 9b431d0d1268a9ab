"""Named queries on sessions and the questions of their plans.

The statements that every answer needs are built once, since building one takes longer than running it.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import bindparam, func, select
from sqlalchemy.orm import Session

from drill.store.models import DrillSession, Jam, Mistap, Player, Question, Review, Tune

DEMO_TAB: Final = "demo"
"""The tab that holds the sessions of demo data. The tab of a browser is made of hexadecimal digits."""


@dataclass(frozen=True)
class Progress:
    """How far a session has come.

    questions  how many it has so far, without those that were dropped before they were answered
    answered   how many of them are answered
    missed     how many of these were missed
    """

    questions: int
    answered: int
    missed: int


@dataclass(frozen=True)
class Asked:
    """A question as an answer to it needs it. ``review_id`` is the review that it already has, or None."""

    question: int
    card: str
    reason: str
    predicted_seconds: float
    beats: float | None
    review_id: str | None


def only_player(db: Session) -> int:
    """Return the player of this service, as long as there is no sign-in."""
    return db.scalars(select(Player.id).order_by(Player.id).limit(1)).one()


def all_players(db: Session) -> Sequence[int]:
    """Return the ids of all players."""
    return db.scalars(select(Player.id).order_by(Player.id)).all()


def is_empty(db: Session) -> bool:
    """Whether there is no session, no tune and no jam yet."""
    return all(db.scalars(select(table.id).limit(1)).first() is None for table in (DrillSession, Tune, Jam))


_FIRST_TAB: Final = (
    select(DrillSession.tab)
    .where(DrillSession.player_id == bindparam("player"))
    .order_by(DrillSession.started_at)
    .limit(1)
)


def is_demo(db: Session, player_id: int) -> bool:
    """Whether the player began as demo data."""
    return db.scalars(_FIRST_TAB, {"player": player_id}).first() == DEMO_TAB


def open_session(db: Session, player_id: int) -> DrillSession | None:
    """Return the player's session that was not ended, or None."""
    return db.scalars(
        select(DrillSession).where(DrillSession.player_id == player_id, DrillSession.ended_at.is_(None))
    ).first()


_SESSION: Final = select(DrillSession).where(
    DrillSession.id == bindparam("session"), DrillSession.player_id == bindparam("player")
)


def session_of(db: Session, player_id: int, session_id: str) -> DrillSession | None:
    """Return one of the player's sessions, or None if the player has no such session."""
    return db.scalars(_SESSION, {"session": session_id, "player": player_id}).first()


def any_session(db: Session, session_id: str) -> DrillSession | None:
    """Return the session with this id, of any player, or None."""
    return db.get(DrillSession, session_id)


def questions_of(db: Session, session_id: str) -> Sequence[Question]:
    """Return the questions of a session by number."""
    return db.scalars(select(Question).where(Question.session_id == session_id).order_by(Question.question)).all()


_REVIEW_OF_QUESTION: Final = (Review.session_id == Question.session_id) & (Review.question == Question.question)

_ASKED: Final = (
    select(Question.question, Question.card, Question.reason, Question.predicted_seconds, Question.beats, Review.id)
    .outerjoin(Review, _REVIEW_OF_QUESTION)
    .where(Question.session_id == bindparam("session"), Question.question.in_(bindparam("numbers", expanding=True)))
)


def asked_questions(db: Session, session_id: str, numbers: Collection[int]) -> dict[int, Asked]:
    """Return some questions of a session, by number, with what an answer to them needs."""
    rows = db.execute(_ASKED, {"session": session_id, "numbers": list(numbers)})
    return {row.question: Asked(*row) for row in rows}


_PROGRESS: Final = (
    select(func.count(), func.count(Review.id), func.count().filter(Review.outcome == "missed"))
    .select_from(Question)
    .outerjoin(Review, _REVIEW_OF_QUESTION)
    .where(Question.session_id == bindparam("session"), Question.dropped.is_(False) | Review.id.is_not(None))
)


def progress(db: Session, session_id: str) -> Progress:
    """Return how far a session has come."""
    return Progress(*db.execute(_PROGRESS, {"session": session_id}).one())


def visible_between(db: Session, player_id: int, begin: datetime, end: datetime) -> float:
    """Return the seconds that the player's sessions were on the screen, for those started from ``begin`` up to
    ``end``."""
    return (
        db.scalar(
            select(func.coalesce(func.sum(DrillSession.visible_seconds), 0.0)).where(
                DrillSession.player_id == player_id,
                DrillSession.started_at >= begin,
                DrillSession.started_at < end,
            )
        )
        or 0.0
    )


@dataclass(frozen=True)
class SessionFigures:
    """A session in figures: its seconds on the screen, and its answers by outcome, without mis-taps."""

    started_at: datetime
    seconds: float
    clean: int
    late: int
    missed: int


def all_sittings(db: Session, player_id: int) -> list[SessionFigures]:
    """Return the player's sessions that have answers, oldest first."""
    counts = [func.count().filter(Review.outcome == outcome) for outcome in ("clean", "late", "missed")]
    rows = db.execute(
        select(DrillSession.started_at, DrillSession.visible_seconds, *counts)
        .join(Review, Review.session_id == DrillSession.id)
        .outerjoin(Mistap, Mistap.review_id == Review.id)
        .where(DrillSession.player_id == player_id, Mistap.review_id.is_(None))
        .group_by(DrillSession.id, DrillSession.started_at, DrillSession.visible_seconds)
        .order_by(DrillSession.started_at)
    )
    return [SessionFigures(*row) for row in rows]
