"""Sheets in a browser: on the stand, by one tap in another key, without scripts, and on paper."""

from __future__ import annotations

import re
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from cards.charts import Options, read_chart
from cards.charts.forms import form
from cards.theory.keys import Key
from drill.config import FILE_NAME
from drill.jams import nights
from drill.store import Store
from drill.store.models import SetListEntry
from drill.store.sittings import only_player
from drill.tunes import library
from tests.browser.stage import DESKTOP, PHONE, Drill, Stage
from tests.browser.test_pages import axe, small_targets

Open = Callable[..., Stage]

NOW = datetime(2026, 5, 1, 18, tzinfo=UTC)
LAST = {"Intro": "1", "Verse": "3-", "Chorus": "4", "Bridge": "67", "Solo": "27", "Interlude": "37", "Outro": "5"}
LONG = "".join(
    f"[{name}]\n| 1 | 5/7 | 6- | 4maj7 |\n| 2-7 | 57 | b7 | {last} |\n| 1 | 1 | 4 | {last} |\n"
    for name, last in LAST.items()
)
TUNES = {
    "Slow blues": replace(form("12-bar blues", Key.read("Bb")), tempo=66.0),
    "Two-chord vamp": read_chart("Key: E\n" + "1 b7 " * 8),
    "Long one": read_chart(f"Key: Eb\n{LONG}"),
    "Capo waltz": read_chart("{key: A}\n{capo: 2}\n{time: 3/4}\n| G | C | D7 | Em |", Options(capo_key="sounding")),
}
SIZES = {"a4": (595, 842), "letter": (612, 792)}


@pytest.fixture(scope="module")
def addresses(drill: Drill) -> dict[str, str]:
    """Where the sheets are: of every tune by its title, and of the ``night``."""
    with closing(Store(f"sqlite:///{drill.data / FILE_NAME}")) as store:
        with store.reading() as db:
            player = only_player(db)
        kept = {title: library.keep(store, player, title, chart, NOW) for title, chart in TUNES.items()}
        night = nights.make(
            store, player, {"name": "Open jam", "at": "2026-05-07T20:00", "place": "the back room"}, NOW
        )
        with store.writing(player) as (db, _):
            for position, tune in enumerate(kept.values()):
                values = {"player_id": player, "jam_id": night, "position": position, "tune_id": tune}
                db.add(SetListEntry(id=f"{position:032x}", key=None, tempo=None, **values))
    return {**{title: f"/tunes/{tune}/sheet" for title, tune in kept.items()}, "night": f"/jams/{night}/sheet"}


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("screen", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_sheets_are_there_for_everyone(
    drill: Drill, stage: Open, addresses: dict[str, str], screen: dict[str, int], dark: bool
) -> None:
    at = stage(drill, screen=screen, dark=dark)
    for which in ("night", "Capo waltz"):
        at.go(addresses[which])
        at.page.get_by_role("button", name="Print").wait_for()
        assert axe(at) == []
        assert small_targets(at) == []
        assert at.page.evaluate("document.documentElement.scrollWidth <= screen.width")
        unseen = """(ink) => [...document.querySelectorAll("svg [class]")].filter((mark) =>
          [getComputedStyle(mark).fill, getComputedStyle(mark).stroke].includes(ink)).length"""
        assert not dark or at.page.evaluate(unseen, "rgb(31, 28, 25)") == 0


def test_up_a_fourth_is_one_tap_and_back_another(drill: Drill, stage: Open, addresses: dict[str, str]) -> None:
    at = stage(drill)
    at.go(addresses["Slow blues"])
    first = at.page.locator(".by-name").first
    assert first.inner_text().startswith("B♭7")
    at.press("up a 4th")
    at.page.locator(".sheet-bars li", has_text="E♭7").first.wait_for()
    assert first.inner_text().startswith("E♭7")
    at.press("back to B♭ blues")
    at.page.locator(".sheet-bars li", has_text="F7").first.wait_for()
    assert first.inner_text().startswith("B♭7")
    at.press("G")
    at.page.locator("dl", has_text="G blues").wait_for()


def test_a_tune_of_the_night_is_called_elsewhere_and_the_others_stay(
    drill: Drill, stage: Open, addresses: dict[str, str]
) -> None:
    at = stage(drill, screen=DESKTOP)
    at.go(addresses["night"])
    at.page.locator("#tune-2").get_by_role("link", name="up a 5th").click()
    at.page.locator("#tune-2 dl", has_text="(called: E)").wait_for()
    keys = at.page.locator(".facts div:first-child dd").all_inner_texts()
    assert keys == ["B♭ blues", "B (called: E)", "E♭", "A"]
    assert at.page.evaluate("document.querySelector('#tune-2').getBoundingClientRect().top < innerHeight")


def test_without_scripts_all_but_the_button_is_there(chromium: Any, drill: Drill, addresses: dict[str, str]) -> None:
    context = chromium.new_context(java_script_enabled=False, viewport=PHONE)
    page = context.new_page()
    page.goto(drill.origin + addresses["Capo waltz"])
    assert not page.locator("#print").is_visible()
    assert not page.get_by_text("needs JavaScript").is_visible()
    page.get_by_text("Move the capo").click()
    page.get_by_role("group", name="Capo").get_by_role("link", name="5", exact=True).click()
    page.locator("dl", has_text="shapes of E").wait_for()
    assert page.locator(".by-shape").first.inner_text() == "E"
    context.close()


def test_on_paper_it_is_black_on_white_in_either_theme(drill: Drill, stage: Open, addresses: dict[str, str]) -> None:
    at = stage(drill, screen=DESKTOP, dark=True)
    at.go(addresses["night"])
    at.page.emulate_media(media="print", color_scheme="dark")
    read = """() => ["body", ".by-number", ".quiet", ".facts dt", "svg .on-tone", "svg .tone"].map((one) => {
      const style = getComputedStyle(document.querySelector(one));
      return [style.backgroundColor, style.color, style.fill]; })"""
    body, number, quiet, fact, letter, ring = at.page.evaluate(read)
    assert body[:2] == ["rgb(255, 255, 255)", "rgb(0, 0, 0)"]
    assert number[1] == letter[2] == "rgb(0, 0, 0)"
    assert ring[2] == "rgb(255, 255, 255)"
    assert {quiet[1], fact[1]} == {"rgb(51, 51, 51)"}
    assert not at.page.locator(".masthead").is_visible()
    assert not at.page.locator("#print").is_visible()


def printed(at: Stage, address: str) -> tuple[list[tuple[int, int]], dict[str, tuple[int, int]]]:
    """The sizes of the pages in points; by tune, the page that it begins on and how far up from its foot."""
    at.go(address)
    pdf = at.page.pdf(prefer_css_page_size=True).decode("latin-1")
    sizes = [(round(float(w)), round(float(h))) for w, h in re.findall(r"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", pdf)]
    (kids,) = re.findall(r"/Type /Pages\s+/Count \d+\s+/Kids \[([^\]]*)\]", pdf)
    order = re.findall(r"(\d+) 0 R", kids)
    begins = re.findall(r"/tune-(\d+) \[(\d+) 0 R /XYZ \S+ (\S+)", pdf)
    return sizes, {tune: (order.index(page) + 1, round(float(y))) for tune, page, y in begins}


@pytest.mark.parametrize("paper", SIZES)
def test_a_night_on_paper(drill: Drill, stage: Open, addresses: dict[str, str], paper: str) -> None:
    at = stage(drill, screen=DESKTOP, dark=True)
    sizes, begins = printed(at, f"{addresses['night']}?paper={paper}")
    assert set(sizes) == {SIZES[paper]}
    height = SIZES[paper][1]
    assert begins["1"][0] == 1
    assert begins["3"][1] > height * 0.94, "what does not fit whole begins a page"
    alone, _ = printed(at, f"{addresses['Long one']}?paper={paper}")
    assert len(alone) > 1
    assert begins["4"][0] > begins["3"][0]
    assert len(sizes) <= begins["4"][0] + 1


@pytest.mark.parametrize("paper", SIZES)
def test_nothing_is_torn_on_paper(drill: Drill, stage: Open, addresses: dict[str, str], paper: str) -> None:
    """What may not be cut is less high than a page, and says so to the printer."""
    at = stage(drill, screen={"width": SIZES[paper][0] * 4 // 3 - 106, "height": 900})
    at.go(f"{addresses['night']}?paper={paper}")
    at.page.emulate_media(media="print")
    whole = """() => [...document.querySelectorAll(".sheet-part, .grips > li, .sheet-bars > li, .tune")].map((one) =>
      [one.className, getComputedStyle(one).breakInside, one.getBoundingClientRect().height])"""
    found = at.page.evaluate(whole)
    assert {how for _, how, _ in found} == {"avoid"}
    room = SIZES[paper][1] * 4 / 3 - 106
    assert max(height for name, _, height in found if "tune" not in name) < room
    heads = at.page.evaluate(
        "[...document.querySelectorAll('.sheet h2, .sheet h3')].map((one) => getComputedStyle(one).breakAfter)"
    )
    assert set(heads) == {"avoid"}
