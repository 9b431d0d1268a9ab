"""The filters against a direct computation, and what a guitarist would expect of them."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import pytest

from drill.memory import CAP, CARRY, FAST, PACE, SLOW, START, Features, Outcome, Row, fluency, learn, touched

T0 = datetime(2026, 3, 1, 18, 0, tzinfo=UTC)


def card(key: str = "Ab", degree: int = 4, ask: str = "place", difficulty: float = 0.0) -> Features:
    skills = (f"ask:{ask}", f"key:{key}", f"degree:{degree}", "quality:major")
    return Features(f"{ask}:{key}:{degree}", skills, difficulty, ask)


def drilled(rows: dict[str, Row], features: Features, right: bool, seconds: float | None, at: datetime) -> None:
    rows.update(learn(rows, features, Outcome(right, seconds, at)))


def test_an_answer_writes_only_the_rows_it_touches() -> None:
    changed = learn({}, card(), Outcome(True, 4.0, T0))
    assert set(changed) == set(touched(card()))
    assert all(name == row.name and row.at == T0 for name, row in changed.items())


def test_a_right_answer_raises_fluency_above_a_wrong_one() -> None:
    start = fluency({}, card(), T0, 10.0).p
    right = learn({}, card(), Outcome(True, 4.0, T0))
    wrong = learn({}, card(), Outcome(False, 4.0, T0))
    for gap in (timedelta(minutes=3), timedelta(days=1), timedelta(days=9)):
        assert fluency(right, card(), T0 + gap, 10.0).p > start
        assert fluency(right, card(), T0 + gap, 10.0).p > fluency(wrong, card(), T0 + gap, 10.0).p + 0.1


def test_the_four_of_e_flat_helps_the_four_of_a() -> None:
    rows = learn({}, card("Eb", 4), Outcome(True, 4.0, T0))
    later = T0 + timedelta(days=1)
    assert fluency(rows, card("A", 4), later, 10.0).right > fluency(rows, card("A", 7), later, 10.0).right


def test_a_faster_tempo_makes_the_same_player_less_fluent() -> None:
    rows: dict[str, Row] = {}
    for day in range(5):
        drilled(rows, card(), True, 6.0, T0 + timedelta(days=day))
    now = T0 + timedelta(days=6)
    slow, fast = fluency(rows, card(), now, 9.0), fluency(rows, card(), now, 5.0)
    assert slow.right == fast.right
    assert slow.p > fast.p + 0.2


def test_nine_seconds_and_right_counts_for_right_and_for_slow() -> None:
    quick: dict[str, Row] = {}
    slow: dict[str, Row] = {}
    for day in range(6):
        drilled(quick, card(), True, 3.0, T0 + timedelta(days=day))
        drilled(slow, card(), True, 9.0, T0 + timedelta(days=day))
    now = T0 + timedelta(days=6)
    assert fluency(quick, card(), now, 6.0).right == fluency(slow, card(), now, 6.0).right
    assert fluency(quick, card(), now, 6.0).seconds < 0.6 * fluency(slow, card(), now, 6.0).seconds


def test_what_is_not_played_fades() -> None:
    rows: dict[str, Row] = {}
    for day in range(4):
        drilled(rows, card(), True, 4.0, T0 + timedelta(days=day))
    ps = [fluency(rows, card(), T0 + timedelta(days=3 + gap), 10.0).p for gap in (1, 9, 30, 200)]
    assert ps == sorted(ps, reverse=True)
    assert ps[0] > ps[-1] + 0.05


def test_a_page_left_open_does_not_make_a_slow_player() -> None:
    rows: dict[str, Row] = {}
    for day in range(10):
        drilled(rows, card(), True, 4.0, T0 + timedelta(days=day))
    now = T0 + timedelta(days=10)
    left_open = learn(rows, card(), Outcome(True, 3600.0, now))
    at_the_cap = learn(rows, card(), Outcome(True, CAP, now))
    assert left_open == at_the_cap
    before = fluency(rows, card(), now, 10.0).seconds
    assert fluency({**rows, **left_open}, card(), now, 10.0).seconds < 1.6 * before


def test_a_hidden_page_says_nothing_of_the_time() -> None:
    rows = learn({}, card(), Outcome(True, 4.0, T0))
    later = T0 + timedelta(hours=1)
    unknown = {**rows, **learn(rows, card(), Outcome(True, None, later))}
    assert unknown[PACE] == rows[PACE]
    assert unknown["card:place:Ab:4"].successes == 2.0


def test_little_seen_is_little_known() -> None:
    rows: dict[str, Row] = {}
    unseen = card("G", 2)
    few = fluency(rows, unseen, T0, 10.0).sd
    for n in range(40):
        drilled(rows, card(degree=1 + n % 7), n % 3 != 0, 5.0, T0 + timedelta(days=n))
    assert fluency(rows, unseen, T0 + timedelta(days=40), 10.0).sd < 0.8 * few


def test_an_older_answer_never_turns_the_clock_back() -> None:
    rows = learn({}, card(), Outcome(True, 4.0, T0))
    late_arrival = learn(rows, card(), Outcome(False, 4.0, T0 - timedelta(days=3)))
    assert all(row.at == T0 for row in late_arrival.values())


LOG = [
    (card("Ab", 4, difficulty=0.4), True, 5.0, 0.0),
    (card("Ab", 4, difficulty=0.4), False, None, 0.01),
    (card("E", 4, difficulty=-0.7), True, 7.5, 0.02),
    (card("Ab", 5, ask="name"), True, 2.1, 1.0),
    (card("Ab", 4, difficulty=0.4), True, 4.0, 9.5),
    (card("E", 4, difficulty=-0.7), False, 8.0, 9.6),
]


def direct(log: list[tuple[Features, bool, float | None, float]]) -> dict[str, tuple[float, float]]:
    """Stage 1 written out over whole vectors: every offset of the log decays at every answer.

    The product decays an offset only when it is touched; an Ornstein–Uhlenbeck step composed of
    two is the same as one, so both must agree.
    """
    names = sorted({name for features, *_ in log for name in touched(features) if name not in (PACE, CARRY)})
    drift = dict.fromkeys(names, START.skill) | {SLOW: START.slow, FAST: START.fast}
    drift |= {n: START.card for n in names if n.startswith("card:")}
    mean = dict.fromkeys(names, 0.0)
    variance = {n: drift[n].start for n in names}
    clock = 0.0
    for features, right, _, day in log:
        for n in names:
            keep = math.exp(-(day - clock) / drift[n].days)
            mean[n] *= keep
            variance[n] = keep**2 * variance[n] + drift[n].start * (1 - keep**2)
        clock = day
        skills = [name for name in touched(features)[4:] if not name.startswith("card:")]
        h = dict.fromkeys(skills, 1 / len(skills))
        h |= {SLOW: 1.0, FAST: 1.0, f"card:{features.card_id}": 1.0}
        total = sum(x * x * variance[n] for n, x in h.items())
        logit = features.difficulty + sum(x * mean[n] for n, x in h.items())
        q = 1 / (1 + math.exp(-logit / math.sqrt(1 + math.pi * total / 8)))
        v = q * (1 - q)
        for n, x in h.items():
            mean[n] += variance[n] * x * (right - q) / (1 + v * total)
            variance[n] += drift[n].noise - variance[n] ** 2 * x**2 * v / (1 + v * total)
    return {n: (mean[n], variance[n]) for n in names}


def test_the_filter_equals_a_direct_computation_over_the_whole_log() -> None:
    rows: dict[str, Row] = {}
    for features, right, seconds, day in LOG:
        drilled(rows, features, right, seconds, T0 + timedelta(days=day))
    last = T0 + timedelta(days=LOG[-1][3])
    for name, (mean, variance) in direct(LOG).items():
        gap = (last - rows[name].at).total_seconds() / 86_400
        drift = {SLOW: START.slow, FAST: START.fast}.get(
            name, START.card if name.startswith("card:") else START.skill
        )
        keep = math.exp(-gap / drift.days)
        assert rows[name].mean * keep == pytest.approx(mean, abs=1e-9)
        assert rows[name].variance * keep**2 + drift.start * (1 - keep**2) == pytest.approx(variance, abs=1e-9)


def test_counts_and_last_outcome_equal_those_of_the_log() -> None:
    rows: dict[str, Row] = {}
    for features, right, seconds, day in LOG:
        drilled(rows, features, right, seconds, T0 + timedelta(days=day))
    for name, row in rows.items():
        if name in (PACE, CARRY):
            continue
        answers = [(right, day) for features, right, _, day in LOG if name in touched(features)]
        last = answers[-1][1]
        fresh = [math.exp(-(last - day) * 24) for _, day in answers]
        assert row.successes == sum(right for right, _ in answers)
        assert row.failures == sum(not right for right, _ in answers)
        assert row.last == (1 if answers[-1][0] else -1)
        kept = sum(f for f, (right, _) in zip(fresh, answers, strict=True) if right)
        assert row.recent_successes == pytest.approx(kept)


def test_a_card_holds_longer_after_spaced_practice_than_after_as_much_in_a_row() -> None:
    spaced: dict[str, Row] = {}
    massed: dict[str, Row] = {}
    for n in range(5):
        drilled(spaced, card(), True, 4.0, T0 + timedelta(days=n))
        drilled(massed, card(), True, 4.0, T0 + timedelta(minutes=3 * n))
    assert spaced["card:place:Ab:4"].hold > 2 * massed["card:place:Ab:4"].hold


def test_a_wrong_answer_holds_no_longer_than_a_right_one() -> None:
    rows = learn({}, card(), Outcome(True, 4.0, T0))
    right = learn(rows, card(), Outcome(True, 4.0, T0 + timedelta(days=2)))
    wrong = learn(rows, card(), Outcome(False, 4.0, T0 + timedelta(days=2)))
    assert wrong["card:place:Ab:4"].hold < right["card:place:Ab:4"].hold


def test_what_skills_carry_is_learnt_of_the_player() -> None:
    transferring: dict[str, Row] = {}
    not_at_all: dict[str, Row] = {}
    for n in range(60):
        new = card(("Ab", "Eb", "C", "G")[n % 4], 1 + n % 7, ("place", "name", "number")[n % 3])
        at = T0 + timedelta(hours=8 * n)
        drilled(transferring, new, n > 10, 4.0, at)
        drilled(not_at_all, new, n > 40 and n % 3 == 0, 4.0, at)
    assert transferring[CARRY].mean > 2 * not_at_all[CARRY].mean
