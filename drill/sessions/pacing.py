"""How a session keeps to its time: an answer never changes the whole plan, but may change the rest of it.

Conventions. A missed card comes back some cards later, and once more at the end of the session. A quick player
gets more cards when the planned ones run out. A slow player does not reach the last of them. A session ends
where whole cards come nearest to its minutes: as soon as the time left is less than half of the next card's
predicted seconds, no more cards are asked. Time is what the page reports as visible up to the last answer, plus
the time that looking at that answer takes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import takewhile
from typing import Final

from sqlalchemy.orm import Session

from cards.asks import needs_hand, read_card
from drill.planning.entry import READ_RIGHT, READ_WRONG, is_worth_starting
from drill.planning.plan import TIRING_IN_A_ROW, keep_apart, rest_between
from drill.sessions.lifecycle import find_session, time_is_up
from drill.sessions.questions import add_questions, in_order_of_play, is_tiring, kind_of
from drill.store import Store
from drill.store.log import mistaps_of, reviews_of
from drill.store.models import DrillSession, Player, Question, Review
from drill.store.sittings import progress, questions_of

REPEAT_AFTER: Final = 3
"""The fewest cards between a missed card and its return."""

AGAIN: Final = "why-again"
"""The reason of a question that comes back some cards after it was missed."""

AT_END: Final = "why-at-end"
"""The reason of a question that comes back at the end of the session."""

FEW_LEFT: Final = 2
"""More cards are planned when only so many questions are open and time is left."""

SOONEST: Final = timedelta(minutes=2)
"""A card that was not missed the last time is not repeated sooner than this."""

ENDING, ENDING_EACH = 60.0, 20.0
"""A session looks for the best place to end this many seconds before its end, and so many more for each missed
card."""

AT_END_SHARE: Final = 1 / 3
"""The share of a session that the cards missed in it may take at its end."""


@dataclass(frozen=True)
class Adjustment:
    """What became of the plan of a session after new answers.

    added  the questions that the session has in addition
    order  the numbers of all its questions in the order of play if any were added, else ()
    over   whether the session is over
    """

    added: Sequence[Question]
    order: Sequence[int]
    over: bool


def adjust_plan(db: Session, player: Player, session: DrillSession, new: Sequence[Review], now: datetime) -> Adjustment:
    """Adjust the plan after new answers: bring missed cards back, fill the time, find the best place to end."""
    so_far = progress(db, session.id)
    if not new or time_is_up(session, now):
        return Adjustment((), (), time_is_up(session, now) or so_far.answered == so_far.questions)
    last = max(new, key=lambda review: (review.answered_at, review.id))
    left = session.minutes * 60 - session.visible_seconds - (READ_RIGHT if last.right else READ_WRONG)
    missed = [review for review in new if review.outcome == "missed"]
    few = so_far.questions - so_far.answered <= FEW_LEFT
    ending = left <= ENDING + ENDING_EACH * so_far.missed
    if not ending and not missed and not few:
        return Adjustment((), (), False)
    rest = _Rest.of(db, session, last.question)
    added = [again for review in missed if (again := rest.bring_back(review))]
    db.add_all(added)
    more = left - sum(question.predicted_seconds for question in rest.open)
    if few and more > 0:
        added += rest.fill_up(db, player, more, now)
    if ending or not rest.open:
        at_end = rest.repeat_at_end(left)
        db.add_all(at_end)
        added += at_end
    order = [question.question for question in rest.order] if added else []
    return Adjustment(added, order, not (rest.open and is_worth_starting(left, rest.open[0].predicted_seconds)))


@dataclass(frozen=True)
class Rested:
    """What became of a session whose player's hand is tired.

    session  the session
    dropped  the numbers of the questions that are no longer asked
    open     the questions that are, in the order of play
    order    the numbers of all its questions in the order of play
    over     whether the session is over
    """

    session: DrillSession
    dropped: Sequence[int]
    open: Sequence[Question]
    order: Sequence[int]
    over: bool


def rest_hand(store: Store, player_id: int, session_id: str, visible_seconds: float, now: datetime) -> Rested:
    """Go on with cards that need no hand: drop the open ones that do, and fill the time with others.

    Doing it again changes nothing. Raises NoSessionError.
    """
    with store.writing(player_id) as (db, player):
        session = find_session(db, player_id, session_id)
        session.visible_seconds = max(session.visible_seconds, visible_seconds)
        over = time_is_up(session, now)
        rest = _Rest.of(db, session, 0)
        if not session.tired and not over:
            session.tired = True
            rest.drop_what_needs_the_hand()
            more = session.minutes * 60 - session.visible_seconds
            more -= sum(question.predicted_seconds for question in rest.open)
            if more > 0:
                rest.fill_up(db, player, more, now)
        dropped = [q.question for q in rest.order if q.dropped and q.question not in rest.reviews]
        order = [question.question for question in rest.order]
        return Rested(session, dropped, rest.open, order, over or not rest.open)


@dataclass
class _Rest:
    """The questions of a session by number, with their reviews, after the answer to ``current``."""

    session: DrillSession
    current: int
    questions: dict[int, Question]
    reviews: dict[int, Review]
    mistaps: frozenset[str]

    @classmethod
    def of(cls, db: Session, session: DrillSession, current: int) -> _Rest:
        questions = {question.question: question for question in questions_of(db, session.id)}
        return cls(session, current, questions, reviews_of(db, session.id), mistaps_of(db, session.id))

    @property
    def order(self) -> list[Question]:
        """All questions in the order of play."""
        return in_order_of_play(self.questions.values())

    @property
    def open(self) -> list[Question]:
        """The questions without an answer that were not dropped, in the order of play."""
        return [q for q in self.order if q.question not in self.reviews and not q.dropped]

    def bring_back(self, review: Review) -> Question | None:
        """Return a new question for a missed card, some cards later, between neighbours of another kind.

        Return None if the missed question was itself a repetition, if it needs a hand that is tired, or if the hand
        could not rest before it.
        """
        missed, order = self.questions[review.question], self.order
        if missed.reason in (AGAIN, AT_END) or self._is_too_tiring(missed):
            return None
        first = min(order.index(missed) + REPEAT_AFTER, len(order) - 1)
        followed = {question.after for question in order}
        places = (
            n
            for n in range(first, len(order))
            if all(kind_of(question.card) != kind_of(missed.card) for question in order[n : n + 2])
            and order[n].question not in followed
            and _is_rested(order, n, missed)
        )
        place = next(places, first)
        return self._put(missed, AGAIN, order[place].question) if _is_rested(order, place, missed) else None

    def fill_up(self, db: Session, player: Player, seconds: float, now: datetime) -> list[Question]:
        """Plan more cards for so many seconds, and return their questions."""
        asked = {question.card for question in self.questions.values()}
        behind = [question.card for question in self.order]
        first = len(self.questions)
        more = add_questions(db, player, self.session, seconds / 60, now, first=first, without=asked, behind=behind)
        self.questions |= {question.question: question for question in more}
        return more

    def repeat_at_end(self, left: float) -> list[Question]:
        """Return questions for the missed cards at the end, once the time left is just enough for them."""
        # Cards that were already put at the end come first, and their time is already set aside.
        waiting = [question for question in self.open if question.reason == AT_END]
        left -= sum(question.predicted_seconds for question in waiting)
        before = waiting[-1] if waiting else self.questions[self.current]
        missed = [question for question in self._missed() if question.card != self.questions[self.current].card]
        # The first of them should be of another kind than the card before it.
        missed.sort(key=lambda question: kind_of(question.card) == kind_of(before.card))
        missed = _fit_into(missed, self.session.minutes * 60 * AT_END_SHARE)
        kinds = [kind_of(question.card) for question in missed]
        tiring = {n: is_tiring(question.card) for n, question in enumerate(missed)}
        apart = rest_between(keep_apart(list(range(len(missed))), kinds), tiring, [is_tiring(before.card)])
        missed = [missed[n] for n in apart]
        needed = sum(question.predicted_seconds for question in missed)
        regular = [] if waiting else self.open
        if regular and is_worth_starting(left - needed, regular[0].predicted_seconds):
            return []
        return [self._put(question, AT_END, before.question) for question in _fit_into(missed, left)]

    def _missed(self) -> list[Question]:
        """Return the questions that were missed and did not yet come back at the end.

        Cards that were right a moment ago, that are still to come back, or that need a tired hand are left out.
        """
        back = {question.card for question in self.questions.values() if question.reason == AT_END}
        back |= {question.card for question in self.open if question.reason == AGAIN}
        missed: dict[str, Question] = {}
        last: dict[str, Review] = {}
        for question in self.order:
            review = self.reviews.get(question.question)
            if review and review.id not in self.mistaps:
                last[question.card] = review
                if review.outcome == "missed" and question.card not in back and not self._is_too_tiring(question):
                    missed.setdefault(question.card, question)
        now = self.reviews[self.current].answered_at
        return [
            question
            for card, question in missed.items()
            if last[card].outcome == "missed" or now - last[card].answered_at >= SOONEST
        ]

    def drop_what_needs_the_hand(self) -> None:
        """Drop the open questions that need the player's hand."""
        for question in self.open:
            question.dropped = self._is_too_tiring(question)

    def _is_too_tiring(self, question: Question) -> bool:
        return self.session.tired and needs_hand(read_card(question.card))

    def _put(self, missed: Question, reason: str, after: int) -> Question:
        again = Question(
            session_id=self.session.id,
            question=len(self.questions),
            player_id=self.session.player_id,
            card=missed.card,
            after=after,
            reason=reason,
            reason_values={},
            predicted_seconds=missed.predicted_seconds,
            beats=missed.beats,
        )
        self.questions[again.question] = again
        return again


def _is_rested(order: Sequence[Question], n: int, again: Question) -> bool:
    """Whether the hand has rested if a question comes after ``order[n]``: at most two tiring cards are in a row."""
    if not is_tiring(again.card):
        return True
    before = takewhile(is_tiring, (question.card for question in reversed(order[: n + 1])))
    behind = takewhile(is_tiring, (question.card for question in order[n + 1 :]))
    return sum(1 for _ in (*before, *behind)) < TIRING_IN_A_ROW


def _fit_into(questions: Sequence[Question], seconds: float) -> list[Question]:
    """Return as many of the questions as are worth starting in so many seconds."""
    fitting = []
    for question in questions:
        if is_worth_starting(seconds, question.predicted_seconds):
            seconds -= question.predicted_seconds
            fitting.append(question)
    return fitting
