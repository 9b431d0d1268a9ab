"""Memory and the log: what a review teaches, what a plan may choose from.

Memory is a running total of the log in its canonical order, (answered_at, id), without the
mis-taps. A review that is the last in that order is added to it; after anything else (an answer
that comes in late, a mis-tap) the log is gone through again from the last checkpoint before it, so
that memory never depends on the order in which things arrived (:mod:`drill.memory.replay`). Either way
only the rows that those answers touch are read and written. Checkpoints are kept on the way.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import islice

from sqlalchemy.orm import Session

from cards.asks import read_card
from drill.learning.parameter_versions import parameters_of
from drill.memory.parameters import Parameters
from drill.memory.replay import (
    EVERY,
    FIRST,
    Checkpoint,
    Logged,
    LogPlace,
    checkpoints_to_keep,
    is_checkpoint_due,
    last_checkpoint_before,
    replay,
)
from drill.memory.rows import SLOW, Outcome, Row, touched_rows
from drill.planning.repertoire import features
from drill.store import Store
from drill.store.checkpoints import MemoryState, Seen, drop_from, keep_known, known_at, places
from drill.store.log import log_after, log_size, mistaps_count
from drill.store.memory import (
    add_last_answers,
    forget,
    forget_last_answers,
    forget_rows,
    keep_last_answers,
    keep_rows,
    last_answers,
    memory_rows,
    memory_rows_named,
)
from drill.store.models import LastAnswer, Player, Review
from drill.store.passes import drop_pass
from drill.store.sittings import all_players


def outcome(review: Review) -> Outcome:
    """What memory learns from a review."""
    # A time under a marked region says nothing about finding the place without it.
    seconds = None if review.given.get("hinted") else review.seconds
    return Outcome(review.right, seconds, review.answered_at)


def place_of(review: Review) -> LogPlace:
    """Where a review stands in the canonical order."""
    return review.answered_at, review.id


def learn_from(db: Session, player: Player, reviews: Iterable[Review]) -> None:
    """Move memory by reviews that the log holds since just now."""
    reviews = sorted(reviews, key=place_of)
    rows = memory_rows_named(db, player.id, _names(review.card for review in reviews))
    newest = rows.get(SLOW)
    if newest and newest.at >= reviews[0].answered_at:
        relearn_since(db, player, reviews[0])
        return
    learnt = replay(Checkpoint(rows), map(_logged, reviews), parameters=parameters_of(db, player)).rows
    keep_rows(db, player.id, learnt.values())
    add_last_answers(db, player.id, _last_of(reviews))
    if is_checkpoint_due(_answers(rows), _answers(learnt)):
        _keep_checkpoint(db, player.id, place_of(reviews[-1]))


def relearn_since(db: Session, player: Player, changed: Review) -> None:
    """Work memory out again from before a review that came late or was taken back."""
    place = place_of(changed)
    drop_from(db, player.id, place)
    known = start = known_at(db, player.id, last_checkpoint_before(places(db, player.id), place))
    cards = {changed.card}

    def log() -> Iterator[Review]:
        for review in log_after(db, player.id, start.memory.place):
            cards.add(review.card)
            yield review

    for later in _go_on(start, log(), parameters_of(db, player)):
        known = later
        if known.memory.answers % EVERY == 0:
            keep_known(db, player.id, known)
    names, rows = _names(cards), known.memory.rows
    forget_rows(db, player.id, names - rows.keys())
    keep_rows(db, player.id, (rows[name] for name in names & rows.keys()))
    forget_last_answers(db, player.id, cards - known.last.keys())
    keep_last_answers(db, player.id, {card: known.last[card] for card in cards & known.last.keys()})


def relearn(store: Store, player_id: int, fit: int | None = None) -> int:
    """Work out a player's memory again from the whole log, by another fit if one is given; return how
    many reviews it holds.

    It is worked out beside the answers that come in, and swapped in one transaction.
    """
    with store.reading() as db:
        player = db.get_one(Player, player_id)
        used = player.fit if fit is None else fit
        taken_back = mistaps_count(db, player_id)
        states = _whole(log_after(db, player_id, FIRST), parameters_of(db, player, used))
    with store.writing(player_id) as (db, player):
        here = states[-1].memory
        moved = here.answers != log_size(db, player_id, here.place) or taken_back != mistaps_count(db, player_id)
        if moved or (fit is None and player.fit != used):
            used, states = player.fit if fit is None else fit, [MemoryState()]
        parameters = parameters_of(db, player, used)
        states = _whole(log_after(db, player_id, states[-1].memory.place), parameters, states)
        player.fit = used
        return _swap(db, player_id, states)


def learn_anew(db: Session, player: Player) -> int:
    """The same within a transaction that is under way, for a log that came with it."""
    return _swap(db, player.id, _whole(log_after(db, player.id, FIRST), parameters_of(db, player)))


def _swap(db: Session, player_id: int, states: Sequence[MemoryState]) -> int:
    """Put what was worked out in the place of a player's memory; return how many reviews it holds."""
    forget(db, player_id)
    drop_from(db, player_id, FIRST)
    drop_pass(db, player_id)
    for known in states:
        if known.memory.answers and known.memory.answers % EVERY == 0:
            keep_known(db, player_id, known)
    keep_rows(db, player_id, states[-1].memory.rows.values())
    keep_last_answers(db, player_id, states[-1].last)
    return states[-1].memory.answers


def rebuild(store: Store) -> int:
    """Work out every player's memory again; return how many reviews went into it."""
    with store.reading() as db:
        players = all_players(db)
    return sum(relearn(store, player_id) for player_id in players)


def _go_on(known: MemoryState, log: Iterable[Review], parameters: Parameters) -> Iterator[MemoryState]:
    """What is known whenever a checkpoint is due, and after the last of ``log``, which is in order."""
    log = iter(log)
    while chunk := list(islice(log, EVERY - known.memory.answers % EVERY)):
        memory = replay(known.memory, map(_logged, chunk), parameters=parameters)
        last = dict(known.last)
        for review in chunk:
            reviews = 1 + (last[review.card].reviews if review.card in last else 0)
            last[review.card] = Seen(reviews, review.answered_at, review.outcome)
        known = MemoryState(memory, last)
        yield known


def _whole(
    log: Iterable[Review], parameters: Parameters, since: Collection[MemoryState] = (MemoryState(),)
) -> list[MemoryState]:
    """Everything from the start on: the checkpoints worth keeping, and last what is known at the end."""
    states = list(since)
    for known in _go_on(states[-1], log, parameters):
        kept = checkpoints_to_keep([state.memory.answers for state in (*states, known) if state.memory.answers])
        states = [state for state in states if state.memory.answers in kept]
        states.append(known)
    return states


def _last_of(reviews: Iterable[Review]) -> Iterable[LastAnswer]:
    """The last answers to their cards, with how many of these reviews were of it."""
    last: dict[str, LastAnswer] = {}
    for review in reviews:
        count = 1 + (last[review.card].reviews if review.card in last else 0)
        last[review.card] = LastAnswer(
            card=review.card, reviews=count, answered_at=review.answered_at, outcome=review.outcome
        )
    return last.values()


def _keep_checkpoint(db: Session, player_id: int, place: LogPlace) -> None:
    rows = memory_rows(db, player_id)
    seen = last_answers(db, player_id)
    last = {card: Seen(each.reviews, each.answered_at, each.outcome) for card, each in seen.items()}
    keep_known(db, player_id, MemoryState(Checkpoint(rows, place, _answers(rows)), last))


def _logged(review: Review) -> Logged:
    return Logged(review.id, features(read_card(review.card)), outcome(review))


def _names(cards: Iterable[str]) -> set[str]:
    """The rows that answers to these cards read and write."""
    return {name for card in cards for name in touched_rows(features(read_card(card)))}


def _answers(rows: Mapping[str, Row]) -> int:
    """How many answers memory holds: every one touches the player's own row."""
    row = rows.get(SLOW)
    return round(row.successes + row.failures) if row else 0
