"""The benches on memory and on learning run, in a small size, and what they are made of holds."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.bench import learning, memory
from tests.bench.coming_back import NO_CARD, AsInTheService
from tests.bench.learners import DAY, FAMILIES, World
from tests.bench.published.planning import Seen


@pytest.mark.parametrize("family", FAMILIES)
def test_practice_teaches_and_time_takes_away(family: str) -> None:
    world = World(family, 0.0, 30, 1)
    who = np.arange(30)
    before = world.truly_clean(np.full(30, DAY))[:, 5].mean()
    for day in range(5):
        world.answer(who, np.full(30, 5), np.full(30, day * DAY), np.full((30, 4), 0.5))
    after = [world.truly_clean(np.full(30, 4 * DAY + gap * DAY))[:, 5].mean() for gap in (1, 14, 60)]
    assert after[0] > before + 0.2
    assert after == sorted(after, reverse=True)


@pytest.mark.parametrize("family", FAMILIES)
def test_only_transfer_helps_a_card_that_was_never_practised(family: str) -> None:
    gains = []
    for transfer in (0.0, 0.6):
        world = World(family, transfer, 20, 1)
        who, at = np.arange(20), np.full(20, 2 * DAY)
        before = world.truly_clean(at)[:, 1::2].sum()
        for card in range(0, world.cards, 2):
            world.answer(who, np.full(20, card), np.full(20, DAY + 10.0 * card), np.full((20, 4), 0.5))
        gains.append(world.truly_clean(at)[:, 1::2].sum() - before)
    assert abs(gains[0]) < 1e-6 * 20 * 182 or gains[0] < 0.0
    assert gains[1] > 50.0


def test_all_planners_meet_the_same_players() -> None:
    first, second = (World("contexts", 0.3, 3, 5) for _ in range(2))
    assert first.keys == second.keys
    assert (first.truly_clean(np.full(3, DAY)) == second.truly_clean(np.full(3, DAY))).all()


def test_sessions_of_the_plan_end_in_time() -> None:
    found = learning.learnt(learning.planners(3)["this planner"], "two strengths", 0.3, 6, 3)
    assert np.mean(np.abs(found.off) <= 20.0) > 0.95
    assert (found.clean > 0.0).all()


def came(misses: set[int], seconds: float) -> list[int]:
    """The cards of a session of 10 s a card: 0, 1, 2 … in turn, but for what comes back; the first time
    that one of the ``misses`` comes it is missed."""
    shape = (1, 40)
    seen = Seen.nothing(np.arange(40)[None], np.zeros(shape, dtype=np.int64))
    back, who, cards, fresh = AsInTheService(shape, seconds), np.array([0]), [], iter(range(40))
    for question in range(int(seconds / 10.0)):
        spent = np.array([10.0 * question])
        card = int(back.forced(seen, who, question, spent, spent)[0])
        card = next(fresh) if card == NO_CARD else card
        right = np.array([card not in misses or card in cards])
        back.answered(who, np.array([card]), question, right)
        seen.note(who, np.array([card]), spent, right)
        cards.append(card)
    return cards


def test_a_missed_card_comes_back_after_three_others_and_at_the_end() -> None:
    assert came({1}, 200.0) == [0, 1, 2, 3, 4, 1, *range(5, 18), 1]


def test_what_comes_back_comes_one_after_another() -> None:
    assert came({1, 2}, 200.0) == [0, 1, 2, 3, 4, 1, 2, *range(5, 16), 1, 2]


def test_missed_cards_take_no_more_than_a_third_of_a_session_at_its_end() -> None:
    cards = came(set(range(40)), 300.0)
    assert len(cards) == 30
    at_end = next(n for n in range(30) if cards[n:] == sorted(cards[n:]) and len(set(cards[n:])) == 30 - n)
    assert 30 - at_end <= 10
    assert cards[at_end:] == list(range(30 - at_end))


def test_a_session_that_nothing_was_missed_in_is_left_alone() -> None:
    assert came(set(), 200.0) == list(range(20))


def test_the_bench_on_memory_reads_a_log(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rng = np.random.default_rng(2)
    lines = ["learner\titem\tskills\ttimestamp\tcorrect\tseconds"]
    for learner in range(6):
        for n in range(60):
            item = int(rng.integers(8))
            lines.append(f"l{learner}\ti{item}\ts{item % 3}|t{item % 2}\t{9000 * n}\t{int(rng.random() < 0.6)}\t{3.5}")
    path = tmp_path / "log.tsv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    memory.main(["--log", str(path)])
    printed = capsys.readouterr().out
    assert "6 learners, 360 answers" in printed
    assert all(name in printed for name in ("DAS3H", "half-life regression", "this model, refitted"))


def test_a_perfect_forecast_scores_so() -> None:
    right = np.array([1.0, 0.0, 1.0, 0.0] * 30)
    assert memory.auc(right, right) == 1.0
    assert memory.auc(np.full(120, 0.5), right) == 0.5
    assert memory.calibration(right, right) == 0.0
