"""Memory and the log: what a review teaches, what a plan may choose from.

Memory is a running total of the log in its canonical order, (answered_at, id), without the
mis-taps. A review that is the last in that order is added to it; after anything else (an answer
that comes in late, a mis-tap) the player's whole log is gone through again, so that memory never
depends on the order in which things arrived.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cache

from sqlalchemy.orm import Session

from cards.asks import Card, universe
from drill.memory import SLOW, Features, Outcome, Row, learn, touched
from drill.plan import Candidate
from drill.store import Store
from drill.store.log import replay
from drill.store.memory import add_last_answers, forget, keep_rows, last_answers, memory_rows_named
from drill.store.models import LastAnswer, Review
from drill.store.sittings import all_players


@cache
def repertoire() -> dict[str, Card]:
    """Every card by its id, once per process: a card keeps what it costs a search to know."""
    return {card.id: card for card in universe()}


def features(card: Card) -> Features:
    """What memory needs to know of a card."""
    return Features(card.id, card.skills, card.difficulty, card.ask)


@cache
def unseen() -> tuple[Candidate, ...]:
    """Every card as one that was never answered; the first call in a process searches for seconds."""
    return tuple(
        Candidate(
            features=features(card),
            path=card.path,
            key=str(card.key),
            ask=card.ask,
            last_at=None,
            last_outcome=None,
            reviews=0,
            box=card.box,
            degree=card.degree,
        )
        for card in repertoire().values()
    )


def candidates(db: Session, player_id: int) -> Iterator[Candidate]:
    """Every card that may be asked, with what came of it so far."""
    last = last_answers(db, player_id)
    for candidate in unseen():
        seen = last.get(candidate.features.card_id)
        if seen is None:
            yield candidate
        else:
            yield Candidate(
                candidate.features,
                candidate.path,
                candidate.key,
                candidate.ask,
                seen.answered_at,
                seen.outcome,
                seen.reviews,
                candidate.box,
                candidate.degree,
            )


@dataclass
class _Memory:
    """Part of a player's memory in hand: rows to be written over, last answers to be added."""

    rows: dict[str, Row] = field(default_factory=dict)
    last: dict[str, LastAnswer] = field(default_factory=dict)

    def take(self, review: Review) -> None:
        card = features(repertoire()[review.card])
        # A time under a marked region says nothing about finding the place without it.
        seconds = None if review.given.get("hinted") else review.seconds
        self.rows |= learn(self.rows, card, Outcome(review.right, seconds, review.answered_at))
        before = self.last.get(review.card)
        self.last[review.card] = LastAnswer(
            card=review.card,
            reviews=1 + (before.reviews if before else 0),
            answered_at=review.answered_at,
            outcome=review.outcome,
        )

    def keep(self, db: Session, player_id: int) -> None:
        keep_rows(db, player_id, self.rows.values())
        add_last_answers(db, player_id, self.last.values())


def learn_from(db: Session, player_id: int, reviews: Iterable[Review]) -> None:
    """Move memory by reviews that the log holds since just now."""
    reviews = sorted(reviews, key=lambda review: (review.answered_at, review.id))
    names = {name for review in reviews for name in touched(features(repertoire()[review.card]))}
    memory = _Memory(memory_rows_named(db, player_id, names))
    newest = memory.rows.get(SLOW)
    if newest and newest.at >= reviews[0].answered_at:
        relearn(db, player_id)
        return
    for review in reviews:
        memory.take(review)
    memory.keep(db, player_id)


def relearn(db: Session, player_id: int) -> int:
    """Work out a player's memory again from the whole log; return how many reviews it holds."""
    memory, count = _Memory(), 0
    for review in replay(db, player_id):
        memory.take(review)
        count += 1
    forget(db, player_id)
    memory.keep(db, player_id)
    return count


def rebuild(store: Store) -> int:
    """Work out every player's memory again; return how many reviews went into it."""
    with store.reading() as db:
        players = all_players(db)
    count = 0
    for player_id in players:
        with store.writing(player_id) as (db, _):
            count += relearn(db, player_id)
    return count
