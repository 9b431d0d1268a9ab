"""Columns of cards say what the cards say, in whatever order a process met them."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import islice

import numpy as np
import pytest

from cards.asks import universe
from drill.memory.batch import Pool
from drill.memory.columns import Traces, naive_utc
from drill.memory.recall import learn
from drill.memory.rows import Features, Outcome, Row
from drill.planning.candidates import STEP, Candidates, Cards, Catalogue, spot
from drill.planning.entry import HORIZON
from drill.planning.plan import plan
from drill.planning.repertoire import allowed_seconds_at, entry
from drill.store import Store
from drill.store.checkpoints import Seen
from drill.store.memory import keep_last_answers, keep_rows, last_outcomes, memory_columns, memory_rows

NOW = datetime(2026, 3, 1, 18, 0, tzinfo=UTC)
IDS = [card.id for card in islice(universe(), 0, None, 151)]


def skills_of(cards: Cards, n: int) -> tuple[str, ...]:
    return tuple(filter(None, (cards.pool.skill_names[skill] for skill in cards.pool.skills[n])))


def test_a_catalogue_gives_the_columns_of_any_cards_sorted_by_id() -> None:
    known = Catalogue(entry)
    known.cards(IDS[::3])
    for wanted in (IDS[::2], IDS[5:9], [], IDS[::-1]):
        found, whole = known.cards(wanted), Cards.of(map(entry, wanted))
        assert found.ids == whole.ids == tuple(sorted(wanted))
        assert found.entries == whole.entries
        for n, each in enumerate(found.entries):
            assert skills_of(found, n) == skills_of(whole, n)
            assert set(each.features.skills) <= set(skills_of(found, n))
            assert found.kinds[found.kind[n]] == (each.key, each.features.ask)
            assert found.asks[found.ask[n]] == each.features.ask
            assert found.spot[n] == spot(int(found.kind[n]), each.box, each.degree)
            assert found.pool.difficulty[n] == whole.pool.difficulty[n] == each.features.difficulty
            assert found.pool.counts[n] == len(skills_of(found, n))


def test_a_card_is_worked_out_once() -> None:
    asked: list[str] = []
    known = Catalogue(lambda card_id: (asked.append(card_id), entry(card_id))[1])
    known.cards(IDS[:4])
    known.cards(IDS[2:8])
    assert sorted(asked) == sorted(IDS[:8])


def test_steps_sort_cards_as_their_paths_do() -> None:
    cards = Cards.of(map(entry, IDS))
    order = np.argsort(cards.step, kind="stable")
    begins = [cards.entries[n].path[:STEP] for n in order]
    assert begins == sorted(begins)
    assert len(set(cards.step.tolist())) == len(set(begins))


def test_spots_differ_wherever_kind_box_or_degree_do() -> None:
    every = [(kind, box, degree) for kind in range(40) for box in (None, 1, 5) for degree in range(1, 8)]
    assert len({spot(*each) for each in every}) == len(every)


def test_a_plan_is_the_same_whatever_the_catalogue_held_before() -> None:
    rows: dict[str, Row] = {}
    last = {}
    for n, card_id in enumerate(sorted(IDS)[::2]):
        at, outcome = NOW - timedelta(days=1 + n % 9), ("clean", "late", "missed")[n % 3]
        rows |= learn(rows, entry(card_id).features, Outcome(outcome != "missed", 4.0, at))
        last[card_id] = naive_utc(at), outcome
    fuller = Catalogue(entry)
    fuller.cards([card.id for card in islice(universe(), 3, None, 97)])
    plans = [
        plan(
            Candidates.of(cards, last),
            rows,
            NOW,
            10,
            keys=("G", "Em"),
            allowed=allowed_seconds_at(90),
            seed=3,
            horizon=HORIZON,
        )
        for cards in (Cards.of(map(entry, IDS)), fuller.cards(IDS))
    ]
    assert len(plans[0]) > 10
    assert [(each.card_id, each.reason, each.values) for each in plans[0]] == [
        (each.card_id, each.reason, each.values) for each in plans[1]
    ]
    assert [each.seconds for each in plans[0]] == pytest.approx([each.seconds for each in plans[1]])


def test_the_cards_that_have_some_skills() -> None:
    pool = Pool.of(
        [
            Features("a", ("ask:name", "key:Bb", "degree:4"), 0.0, "name", 4.5),
            Features("b", ("ask:name", "key:Eb", "degree:4"), 0.0, "name", 4.5),
            Features("c", ("ask:place", "key:Bb"), 0.0, "place", 9.0),
        ]
    )
    assert pool.having(["degree:4"]).tolist() == [True, True, False]
    assert pool.having(["key:Bb", "ask:name"]).tolist() == [True, False, False]
    assert not pool.having(["box:1"]).any()


@pytest.mark.both_databases
def test_what_the_store_gives_at_once_is_what_it_gives_row_by_row(store: Store) -> None:
    at = NOW + timedelta(microseconds=123_457)
    rows = {
        name: Row(name, at - timedelta(days=n), 0.3, 0.1 + n, -0.1, 0.02, 8.0, 2.0, 0.5, 0.1, 1 - n, 4.0 + n)
        for n, name in enumerate(("player:slow", "key:Bb", "card:name:Bb:4"))
    }
    with store.writing(1) as (db, _):
        assert memory_columns(db, 1) == []
        assert last_outcomes(db, 1) == {}
        keep_rows(db, 1, rows.values())
        keep_last_answers(db, 1, {"name:Bb:4": Seen(3, at, "late"), "name:Bb:1": Seen(1, NOW, "clean")})
    with store.reading() as db:
        kept = Traces.read(memory_columns(db, 1))
        last = last_outcomes(db, 1)
        assert memory_rows(db, 1) == rows
    names = (*rows, "key:Eb")
    expected = Traces.of(rows.values()).of_names(names, NOW)
    np.testing.assert_array_equal(kept.of_names(names, NOW), expected)
    assert not expected[:, -1].any()
    cards = Candidates.of(Cards.of(map(entry, ["name:Bb:1", "name:Bb:4", "name:Bb:5"])), last)
    assert cards.seen.tolist() == [True, True, False]
    assert cards.outcome.tolist() == ["clean", "late", ""]
    assert cards.days_since(1, naive_utc(at + timedelta(days=2))) == 2.0
