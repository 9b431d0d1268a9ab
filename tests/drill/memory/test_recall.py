"""The filters against a direct computation, and what a guitarist would expect of them."""

from __future__ import annotations

import math
from collections import Counter
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from drill.memory.parameters import START
from drill.memory.recall import fluency, learn, predict_and_learn
from drill.memory.rows import CAP, CARRY, FAST, PACE, SLOW, Features, Outcome, Row, touched_rows

USUAL_SECONDS = {"name": 4.5, "place": 9.0, "number": 6.5, "hands-on": 6.0}

T0 = datetime(2026, 3, 1, 18, 0, tzinfo=UTC)


def card(key: str = "Ab", degree: int = 4, ask: str = "place", difficulty: float = 0.0) -> Features:
    skills = (f"ask:{ask}", f"key:{key}", f"degree:{degree}", "quality:major")
    return Features(f"{ask}:{key}:{degree}", skills, difficulty, ask, USUAL_SECONDS[ask])


def drilled(rows: dict[str, Row], features: Features, right: bool, seconds: float | None, at: datetime) -> None:
    rows.update(learn(rows, features, Outcome(right, seconds, at)))


def test_an_answer_writes_only_the_rows_it_touches() -> None:
    changed = learn({}, card(), Outcome(True, 4.0, T0))
    assert set(changed) == set(touched_rows(card()))
    assert all(name == row.name and row.at == T0 for name, row in changed.items())


def test_what_is_foreseen_of_an_answer_is_the_fluency_before_it_and_what_it_teaches() -> None:
    rows: dict[str, Row] = {}
    for n, (right, seconds) in enumerate([(True, 4.0), (False, 9.0), (True, None), (True, 3.0)]):
        outcome = Outcome(right, seconds, T0 + n * timedelta(hours=9))
        said, learnt = predict_and_learn(rows, card(), outcome, 5.0)
        assert said == fluency(rows, card(), outcome.at, 5.0)
        assert learnt == learn(rows, card(), outcome)
        rows.update(learnt)


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
    names = sorted({name for features, *_ in log for name in touched_rows(features) if name not in (PACE, CARRY)})
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
        skills = [name for name in touched_rows(features)[4:] if not name.startswith("card:")]
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
        drift = {SLOW: START.slow, FAST: START.fast}.get(name, START.card if name.startswith("card:") else START.skill)
        keep = math.exp(-gap / drift.days)
        assert rows[name].mean * keep == pytest.approx(mean, abs=1e-9)
        assert rows[name].variance * keep**2 + drift.start * (1 - keep**2) == pytest.approx(variance, abs=1e-9)


TIMED = [*LOG, (card("Ab", 4, difficulty=0.4), True, 55.0, 12.0), (card("E", 4, difficulty=-0.7), True, 6.0, 12.5)]


def direct_pace(log: list[tuple[Features, bool, float | None, float]]) -> tuple[dict[str, tuple[float, float]], float]:
    """The filter of ln(seconds) written out over whole vectors, and the player's spread at its end."""
    names = sorted({name for features, *_ in log for name in touched_rows(features) if name not in (PACE, CARRY)})
    drift = dict.fromkeys(names, START.skill_pace) | {SLOW: START.slow_pace, FAST: START.fast_pace}
    drift |= {n: START.card_pace for n in names if n.startswith("card:")}
    drift |= {n: START.ask_pace for n in names if n.startswith("ask:")}
    kind = np.array([[drift[n].start, drift[n].noise, drift[n].days] for n in names])
    mean, variance, clock = np.zeros(len(names)), kind[:, 0].copy(), 0.0
    spread, timed, right_before = START.spread, 0, Counter[str]()
    for features, right, seconds, day in log:
        keep = np.exp(-(day - clock) / kind[:, 2])
        mean, variance, clock = keep * mean, keep**2 * variance + kind[:, 0] * (1 - keep**2), day
        practised = right_before[features.card_id]
        right_before[features.card_id] += right
        if not right or seconds is None:
            continue
        rows = touched_rows(features)
        skills = len(rows) - 5  # All but the player's four and the card's.
        h = np.array([
            0.0 if n not in rows else 1.0 if n in (SLOW, FAST) or n.startswith(("ask:", "card:")) else 1 / skills
            for n in names
        ])  # fmt: skip
        usual = math.log(features.usual_seconds) + START.harder_is_slower * features.difficulty
        expected = usual + START.practice * math.log(1 + practised) + h @ mean
        total = h**2 @ variance + spread
        surprise = np.clip(math.log(seconds) - expected, -2 * math.sqrt(total), 2 * math.sqrt(total))
        new_spread = surprise**2 - h**2 @ variance
        mean = mean + variance * h * surprise / total
        variance = variance - (variance * h) ** 2 / total + kind[:, 1] * (h > 0)
        timed += 1
        spread = max(spread + (new_spread - spread) / (START.spread_strength + timed), 0.02)
    return {n: (float(m), float(v)) for n, m, v in zip(names, mean, variance, strict=True)}, float(spread)


def test_the_filter_of_seconds_equals_a_direct_computation_over_the_whole_log() -> None:
    rows: dict[str, Row] = {}
    for features, right, seconds, day in TIMED:
        drilled(rows, features, right, seconds, T0 + timedelta(days=day))
    found, spread = direct_pace(TIMED)
    for name, (mean, variance) in found.items():
        drift = {SLOW: START.slow_pace, FAST: START.fast_pace}.get(name, START.skill_pace)
        drift = START.card_pace if name.startswith("card:") else drift
        drift = START.ask_pace if name.startswith("ask:") else drift
        keep = math.exp(-(TIMED[-1][3] - (rows[name].at - T0) / timedelta(days=1)) / drift.days)
        assert rows[name].pace * keep == pytest.approx(mean, abs=1e-9)
        assert rows[name].pace_variance * keep**2 + drift.start * (1 - keep**2) == pytest.approx(variance, abs=1e-9)
    assert rows[PACE].pace == pytest.approx(spread, abs=1e-12)


def test_what_a_card_holds_equals_what_its_own_answers_give() -> None:
    rows: dict[str, Row] = {}
    for features, right, seconds, day in TIMED:
        drilled(rows, features, right, seconds, T0 + timedelta(days=day))
    by = START.holding
    for features in {features for features, *_ in TIMED}:
        (first, day), *later = [(right, day) for each, right, _, day in TIMED if each == features]
        hold = by.first * math.exp(by.by_ease * (features.difficulty - by.usual)) * (by.known if first else 1.0)
        for right, then in later:
            x = (then - day) / hold
            hold *= 1 + by.growth * x / (1 + x / by.most) if right else by.wrong
            day = then
        assert rows[f"card:{features.card_id}"].hold == pytest.approx(hold)


def test_counts_and_last_outcome_equal_those_of_the_log() -> None:
    rows: dict[str, Row] = {}
    for features, right, seconds, day in LOG:
        drilled(rows, features, right, seconds, T0 + timedelta(days=day))
    for name, row in rows.items():
        if name in (PACE, CARRY):
            continue
        answers = [(right, day) for features, right, _, day in LOG if name in touched_rows(features)]
        last = answers[-1][1]
        fresh = [math.exp(-(last - day) * 24) for _, day in answers]
        assert row.successes == sum(right for right, _ in answers)
        assert row.failures == sum(not right for right, _ in answers)
        assert row.last == (1 if answers[-1][0] else -1)
        kept = sum(f for f, (right, _) in zip(fresh, answers, strict=True) if right)
        assert row.recent_successes == pytest.approx(kept)
        lost = sum(f for f, (right, _) in zip(fresh, answers, strict=True) if not right)
        assert row.recent_failures == pytest.approx(lost)


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
