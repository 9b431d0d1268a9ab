"""Playing along with a tune and being lost in it, on a phone and a desktop, by hand and by keyboard."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from tests.browser.stage import DESKTOP, PHONE, PHONE_ON_ITS_SIDE, Drill, Stage
from tests.browser.test_pages import axe, small_targets

Open = Callable[..., Stage]
CHART = "Verse\n| B♭7 | B♭7 | E♭7 | F7 |\nBridge\n| Cm7 | F7 |"


@pytest.fixture(scope="module")
def tune(drill: Drill) -> Any:
    """A slow blues on the set list of a jam, a step higher than it stands."""
    made = drill.api("POST", "tunes", {"title": "Slow blues", "text": CHART, "options": {"key": "Bb"}, "tempo": 66})
    soon = f"{datetime.now(UTC).date() + timedelta(days=10)}T20:00"
    jam = drill.api("POST", "jams", {"name": "Open jam", "at": soon, "boxes": [2]})
    entry = {"tune": made["id"], "key": "C", "tempo": 240}
    jam = drill.api("PUT", f"jams/{jam['id']}/set-list", {"was": [], "entries": [entry]})
    return {"id": made["id"], "jam": jam["id"], "entry": jam["entries"][0]["id"]}


def open_play(at: Stage, tune: Any, night: bool = True) -> None:
    query = f"?jam={tune['jam']}&entry={tune['entry']}" if night else ""
    at.go(f"/tunes/{tune['id']}/play{query}")
    at.page.locator("#ledge .work").wait_for()


def reviews(drill: Drill) -> dict[str, Any]:
    """Every review that is kept, by its id."""
    return {each["id"]: each for each in drill.api("GET", "export")["reviews"]}


def wide(at: Stage) -> bool:
    return bool(at.page.evaluate("document.documentElement.scrollWidth > innerWidth"))


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("screen", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_axe_finds_nothing_while_it_rests_stops_and_is_lost(
    drill: Drill, tune: Any, stage: Open, screen: dict[str, int], dark: bool
) -> None:
    at = stage(drill, screen=screen, dark=dark)
    open_play(at, tune)
    assert (axe(at), small_targets(at), wide(at)) == ([], [], False)
    at.page.get_by_role("button", name="Start").click()
    at.page.locator("#fumble:enabled").click()
    at.page.keyboard.press("Escape")
    at.page.get_by_role("button", name="Go on").wait_for()
    assert (axe(at), small_targets(at), wide(at)) == ([], [], False)
    at.page.get_by_role("button", name="End").click()
    at.page.get_by_role("heading", name="How did it go?").wait_for()
    assert (axe(at), small_targets(at), wide(at)) == ([], [], False)
    at.page.get_by_role("button", name="Keep nothing").click()
    at.page.get_by_role("button", name="Lost").click()
    at.page.get_by_text("What comes next?").wait_for()
    assert (axe(at), small_targets(at), wide(at)) == ([], [], False)


def test_a_night_is_played_in_the_key_called_by_the_keyboard_alone(drill: Drill, tune: Any, stage: Open) -> None:
    at = stage(drill)
    open_play(at, tune)
    assert "C blues" not in at.page.locator("#about").inner_text()
    assert at.page.locator(".bar-of .chord-of").all_inner_texts() == ["C7", "C7", "F7", "G7", "Dm7", "G7"]
    assert at.page.locator("[name=tempo]").input_value() == "240"
    at.page.locator("h1").click()
    at.page.keyboard.press("ArrowRight")
    at.page.keyboard.press("ArrowRight")
    assert at.page.locator(".bar-of.begin").get_attribute("aria-label").startswith("Bar 3: ")
    at.page.keyboard.press(" ")
    at.page.locator('[aria-current="true"][aria-label^="Bar 3:"]').wait_for()
    at.page.locator("#fumble:enabled").wait_for()
    at.page.keyboard.press("f")
    assert at.page.locator("#fumble").inner_text() == "Fumbled ✓"
    at.page.get_by_role("heading", name="How did it go?").wait_for(timeout=10_000)
    before = reviews(drill)
    at.page.get_by_role("button", name="The rest came in time").click()
    at.page.get_by_text("1 chord fumbled").wait_for()
    at.page.wait_for_timeout(600)
    new = [each for key, each in reviews(drill).items() if key not in before]
    kept = {each["card"]: each["outcome"] for each in new}
    assert kept.pop("hands-on:C:4_7:box2") == "missed"
    assert set(kept.values()) == {"clean"}
    (session,) = [each for each in drill.api("GET", "export")["sessions"] if each["id"] == new[0]["session_id"]]
    assert (session["kind"], session["jam_id"], session["tempo"]) == ("play along", tune["jam"], 240)


def test_a_mark_is_taken_back_and_only_what_is_fumbled_may_be_kept(drill: Drill, tune: Any, stage: Open) -> None:
    at = stage(drill, screen=PHONE)
    open_play(at, tune, night=False)
    at.page.locator("[name=tempo]").fill("240")
    at.page.locator("[name=tempo]").blur()
    at.page.get_by_role("button", name="Start").click()
    at.page.locator("#fumble:enabled").wait_for()
    at.page.locator("#fumble").click()
    at.page.locator("#fumble").click()
    assert at.page.locator("#fumble").inner_text() == "Fumbled"
    at.page.get_by_role("heading", name="How did it go?").wait_for(timeout=12_000)
    at.page.locator(".play-marks button").nth(1).click()
    assert "fumbled" in at.page.locator(".play-marks button").nth(1).inner_text()
    before = reviews(drill)
    at.page.get_by_role("button", name="Only the fumbled ones").click()
    at.page.wait_for_timeout(600)
    (review,) = [each for key, each in reviews(drill).items() if key not in before]
    assert (review["card"], review["outcome"], review["seconds"]) == ("hands-on:Bb:4_7:box1", "missed", None)


def test_what_was_played_is_asked_for_after_a_reload(drill: Drill, tune: Any, stage: Open) -> None:
    at = stage(drill)
    open_play(at, tune)
    at.page.get_by_role("button", name="Start").click()
    at.page.locator("#fumble:enabled").wait_for()
    at.page.locator("#fumble").click()
    at.page.wait_for_timeout(200)
    at.page.reload()
    at.page.get_by_role("heading", name="How did it go?").wait_for()
    assert "fumbled" in at.page.locator(".play-marks").inner_text()
    at.page.get_by_role("button", name="Keep nothing").click()
    at.page.get_by_text("Nothing was kept.").wait_for()


def test_a_part_goes_round_and_the_next_chord_is_shown_early(drill: Drill, tune: Any, stage: Open) -> None:
    at = stage(drill, screen=PHONE_ON_ITS_SIDE)
    open_play(at, tune)
    at.page.locator("[name=part]").select_option(label="Bridge")
    at.page.locator("[name=loop]").check()
    assert at.page.locator(".bar-of.outside").count() == 4
    at.page.get_by_role("button", name="Start").click()
    at.page.locator('[aria-current="true"][aria-label^="Bar 5:"]').wait_for(state="attached")
    at.page.locator(".play-next", has_text="G7").wait_for()
    assert not wide(at)
    at.page.get_by_text("round 2").wait_for(timeout=8_000)
    at.page.keyboard.press("Escape")
    at.page.get_by_role("button", name="End").click()
    at.page.get_by_role("button", name="Keep nothing").click()


def test_lost_asks_what_comes_next_and_where_it_is(drill: Drill, tune: Any, stage: Open) -> None:
    at = stage(drill, screen=PHONE)
    open_play(at, tune)
    at.page.get_by_role("button", name="Lost").click()
    at.page.locator(".lost-choices .key").first.click()
    assert at.page.locator(".said-right, .said-wrong").count() == 1
    at.page.wait_for_timeout(400)
    at.page.get_by_role("button", name="Played").click()
    at.page.locator(".answer-drawing svg").wait_for()
    at.page.wait_for_timeout(400)
    before = reviews(drill)
    at.page.get_by_role("button", name="Yes").click()
    at.page.get_by_text("What comes next?").wait_for()
    at.page.wait_for_timeout(500)
    (review,) = [each for key, each in reviews(drill).items() if key not in before]
    assert (review["right"], review["mode"], review["tempo"]) == (True, "hands-on", 240)
    assert 0.3 < review["seconds"] < 5
    at.page.keyboard.press("Escape")
    at.page.get_by_text("On the guitar: 1 of 1 right").wait_for()


def test_a_tune_that_is_gone_says_so(drill: Drill, stage: Open) -> None:
    at = stage(drill)
    at.go(f"/tunes/{'0' * 32}/play")
    at.page.get_by_text("no such tune").wait_for()
    at.errors.clear()
