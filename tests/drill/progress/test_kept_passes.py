"""Passes that are kept: each equals one from the beginning, whatever came in when and wherever it was kept."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

import pytest
from flask.testing import FlaskClient
from sqlalchemy import text
from sqlalchemy.exc import OperationalError

from drill.learning.learn import rebuild
from drill.progress.kept_passes import Passes, PassResult, Underway
from drill.progress.log_pass import History
from drill.store import Store
from drill.store.models import KeptPass, Mistap, Review
from tests.drill.logs import Line, lines, write
from tests.drill.rows import NOW

LATER = NOW + timedelta(days=20)
FIRST = lines("name:Ab:4", "mclc", NOW)
SECOND = [
    *lines("name:G:1", "cclm", NOW + timedelta(days=9)),
    *lines("place:Eb:4:box1", "cl", NOW + timedelta(days=11)),
]


def shows(passes: Passes, store: Store) -> PassResult:
    """What passes show when the log is gone through."""
    while isinstance(found := passes.look(store, 1, LATER), Underway):
        assert found.reviews < found.of
    return found


def from_the_beginning(store: Store) -> PassResult:
    """What a pass shows that nothing was kept of."""
    with store.writing(1) as (db, _):
        db.execute(text("DELETE FROM passes"))
    return shows(Passes(), store)


@pytest.fixture
def taken(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The answers that passes go through, as they go."""
    seen: list[str] = []
    take = History.take

    def noted(history: History, review: Review, taken_back: bool = False) -> None:
        seen.append(review.id)
        take(history, review, taken_back)

    monkeypatch.setattr(History, "take", noted)
    return seen


def take_back(store: Store, review: Review) -> None:
    """Take an answer back as a mis-tap."""
    with store.writing(1) as (db, _):
        db.add(Mistap(review_id=review.id, player_id=1, received_at=NOW))


def add(store: Store, log: Sequence[Line], number: int) -> list[Review]:
    """Answers of another session."""
    return write(store, log, number)


@pytest.mark.both_databases
def test_a_pass_goes_on_with_what_came_in_at_its_end(store: Store, taken: list[str]) -> None:
    passes = Passes()
    add(store, FIRST, 1)
    assert len(shows(passes, store).weeks) == 4
    new = add(store, SECOND, 2)
    taken.clear()
    found = shows(passes, store)
    assert sorted(taken) == sorted(review.id for review in new), "it went on where it stopped"
    assert found == from_the_beginning(store)


@pytest.mark.both_databases
def test_an_answer_that_came_late_or_was_taken_back_is_in_it(store: Store) -> None:
    passes = Passes()
    add(store, FIRST, 1)
    add(store, SECOND, 2)
    before = shows(passes, store)
    (late,) = add(store, lines("name:C:1", "c", NOW + timedelta(days=2)), 3)
    assert (found := shows(passes, store)) == from_the_beginning(store)
    assert "C" in found.weeks[-1].keys
    take_back(store, late)
    assert shows(passes, store) == before == from_the_beginning(store)


@pytest.mark.both_databases
def test_one_answer_in_and_another_out_is_not_the_same_log(store: Store) -> None:
    """As many answers stand as before, but others."""
    passes = Passes()
    first = add(store, FIRST, 1)
    before = shows(passes, store)
    add(store, lines("name:C:1", "c", NOW + timedelta(hours=2)), 2)
    take_back(store, first[2])
    assert (found := shows(passes, store)) == from_the_beginning(store)
    assert found != before


def test_another_tempo_other_weeks(store: Store) -> None:
    passes = Passes()
    add(store, FIRST, 1)
    before = shows(passes, store)
    with store.writing(1) as (_, player):
        player.tempo = 200
    after = shows(passes, store)
    assert after.weeks[-1].whole < before.weeks[-1].whole
    assert after.predictions == before.predictions, "what was said then was said at the tempo of then"


@pytest.mark.both_databases
def test_a_pass_is_kept_when_the_service_ends(store: Store, taken: list[str]) -> None:
    first = add(store, FIRST, 1)
    take_back(store, first[-1])
    kept = shows(Passes(every=4), store)
    taken.clear()
    assert shows(Passes(every=4), store) == kept
    assert taken == []
    new = add(store, SECOND, 2)
    found = shows(Passes(every=4), store)
    assert sorted(taken) == sorted(review.id for review in new)
    taken.clear()
    assert shows(Passes(), store) == found
    assert taken == []
    assert found == from_the_beginning(store)


@pytest.mark.both_databases
def test_what_was_kept_is_of_no_use_once_the_log_before_it_or_the_tempo_is_another(store: Store) -> None:
    first = add(store, [*FIRST, *SECOND], 1)
    shows(Passes(every=4), store)
    add(store, lines("name:C:1", "c", NOW + timedelta(hours=2)), 2)
    take_back(store, first[3])
    assert shows(Passes(every=4), store) == from_the_beginning(store)
    with store.writing(1) as (_, player):
        player.tempo, player.day_start = 120, 0
    assert shows(Passes(every=4), store) == from_the_beginning(store)


def test_a_rebuild_forgets_it(store: Store) -> None:
    add(store, FIRST, 1)
    shows(Passes(every=4), store)
    rebuild(store)
    with store.reading() as db:
        assert db.get(KeptPass, 1) is None


def test_where_nothing_can_be_written_it_is_shown_all_the_same(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    add(store, FIRST, 1)

    def full(*_: object) -> None:
        raise OperationalError("INSERT", {}, Exception("database or disk is full"))

    monkeypatch.setattr("drill.progress.kept_passes.keep_pass", full)
    assert len(shows(Passes(every=4), store).weeks) == 4
    monkeypatch.undo()
    with store.reading() as db:
        assert db.get(KeptPass, 1) is None


@pytest.mark.both_databases
def test_a_long_log_is_gone_through_in_parts(store: Store) -> None:
    log = add(store, [*FIRST, *SECOND], 1)
    take_back(store, log[1])
    passes = Passes(at_once=4)
    assert passes.look(store, 1, LATER) == Underway(4, 10)
    assert passes.look(store, 1, LATER) == Underway(8, 10)
    found = passes.look(store, 1, LATER)
    assert isinstance(found, PassResult)
    assert found == from_the_beginning(store)


def test_the_page_is_told_how_far_it_is(client: FlaskClient, store: Store) -> None:
    add(store, FIRST, 1)
    client.application.extensions["drill"].passes = Passes(at_once=3)
    first = client.get("/api/keys/course")
    assert (first.status_code, first.json) == (202, {"reviews": 3, "of": 4})
    assert client.get("/api/keys/course").json["words"]
