"""Memory and the log: what a review teaches.

Memory is a running total of the log in its canonical order, (answered_at, id), without the mis-taps. A review
that is the last in that order is added to memory. After anything else (an answer that arrives late, a mis-tap)
the log is replayed from the last checkpoint before it, so that memory never depends on the order in which
answers arrive (:mod:`drill.memory.replay`). In both cases only the rows that those answers touch are read and
written. Checkpoints are kept along the way.
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
from drill.store.checkpoints import MemoryState, Seen, drop_checkpoints_from, keep_state, list_checkpoints, load_state
from drill.store.log import log_after, log_size, mistaps_count
from drill.store.memory import (
    add_last_answers,
    clear_memory,
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


def outcome_to_learn(review: Review) -> Outcome:
    """Return what memory learns from a review."""
    # A time with the region marked says nothing about finding the place without the mark.
    seconds = None if review.given.get("hinted") else review.seconds
    return Outcome(review.right, seconds, review.answered_at)


def place_of(review: Review) -> LogPlace:
    """Return the place of a review in the canonical order."""
    return review.answered_at, review.id


def learn_from(db: Session, player: Player, reviews: Iterable[Review]) -> None:
    """Update memory with reviews that were just appended to the log."""
    reviews = sorted(reviews, key=place_of)
    rows = memory_rows_named(db, player.id, _row_names(review.card for review in reviews))
    newest = rows.get(SLOW)
    if newest and newest.at >= reviews[0].answered_at:
        relearn_since(db, player, reviews[0])
        return
    learnt = replay(Checkpoint(rows), map(_as_logged, reviews), parameters=parameters_of(db, player)).rows
    keep_rows(db, player.id, learnt.values())
    add_last_answers(db, player.id, _last_answers_of(reviews))
    if is_checkpoint_due(_count_answers(rows), _count_answers(learnt)):
        _keep_checkpoint(db, player.id, place_of(reviews[-1]))


def relearn_since(db: Session, player: Player, changed: Review) -> None:
    """Compute memory again from before a review that arrived late or was taken back."""
    place = place_of(changed)
    drop_checkpoints_from(db, player.id, place)
    state = start = load_state(db, player.id, last_checkpoint_before(list_checkpoints(db, player.id), place))
    cards = {changed.card}

    def log() -> Iterator[Review]:
        for review in log_after(db, player.id, start.memory.place):
            cards.add(review.card)
            yield review

    for next_state in _replay_in_chunks(start, log(), parameters_of(db, player)):
        state = next_state
        if state.memory.answers % EVERY == 0:
            keep_state(db, player.id, state)
    names, rows = _row_names(cards), state.memory.rows
    forget_rows(db, player.id, names - rows.keys())
    keep_rows(db, player.id, (rows[name] for name in names & rows.keys()))
    forget_last_answers(db, player.id, cards - state.last.keys())
    keep_last_answers(db, player.id, {card: state.last[card] for card in cards & state.last.keys()})


def relearn(store: Store, player_id: int, fit: int | None = None) -> int:
    """Compute a player's memory again from the whole log, and return how many reviews it holds.

    ``fit`` is the version of the parameters to use; None keeps the player's. The computation runs beside the
    answers that come in, and its result replaces the memory in one transaction.
    """
    with store.reading() as db:
        player = db.get_one(Player, player_id)
        used = player.fit if fit is None else fit
        taken_back = mistaps_count(db, player_id)
        states = _replay_whole(log_after(db, player_id, FIRST), parameters_of(db, player, used))
    with store.writing(player_id) as (db, player):
        at_end = states[-1].memory
        log_changed = at_end.answers != log_size(db, player_id, at_end.place)
        log_changed |= taken_back != mistaps_count(db, player_id)
        if log_changed or (fit is None and player.fit != used):
            used, states = player.fit if fit is None else fit, [MemoryState()]
        parameters = parameters_of(db, player, used)
        states = _replay_whole(log_after(db, player_id, states[-1].memory.place), parameters, states)
        player.fit = used
        return _replace_memory(db, player_id, states)


def relearn_within(db: Session, player: Player) -> int:
    """Compute a player's memory again within a transaction under way, and return how many reviews it holds."""
    return _replace_memory(db, player.id, _replay_whole(log_after(db, player.id, FIRST), parameters_of(db, player)))


def _replace_memory(db: Session, player_id: int, states: Sequence[MemoryState]) -> int:
    """Replace a player's memory by the last of ``states`` and keep the others as checkpoints. Return how many
    reviews the memory holds."""
    clear_memory(db, player_id)
    drop_checkpoints_from(db, player_id, FIRST)
    drop_pass(db, player_id)
    for state in states:
        if state.memory.answers and state.memory.answers % EVERY == 0:
            keep_state(db, player_id, state)
    keep_rows(db, player_id, states[-1].memory.rows.values())
    keep_last_answers(db, player_id, states[-1].last)
    return states[-1].memory.answers


def rebuild(store: Store) -> int:
    """Compute every player's memory again, and return how many reviews they hold."""
    with store.reading() as db:
        players = all_players(db)
    return sum(relearn(store, player_id) for player_id in players)


def _replay_in_chunks(state: MemoryState, log: Iterable[Review], parameters: Parameters) -> Iterator[MemoryState]:
    """Yield the state whenever a checkpoint is due, and after the last review of ``log``, which is in canonical
    order."""
    log = iter(log)
    while chunk := list(islice(log, EVERY - state.memory.answers % EVERY)):
        memory = replay(state.memory, map(_as_logged, chunk), parameters=parameters)
        last = dict(state.last)
        for review in chunk:
            reviews = 1 + (last[review.card].reviews if review.card in last else 0)
            last[review.card] = Seen(reviews, review.answered_at, review.outcome)
        state = MemoryState(memory, last)
        yield state


def _replay_whole(
    log: Iterable[Review], parameters: Parameters, since: Collection[MemoryState] = (MemoryState(),)
) -> list[MemoryState]:
    """Replay the log from the last of ``since``. Return the checkpoints worth keeping, and last the state at
    the end."""
    states = list(since)
    for state in _replay_in_chunks(states[-1], log, parameters):
        kept = checkpoints_to_keep([earlier.memory.answers for earlier in (*states, state) if earlier.memory.answers])
        states = [earlier for earlier in states if earlier.memory.answers in kept]
        states.append(state)
    return states


def _last_answers_of(reviews: Iterable[Review]) -> Iterable[LastAnswer]:
    """Return the last answer to each card, with how many of these reviews were of that card."""
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
    last = {card: Seen(answer.reviews, answer.answered_at, answer.outcome) for card, answer in seen.items()}
    keep_state(db, player_id, MemoryState(Checkpoint(rows, place, _count_answers(rows)), last))


def _as_logged(review: Review) -> Logged:
    return Logged(review.id, features(read_card(review.card)), outcome_to_learn(review))


def _row_names(cards: Iterable[str]) -> set[str]:
    """Return the names of the rows that answers to these cards read and write."""
    return {name for card in cards for name in touched_rows(features(read_card(card)))}


def _count_answers(rows: Mapping[str, Row]) -> int:
    """Return how many answers memory holds. Every answer touches the player's own row."""
    row = rows.get(SLOW)
    return round(row.successes + row.failures) if row else 0
