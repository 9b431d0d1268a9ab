"""Jams in a real browser: made, filled, put in order by mouse, finger and keyboard, copied, had back; in two
tabs and while the service is away."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from drill.clock import day_of
from drill.config import FILE_NAME
from tests.browser.stage import DESKTOP, PHONE, PHONE_ON_ITS_SIDE, Drill, Stage
from tests.browser.test_pages import axe, small_targets

Open = Callable[..., Stage]

CHARTS = {
    "Slow blues": "Key: Bb blues\n1 1 1 1 4 4 1 1 5 4 1 5",
    "Vamp": "Key: A\n1 b7",
    "Minor blues": "Key: F#m\n| F#m7 | Bm7 | F#m7 | C#7 |",
    "Turnaround": "Key: Eb\n1 6- 2-7 57",
}


def ahead(days: int = 9) -> str:
    """Eight in the evening, so many days after the player's today, which ends at four in the morning."""
    return f"{day_of(datetime.now(UTC), 'UTC', 4) + timedelta(days=days):%Y-%m-%d}T20:00"


def tunes(drill: Drill) -> dict[str, str]:
    """The band's tunes: ids by title."""
    there = {each["title"]: each["id"] for each in drill.api("GET", "tunes")["tunes"]}
    for title, text in CHARTS.items():
        if title not in there:
            there[title] = drill.api("POST", "tunes", {"title": title, "text": text})["id"]
    return there


def a_jam(drill: Drill, *titles: str, **more: Any) -> str:
    made = drill.api("POST", "jams", {"name": "Open jam", "at": ahead(), **more})
    there = tunes(drill)
    arrange(drill, made["id"], [{"tune": there[title]} for title in titles or ("Slow blues", "Vamp", "Minor blues")])
    return str(made["id"])


def jam(drill: Drill, jam_id: str) -> dict[str, Any]:
    return dict(drill.api("GET", f"jams/{jam_id}"))


def arrange(drill: Drill, jam_id: str, entries: list[dict[str, Any]]) -> None:
    """Put a set list in order from elsewhere."""
    was = [each["id"] for each in jam(drill, jam_id)["entries"]]
    drill.api("PUT", f"jams/{jam_id}/set-list", {"was": was, "entries": entries})


def past(drill: Drill, jam_id: str) -> None:
    """Let the jam have been last week."""
    with closing(sqlite3.connect(drill.data / FILE_NAME, timeout=10)) as db, db:
        at = f"{ahead(-7).replace('T', ' ')}:00.000000"
        db.execute("UPDATE jams SET at = ? WHERE id = ?", (at, jam_id))


def open_jam(at: Stage, jam_id: str) -> None:
    at.go(f"/jams/{jam_id}")
    at.page.locator("#when:not(:empty)").wait_for()


def on_page(at: Stage) -> list[str]:
    return [title.inner_text() for title in at.page.locator(".played-as a").all()]


def kept(drill: Drill, jam_id: str) -> list[str]:
    return [each["title"] for each in jam(drill, jam_id)["entries"]]


def until(at: Stage, found: Callable[[], Any], wanted: Any) -> None:
    """Wait until the service has it."""
    for _ in range(400):
        if found() == wanted:
            return
        at.page.wait_for_timeout(50)
    assert found() == wanted


def handle(at: Stage, title: str) -> Any:
    return at.page.get_by_role("button", name=f"Move {title}: drag it, or press Alt and an arrow key")


def middle(place: Any) -> tuple[float, float]:
    box = place.bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("screen", [PHONE, DESKTOP, PHONE_ON_ITS_SIDE], ids=["phone", "desktop", "on its side"])
def test_everybody_can_use_the_pages(drill: Drill, stage: Open, screen: dict[str, int], dark: bool) -> None:
    there, over = a_jam(drill, place="the back room", name="A jam with a rather long name"), a_jam(drill)
    past(drill, over)
    at = stage(drill, screen=screen, dark=dark)

    def fine() -> None:
        assert axe(at) == []
        assert small_targets(at) == []
        assert at.page.evaluate("document.documentElement.scrollWidth <= screen.width")

    at.go("/jams")
    at.see("Past (")
    at.page.get_by_text("Past (").click()
    fine()
    open_jam(at, there)
    at.page.get_by_text("Add tunes").click()
    at.see("in the list")
    at.page.get_by_text("Name, date, place, boxes").click()
    fine()
    at.press("Take Vamp off the list")
    at.press("Duplicate")
    fine()
    open_jam(at, over)
    fine()
    at.press("Delete")
    at.see("is deleted")
    fine()


def test_a_jam_is_made_filled_and_called_in_other_keys(new_drill: Drill, stage: Open) -> None:
    at = stage(new_drill)
    at.go("/jams")
    at.see("Your jams will stand here")
    at.page.get_by_label("Place, if you want").fill("the back room")
    at.press("Make it")
    at.see("a jam needs a name, like Open jam")
    at.page.get_by_label("Name").fill("Open jam")
    at.page.get_by_label("Date and time").fill(ahead(-3))
    at.press("Make it")
    at.see("that day is over")
    at.page.reload()
    assert at.page.get_by_label("Place, if you want").input_value() == "the back room", "nothing typed is lost"
    at.page.get_by_label("Date and time").fill(ahead())
    at.choose("3")
    at.press("Make it")
    at.see("Here will be the tunes that are played")
    at.see("There is no tune yet")
    tunes(new_drill)
    for number in range(6):
        new_drill.api("POST", "tunes", {"title": f"Cycle {number}", "text": "1 5 6- 4"})
    at.page.reload()
    at.page.get_by_label("Find").fill("blues")
    at.choose("Slow blues, B♭ blues")
    at.choose("Minor blues, F♯m")
    at.page.get_by_label("Find").fill("vam")
    at.choose("Vamp, A")
    at.press("Add 3 tunes")
    assert on_page(at) == ["Slow blues", "Minor blues", "Vamp"]
    at.page.get_by_label("Key of Slow blues that night").select_option("E♭ blues, up a fourth")
    at.page.get_by_label("Tempo of Vamp that night").fill("96")
    at.page.get_by_label("Tempo of Vamp that night").press("Enter")
    (made,) = new_drill.api("GET", "jams")["jams"]
    assert (made["name"], made["place"], made["boxes"], made["local"]) == ("Open jam", "the back room", [1, 3], ahead())

    def entries() -> list[tuple[Any, ...]]:
        return [(each["title"], each["plays_in"], each["plays_at"]) for each in jam(new_drill, made["id"])["entries"]]

    until(at, entries, [("Slow blues", "E♭ blues", 80), ("Minor blues", "F♯m", 80), ("Vamp", "A", 96)])
    at.see("written in B♭ blues · 12 bars · E♭7 A♭7 B♭7")
    at.page.get_by_label("Tempo of Vamp that night").fill("500")
    at.page.get_by_label("Tempo of Vamp that night").press("Enter")
    at.see("a tempo is from 30 to 240 beats a minute")
    assert at.page.get_by_label("Tempo of Vamp that night").input_value() == "500"
    assert entries()[2][2] == 96
    at.page.reload()
    at.see("written in B♭ blues")
    assert at.page.get_by_label("Tempo of Vamp that night").input_value() == "96"


def test_values_are_kept_as_they_are_changed(drill: Drill, stage: Open) -> None:
    there = a_jam(drill)
    at = stage(drill, screen=DESKTOP)
    open_jam(at, there)
    at.page.get_by_text("Name, date, place, boxes").click()
    place = at.page.get_by_label("Place, if you want")
    place.fill("Cellar")
    place.press("Tab")
    at.choose("4")
    at.page.get_by_label("Date and time").fill(ahead(10))
    until(at, lambda: (jam(drill, there)["place"], jam(drill, there)["boxes"]), ("Cellar", [1, 4]))
    until(at, lambda: jam(drill, there)["local"], ahead(10))
    at.see("in 10 days · Cellar · boxes 1 and 4")
    name = at.page.get_by_label("Name", exact=True)
    name.fill("")
    name.press("Enter")
    at.see("a jam needs a name, like Open jam")
    drill.api("PUT", f"jams/{there}", {"name": "Band night"})
    name.fill("House jam")
    name.press("Tab")
    at.see("The name was changed elsewhere to “Band night”.")
    assert name.input_value() == "House jam"
    at.press("Keep mine")
    at.page.get_by_role("heading", name="House jam").wait_for()
    until(at, lambda: jam(drill, there)["name"], "House jam")


def test_a_mouse_drags_a_tune_to_its_place(drill: Drill, stage: Open) -> None:
    there = a_jam(drill)
    at = stage(drill, screen=DESKTOP)
    open_jam(at, there)
    mouse = at.page.mouse

    def drag(title: str, below: str) -> None:
        row = at.page.locator(".set-list > li", has_text=below).bounding_box()
        mouse.move(*middle(handle(at, title)))
        mouse.down()
        mouse.move(row["x"] + 20, row["y"] + row["height"] - 2, steps=6)

    drag("Slow blues", below="Minor blues")
    assert kept(drill, there)[0] == "Slow blues", "not before it is let go"
    mouse.up()
    assert on_page(at) == ["Vamp", "Minor blues", "Slow blues"]
    until(at, lambda: kept(drill, there), on_page(at))
    drag("Vamp", below="Slow blues")
    assert on_page(at) == ["Minor blues", "Slow blues", "Vamp"]
    at.keys("Escape")
    mouse.up()
    assert on_page(at) == ["Vamp", "Minor blues", "Slow blues"]
    assert kept(drill, there) == on_page(at)


def test_a_finger_drags_a_tune_to_its_place(drill: Drill, stage: Open) -> None:
    there = a_jam(drill)
    at = stage(drill)
    open_jam(at, there)
    handle(at, "Vamp").scroll_into_view_if_needed()
    finger = at.context.new_cdp_session(at.page)
    (x, y), (_, top) = middle(handle(at, "Vamp")), middle(handle(at, "Slow blues"))
    finger.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    for part in range(1, 7):
        at.page.wait_for_timeout(20)
        point = {"x": x, "y": y + (top - y) * part / 6}
        finger.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [point]})
    at.page.wait_for_timeout(50)
    finger.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    until(at, lambda: kept(drill, there), ["Vamp", "Slow blues", "Minor blues"])
    assert on_page(at) == ["Vamp", "Slow blues", "Minor blues"]


def test_the_keyboard_moves_a_tune_and_keeps_the_focus(drill: Drill, stage: Open) -> None:
    there = a_jam(drill)
    at = stage(drill, screen=DESKTOP)
    open_jam(at, there)
    at.page.evaluate(
        """() => {
          window.heard = [];
          const place = document.querySelector("#said");
          new MutationObserver(() => heard.push(place.textContent)).observe(place, { childList: true });
        }"""
    )
    handle(at, "Slow blues").focus()
    at.keys("Alt+ArrowDown", "Alt+ArrowDown")
    assert on_page(at) == ["Vamp", "Minor blues", "Slow blues"], "two quick ones, neither lost"
    until(at, lambda: at.page.evaluate("heard.includes('Slow blues is number 3 of 3 now')"), True)
    until(at, lambda: kept(drill, there), ["Vamp", "Minor blues", "Slow blues"])
    focused = "document.activeElement.getAttribute('aria-label')"
    assert at.page.evaluate(focused).startswith("Move Slow blues")
    up = at.page.get_by_role("button", name="Slow blues up")
    up.focus()
    at.keys("Enter", "Enter", "Enter")
    until(at, lambda: at.page.evaluate("heard.includes('It is the first.')"), True)
    assert at.page.evaluate(focused) == "Slow blues up"
    until(at, lambda: kept(drill, there), ["Slow blues", "Vamp", "Minor blues"])


def test_what_was_taken_off_can_be_had_back(drill: Drill, stage: Open) -> None:
    there = a_jam(drill, "Slow blues", "Vamp", "Minor blues", "Turnaround")
    before = jam(drill, there)["entries"]
    at = stage(drill)
    open_jam(at, there)
    at.press("Take Vamp off the list")
    at.press("Take Minor blues off the list")
    at.see("Minor blues is off the list.")
    until(at, lambda: kept(drill, there), ["Slow blues", "Turnaround"])
    at.press("Have it back")
    at.see("Vamp is off the list.")
    at.press("Have it back")
    until(at, lambda: jam(drill, there)["entries"], before)
    at.press("Delete")
    at.see("Open jam is deleted.")
    assert jam(drill, there)["deleted"]
    at.page.reload()
    at.see("Open jam is deleted.")
    at.press("Have it back")
    at.page.get_by_role("heading", name="Set list").wait_for()
    assert jam(drill, there)["entries"] == before
    at.go("/jams")
    at.page.get_by_role("button", name="Delete Open jam").last.tap()
    at.see("Open jam is deleted.")
    at.press("Have it back")
    at.page.locator("#undo .notice").wait_for(state="detached")


def test_a_past_jam_is_not_changed_and_is_played_again(drill: Drill, stage: Open) -> None:
    over = a_jam(drill, place="Cellar", boxes=[2, 3])
    past(drill, over)
    at = stage(drill)
    open_jam(at, over)
    at.see("This jam is over; its tunes stand as they are today.")
    assert on_page(at) == ["Slow blues", "Vamp", "Minor blues"]
    assert at.page.get_by_role("button").all_inner_texts() == ["Duplicate", "Delete"]
    at.press("Duplicate")
    date = at.page.get_by_label("When is the next one?")
    assert date.input_value() == ahead(7) or date.input_value() == ahead(0), "the same evening of the week"
    date.fill(ahead(-20))
    at.press("Make the copy")
    at.see("that day is over")
    date.fill(ahead(14))
    at.press("Make the copy")
    at.see("in 14 days · Cellar · boxes 2 and 3")
    assert over not in at.page.url
    assert on_page(at) == ["Slow blues", "Vamp", "Minor blues"]
    at.page.go_back()
    at.see("This jam is over; its tunes stand as they are today.")


def test_two_tabs_and_another_device_do_not_undo_each_other(drill: Drill, stage: Open) -> None:
    there = a_jam(drill)
    at = stage(drill, screen=DESKTOP)
    open_jam(at, there)
    one, two, three = jam(drill, there)["entries"]
    arrange(drill, there, [{"id": three["id"]}, {"id": one["id"], "tempo": 61}, {"id": two["id"]}])
    assert on_page(at) == ["Slow blues", "Vamp", "Minor blues"], "it does not know yet"
    at.page.get_by_role("button", name="Take Vamp off the list").click()
    until(at, lambda: kept(drill, there), ["Minor blues", "Slow blues"])
    until(at, lambda: on_page(at), ["Minor blues", "Slow blues"])
    assert jam(drill, there)["entries"][1]["tempo"] == 61
    other = at.tab()
    other.goto(f"{drill.origin}/jams/{there}")
    other.get_by_label("Tempo of Slow blues that night").fill("72")
    other.get_by_label("Tempo of Slow blues that night").press("Enter")
    mine = at.page.get_by_label("Tempo of Slow blues that night")
    until(at, mine.input_value, "72")
    at.page.get_by_label("Key of Slow blues that night").select_option("C blues, up a tone")
    until(at, lambda: [jam(drill, there)["entries"][1][part] for part in ("key", "tempo")], ["C blues", 72])


def test_a_jam_that_ended_elsewhere_is_not_changed(drill: Drill, stage: Open) -> None:
    there = a_jam(drill)
    at = stage(drill)
    open_jam(at, there)
    drill.api("DELETE", f"jams/{there}", {})
    at.press("Vamp up")
    at.see("this jam is deleted: have it back first")
    at.press("Have it back")
    at.page.get_by_role("heading", name="Set list").wait_for()
    assert on_page(at) == kept(drill, there) == ["Slow blues", "Vamp", "Minor blues"]


def test_nothing_is_lost_while_the_service_is_away(new_drill: Drill, stage: Open) -> None:
    there = a_jam(new_drill)
    at = stage(new_drill)
    open_jam(at, there)
    # The days until then are played ahead, which takes its time on a busy machine.
    at.page.locator("#readiness:not([aria-busy])").wait_for(timeout=60_000)
    new_drill.stop()
    at.press("Minor blues up")
    at.page.get_by_label("Key of Vamp that night").select_option("D, up a fourth")
    at.see("The service does not answer.")
    at.see("What you changed is kept on this device.")
    assert on_page(at) == ["Slow blues", "Minor blues", "Vamp"]
    new_drill.start()
    at.page.on("dialog", lambda dialog: dialog.accept())
    at.page.reload()
    until(at, lambda: kept(new_drill, there), ["Slow blues", "Minor blues", "Vamp"])
    until(at, lambda: jam(new_drill, there)["entries"][2]["plays_in"], "D")
    until(at, lambda: at.page.evaluate("localStorage.getItem('draft:jam:' + location.pathname.slice(6))"), None)


def test_a_new_tune_comes_back_to_the_jam_once(drill: Drill, stage: Open) -> None:
    there = a_jam(drill, "Vamp")
    at = stage(drill, screen=DESKTOP)
    open_jam(at, there)
    at.page.get_by_text("Add tunes").click()
    at.press("A new tune")
    at.page.wait_for_url("**/tunes/new?*")
    at.listen()
    at.page.get_by_label("Title").fill("Two five one")
    at.page.get_by_label("Chart", exact=True).fill("2-7 57 1maj7 1maj7")
    at.press("Save")
    at.page.wait_for_url(f"**/jams/{there}")
    until(at, lambda: kept(drill, there), ["Vamp", "Two five one"])
    at.page.reload()
    at.page.get_by_text("Two five one").first.wait_for()
    at.page.go_back()
    at.page.get_by_label("Title").wait_for()
    at.page.go_forward()
    at.page.get_by_text("Two five one").first.wait_for()
    assert kept(drill, there) == ["Vamp", "Two five one"]


def test_the_calendar_file_is_downloaded(drill: Drill, stage: Open) -> None:
    there = a_jam(drill)
    at = stage(drill)
    open_jam(at, there)
    with at.page.expect_download() as download:
        at.press("Calendar")
    assert download.value.suggested_filename == f"jam-{ahead()[:10]}.ics"
