"""The next jam on the first page: how ready, the session that is aimed at it, the last look on the day."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest

from drill import clock
from drill.config import Config
from drill.store import Store
from tests.browser.stage import DESKTOP, PHONE, Drill, Stage
from tests.browser.test_pages import axe, small_targets
from tests.drill.nights import a_chart, blues, put_jam

Open = Callable[..., Stage]
TUNES = (
    ("Slow blues", blues("Bb"), 60),
    ("Two-chord vamp", a_chart("[Verse]\n| 1 | 4 |\n[Bridge]\n| 1 | b7 |", "E"), 96),
)


def a_jam(drill: Drill, at: datetime) -> str:
    """A jam in the service's data."""
    store = Store(Config(data=drill.data).url)
    try:
        return put_jam(store, *TUNES, at=at)
    finally:
        store.close()


def tonight() -> datetime:
    """Soon, and today by the day of a player in UTC."""
    now = datetime.now(UTC)
    _, end = clock.day_bounds(now, "UTC", 4)
    return min(now + timedelta(hours=1), end - timedelta(seconds=1))


def test_without_a_jam_the_first_page_is_silent_about_it(new_drill: Drill, stage: Open) -> None:
    at = stage(new_drill)
    at.go("/")
    at.see("Nothing met yet")
    assert at.page.locator("#jam").is_hidden()


@pytest.mark.parametrize("screen", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_the_first_page_names_the_next_jam_and_drills_for_it(new_drill: Drill, stage: Open, screen: object) -> None:
    a_jam(new_drill, datetime.now(UTC) + timedelta(days=5))
    new_drill.api("PUT", "settings", {"why": True})
    at = stage(new_drill, screen=screen)
    at.go("/")
    at.see("Open jam is in 5 days.")
    at.see("Ready for")
    assert axe(at) == []
    assert small_targets(at) == []
    assert not at.page.get_by_role("button", name="Last look").count()
    at.press("Start")
    at.wait_for_question()
    at.see("needs it.")
    assert at.page.evaluate("document.documentElement.scrollWidth <= screen.width")


def test_a_session_can_be_started_without_the_jam(new_drill: Drill, stage: Open) -> None:
    a_jam(new_drill, datetime.now(UTC) + timedelta(days=5))
    at = stage(new_drill)
    at.go("/")
    at.see("Ready for")
    at.press("Start without it")
    at.wait_for_question()
    session = new_drill.session()
    assert session["jam"] is None
    assert not any("needs it" in each["reason"] for each in session["questions"])


def test_on_the_day_the_last_look_is_one_tap_away(new_drill: Drill, stage: Open) -> None:
    jam = a_jam(new_drill, tonight())
    at = stage(new_drill)
    at.go("/")
    at.see("Open jam is today.")
    at.press("Last look")
    at.press("Ready")  # The hands are warmed up first, as always.
    at.wait_for_question()
    session = new_drill.session()
    assert (session["kind"], session["jam"], session["minutes"]) == ("last look", jam, 5)
    assert {each["prompt"]["key"] for each in session["questions"]} == {"B♭ blues", "E"}
    at.play(right=True)
    assert at.outcome() in ("clean", "late")


@pytest.mark.parametrize(("screen", "dark"), [(PHONE, False), (DESKTOP, True)], ids=["phone", "desktop"])
def test_the_jams_page_tells_both_ways_and_names_the_shakiest(
    new_drill: Drill, stage: Open, screen: object, dark: bool
) -> None:
    jam = a_jam(new_drill, datetime.now(UTC) + timedelta(days=5))
    at = stage(new_drill, screen=screen, dark=dark)
    at.go(f"/jams/{jam}")
    at.see("If nothing more is drilled:")
    # The days until then are played ahead, which takes its time on a busy machine.
    at.page.locator("#main").get_by_text("With 5 minutes on each of the").wait_for(timeout=60_000)
    at.see("90 of 100")
    section = at.page.get_by_role("region", name="Readiness")
    assert section.get_attribute("aria-busy") is None
    assert section.locator("ol").first.locator("li").count() == 3
    assert "♭VII (D) in bar 2 of the bridge" in section.inner_text()
    assert [
        section.get_by_text(word, exact=True).count() for word in ("If you drill no more:", "If you go on drilling:")
    ] == [2, 2]
    assert at.page.evaluate("document.documentElement.scrollWidth <= screen.width")
    assert axe(at) == []
    assert small_targets(at) == []
    at.press("Drill for it")
    at.wait_for_question()
    assert new_drill.session()["jam"] == jam


def test_readiness_is_told_anew_when_the_set_list_changes(new_drill: Drill, stage: Open) -> None:
    jam = a_jam(new_drill, datetime.now(UTC) + timedelta(days=5))
    at = stage(new_drill, screen=DESKTOP)
    at.go(f"/jams/{jam}")
    section = at.page.get_by_role("region", name="Readiness")
    section.get_by_role("heading", name="Slow blues").wait_for()
    at.press("Take Slow blues off the list")
    section.get_by_role("heading", name="Slow blues").wait_for(state="detached")
    section.get_by_role("heading", name="Two-chord vamp").wait_for()


def test_a_running_session_is_pointed_to(new_drill: Drill, stage: Open) -> None:
    jam = a_jam(new_drill, datetime.now(UTC) + timedelta(days=5))
    new_drill.api("POST", "sessions", {"minutes": 5, "tab": "away"})
    at = stage(new_drill)
    at.go(f"/jams/{jam}")
    at.see("If nothing more is drilled:")
    at.press("Last look")
    at.see("A session is running already:")
