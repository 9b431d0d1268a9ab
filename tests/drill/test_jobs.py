"""Jobs: due at the player's night, done by one process, and a refit that swaps memory whole."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import select

from drill.jobs import JOBS, LEASE, Work, run_due, ticking
from drill.learning import learn
from drill.learning.learn import learn_from, rebuild
from drill.learning.nightly_refit import has_enough_new_answers, refit_player
from drill.learning.parameter_versions import keep_fit, parameters_of
from drill.memory.estimation import Trial
from drill.memory.parameters import START, Parameters
from drill.store import Store
from drill.store.log import append_reviews
from drill.store.memory import memory_rows
from drill.store.models import Fit, Job, Player
from tests.conftest import Clock
from tests.drill.rows import NOW, a_question, a_review, a_session

both = pytest.mark.both_databases
CARDS = [f"name:{key}:{degree}" for key in ("Ab", "C", "E") for degree in range(1, 8)]


def a_log(store: Store, days: int = 45, a_day: int = 8) -> None:
    """A player who has answered for weeks, and forgets what was not asked for three days."""
    session, count = a_session(ended_at=NOW), days * a_day
    with store.writing(1) as (db, player):
        db.add_all([session, *(a_question(session, number, CARDS[number % 21]) for number in range(count))])
        db.flush()
        log = [
            a_review(
                session,
                number,
                card=CARDS[number % 21],
                outcome="clean" if number % 3 else "missed",
                right=number % 3 > 0,
                answered_at=NOW + timedelta(days=number // a_day, seconds=10 * (number % a_day)),
            )
            for number in range(count)
        ]
        append_reviews(db, log)
        learn_from(db, player, log)


def jobs(store: Store) -> dict[str, Job]:
    with store.reading() as db:
        return {job.name: job for job in db.scalars(select(Job))}


def the_fit(store: Store) -> int:
    with store.reading() as db:
        return db.get_one(Player, 1).fit


@both
def test_a_job_is_due_when_the_players_day_begins_and_then_once_a_night(store: Store, clock: Clock) -> None:
    done: list[datetime] = []
    work: dict[str, Work] = {"refit": lambda _, player_id, now: done.append(now)}
    assert run_due(store, clock, work) == 0
    assert jobs(store)["refit"].due_at == datetime(2026, 5, 2, 4, tzinfo=UTC)
    clock.go_on(hours=10)
    assert run_due(store, clock, work) == 1
    assert run_due(store, clock, work) == 0
    clock.go_on(hours=24)
    assert run_due(store, clock, work) == 1
    assert len(done) == 2
    assert jobs(store)["refit"].ran_at == clock.instant


@both
def test_of_several_processes_one_does_it(store: Store, clock: Clock) -> None:
    run_due(store, clock)
    clock.go_on(hours=12)
    done: list[int] = []
    together = threading.Barrier(4)

    def process() -> None:
        together.wait()
        run_due(store, clock, {"refit": lambda _, player_id, now: done.append(player_id)})

    threads = [threading.Thread(target=process) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert done == [1]


def test_a_job_whose_process_died_is_done_by_another_when_the_lease_is_over(store: Store, clock: Clock) -> None:
    run_due(store, clock)
    clock.go_on(hours=12)

    def die(_: Store, player_id: int, now: datetime) -> None:
        raise SystemExit

    with pytest.raises(SystemExit):
        run_due(store, clock, {"refit": die})
    held = jobs(store)["refit"]
    assert (held.held_until, held.ran_at) == (clock.instant + LEASE, None)
    assert run_due(store, clock) == 0
    clock.go_on(minutes=61)
    assert run_due(store, clock) == 1


def test_a_job_that_fails_is_logged_and_waits_for_the_next_night(
    store: Store, clock: Clock, caplog: pytest.LogCaptureFixture
) -> None:
    def fail(_: Store, player_id: int, now: datetime) -> None:
        raise ValueError("the amplifier is on fire")

    run_due(store, clock)
    clock.go_on(hours=12)
    assert run_due(store, clock, {"refit": fail}) == 1
    assert "the job refit failed for player 1" in caplog.text
    assert jobs(store)["refit"].due_at > clock.instant


def test_ticking_ends_with_its_block(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    ran = threading.Event()
    monkeypatch.setattr("drill.jobs.TICK", timedelta(seconds=0.05))
    monkeypatch.setattr("drill.jobs.run_due", lambda *_: ran.set())
    with ticking(store):
        assert ran.wait(10)
    ran.clear()
    assert not ran.wait(0.3)


def test_the_refit_is_among_the_jobs() -> None:
    assert set(JOBS) == {"refit"}


@both
def test_a_refit_keeps_a_version_and_adopts_it_if_it_predicts_better(store: Store) -> None:
    a_log(store)
    assert has_enough_new_answers(store, 1, NOW + timedelta(days=60))
    refitted = refit_player(store, 1, NOW + timedelta(days=60))
    assert refitted is not None
    assert refitted.adopted == (refitted.after < refitted.before)
    with store.reading() as db:
        fit = db.get_one(Fit, (1, 1))
    assert (fit.adopted, fit.loss_after) == (refitted.adopted, refitted.after)
    assert the_fit(store) == (1 if refitted.adopted else 0)
    assert not has_enough_new_answers(store, 1, NOW + timedelta(days=60))


@both
def test_adopting_works_memory_out_again_by_the_new_parameters(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    a_log(store, days=5)
    with store.reading() as db:
        before = memory_rows(db, 1)
    other = Parameters(gain=1.1, base=0.3, card=START.skill)
    monkeypatch.setattr("drill.learning.nightly_refit.try_refit", lambda log, current: Trial(other, 0.6, 0.5))
    assert refit_player(store, 1, NOW) is not None
    with store.reading() as db:
        assert parameters_of(db, db.get_one(Player, 1)) == other
        after = memory_rows(db, 1)
    assert after.keys() == before.keys()
    assert after != before
    rebuild(store)
    with store.reading() as db:
        assert memory_rows(db, 1) == after


@both
def test_what_predicts_no_better_is_kept_and_not_adopted(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    a_log(store, days=5)
    worse = Trial(Parameters(gain=0.1), 0.5, 0.6)
    monkeypatch.setattr("drill.learning.nightly_refit.try_refit", lambda log, current: worse)
    refitted = refit_player(store, 1, NOW)
    assert refitted is not None
    assert not refitted.adopted
    assert the_fit(store) == 0
    with store.reading() as db:
        assert not db.get_one(Fit, (1, 1)).adopted


def test_a_beginner_is_not_refitted(store: Store) -> None:
    a_log(store, days=3)
    assert refit_player(store, 1, NOW + timedelta(days=4)) is None
    assert not has_enough_new_answers(store, 1, NOW + timedelta(days=4))


def test_a_swap_that_fails_leaves_memory_as_it_was(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    a_log(store, days=5)
    with store.writing(1) as (db, _):
        version = keep_fit(db, 1, Parameters(gain=1.1), (0.6, 0.5), True, NOW)
    with store.reading() as db:
        before = memory_rows(db, 1)

    def fail(*_: object) -> None:
        raise RuntimeError

    monkeypatch.setattr(learn, "keep_last_answers", fail)
    with pytest.raises(RuntimeError):
        learn.relearn(store, 1, fit=version)
    with store.reading() as db:
        assert memory_rows(db, 1) == before
    assert the_fit(store) == 0
