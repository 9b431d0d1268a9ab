"""Logs written by hand: who answered what, when, how."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from drill.learning.learn import learn_from
from drill.players.preferences import Preferences, kept_setting
from drill.store import Store
from drill.store.models import DrillSession, Question, Review
from tests.drill.rows import a_question, a_review, a_session

Line = tuple[str, str, float | None, datetime]
"""A card, an outcome, seconds, and when."""


def lines(
    card: str, outcomes: str, at: datetime, seconds: float | None = 3.0, every: timedelta = timedelta(hours=6)
) -> list[Line]:
    """Answers to one card, a letter each: c(lean), l(ate), m(issed)."""
    words = {"c": "clean", "l": "late", "m": "missed"}
    return [(card, words[letter], seconds, at + n * every) for n, letter in enumerate(outcomes)]


def write(store: Store, log: Sequence[Line], number: int = 1, learnt: bool = True) -> list[Review]:
    """Append a log as one session of its own (``number``), and learn from it answer by answer."""
    begun = min(at for *_, at in log)
    guitar = kept_setting(Preferences())
    times = {"started_at": begun, "until": begun, "ended_at": begun, "visible_seconds": 60.0 * len(log)}
    session = a_session(number, **{**guitar, **times})
    reviews = [_review(session, place, line) for place, line in enumerate(log)]
    with store.writing(1) as (db, player):
        db.add(session)
        db.flush()
        db.add_all([_question(session, place, card) for place, (card, *_) in enumerate(log)])
        db.flush()
        db.add_all(reviews)
        if learnt:
            db.flush()
            for review in reviews:
                learn_from(db, player, [review])
    return reviews


def _question(session: DrillSession, place: int, card: str) -> Question:
    question = a_question(session, place)
    question.card = card
    return question


def _review(session: DrillSession, place: int, line: Line) -> Review:
    card, outcome, seconds, at = line
    review_id = f"{int(session.id, 16) * 100_000 + place:032x}"
    parts = {"card": card, "outcome": outcome, "right": outcome != "missed", "seconds": seconds}
    return a_review(session, place, id=review_id, answered_at=at, received_at=at, given={}, **parts)
