"""What a second spent on a card is worth."""

from __future__ import annotations

import numpy as np
import pytest

from drill.planning.worth import worth

NOTHING = np.zeros(1)


def practised(hold: float, days: float, carried: float = 0.0, horizon: float = 9.0) -> float:
    return float(worth(horizon).of_practised(NOTHING + carried, NOTHING + hold, NOTHING + days)[0])


def new(first_hold: float, carried: float = 0.0) -> float:
    return float(worth(9.0).of_new(NOTHING + carried, NOTHING + first_hold)[0])


def test_an_easy_new_card_is_worth_more_than_a_hard_one() -> None:
    assert new(3.0) > new(0.5) > new(0.1)


def test_what_is_still_kept_can_wait() -> None:
    assert practised(60.0, 20.0) > practised(60.0, 5.0) > practised(60.0, 1.0)


def test_a_card_half_learnt_is_worth_more_than_one_hardly_learnt() -> None:
    assert practised(3.0, 3.0) > practised(0.2, 3.0)


def test_what_the_skills_give_anyway_need_not_be_practised() -> None:
    assert practised(5.0, 5.0, carried=0.9) < practised(5.0, 5.0)


def test_a_near_date_leaves_hard_cards_alone() -> None:
    near, far = (practised(0.2, 1.0, horizon=h) / practised(4.0, 4.0, horizon=h) for h in (2.0, 20.0))
    assert near < far


@pytest.mark.parametrize("days", [2.0, 9.0])
def test_worth_is_a_price_everywhere(days: float) -> None:
    tables = worth(days)
    for table in (tables.practised, tables.new):
        assert np.isfinite(table).all()
        assert (table > 0.0).all()
