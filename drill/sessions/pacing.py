"""How a session keeps to its time: an answer never remakes the plan, but may change its rest.

Conventions. A missed card comes back some cards later, and once more at the end of the session.
A quick player gets more cards when those planned run out; a slow one does not reach the last of
them. The end is where whole cards come nearest to the session's minutes: as soon as what is left
is less than half of what the next card is predicted to take, nothing more is put. Time is what the
page says was visible up to the last answer, and what looking at that answer takes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy.orm import Session

from drill.planning.entry import READ_RIGHT, READ_WRONG, is_worth_starting
from drill.planning.plan import keep_apart
from drill.sessions.lifecycle import time_is_up
from drill.sessions.questions import add_questions, in_order_of_play, kind_of
from drill.store.log import mistaps_of, reviews_of
from drill.store.models import DrillSession, Player, Question, Review
from drill.store.sittings import progress, questions_of

REPEAT_AFTER: Final = 3
"""Cards at least between a missed one and its coming back."""

AGAIN: Final = "why-again"
"""The reason of a question that comes back some cards after it was missed."""

AT_END: Final = "why-at-end"
"""The reason of one that comes back at the end of the session."""

FEW_LEFT: Final = 2
"""With so few questions open and time left, more are planned."""

SOONEST: Final = timedelta(minutes=2)
"""What was not missed is not repeated any sooner."""

ENDING, ENDING_EACH = 60.0, 20.0
"""Seconds before its end at which a session looks for the best place to end, and for each missed card."""

AT_END_SHARE: Final = 1 / 3
"""The share of a session that cards missed in it may take at its end."""


def go_on(
    db: Session, player: Player, session: DrillSession, new: Sequence[Review], now: datetime
) -> tuple[list[Question], bool]:
    """After new answers: the questions that the session has more, and whether it is over."""
    so_far = progress(db, session.id)
    if not new or time_is_up(session, now):
        return [], time_is_up(session, now) or so_far.answered == so_far.questions
    last = max(new, key=lambda review: (review.answered_at, review.id))
    left = session.minutes * 60 - session.visible_seconds - (READ_RIGHT if last.right else READ_WRONG)
    missed = [review for review in new if review.outcome == "missed"]
    few = so_far.questions - so_far.answered <= FEW_LEFT
    ending = left <= ENDING + ENDING_EACH * so_far.missed
    if not ending and not missed and not few:
        return [], False
    rest = _Rest.of(db, session, last.question)
    added = [again for review in missed if (again := rest.bring_back(review))]
    db.add_all(added)
    more = left - sum(question.predicted_seconds for question in rest.open)
    if few and more > 0:
        added += rest.fill_up(db, player, more, now)
    if ending or not rest.open:
        at_end = rest.end(left)
        db.add_all(at_end)
        added += at_end
    return added, not (rest.open and is_worth_starting(left, rest.open[0].predicted_seconds))


@dataclass
class _Rest:
    """The questions of a session by number, with what came of them, after the answer to ``current``."""

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
        """Those without an answer, in the order of play."""
        return [question for question in self.order if question.question not in self.reviews]

    def bring_back(self, review: Review) -> Question | None:
        """A missed card once more, some cards later, where its neighbours are of another kind."""
        missed, order = self.questions[review.question], self.order
        if missed.reason in (AGAIN, AT_END):
            return None
        first = min(order.index(missed) + REPEAT_AFTER, len(order) - 1)
        followed = {each.after for each in order}
        places = (
            n
            for n in range(first, len(order))
            if all(kind_of(each.card) != kind_of(missed.card) for each in order[n : n + 2])
            and order[n].question not in followed
        )
        return self._put(missed, AGAIN, order[next(places, first)].question)

    def fill_up(self, db: Session, player: Player, seconds: float, now: datetime) -> list[Question]:
        """Plan more cards for so many seconds."""
        asked = {question.card for question in self.questions.values()}
        last = kind_of(self.order[-1].card) if self.questions else None
        first = len(self.questions)
        more = add_questions(db, player, self.session, seconds / 60, now, first=first, without=asked, behind=last)
        self.questions |= {question.question: question for question in more}
        return more

    def end(self, left: float) -> list[Question]:
        """The missed cards once more, when what is left is just enough for them."""
        # What was put back before comes first, and has its time already.
        waiting = [each for each in self.open if each.reason == AT_END]
        left -= sum(each.predicted_seconds for each in waiting)
        before = waiting[-1] if waiting else self.questions[self.current]
        back = [each for each in self._missed() if each.card != self.questions[self.current].card]
        # The first of them should be unlike the card before it.
        back.sort(key=lambda each: kind_of(each.card) == kind_of(before.card))
        back = _fitting(back, self.session.minutes * 60 * AT_END_SHARE)
        back = [back[n] for n in keep_apart(list(range(len(back))), [kind_of(each.card) for each in back])]
        needed = sum(each.predicted_seconds for each in back)
        regular = [] if waiting else self.open
        if regular and is_worth_starting(left - needed, regular[0].predicted_seconds):
            return []
        return [self._put(each, AT_END, before.question) for each in _fitting(back, left)]

    def _missed(self) -> list[Question]:
        """The questions that were missed and did not come back at the end yet, but for those that
        went right a moment ago, or are still to come back."""
        back = {question.card for question in self.questions.values() if question.reason == AT_END}
        back |= {question.card for question in self.open if question.reason == AGAIN}
        missed: dict[str, Question] = {}
        last: dict[str, Review] = {}
        for question in self.order:
            review = self.reviews.get(question.question)
            if review and review.id not in self.mistaps:
                last[question.card] = review
                if review.outcome == "missed" and question.card not in back:
                    missed.setdefault(question.card, question)
        now = self.reviews[self.current].answered_at
        return [
            question
            for card, question in missed.items()
            if last[card].outcome == "missed" or now - last[card].answered_at >= SOONEST
        ]

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


def _fitting(questions: Sequence[Question], seconds: float) -> list[Question]:
    """As many of the questions as are worth beginning in so many seconds."""
    fitting = []
    for each in questions:
        if is_worth_starting(seconds, each.predicted_seconds):
            seconds -= each.predicted_seconds
            fitting.append(each)
    return fitting
