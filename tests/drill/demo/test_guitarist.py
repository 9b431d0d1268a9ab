"""Demo data: made by the real scheduler, the same for the same seed, and marked on every page."""

from __future__ import annotations

import shutil
from datetime import timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner
from flask import Flask
from flask.testing import FlaskClient

from cards.asks import Setting, judge, universe
from drill.cli.command import main
from drill.demo import band, guitarist
from drill.demo.guitarist import DemoError, fill, right_answer
from drill.export.document import export
from drill.jams.nights import nights
from drill.learning.learn import rebuild
from drill.progress.key_map import View, key_map
from drill.store import Store
from tests.conftest import EVENING, DemoRun, Guitarist

MARK = "Demo data"


@pytest.fixture
def short(monkeypatch: pytest.MonkeyPatch) -> None:
    """One week, for tests that need no more."""
    monkeypatch.setattr(guitarist, "WEEKS", 1)


def test_the_simulated_guitarist_can_answer_every_ask_rightly() -> None:
    first: dict[str, object] = {}
    for card in universe():
        if card.ask not in first:
            first[card.ask] = card
            assert judge(card, right_answer(card, Setting()), Setting()).right, card.id


def test_the_same_seed_is_the_same_guitarist(store: Store, empty_database: str, short: None) -> None:
    from drill.store import prepare

    prepare(empty_database, EVENING)
    other = Store(empty_database)
    assert fill(store, 1, EVENING, seed=3) == fill(other, 1, EVENING, seed=3)
    mine, theirs = export(store, 1, EVENING), export(other, 1, EVENING)
    other.close()
    assert mine["player"].pop("created_at") is not None
    theirs["player"].pop("created_at")
    assert mine == theirs


def test_the_log_is_one_that_could_have_been_played(store: Store, short: None) -> None:
    fill(store, 1, EVENING, seed=1)
    found = export(store, 1, EVENING)
    times = [each["answered_at"] for each in sorted(found["reviews"], key=lambda each: each["answered_at"])]
    assert times[-1] < EVENING.isoformat()
    assert len({each["outcome"] for each in found["reviews"]}) == 3
    assert all(each["ended_at"] for each in found["sessions"])
    assert (len(found["tunes"]), len(found["jams"])) == (5, 2)
    live = key_map(store, 1, View(), EVENING)
    rebuild(store)
    assert key_map(store, 1, View(), EVENING) == live


@pytest.mark.both_databases
def test_the_bands_next_jam_is_some_days_ahead(store: Store) -> None:
    band.add_band(store, 1, EVENING, seed=1)
    past, ahead = nights(store, 1, EVENING)
    assert (past.past, past.days, ahead.past, ahead.days) == (True, -12, False, 9)
    assert [str(each.key) for each in ahead.entries] == ["B♭ blues", "A", "F♯m", "E♭", "A♭"]
    assert [each.called for each in ahead.entries] == [None, None, None, None, "A♭"]
    assert [each.tempo for each in ahead.entries] == [66, 104, 76, 92, 112]
    assert {each.tune_id for each in past.entries} < {each.tune_id for each in ahead.entries}
    assert all(any(change.numeral for _, change in each.chart.changes) for each in ahead.entries)


PAGES = ("/", "/session", "/keys", "/neck", "/settings", "/nowhere", "/session/1/closing", "/jams", "/tunes/new")


def test_every_page_says_that_it_is_a_demo(store: Store, client: FlaskClient, short: None) -> None:
    assert not any(MARK in client.get(page).text for page in PAGES)
    fill(store, 1, EVENING, seed=1)
    assert all(MARK in client.get(page).text for page in PAGES)


def test_a_real_player_is_no_demo(guitarist: Guitarist, client: FlaskClient, app: Flask) -> None:
    guitarist.start()
    assert MARK not in client.get("/").text


def test_demo_data_never_goes_where_somebody_has_played(store: Store, guitarist: Guitarist) -> None:
    guitarist.start()
    with pytest.raises(DemoError, match="empty folder"):
        fill(store, 1, EVENING + timedelta(days=1), seed=1)


def test_six_weeks_with_two_weak_keys_by_the_command(demo_run: DemoRun, tmp_path: Path) -> None:
    run = CliRunner().invoke
    data = shutil.copytree(demo_run.data, tmp_path / "data")
    assert demo_run.printed.startswith("Six weeks of demo data, ")
    weak = run(main, ["weak", "--data", str(data)]).output
    keys = weak.partition("Weakest keys\n")[2].splitlines()[:2]
    assert {key.split()[0] for key in keys} == {"E♭", "A♭"}
    assert run(main, ["demo", "--data", str(data)]).exit_code == 1
