"""The Keys page with demo data, on a phone and on a desktop, in both themes."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.browser.stage import DESKTOP, PHONE, Drill, Stage
from tests.browser.test_pages import axe, small_targets

Open = Callable[..., Stage]


def open_keys(at: Stage, query: str = "") -> None:
    """The page with everything on it that is loaded apart."""
    at.go(f"/keys{query}")
    at.page.locator("#map [aria-label], #map tbody th").first.wait_for()
    at.page.locator("#course:not([aria-busy])").wait_for(timeout=20_000)


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("screen", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_axe_finds_nothing_on_the_map_the_table_and_a_cell(
    band: Drill, stage: Open, screen: dict[str, int], dark: bool
) -> None:
    at = stage(band, screen=screen, dark=dark)
    open_keys(at)
    at.page.locator(".figure.weak").first.click()
    at.page.locator("#close-title").wait_for()
    for summary in at.page.locator("summary").all():
        if summary.is_visible():
            summary.click()
    assert at.page.locator("#close").get_by_text("Last answers").is_visible()
    assert axe(at) == []
    assert small_targets(at) == []
    assert at.page.evaluate("document.documentElement.scrollWidth <= screen.width")
    open_keys(at, "?as=table")
    assert axe(at) == []
    assert at.page.evaluate("document.documentElement.scrollWidth <= screen.width")


def test_the_weakest_three_are_in_the_weak_keys_and_marked_on_the_map(band: Drill, stage: Open) -> None:
    at = stage(band)
    open_keys(at)
    marked = at.page.locator(".figure.weak")
    assert marked.count() == 3
    for label in (one.get_attribute("aria-label") for one in marked.all()):
        assert "of E♭" in label or "of A♭" in label
        assert label.endswith("among the weakest")
    assert at.text("#words").count("Weak: ") == 3
    assert "flat keys" in at.text("#why")


def test_what_is_not_sure_says_so_without_colour(band: Drill, stage: Open) -> None:
    at = stage(band)
    open_keys(at)
    unsure, new = at.page.locator(".figure.unsure").first, at.page.locator(".figure.new").first
    assert unsure.inner_text().endswith("?")
    assert "not sure" in str(unsure.get_attribute("aria-label"))
    assert new.inner_text() == "–"
    assert "no answers yet" in str(new.get_attribute("aria-label"))


def test_filters_stay_in_the_address_and_change_the_map(band: Drill, stage: Open) -> None:
    at = stage(band, screen=DESKTOP)
    open_keys(at)
    at.page.get_by_role("combobox", name="Ask").select_option("name")
    at.page.locator("#map[aria-busy]").wait_for(state="detached")
    at.page.wait_for_url("**/keys?*ask=name*")
    at.page.reload()
    assert at.page.get_by_role("combobox", name="Ask").input_value() == "name"
    at.page.locator("#map .figure").first.wait_for()
    at.page.get_by_role("combobox", name="Keys").select_option("minor")
    at.page.get_by_role("rowheader", name="F♯m", exact=True).wait_for()
    at.see("No answers to these cards yet.")
    at.page.get_by_role("link", name="Show all of the map").click()
    at.page.get_by_text(re.compile(r"^\d+ of 91 chords have answers\.$")).wait_for()


def test_the_table_has_the_same_content_and_is_sorted_by_its_heads(band: Drill, stage: Open) -> None:
    at = stage(band, screen=DESKTOP)
    open_keys(at, "?as=table")
    table = at.page.locator("#map table")
    assert table.locator("tbody tr").count() == 13 * 7

    def column(number: int) -> list[str]:
        return [row.locator("td").nth(number).inner_text() for row in table.locator("tbody tr").all()]

    at.press("Of 100 clean")
    figures = [int(text) for text in column(2) if text != "–"]
    assert figures == sorted(figures)
    assert table.locator("[aria-sort=ascending]").inner_text().startswith("Of 100 clean")
    at.press("Of 100 clean")
    assert [int(text) for text in column(2) if text != "–"] == figures[::-1]
    shown = band.api("GET", "keys")
    assert len(figures) == sum(cell["p"] is not None for key in shown["keys"] for cell in key["cells"])


def test_a_cell_opens_by_the_keyboard_and_drills_what_it_shows(band: Drill, stage: Open) -> None:
    band.end_session()
    at = stage(band, screen=DESKTOP)
    open_keys(at)
    at.page.locator(".figure.weak").first.focus()
    at.keys("Enter")
    at.page.locator("#close-title").wait_for()
    at.page.locator("#close-title:focus").wait_for()
    title = at.text("#close-title")
    assert at.page.locator("#close svg").count() == 2
    at.press("Drill this")
    at.wait_for_question()
    session = band.session()
    asked_for = title.partition(":")[0].lower()
    reasons = [each["reason"].lower() for each in session["questions"]]
    assert reasons[0] == f"you asked for {asked_for}."
    assert "Demo data" in at.text(".bar")
    at.go("/keys")
    at.page.locator(".figure.weak").first.click()
    at.press("Drill this")
    at.see("A session is running already")
    band.end_session()


def test_the_way_back_from_a_cell_leads_to_where_it_was_opened(band: Drill, stage: Open) -> None:
    for query, opener in (("", ".figure.weak"), ("?as=table", "#map tbody button")):
        at = stage(band)
        open_keys(at, query)
        at.page.locator(opener).first.click()
        at.page.locator("#close-title:focus").wait_for()
        at.press("Back to the map")
        assert at.page.locator("#close").is_hidden()
        assert at.page.locator(opener).first.evaluate("cell => cell === document.activeElement")
        assert at.page.locator("[aria-pressed]").count() == 0


def test_of_two_cells_the_one_opened_last_is_shown(band: Drill, stage: Open) -> None:
    at = stage(band)
    open_keys(at)
    held: list[Any] = []
    at.page.route("**/api/keys/Ab/5?*", lambda route: held.append(route))
    at.page.get_by_role("button", name="5 of A♭").click()
    at.page.get_by_role("button", name="6 of A♭").click()
    at.see("The six of A♭: Fm")
    with at.page.expect_event("requestfinished", lambda request: "/api/keys/Ab/5?" in request.url):
        held[0].continue_()
    at.page.wait_for_timeout(100)
    assert at.text("#close-title") == "The six of A♭: Fm"


def test_a_file_that_was_not_answered_to_is_not_said_to_be_refused(new_drill: Drill, stage: Open) -> None:
    at = stage(new_drill)
    open_keys(at)
    at.page.route("**/api/import", lambda route: route.abort())
    bring(at, Path(__file__))
    at.see("The service does not answer. Load the page again")
    at.page.unroute("**/api/import")
    bring(at, Path(__file__))
    at.see("Nothing was taken in. line 1, column 3: not JSON")


def test_every_drawing_says_in_words_what_it_shows_and_has_its_figures_beside_it(band: Drill, stage: Open) -> None:
    at = stage(band)
    open_keys(at)
    drawings = at.page.locator("#course > .abreast figure")
    assert drawings.count() >= 5
    for figure in drawings.all():
        assert figure.locator("svg > title").count() == 1
        assert figure.locator("svg > desc").text_content()
        assert figure.locator("details table").count() == 1
    assert at.page.locator("#honest svg").count() == 1
    assert "Predicted" in at.text("#honest")


def test_a_long_log_says_how_far_it_was_gone_through(band: Drill, stage: Open) -> None:
    at = stage(band)
    held: list[Any] = []

    def slowly(route: Any) -> None:
        if held:
            held.append(route)
        else:
            held.append(None)
            route.fulfill(status=202, json={"reviews": 5000, "of": 48211})

    at.page.route("**/api/keys/course", slowly)
    at.go("/keys")
    at.see("Reading your answers: 5,000 of 48,211")
    assert at.page.get_by_role("progressbar", name="Answers read").get_attribute("value") == "5000"
    assert axe(at) == []
    held[1].continue_()
    at.page.locator("#course > .abreast figure").first.wait_for()
    assert at.page.get_by_role("progressbar").count() == 0


def test_light_ink_is_nowhere_on_dark_paper(band: Drill, stage: Open) -> None:
    at = stage(band, dark=True, screen=DESKTOP)
    open_keys(at)
    unseen = at.page.evaluate(
        """() => [...document.querySelectorAll("svg [class]")]
          .filter((mark) => ["rgb(31, 28, 25)", "rgb(12, 92, 92)"].some((ink) =>
            [getComputedStyle(mark).fill, getComputedStyle(mark).stroke].includes(ink)))
          .map((mark) => mark.getAttribute("class"))"""
    )
    assert unseen == []


def test_everything_is_taken_away_and_brought_back_with_equal_figures(
    band: Drill, new_drill: Drill, stage: Open, tmp_path: Path
) -> None:
    band.end_session()
    at = stage(band)
    open_keys(at)
    with at.page.expect_download() as caught:
        at.press("Everything, as JSON")
    file = tmp_path / "mine.json"
    caught.value.save_as(file)
    assert json.loads(file.read_text())["format"] == "anchor-drill"
    empty = stage(new_drill)
    open_keys(empty)
    empty.see("No answers yet: the first session")
    broken = tmp_path / "broken.json"
    broken.write_text(file.read_text().replace('"outcome": "clean"', '"outcome": "lucky"', 1))
    bring(empty, broken)
    empty.see("Nothing was taken in. reviews[")
    bring(empty, file)
    empty.see("Taken in: ")
    empty.page.locator(".figure.weak").first.wait_for()

    def figures(drill: Drill) -> Any:
        return [
            [cell["answers"], cell["p"] and round(cell["p"], 2)]
            for key in drill.api("GET", "keys")["keys"]
            for cell in key["cells"]
        ]

    assert figures(new_drill) == figures(band)


def bring(at: Stage, file: Path) -> None:
    at.page.get_by_label("Bring a file back").set_input_files(file)


def test_a_first_visit_finds_words_and_no_weakness(new_drill: Drill, stage: Open) -> None:
    at = stage(new_drill)
    open_keys(at)
    at.see("No answers yet: the first session")
    assert at.page.get_by_role("link", name="To the first session").is_visible()
    at.see("Too few answers to tell the skills apart yet")
    at.see("The graph needs 300")
    assert axe(at) == []
    assert at.page.locator(".figure.weak").count() == 0
