"""Named queries on the log: reviews and mis-taps are appended and read, never changed.

The statements that every answer needs are built once, since building one takes longer than running it.
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
    """Return the reviews of a session by question."""
    rows = db.scalars(select(Review).where(Review.session_id == session_id))
    return {review.question: review for review in rows}


_COLUMNS: Final = tuple(column.name for column in Review.__table__.columns)
_APPEND: Final = insert(Base.metadata.tables[Review.__tablename__])


def append_reviews(db: Session, reviews: Collection[Review]) -> None:
    """Append reviews to the log."""
    db.execute(_APPEND, [{name: getattr(review, name) for name in _COLUMNS} for review in reviews])


_UNDER: Final = select(Review).where(Review.id.in_(bindparam("ids", expanding=True)))


def reviews_by_id(db: Session, ids: Collection[str]) -> dict[str, Review]:
    """Return the reviews with these ids, of all players."""
    return {review.id: review for review in db.scalars(_UNDER, {"ids": list(ids)})}


def last_review_of(db: Session, session_id: str) -> Review | None:
    """Return the last review of a session in canonical order, or None if it has none."""
    return db.scalars(
        select(Review)
        .where(Review.session_id == session_id)
        .order_by(Review.answered_at.desc(), Review.id.desc())
        .limit(1)
    ).first()


@dataclass(frozen=True)
class AnswerSummary:
    """One answer: its card, its outcome, its seconds and its time."""

    card: str
    outcome: str
    seconds: float | None
    answered_at: datetime


def last_reviews_to(
    db: Session, player_id: int, cards: Collection[str], look_back: int, limit: int
) -> list[AnswerSummary]:
    """Return the player's last ``limit`` answers to these cards, newest first, without mis-taps.

    Only the last ``look_back`` answers are searched, so that a longer log does not take longer.
    """
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
    """Return how many reviews the player gave from ``begin`` up to, but not including, ``end``."""
    return (
        db.scalar(
            select(func.count())
            .select_from(Review)
            .where(Review.player_id == player_id, Review.answered_at >= begin, Review.answered_at < end)
        )
        or 0
    )


def last_answered_at(db: Session, player_id: int) -> datetime | None:
    """Return when the player last answered, or None if the player never has."""
    return db.scalars(
        select(Review.answered_at).where(Review.player_id == player_id).order_by(Review.answered_at.desc()).limit(1)
    ).first()


def mistaps_of(db: Session, session_id: str) -> frozenset[str]:
    """Return the ids of a session's reviews that were taken back."""
    return frozenset(
        db.scalars(
            select(Mistap.review_id).join(Review, Review.id == Mistap.review_id).where(Review.session_id == session_id)
        )
    )


def mistap_of(db: Session, player_id: int, review_id: str) -> Mistap | None:
    """Return the mis-tap row of one of the player's reviews, or None if it was not taken back."""
    return db.scalars(select(Mistap).where(Mistap.review_id == review_id, Mistap.player_id == player_id)).first()


def log_after(db: Session, player_id: int, place: LogPlace) -> Iterator[Review]:
    """Return the player's reviews after a place, in canonical order, without those taken back."""
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
    """Return how many reviews there are up to a place, without those taken back."""
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
    """Return how many of the player's reviews were taken back."""
    return db.scalar(select(func.count()).select_from(Mistap).where(Mistap.player_id == player_id)) or 0


def _up_to(place: LogPlace) -> ColumnElement[bool]:
    answered_at, review_id = place
    return or_(Review.answered_at < answered_at, and_(Review.answered_at == answered_at, Review.id <= review_id))


def log_with_mistaps(
    db: Session, player_id: int, place: LogPlace = FIRST, most: int | None = None
) -> Iterator[tuple[Review, bool]]:
    """Return the player's reviews after a place, in canonical order, each with whether it was taken back.

    ``most`` limits the number of reviews.
    """
    rows = db.execute(
        select(Review, Mistap.review_id)
        .outerjoin(Mistap, Mistap.review_id == Review.id)
        # The comparison with place[0] follows from the next condition. It is there because an index can answer it.
        .where(Review.player_id == player_id, Review.answered_at >= place[0], ~_up_to(place))
        .order_by(Review.answered_at, Review.id)
        .limit(most)
        .execution_options(yield_per=1000)
    )
    return ((review, mistap is not None) for review, mistap in rows)


def counts_up_to(db: Session, player_id: int, place: LogPlace) -> tuple[int, int]:
    """Return how many reviews there are up to a place, and how many of these were taken back.

    Neither number ever falls. So if both are unchanged, that part of the log is unchanged.
    """
    up_to_place = Review.player_id == player_id, _up_to(place)
    reviews = db.scalar(select(func.count()).select_from(Review).where(*up_to_place))
    taken_back = select(func.count()).select_from(Mistap).join(Review, Review.id == Mistap.review_id)
    return reviews or 0, db.scalar(taken_back.where(*up_to_place)) or 0


def reviews_count(db: Session, player_id: int) -> int:
    """Return how many reviews the player's log holds."""
    return db.scalar(select(func.count()).select_from(Review).where(Review.player_id == player_id)) or 0
