"""Memory follows the log whatever comes late, twice or is taken back, and whatever it goes back over."""

from __future__ import annotations

import random
from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner
from sqlalchemy import event, select, text

from drill.cli.command import main
from drill.learning import learn
from drill.learning.learn import learn_from, rebuild, relearn_since
from drill.memory import replay
from drill.memory.rows import Row
from drill.store import Store
from drill.store.checkpoints import Seen, list_checkpoints, load_state
from drill.store.log import append_reviews
from drill.store.memory import last_answers, memory_rows
from drill.store.models import MemoryRow, Mistap, Review
from tests.drill.rows import NOW, a_question, a_review, a_session

pytestmark = pytest.mark.both_databases

CARDS = [f"name:{key}:{degree}" for key in ("Ab", "C", "E") for degree in range(1, 8)]
COUNT = 60


@pytest.fixture(autouse=True)
def close_checkpoints(monkeypatch: pytest.MonkeyPatch) -> None:
    """A checkpoint every ten answers, so that a short log has many."""
    monkeypatch.setattr(replay, "EVERY", 10)
    monkeypatch.setattr(learn, "EVERY", 10)


def reviews(store: Store) -> list[Review]:
    """Sixty answers over a month, two of three at the same instant as another one."""
    session = a_session(ended_at=NOW)
    with store.writing(1) as (db, _):
        db.add_all([session, *(a_question(session, number, card=CARDS[number % 21]) for number in range(COUNT))])
    return [
        a_review(
            session,
            number,
            id=f"{number * 7919 % 1000:032x}",
            card=CARDS[number % 21],
            outcome="missed" if number % 5 == 0 else "clean",
            right=number % 5 > 0,
            seconds=None if number % 7 == 0 else 2.0 + number % 4,
            answered_at=NOW + timedelta(hours=12 * (number // 3)),
        )
        for number in range(COUNT)
    ]


def arrive(store: Store, batch: Sequence[Review]) -> None:
    with store.writing(1) as (db, player):
        append_reviews(db, batch)
        learn_from(db, player, batch)


def take_back(store: Store, review: Review) -> None:
    with store.writing(1) as (db, player):
        db.add(Mistap(review_id=review.id, player_id=1, received_at=NOW))
        relearn_since(db, player, review)


def memory(store: Store) -> tuple[dict[str, Row], dict[str, Seen]]:
    with store.reading() as db:
        last = last_answers(db, 1)
        return memory_rows(db, 1), {card: Seen(one.reviews, one.answered_at, one.outcome) for card, one in last.items()}


def same_as_rebuilt(store: Store) -> bool:
    before = memory(store)
    rebuild(store)
    return before == memory(store)


@pytest.mark.parametrize("seed", range(4))
def test_any_order_and_any_chunks_give_the_same_memory(store: Store, seed: int) -> None:
    chance, arriving = random.Random(seed), reviews(store)
    chance.shuffle(arriving)
    while arriving:
        size = chance.randint(1, 12)
        arrive(store, arriving[:size])
        arriving = arriving[size:]
    assert same_as_rebuilt(store)


def test_what_comes_late_goes_in_where_it_belongs(store: Store) -> None:
    every = reviews(store)
    for late in (50, 33, 0):
        on_time = every[late + 1 : late + 9]
        arrive(store, on_time)
        arrive(store, [every[late]])
        assert same_as_rebuilt(store)


def test_a_mistap_is_as_if_it_had_never_been(store: Store) -> None:
    every = sorted(reviews(store), key=learn.place_of)
    arrive(store, every[:40])
    before = memory(store)
    arrive(store, [every[40]])
    take_back(store, every[40])
    assert memory(store) == before
    assert same_as_rebuilt(store)
    take_back(store, every[12])
    assert same_as_rebuilt(store)
    arrive(store, every[41:])
    assert same_as_rebuilt(store)


def test_the_only_answer_taken_back_leaves_nothing(store: Store) -> None:
    first = reviews(store)[0]
    arrive(store, [first])
    take_back(store, first)
    assert memory(store) == ({}, {})
    with store.reading() as db:
        assert list_checkpoints(db, 1) == []


def test_a_late_answer_reads_only_the_log_since_a_checkpoint(store: Store) -> None:
    every = sorted(reviews(store), key=learn.place_of)
    for review in every[:-2]:
        arrive(store, [review])
    arrive(store, [every[-1]])
    read: list[str] = []
    event.listen(Review, "load", lambda review, _: read.append(review.id))
    arrive(store, [every[-2]])
    assert 1 <= len(read) <= 20
    assert same_as_rebuilt(store)


def test_an_answer_writes_the_rows_it_touches_and_no_other(store: Store) -> None:
    every = sorted(reviews(store), key=learn.place_of)
    arrive(store, every[:25])
    before, _ = memory(store)
    arrive(store, [every[25]])
    after, _ = memory(store)
    changed = {name for name in after if after[name] != before.get(name)}
    assert changed <= learn._row_names([every[25].card])
    assert len(after) > len(changed) + 5


def test_checkpoints_are_few_and_say_what_was_known_there(store: Store) -> None:
    every = sorted(reviews(store), key=learn.place_of)
    for review in every:
        arrive(store, [review])
    before, _ = memory(store)
    for _ in range(2):
        with store.reading() as db:
            kept = list_checkpoints(db, 1)
            known = [load_state(db, 1, checkpoint) for checkpoint in kept]
        assert 2 <= len(kept) <= 4
        for one in known:
            replayed = replay.replay(replay.Checkpoint(), map(learn._as_logged, every[: one.memory.answers]))
            assert one.memory == replayed
            assert sum(seen.reviews for seen in one.last.values()) == one.memory.answers
        rebuild(store)
    assert memory(store)[0] == before


def test_an_answer_that_comes_in_while_memory_is_rebuilt_is_not_lost(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    every = sorted(reviews(store), key=learn.place_of)
    arrive(store, every[:30])
    worked_out = learn._replay_whole

    def slowly(*given: object) -> object:
        states = worked_out(*given)  # type: ignore[arg-type]
        monkeypatch.setattr(learn, "_replay_whole", worked_out)
        arrive(store, [every[31]])
        arrive(store, [every[30]])
        take_back(store, every[31])
        return states

    monkeypatch.setattr(learn, "_replay_whole", slowly)
    rebuild(store)
    with store.reading() as db:
        rows = db.scalar(select(MemoryRow.successes + MemoryRow.failures).where(MemoryRow.name == "player:slow"))
    assert rows == 31
    assert same_as_rebuilt(store)


ADDED_SINCE = (
    ("players", "language"),
    ("players", "barre"),
    ("players", "pins"),
    ("sessions", "barre"),
    ("sessions", "pins"),
    ("sessions", "tired"),
    ("questions", "dropped"),
)
"""The columns that revisions after 0007 add."""


def test_an_upgrade_from_the_time_before_every_ask_had_its_seconds_works_memory_out_again(
    store: Store, database: str, tmp_path: Path
) -> None:
    """The pace of a row is an offset from the usual seconds of the ask, so old rows would mean something else."""
    arrive(store, reviews(store))
    before = memory(store)
    with store.engine.begin() as connection:
        connection.execute(text("UPDATE memory_rows SET pace = pace + 0.5"))
        for table, column in ADDED_SINCE:
            connection.execute(text(f"ALTER TABLE {table} DROP COLUMN {column}"))
        connection.execute(text("UPDATE alembic_version SET version_num = '0006'"))
    on_file = database.startswith("sqlite")
    place = {"DRILL_DATA": str(tmp_path)} if on_file else {"DRILL_DATABASE": database}
    # On PostgreSQL the rebuild is the operator's to make, as is the copy before it.
    for command in ("upgrade",) if on_file else ("upgrade", "rebuild"):
        done = CliRunner().invoke(main, [command], env=place)
        assert done.exit_code == 0, done.output
    assert memory(store) == before
