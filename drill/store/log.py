"""Named queries on the log: reviews and mis-taps, appended and read, never changed.

What every answer asks is built once: to build a statement takes longer than to answer it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy import ColumnElement, and_, bindparam, func, insert, or_, select
from sqlalchemy.orm import Session

from drill.memory.replay import FIRST, LogPlace
from drill.store.models import Base, Mistap, Review


def reviews_of(db: Session, session_id: str) -> dict[int, Review]:
    """The reviews of a session by question."""
    rows = db.scalars(select(Review).where(Review.session_id == session_id))
    return {review.question: review for review in rows}


_COLUMNS: Final = tuple(column.name for column in Review.__table__.columns)
_APPEND: Final = insert(Base.metadata.tables[Review.__tablename__])


def append(db: Session, reviews: Collection[Review]) -> None:
    """Append reviews to the log."""
    db.execute(_APPEND, [{name: getattr(review, name) for name in _COLUMNS} for review in reviews])


_UNDER: Final = select(Review).where(Review.id.in_(bindparam("ids", expanding=True)))


def reviews_under(db: Session, ids: Collection[str]) -> dict[str, Review]:
    """The reviews under these ids, whoever's they are."""
    return {review.id: review for review in db.scalars(_UNDER, {"ids": list(ids)})}


def last_review_of(db: Session, session_id: str) -> Review | None:
    """The last review of a session in canonical order."""
    return db.scalars(
        select(Review)
        .where(Review.session_id == session_id)
        .order_by(Review.answered_at.desc(), Review.id.desc())
        .limit(1)
    ).first()


@dataclass(frozen=True)
class AnswerSummary:
    """An answer in short."""

    card: str
    outcome: str
    seconds: float | None
    answered_at: datetime


def last_reviews_to(
    db: Session, player_id: int, cards: Collection[str], look_back: int, limit: int
) -> list[AnswerSummary]:
    """The player's last ``limit`` answers to these cards, newest first, mis-taps left out; looked for
    among the last ``look_back`` answers, so that it takes no longer with a longer log."""
    newest = (
        select(Review.id, Review.card, Review.outcome, Review.seconds, Review.answered_at)
        .where(Review.player_id == player_id)
        .order_by(Review.answered_at.desc(), Review.id.desc())
        .limit(look_back)
        .subquery()
    )
    rows = db.execute(
        select(newest.c.card, newest.c.outcome, newest.c.seconds, newest.c.answered_at)
        .outerjoin(Mistap, Mistap.review_id == newest.c.id)
        .where(newest.c.card.in_(cards), Mistap.review_id.is_(None))
        .order_by(newest.c.answered_at.desc(), newest.c.id.desc())
        .limit(limit)
    )
    return [AnswerSummary(*row) for row in rows]


def count_between(db: Session, player_id: int, begin: datetime, end: datetime) -> int:
    """How many reviews the player gave from ``begin`` up to ``end``."""
    return (
        db.scalar(
            select(func.count())
            .select_from(Review)
            .where(Review.player_id == player_id, Review.answered_at >= begin, Review.answered_at < end)
        )
        or 0
    )


def last_answered(db: Session, player_id: int) -> datetime | None:
    """When the player answered last."""
    return db.scalars(
        select(Review.answered_at).where(Review.player_id == player_id).order_by(Review.answered_at.desc()).limit(1)
    ).first()


def mistaps_of(db: Session, session_id: str) -> frozenset[str]:
    """The ids of a session's reviews that were taken back."""
    return frozenset(
        db.scalars(
            select(Mistap.review_id).join(Review, Review.id == Mistap.review_id).where(Review.session_id == session_id)
        )
    )


def mistap_of(db: Session, player_id: int, review_id: str) -> Mistap | None:
    """The mis-tap row of one of the player's reviews."""
    return db.scalars(select(Mistap).where(Mistap.review_id == review_id, Mistap.player_id == player_id)).first()


def log_after(db: Session, player_id: int, place: LogPlace) -> Iterator[Review]:
    """The player's log after a place, in canonical order, without what was taken back."""
    return iter(
        db.scalars(
            select(Review)
            .outerjoin(Mistap, Mistap.review_id == Review.id)
            .where(Review.player_id == player_id, Mistap.review_id.is_(None), ~_up_to(place))
            .order_by(Review.answered_at, Review.id)
            .execution_options(yield_per=1000)
        )
    )


def log_size(db: Session, player_id: int, place: LogPlace) -> int:
    """How many answers of the player's log up to a place stand."""
    return (
        db.scalar(
            select(func.count())
            .select_from(Review)
            .outerjoin(Mistap, Mistap.review_id == Review.id)
            .where(Review.player_id == player_id, Mistap.review_id.is_(None), _up_to(place))
        )
        or 0
    )


def mistaps_count(db: Session, player_id: int) -> int:
    """How many answers of the player's were taken back."""
    return db.scalar(select(func.count()).select_from(Mistap).where(Mistap.player_id == player_id)) or 0


def _up_to(place: LogPlace) -> ColumnElement[bool]:
    answered_at, review_id = place
    return or_(Review.answered_at < answered_at, and_(Review.answered_at == answered_at, Review.id <= review_id))


def replay_all(
    db: Session, player_id: int, place: LogPlace = FIRST, most: int | None = None
) -> Iterator[tuple[Review, bool]]:
    """The player's log after a place in canonical order, ``most`` reviews at most, each with whether it was taken
    back."""
    rows = db.execute(
        select(Review, Mistap.review_id)
        .outerjoin(Mistap, Mistap.review_id == Review.id)
        # The first is in the second, and is what an index can be asked.
        .where(Review.player_id == player_id, Review.answered_at >= place[0], ~_up_to(place))
        .order_by(Review.answered_at, Review.id)
        .limit(most)
        .execution_options(yield_per=1000)
    )
    return ((review, mistap is not None) for review, mistap in rows)


def counts_up_to(db: Session, player_id: int, place: LogPlace) -> tuple[int, int]:
    """How many reviews the player's log holds up to a place, and how many of those were taken back. Neither ever
    becomes less, so both are as they were only where that part of the log is."""
    here = Review.player_id == player_id, _up_to(place)
    reviews = db.scalar(select(func.count()).select_from(Review).where(*here))
    taken_back = select(func.count()).select_from(Mistap).join(Review, Review.id == Mistap.review_id)
    return reviews or 0, db.scalar(taken_back.where(*here)) or 0


def reviews_count(db: Session, player_id: int) -> int:
    """How many reviews the player's log holds."""
    return db.scalar(select(func.count()).select_from(Review).where(Review.player_id == player_id)) or 0
