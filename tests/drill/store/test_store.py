"""The store: what a database must hold to, on SQLite and on PostgreSQL."""

from __future__ import annotations

import threading
from datetime import UTC

import pytest
from sqlalchemy import delete, text, update
from sqlalchemy.exc import DBAPIError, IntegrityError, StatementError

from drill.memory.rows import Row
from drill.store import Store
from drill.store.memory import keep_rows, memory_rows, memory_rows_named
from drill.store.models import Base, DrillSession, Mistap, Review
from tests.drill.rows import NOW, a_question, a_review, a_session, log_one

pytestmark = pytest.mark.both_databases


@pytest.mark.parametrize("model", [Review, Mistap])
def test_the_log_cannot_be_changed_or_deleted(store: Store, model: type[Base]) -> None:
    log_one(store)
    for change in (update(model).values(player_id=1), delete(model)):
        with pytest.raises(DBAPIError, match="never changed or deleted"), store.writing(1) as (db, _):
            db.execute(change)


def test_an_instant_comes_back_as_it_was(store: Store) -> None:
    review_id = log_one(store)
    with store.reading() as db:
        review = db.get_one(Review, review_id)
    assert review.answered_at == NOW
    assert review.answered_at.tzinfo is UTC
    assert review.given == {"name": "D♭"}


def test_an_instant_without_a_zone_is_refused(store: Store) -> None:
    with pytest.raises(StatementError, match="no zone"), store.writing(1) as (db, _):
        db.add(a_session(started_at=NOW.replace(tzinfo=None)))


def test_a_player_has_one_running_session(store: Store) -> None:
    with store.writing(1) as (db, _):
        db.add_all([a_session(1, ended_at=NOW), a_session(2)])
    with pytest.raises(IntegrityError), store.writing(1) as (db, _):
        db.add(a_session(3))


def test_a_question_is_answered_once(store: Store) -> None:
    session = a_session()
    with store.writing(1) as (db, _):
        db.add_all([session, a_question(session), a_review(session)])
    with pytest.raises(IntegrityError), store.writing(1) as (db, _):
        db.add(a_review(session, id="f" * 32))


def test_a_review_belongs_to_a_question(store: Store) -> None:
    with pytest.raises(IntegrityError), store.writing(1) as (db, _):
        db.add(a_review(a_session()))


def test_an_error_leaves_nothing_behind(store: Store) -> None:
    def break_off() -> None:
        with store.writing(1) as (db, player):
            player.tempo = 200
            db.add(a_session())
            db.flush()
            raise RuntimeError

    with pytest.raises(RuntimeError):
        break_off()
    with store.writing(1) as (db, player):
        assert player.tempo == 80
        assert db.get(DrillSession, f"{1:032x}") is None


def test_writers_of_one_player_take_turns(store: Store) -> None:
    """Each of eight threads adds one to the tempo fifteen times: none may be lost."""

    def press_on() -> None:
        for _ in range(15):
            with store.writing(1) as (_, player):
                player.tempo += 1

    threads = [threading.Thread(target=press_on) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with store.writing(1) as (_, player):
        assert player.tempo == 80 + 8 * 15


def test_reading_goes_on_while_somebody_writes(store: Store) -> None:
    with store.writing(1) as (db, player):
        player.tempo = 200
        db.flush()
        with store.reading() as other:
            assert other.execute(text("SELECT tempo FROM players")).scalar_one() == 80


def test_memory_rows_are_kept_exactly_and_written_over(store: Store) -> None:
    row = Row("key:Ab", NOW, 0.1 + 0.2, 1 / 3, -1e-9, 0.05, 3.0, 1.0, 2.5, 0.5, -1)
    later = Row("key:Ab", NOW, 1.0, 0.5, 0.0, 0.05, 4.0, 1.0, 3.5, 0.5, 1)
    for kept in (row, later):
        with store.writing(1) as (db, _):
            keep_rows(db, 1, [kept])
        with store.reading() as db:
            assert memory_rows(db, 1) == {"key:Ab": kept}
            assert memory_rows_named(db, 1, ["key:Ab", "key:E"]) == {"key:Ab": kept}


def test_every_table_knows_its_player(store: Store) -> None:
    for table in Base.metadata.sorted_tables:
        assert table.name == "players" or "player_id" in table.columns, table.name


def test_sqlite_is_set_to_survive_a_power_cut(store: Store) -> None:
    if store.engine.dialect.name != "sqlite":
        pytest.skip("PostgreSQL does by default")
    with store.reading() as db:
        asked = {name: db.execute(text(f"PRAGMA {name}")).scalar_one() for name in ("journal_mode", "synchronous")}
        assert asked == {"journal_mode": "wal", "synchronous": 2}
        assert db.execute(text("PRAGMA foreign_keys")).scalar_one() == 1
