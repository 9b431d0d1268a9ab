"""Rows to put into a database: a session, its question, a review of it."""

from __future__ import annotations

from datetime import UTC, datetime

from drill.store import Store
from drill.store.models import DrillSession, Mistap, Question, Review

NOW = datetime(2026, 5, 1, 18, 0, 0, 123456, tzinfo=UTC)


def a_session(number: int = 1, **parts: object) -> DrillSession:
    values = {
        "id": f"{number:032x}",
        "player_id": 1,
        "minutes": 5,
        "tempo": 80,
        "hand": "medium",
        "left_handed": False,
        "richer": False,
        "thumb": False,
        "band": False,
        "tuning": "standard",
        "capo": 0,
        "frets": 22,
        "barre": "full",
        "pins": [],
        "scale_mm": 648.0,
        "highest": 22,
        "started_at": NOW,
        "until": NOW,
        "visible_seconds": 0.0,
        "tab": "tab",
        "ended_at": None,
    }
    return DrillSession(**(values | parts))


def a_question(session: DrillSession, number: int = 0, card: str = "name:Ab:4") -> Question:
    return Question(
        session_id=session.id,
        question=number,
        player_id=1,
        card=card,
        after=None,
        reason="why-new",
        reason_values={"key": "A♭"},
        predicted_seconds=6.5,
    )


def a_review(session: DrillSession, number: int = 0, **parts: object) -> Review:
    values = {
        "id": f"{number + 1:032x}",
        "player_id": 1,
        "session_id": session.id,
        "question": number,
        "card": "name:Ab:4",
        "outcome": "clean",
        "right": True,
        "seconds": 3.25,
        "allowance": 2.2,
        "tempo": 80,
        "mode": "touch",
        "given": {"name": "D♭"},
        "drawn": {"tuning": "EADGBE"},
        "answered_at": NOW,
        "received_at": NOW,
    }
    return Review(**(values | parts))


def log_one(store: Store) -> str:
    session = a_session()
    for row in (session, a_question(session), a_review(session)):
        with store.writing(1) as (db, _):
            db.add(row)
    with store.writing(1) as (db, _):
        db.add(Mistap(review_id=f"{1:032x}", player_id=1, received_at=NOW))
    return f"{1:032x}"
