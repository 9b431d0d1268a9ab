"""Memory comes out equal whatever the order and the chunks in which answers arrive."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from drill.memory.replay import (
    EVERY,
    Checkpoint,
    Logged,
    checkpoints_to_keep,
    is_checkpoint_due,
    last_checkpoint_before,
    replay,
)
from drill.memory.rows import Features, Outcome

T0 = datetime(2026, 3, 1, 18, 0, tzinfo=UTC)


def logged(n: int) -> Logged:
    """Answer ``n``; two of three share their instant with another, so that ids decide."""
    key, degree = ("Ab", "C", "E")[n % 3], 1 + n % 7
    card = Features(f"name:{key}:{degree}", ("ask:name", f"key:{key}", f"degree:{degree}"), 0.1 * degree, "name", 4.5)
    return Logged(f"{n * 7919 % 1000:032x}", card, Outcome(n % 4 > 0, 3.0 + n % 5, T0 + timedelta(hours=n // 3)))


LOG = [logged(n) for n in range(40)]
WHOLE = replay(Checkpoint(), LOG)


@given(st.permutations(LOG))
@settings(max_examples=25, deadline=None)
def test_the_order_of_arrival_does_not_matter(arrived: list[Logged]) -> None:
    assert replay(Checkpoint(), arrived) == WHOLE


@given(st.sets(st.integers(1, 39)))
@settings(max_examples=25, deadline=None)
def test_nor_do_the_chunks(cuts: set[int]) -> None:
    ordered = sorted(LOG, key=lambda one: one.place)
    memory, begin = Checkpoint(), 0
    for cut in [*sorted(cuts), len(ordered)]:
        memory = replay(memory, ordered[begin:cut])
        begin = cut
    assert memory == WHOLE


@given(st.integers(0, 39), st.integers(0, 39))
@settings(max_examples=40, deadline=None)
def test_a_late_answer_goes_on_from_a_checkpoint_before_it(late: int, kept_after: int) -> None:
    ordered = sorted(LOG, key=lambda one: one.place)
    on_time = [one for one in ordered if one is not ordered[late]]
    kept = [replay(Checkpoint(), on_time[:n]) for n in (kept_after // 2, kept_after)]
    start = last_checkpoint_before(kept, ordered[late].place)
    assert start.place < ordered[late].place
    assert replay(start, [*on_time, ordered[late]]) == WHOLE


def test_a_mistap_is_as_if_it_had_never_been_answered() -> None:
    slip = sorted(LOG, key=lambda one: one.place)[17]
    without = replay(Checkpoint(), [one for one in LOG if one is not slip])
    memory = replay(last_checkpoint_before([WHOLE], slip.place), LOG, taken_back={slip.id})
    assert memory.rows == without.rows
    assert memory.answers == without.answers == len(LOG) - 1


def test_an_answer_sent_twice_counts_once() -> None:
    assert replay(Checkpoint(), [*LOG, *LOG[:9]]) == WHOLE
    assert replay(WHOLE, LOG) == WHOLE


def test_checkpoints_are_kept_every_so_often() -> None:
    assert not is_checkpoint_due(0, EVERY - 1)
    assert is_checkpoint_due(EVERY - 1, EVERY)
    assert not is_checkpoint_due(EVERY, EVERY + 1)


def test_a_long_log_keeps_few_checkpoints_and_none_too_far_from_the_next() -> None:
    kept: set[int] = set()
    for answers in range(EVERY, 50_001, EVERY):
        kept = checkpoints_to_keep([*kept, answers])
        assert answers in kept
    assert len(kept) <= 10
    newest = max(kept)
    for late_by in (1, 600, 5_000, 20_000):
        start = max((answers for answers in kept if answers <= newest - late_by), default=0)
        assert newest - start <= 3 * late_by + EVERY
