"""Incoming answers: judged, appended to the log and learnt from, in one transaction.

Conventions. Answers come in batches, each with an id made on the device. The first answer committed for a
question of a session stands. Any later one for the same question, or with the same id, gets the first verdict
and the status ``already answered``. An answer that cannot be taken is ``refused`` with the reason, and never
blocks the others. A batch is acknowledged once all of it is committed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from typing import Any, Final, Literal

from sqlalchemy.orm import Session

from cards.asks import MODES, Card, CardError, Given, Verdict, allowance, drawn, judge, read_card
from cards.messages import Refusal, RefusalError, refusal
from drill import clock
from drill.incoming.reading import HEX_ID, finite
from drill.learning.learn import learn_from, relearn_since
from drill.learning.reviews import allowed_seconds_for, outcome_of
from drill.players.preferences import read_setting
from drill.sessions.lifecycle import find_session
from drill.sessions.pacing import Adjustment, adjust_plan
from drill.store import Store
from drill.store.log import append_reviews, last_review_of, mistap_of, reviews_by_id
from drill.store.models import DrillSession, Mistap, Review
from drill.store.sittings import Asked, asked_questions

LONGEST_SECONDS: Final = 86_400.0
"""The most seconds that an answer may take: a day."""

Status = Literal["accepted", "already answered", "already taken back", "refused"]


class AnswerError(RefusalError, ValueError):
    """An answer that cannot be taken. The message says why."""


@dataclass(frozen=True)
class Batch:
    """What a page sends: its answers, as the device wrote them, and its own time."""

    tab: str
    sent_ms: float
    visible_seconds: float
    reviews: Sequence[object]


@dataclass(frozen=True)
class Submitted:
    """One answer that could be read. ``answered_ms`` is in milliseconds by the device's clock."""

    id: str
    question: int
    card: str
    given: Given
    seconds: float | None
    mode: str
    answered_ms: float

    @classmethod
    def read(cls, item: object) -> Submitted:
        """Read one answer from JSON. Raises AnswerError."""
        if not isinstance(item, Mapping):
            raise AnswerError("an answer is an object with id, question, card, given, seconds, mode, answered_at")
        names = ("id", "question", "card", "mode", "given")
        review_id, number, card, mode, given = (item.get(name) for name in names)
        if not isinstance(review_id, str) or not HEX_ID.match(review_id):
            raise AnswerError("the id of an answer is 32 digits of 0–9 and a–f")
        if not isinstance(number, int) or isinstance(number, bool) or not 0 <= number < 10_000:
            raise AnswerError("the question is a number from 0")
        if not isinstance(card, str):
            raise AnswerError("the card is an id like place:Ab:4:box1")
        if not isinstance(mode, str) or mode not in MODES:
            raise AnswerError("the mode is one of {modes}", modes=", ".join(MODES))
        if not isinstance(given, Mapping):
            raise AnswerError("what was given is an object with the parts that the question asks for, shown or hinted")
        try:
            read = Given.read(given)
        except CardError as error:
            raise AnswerError(error.sentence, **error.values) from error
        seconds = None if item.get("seconds") is None else _seconds(item["seconds"])
        return cls(review_id, number, card, read, seconds, mode, _number(item.get("answered_at"), "answered_at"))


@dataclass(frozen=True)
class Reply:
    """What became of one answer. ``verdict`` is that of ``review``, the one that stands."""

    id: object
    status: Status
    reason: Refusal | None = None
    review: Review | None = None
    verdict: Verdict | None = None

    @property
    def allowed(self) -> float | None:
        """The seconds allowed for the answer that stands, or None if none does."""
        return None if self.review is None else allowed_seconds_for(self.review)


@dataclass(frozen=True)
class Taken:
    """What became of a batch.

    session        the session of the batch
    replies        one for each answer, in the order of the batch
    holds_session  whether the tab that sent the batch still holds the session
    adjustment     what became of the session's plan
    """

    session: DrillSession
    replies: Sequence[Reply]
    holds_session: bool
    adjustment: Adjustment


def take(store: Store, player_id: int, session_id: str, batch: Batch, now: datetime) -> Taken:
    """Judge a batch, append the new answers to the log and update memory, all or nothing.

    Raises NoSessionError.
    """
    with store.writing(player_id) as (db, player):
        session = find_session(db, player_id, session_id)
        session.visible_seconds = max(session.visible_seconds, batch.visible_seconds)
        items = [_read(item) for item in batch.reviews]
        questions = asked_questions(db, session_id, {item.question for item in items if isinstance(item, Submitted)})
        replies = _replies(db, session, batch, items, questions, now)
        new = [reply.review for reply in replies if reply.status == "accepted" and reply.review]
        if new:
            append_reviews(db, new)
            learn_from(db, player, new)
        return Taken(session, replies, session.tab == batch.tab, adjust_plan(db, player, session, new, now))


def take_back(store: Store, player_id: int, session_id: str, review_id: object, now: datetime) -> Reply:
    """Take back the session's last answer as a mis-tap. The review stays in the log.

    Raises NoSessionError.
    """
    with store.writing(player_id) as (db, player):
        session = find_session(db, player_id, session_id)
        if not isinstance(review_id, str) or not HEX_ID.match(review_id):
            return Reply(review_id, "refused", refusal("a mis-tap names the review that is taken back"))
        if mistap_of(db, player_id, review_id):
            return Reply(review_id, "already taken back")
        last = last_review_of(db, session_id)
        if last is None or last.id != review_id:
            return Reply(review_id, "refused", refusal("only the last answer of the session can be taken back"))
        if session.ended_at is not None:
            return Reply(review_id, "refused", refusal("the session has ended: its answers stay as they are"))
        db.add(Mistap(review_id=last.id, player_id=player_id, received_at=now))
        relearn_since(db, player, last)
        return Reply(review_id, "accepted", review=last)


def _replies(
    db: Session,
    session: DrillSession,
    batch: Batch,
    items: Sequence[Submitted | Reply],
    questions: Mapping[int, Asked],
    now: datetime,
) -> list[Reply]:
    """Return a reply for every answer of the batch."""
    sent = {item.id for item in items if isinstance(item, Submitted)}
    by_id = reviews_by_id(db, sent | {question.review_id for question in questions.values() if question.review_id})
    by_question = {number: by_id[question.review_id] for number, question in questions.items() if question.review_id}
    replies = []
    for item in items:
        if isinstance(item, Reply):
            replies.append(item)
            continue
        stands = by_id.get(item.id) or by_question.get(item.question)
        reply = _reply(session, item, questions.get(item.question), stands, batch, now)
        if reply.status == "accepted" and reply.review:
            by_question[item.question] = by_id[item.id] = reply.review
        replies.append(reply)
    return replies


def _read(item: object) -> Submitted | Reply:
    try:
        return Submitted.read(item)
    except AnswerError as error:
        return Reply(item.get("id") if isinstance(item, Mapping) else None, "refused", error.refusal)


def _reply(
    session: DrillSession,
    item: Submitted,
    question: Asked | None,
    stands: Review | None,
    batch: Batch,
    now: datetime,
) -> Reply:
    if stands is not None:
        if stands.player_id != session.player_id:
            return Reply(item.id, "refused", refusal("this id belongs to another answer: make a new one"))
        return Reply(item.id, "already answered", review=stands, verdict=judge_again(session, stands))
    if question is None:
        none = refusal("this session has no question {question}", question=item.question)
        return Reply(item.id, "refused", none)
    if question.card != item.card:
        other = refusal(
            "question {question} is {right}, not {card}", question=item.question, right=question.card, card=item.card
        )
        return Reply(item.id, "refused", other)
    at = clock.answered_at(now, batch.sent_ms, item.answered_ms, session.started_at)
    review, verdict = judge_answer(session, item, question.beats, at, now)
    return Reply(item.id, "accepted", review=review, verdict=verdict)


def judge_again(session: DrillSession, review: Review) -> Verdict:
    """Return the verdict on a review. Judging it again gives the same verdict every time."""
    return judge(read_card(review.card), Given.read(review.given), read_setting(session))


def judge_answer(
    session: DrillSession, item: Submitted, in_tune: float | None, at: datetime, now: datetime, *, by_tune: bool = False
) -> tuple[Review, Verdict]:
    """Judge an answer that was given at ``at``. Return the review and the verdict.

    ``in_tune`` is the length in beats of its change in a tune, or None for a bare card. ``by_tune`` says that
    the click of a tune was the clock. Then a right answer was in time, or it would not have been heard as
    right; nothing is allowed for tapping, since nothing was tapped; and the seconds are None, since nobody
    measured them.
    """
    card = read_card(item.card)
    verdict = judge(card, item.given, read_setting(session))
    granted = 0.0 if by_tune else allowance(card, item.given, item.mode)
    review = Review(
        id=item.id,
        player_id=session.player_id,
        session_id=session.id,
        question=item.question,
        card=item.card,
        right=verdict.right,
        seconds=None if by_tune else item.seconds,
        allowance=granted,
        tempo=session.tempo,
        mode=item.mode,
        given=item.given.as_json(),
        drawn=_describe_drawing(session, card, in_tune),
        answered_at=at,
        received_at=now,
    )
    in_time = 0.0 if by_tune else item.seconds
    review.outcome = outcome_of(verdict.right, item.given.hinted, in_time, allowed_seconds_for(review))
    return review, verdict


def _describe_drawing(session: DrillSession, card: Card, in_tune: float | None) -> dict[str, Any]:
    """Return what the player saw and was judged by, beside the card itself."""
    setting = read_setting(session)
    kept = {**asdict(replace(setting, pins=())), "pins": list(session.pins or ())}
    return {**kept, "main": drawn(card, setting), "beats": in_tune}


def _seconds(value: object) -> float:
    number = _number(value, refusal("the seconds of an answer"))
    if not 0 <= number <= LONGEST_SECONDS:
        raise AnswerError("the seconds of an answer are from 0 to a day, or null where they are not known")
    return number


def _number(value: object, what: str | Refusal) -> float:
    number = finite(value)
    if number is None:
        raise AnswerError("{what} must be a number", what=what)
    return number
