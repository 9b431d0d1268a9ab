"""Tunes: typed, read along, brought in as files, kept on the device until they are saved."""

from __future__ import annotations

import base64
from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.stage import DESKTOP, PHONE, PHONE_ON_ITS_SIDE, Drill, Stage
from tests.browser.test_pages import axe, small_targets

Open = Callable[..., Stage]
CHART = "Verse\n| B♭7 | E♭7 | B♭7 . Fm7 B♭7 | Gxx7 |\nsome words that are dropped\n| C/G | F7 | B♭7 G7♭9 Cm7 F7 |"


def wide(at: Stage) -> bool:
    return bool(at.page.evaluate("document.documentElement.scrollWidth > innerWidth"))


def titles(drill: Drill) -> list[str]:
    return [each["title"] for each in drill.api("GET", "tunes")["tunes"]]


def typed(at: Stage, chart: str = CHART) -> None:
    at.go("/tunes/new")
    at.page.locator("#text").fill(chart)
    at.page.locator("#chart .bars").first.wait_for()


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("screen", [PHONE, PHONE_ON_ITS_SIDE, DESKTOP], ids=["phone", "on its side", "desktop"])
def test_axe_finds_nothing_in_the_editor_and_the_list(
    drill: Drill, stage: Open, screen: dict[str, int], dark: bool
) -> None:
    at = stage(drill, screen=screen, dark=dark)
    typed(at)
    at.page.locator("#unread .key").wait_for()
    assert (axe(at), small_targets(at), wide(at)) == ([], [], False)
    drill.api("POST", "tunes", {"title": "Vamp", "text": "Key: A\n1 b7", "options": {}})
    at.go("/tunes")
    at.page.locator(".tunes li").first.wait_for()
    assert (axe(at), small_targets(at), wide(at)) == ([], [], False)


def test_a_chart_is_read_while_it_is_typed(new_drill: Drill, stage: Open) -> None:
    at = stage(new_drill)
    typed(at)
    assert "11 of 12 chords read" in at.page.locator("#counted").inner_text()
    at.page.locator("#unread .key").click()
    chosen = "[document.activeElement.selectionStart, document.activeElement.selectionEnd]"
    start, end = at.page.evaluate(chosen)
    assert CHART[start:end] == "Gxx7"
    first = at.page.locator(".change strong").first
    before = first.inner_text()
    at.page.locator("#best button").nth(1).click()
    at.page.wait_for_timeout(900)
    assert first.inner_text() != before, "another key, one tap away"
    at.page.get_by_role("button", name="Read it the other way").first.click()
    at.page.locator(".change", has_text="G").first.wait_for()


def test_what_is_typed_survives_a_reload_and_is_saved_once(new_drill: Drill, stage: Open) -> None:
    at = stage(new_drill)
    typed(at)
    at.page.locator("[name=title]").fill("Slow blues")
    at.page.reload()
    at.page.get_by_text("Not saved yet: what you typed here").wait_for()
    assert at.page.locator("#text").input_value() == CHART
    assert at.page.locator("[name=title]").input_value() == "Slow blues"
    at.page.locator("#tune button[type=submit]").dblclick()
    at.page.get_by_text("Saved.", exact=True).wait_for()
    assert titles(new_drill) == ["Slow blues"]
    at.page.reload()
    at.page.locator("#chart .bars").first.wait_for()
    assert "dropped" not in at.page.locator("#text").input_value(), "words were never kept"
    assert at.page.get_by_role("link", name="Play along").get_attribute("href").endswith("/play")


def test_an_error_loses_nothing_that_was_typed(new_drill: Drill, stage: Open) -> None:
    at = stage(new_drill)
    typed(at, "1 4 5 1")
    at.page.locator("#tune button[type=submit]").click()
    at.page.locator("[data-problem=title]", has_text="a tune needs a title").wait_for()
    at.page.locator("[name=title]").fill("Vamp")
    new_drill.stop()
    at.page.locator("#tune button[type=submit]").click()
    at.page.locator("#trouble", has_text="What you typed is kept here.").wait_for(timeout=15_000)
    new_drill.start()
    at.page.locator("#tune button[type=submit]").click()
    at.page.get_by_text("Saved.", exact=True).wait_for()
    assert titles(new_drill) == ["Vamp"]
    at.errors.clear()


def test_two_tabs_are_told_of_each_other(new_drill: Drill, stage: Open) -> None:
    made = new_drill.api("POST", "tunes", {"title": "Vamp", "text": "Key: A\n1 b7", "options": {}})
    at = stage(new_drill)
    at.go(f"/tunes/{made['id']}")
    at.page.locator("#chart .bars").first.wait_for()
    new_drill.api("PUT", f"tunes/{made['id']}", {**made, "title": "Another vamp"})
    at.page.locator("[name=title]").fill("My vamp")
    at.page.locator("#tune button[type=submit]").click()
    at.page.get_by_text("changed elsewhere").wait_for()
    at.page.get_by_role("button", name="Keep what is here").click()
    at.page.get_by_text("Saved.", exact=True).wait_for()
    assert titles(new_drill) == ["My vamp"]
    at.errors.clear()


def test_a_form_is_something_to_start_from(new_drill: Drill, stage: Open) -> None:
    at = stage(new_drill, screen=PHONE)
    at.go("/tunes/new")
    at.page.locator("[name=form]").select_option("minor blues")
    at.page.locator("[name=form-key]").select_option("A")
    at.page.get_by_role("button", name="Use it").click()
    at.page.locator("#chart .bars").first.wait_for()
    assert at.page.locator("[name=title]").input_value() == "Minor blues in A"
    assert "Am" in at.page.locator("#counted").inner_text()


def test_files_are_brought_in_dropped_refused_and_taken_out_again(new_drill: Drill, stage: Open) -> None:
    at = stage(new_drill)
    at.go("/tunes")
    at.page.get_by_text("Here will be the tunes of your band").wait_for()
    files: list[dict[str, Any]] = [
        {"name": "slow.pro", "mimeType": "text/plain", "buffer": b"{title: Slow blues}\n[Bb7]la [Eb7]la"},
        {"name": "photo.jpg", "mimeType": "image/jpeg", "buffer": b"\xff\xd8\0\0"},
    ]
    at.page.locator("[name=files]").set_input_files(files)
    at.page.locator(".results", has_text="photo.jpg not taken: this is a binary file").wait_for()
    assert titles(new_drill) == ["Slow blues"]
    data = base64.b64encode(b"Key: A\n1 b7 1 b7").decode()
    at.page.evaluate(
        """(data) => {
          const held = new DataTransfer();
          held.items.add(new File([Uint8Array.from(atob(data), (c) => c.charCodeAt(0))], "back_room_vamp.txt"));
          dispatchEvent(new DragEvent("drop", { dataTransfer: held, bubbles: true, cancelable: true }));
        }""",
        data,
    )
    at.page.locator(".tunes", has_text="back room vamp").wait_for()
    at.page.get_by_role("button", name="Take it out again").click()
    at.page.get_by_text("Taken out again.").wait_for()
    assert titles(new_drill) == ["Slow blues"]
    at.page.get_by_role("button", name="Delete Slow blues").click()
    at.page.get_by_role("button", name="Have it back").click()
    at.page.locator(".tunes", has_text="Slow blues").wait_for()
