"""The share expected clean on a night, against figures by hand and against nights that are played."""

from __future__ import annotations

import math
import random
from datetime import datetime, timedelta
from statistics import fmean, pstdev

import pytest

from cards.asks import Setting
from drill.jams.changes import MeasuredChange, changes_of, measured_changes
from drill.jams.nights import Night
from drill.jams.readiness import ChangeForecast, Outlook, outlook, together
from drill.memory.parameters import START, Drift
from drill.memory.recall import fluency, fluency_by_row, learn
from drill.memory.rows import DAY, SLOW, Fluency, Outcome, Row
from drill.planning.repertoire import features
from tests.drill.nights import AT, a_chart, a_night, usual

BEFORE = AT - timedelta(days=10)


def changes(night: Night) -> tuple[MeasuredChange, ...]:
    return measured_changes(changes_of(night, Setting()), {}, ())


def practised(night: Night, answers: int, seed: int = 1) -> dict[str, Row]:
    """Memory after so many answers to the night's cards, three of four right, the last ten days before it."""
    chance = random.Random(seed)
    cards = list({each.card.id: each.card for each in changes(night)}.values())
    rows: dict[str, Row] = {}
    at = BEFORE - timedelta(minutes=answers * 20)
    for _ in range(answers):
        at += timedelta(minutes=20)
        answer = Outcome(chance.random() < 0.75, chance.uniform(1.0, 5.0), at)
        rows.update(learn(rows, features(chance.choice(cards)), answer))
    return rows


def told(moves: list[dict[str, tuple[float, float]]], p: list[float]) -> Outlook:
    """An outlook with these figures."""
    some = changes(a_night(("A tune", a_chart("| C | F | C | G |"), 60)))
    sds = [math.hypot(*(part for parts in each.values() for part in parts)) for each in moves]
    both = zip(some, p, sds, moves, strict=False)
    return Outlook(tuple(ChangeForecast(each, Fluency(share, sd, 1.0, 3.0), by) for each, share, sd, by in both))


def test_by_hand_what_is_common_does_not_average_out() -> None:
    first, second = {"key:C": (0.1, 0.0), "card:1": (0.05, 0.0)}, {"key:C": (0.1, 0.0), "card:4": (0.0, 0.05)}
    expected = told([first, second], [0.8, 0.6]).share
    assert expected is not None
    assert expected.mean == pytest.approx(0.7)
    assert expected.unsure == pytest.approx(math.sqrt(0.2**2 + 0.05**2 + 0.05**2) / 2)
    assert expected.chance == pytest.approx(math.sqrt(0.16 - 0.0125 + 0.24 - 0.0125) / 2)
    assert expected.interval == (pytest.approx(0.7 - 1.645 * expected.sd), 1.0)


def test_by_hand_ways_that_a_night_can_go_add_their_variance() -> None:
    ways = [told([{}], [0.4]), told([{}], [0.6])]
    share = together(ways)
    assert share is not None
    assert (share.mean, share.unsure) == (pytest.approx(0.5), pytest.approx(math.sqrt(0.02 * 1.5)))
    assert share.chance == pytest.approx(math.sqrt(0.24))
    assert together([]) is None
    assert together([Outlook(())]) is None


def test_the_parts_of_a_deviation_are_all_of_it() -> None:
    night = usual()
    rows = practised(night, 80)
    for each in changes(night):
        whole, moves = fluency_by_row(rows, features(each.card), AT, each.allowed)
        assert whole == fluency(rows, features(each.card), AT, each.allowed)
        assert math.hypot(*(part for parts in moves.values() for part in parts)) == pytest.approx(whole.sd)


@pytest.mark.parametrize("answers", [0, 60, 300])
def test_nights_played_from_the_models_probabilities_come_out_as_expected(answers: int) -> None:
    night, chance = usual(), random.Random(answers)
    rows = practised(night, answers)
    expected = outlook(changes(night), rows, AT, START).share
    assert expected is not None
    ps = [fluency(rows, features(each.card), AT, each.allowed).p for each in changes(night)]
    nights = [fmean(chance.random() < p for p in ps) for _ in range(4000)]
    assert abs(fmean(nights) - expected.mean) < 3.0 * pstdev(nights) / math.sqrt(len(nights))


@pytest.mark.parametrize("answers", [30, 300])
def test_nine_nights_of_ten_that_the_model_holds_possible_lie_in_the_interval(answers: int) -> None:
    night, chance = usual(), random.Random(answers)
    rows = practised(night, answers)
    expected = outlook(changes(night), rows, AT, START).share
    assert expected is not None
    low, high = expected.interval
    played = []
    for _ in range(250):
        truth = _one_truth(rows, changes(night), AT, chance)
        ps = [fluency(truth, features(each.card), AT, each.allowed).p for each in changes(night)]
        played.append(fmean(chance.random() < p for p in ps))
    assert abs(fmean(played) - expected.mean) < 0.05
    assert 0.86 <= fmean(low <= share <= high for share in played) <= 0.99


def _one_truth(
    rows: dict[str, Row], night: tuple[MeasuredChange, ...], at: datetime, chance: random.Random
) -> dict[str, Row]:
    """Memory as if every offset were known: each drawn from what the model believes of it at ``at``."""
    truth = dict(rows)
    for name in {name for each in night for name in fluency_by_row(rows, features(each.card), at, each.allowed)[1]}:
        kinds = (START.card, START.card_pace) if name.startswith("card:") else (START.skill, START.skill_pace)
        kinds = (START.slow, START.slow_pace) if name == SLOW else kinds
        kinds = (START.fast, START.fast_pace) if name == "player:fast" else kinds
        kinds = (kinds[0], START.ask_pace) if name.startswith("ask:") else kinds
        row = rows.get(name)
        drawn = [
            _drawn(kind, row and (mean, variance), at, row, chance)
            for kind, mean, variance in (
                (kinds[0], row.mean if row else 0.0, row.variance if row else 0.0),
                (kinds[1], row.pace if row else 0.0, row.pace_variance if row else 0.0),
            )
        ]
        known = row or Row(name, at, 0.0, 0.0, 0.0, 0.0)
        truth[name] = known._replace(mean=drawn[0], variance=0.0, pace=drawn[1], pace_variance=0.0)
    return truth


def _drawn(
    kind: Drift, known: tuple[float, float] | None, at: datetime, row: Row | None, chance: random.Random
) -> float:
    """An offset that, faded until ``at``, is a draw from the belief about it then."""
    if known is None or row is None:
        return chance.gauss(0.0, math.sqrt(kind.start))
    rho = math.exp(-(at - row.at).total_seconds() / (kind.days * DAY))
    deviation = math.sqrt(rho**2 * known[1] + kind.start * (1.0 - rho**2))
    return known[0] + chance.gauss(0.0, deviation) / max(rho, 1e-9)


def test_more_practice_more_readiness_and_less_doubt() -> None:
    night = usual()
    shares = [outlook(changes(night), practised(night, answers), AT, START).share for answers in (0, 100, 600)]
    means = [share.mean for share in shares if share]
    assert means == sorted(means)
    assert means[2] > means[0] + 0.2


def test_a_faster_tune_is_less_ready() -> None:
    slow, fast = (a_night(("A tune", a_chart("| C | F | C | G |"), tempo)) for tempo in (60, 180))
    rows = practised(slow, 100)
    shares = [outlook(changes(night), rows, AT, START).share for night in (slow, fast)]
    means = [share.mean for share in shares if share]
    assert means[0] > means[1] + 0.1


def test_what_comes_twice_counts_twice_and_is_named_once() -> None:
    night = a_night(("A tune", a_chart("[Verse]\n| C | F | C | F |\n[Bridge]\n| Bb | C |"), 60))
    rows: dict[str, Row] = {}
    for n in range(12):
        for each in changes(night):
            right = each.change.section == "Verse"
            rows.update(learn(rows, features(each.card), Outcome(right, 2.0, BEFORE + timedelta(hours=n))))
    whole = outlook(changes(night), rows, AT, START)
    by_card = {each.measured.card.id: each.p for each in whole.forecasts}
    assert whole.share is not None
    assert whole.share.changes == 6
    c, f, flat = (by_card[f"hands-on:C:{slug}:box1"] for slug in ("1", "4", "b7_major"))
    assert whole.share.mean == pytest.approx((3 * c + 2 * f + flat) / 6)
    (first, times), *rest = whole.shakiest()
    assert (first.measured.change.section, first.measured.change.bar, times) == ("Bridge", 1, 1)
    assert len(rest) == 2


def test_a_tune_of_the_night_is_told_alone() -> None:
    whole = outlook(changes(usual()), {}, AT, START)
    parts = [whole.of(entry) for entry in range(3)]
    assert [len(part.forecasts) for part in parts] == [7, 2, 4]
    assert sum(len(part.forecasts) for part in parts) == len(whole.forecasts)
    assert whole.of(9).share is None
