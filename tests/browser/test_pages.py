"""The pages around the session, and what holds for every page: reachable by everyone, small, our own."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.stage import DESKTOP, PHONE_ON_ITS_SIDE, ROOT, Drill, Stage

Open = Callable[..., Stage]

BUDGET = 60_000
SMALLEST_TARGET = 43.5  # px; 44 less what rounding takes

SMALL = """() => [...document.querySelectorAll("button, a, input, select, [role=gridcell], .chip")]
  .filter((one) => !one.closest("p") || one.matches("button"))
  .filter((one) => one.checkVisibility({ checkOpacity: true, checkVisibilityCSS: true }) && !one.matches(".skip"))
  .map((one) => [one, (one.matches(".check input") ? one.closest("label") : one).getBoundingClientRect()])
  .filter(([, box]) => box.width < SMALLEST || box.height < SMALLEST)
  .map(([one, box]) => `${one.outerHTML.slice(0, 80)} ${box.width} × ${box.height}`)"""


def small_targets(at: Stage) -> list[str]:
    return list(at.page.evaluate(SMALL.replace("SMALLEST", str(SMALLEST_TARGET))))


def axe(at: Stage) -> list[str]:
    """What axe finds on the page as it stands."""
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(at.page).response["violations"]
    return [f"{each['id']}: {[node['html'][:120] for node in each['nodes']]}" for each in found]


def test_the_first_visit_asks_five_things_once_and_starts_with_one_tap(new_drill: Drill, stage: Open) -> None:
    at = stage(new_drill)
    at.go("/")
    at.page.get_by_role("heading", name="Five things, if you like").wait_for()
    at.choose("B♭")
    at.choose("left-handed")
    at.choose("small")
    at.choose("three strings")
    tempo = at.page.get_by_role("spinbutton", name="Beats a minute")
    tempo.fill("300")
    at.press("Start")
    at.see("30 to 240 beats")
    tempo.fill("120")
    assert at.text("#bar") == "2.0"
    at.press("Start")
    at.wait_for_question()
    settings = new_drill.api("GET", "player")["settings"]
    answered = {name: settings[name] for name in ("keys", "left_handed", "hand", "barre", "tempo")}
    assert answered == {"keys": ["B♭"], "left_handed": True, "hand": "small", "barre": "three", "tempo": 120}
    new_drill.end_session()
    at.go("/")
    at.page.get_by_role("button", name="Start").wait_for()
    assert not at.page.locator("#first").is_visible()


def test_the_first_visit_may_be_passed_over(new_drill: Drill, stage: Open) -> None:
    at = stage(new_drill)
    at.go("/")
    at.page.get_by_role("heading", name="Five things, if you like").wait_for()
    at.press("Start")
    at.wait_for_question()
    assert new_drill.session()["minutes"] == 5


def test_settings_are_kept_at_once_and_a_wrong_one_is_said_where_it_stands(drill: Drill, stage: Open) -> None:
    at = stage(drill)
    at.go("/settings")
    at.choose("E♭")
    at.page.locator("#saved:not(:empty)").wait_for()
    assert drill.api("GET", "player")["settings"]["keys"] == ["E♭"]
    tempo = at.page.get_by_role("spinbutton", name="Beats a minute")
    tempo.fill("7")
    tempo.blur()
    at.page.locator('[data-field="tempo"] .problem').wait_for()
    assert "from 30 to 240" in at.text('[data-field="tempo"] .problem')
    at.page.get_by_role("button", name="More beats a minute").tap()
    at.page.locator('[data-field="tempo"] .problem').wait_for(state="detached")
    at.page.reload()
    at.page.locator('input[value="E♭"]:checked').wait_for()


def test_a_chosen_theme_stays(drill: Drill, stage: Open) -> None:
    at = stage(drill)
    at.go("/settings")
    at.choose("dark")
    at.go("/")
    assert at.page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(21, 24, 27)"


def test_the_neck_page_shows_a_box_with_its_seven_chords(drill: Drill, stage: Open) -> None:
    at = stage(drill)
    at.go("/neck?key=A♭&box=1")
    at.page.get_by_role("heading", name="A♭, box 1").wait_for()
    assert "A♭ major (F minor), box 1, frets 1–4." in at.text(".region-shown")
    names = [card.inner_text() for card in at.page.locator(".card h3").all()]
    assert names == ["1 A♭", "2 B♭m", "3 Cm", "4 D♭", "5 E♭", "6 Fm", "7 G°"]
    at.choose("sevenths")
    at.page.get_by_role("heading", name="4 D♭maj7").wait_for()
    at.page.reload()
    at.page.get_by_role("heading", name="4 D♭maj7").wait_for()
    assert at.page.locator(".card > svg:visible, .card > .drawing svg:visible").count() == 7


def test_the_neck_turns_with_the_phone_and_is_mirrored_for_the_left_hand(drill: Drill, stage: Open) -> None:
    def ends(at: Stage) -> tuple[Any, Any]:
        low = at.page.locator('[data-string="6"][data-fret="1"]').bounding_box()
        high = at.page.locator('[data-string="1"][data-fret="12"]').bounding_box()
        return low, high

    for left in (False, True):
        drill.api("PUT", "settings", {"left_handed": left})
        drill.seat("place:G:1:box1")
        at = stage(drill)
        at.go_on()
        low, high = ends(at)
        assert low["y"] < high["y"], "upright: the nut is on top"
        assert (low["x"] > high["x"]) is left
        at.place((3, None, None, None, None, None))
        at.page.set_viewport_size(PHONE_ON_ITS_SIDE)
        at.page.locator(".neck.across").wait_for()
        assert at.page.locator('[data-string="6"][data-fret="3"][aria-selected=true]').count() == 1
        low, high = ends(at)
        assert low["y"] > high["y"], "across: the low string is nearest to the player"
        assert (low["x"] > high["x"]) is left
        assert small_targets(at) == []
        assert at.page.evaluate("document.documentElement.scrollWidth <= screen.width")
        assert high["y"] >= 0
        assert low["y"] + low["height"] <= PHONE_ON_ITS_SIDE["height"]
    drill.api("PUT", "settings", {"left_handed": False})


def test_arrows_go_where_they_point_for_either_hand(drill: Drill, stage: Open) -> None:
    for left, towards_the_body in ((False, "ArrowRight"), (True, "ArrowLeft")):
        drill.api("PUT", "settings", {"left_handed": left})
        drill.seat("place:G:1:box1")
        at = stage(drill, screen=DESKTOP)
        at.go_on()
        at.keys(towards_the_body, towards_the_body, "ArrowUp", " ")
        set_there = at.page.locator("[role=gridcell][aria-selected=true]")
        assert set_there.get_attribute("aria-label") == "string 5 fret 2"
        at.keys("Backspace")
        assert set_there.count() == 0
    drill.api("PUT", "settings", {"left_handed": False})


def test_every_ask_fits_on_a_phone_on_its_side(drill: Drill, stage: Open) -> None:
    drill.seat("name:Ab:4.7", "place:Ab:4.7:box1", "name-place:Fs:5.7:box1", "number:G:6:box1")
    at = stage(drill, screen=PHONE_ON_ITS_SIDE)

    def fits() -> None:
        card = at.text(".asked .wanted")
        assert at.page.evaluate("document.documentElement.scrollHeight - innerHeight") <= 1, card
        assert at.page.evaluate("document.documentElement.scrollWidth - screen.width") <= 0, card
        assert small_targets(at) == [], card

    at.go_on()
    for ask in ("name", "place", "name-place", "number"):
        assert at.question()["prompt"]["ask"] == ask
        fits()
        if ask == "name-place":
            at.name("B♭m7♭5")
            at.press("Mark the region")
            fits()
        at.press("Show me")
        at.outcome()
        at.next()


def test_question_mark_lists_the_keys_which_can_be_turned_off(drill: Drill, stage: Open) -> None:
    drill.seat("name:Ab:4", "number:G:6:box1")
    at = stage(drill, screen=DESKTOP)
    at.go_on()
    at.keys("?")
    dialog = at.page.get_by_role("dialog", name="Keys")
    assert dialog.is_visible()
    assert axe(at) == []
    at.page.get_by_label("Single letters work as keys").uncheck()
    at.keys("Escape")
    assert not dialog.is_visible()
    at.keys("s")
    assert at.question()["question"] == 0
    assert at.page.get_by_label("Chord name, written").input_value() == "s"


def test_the_focus_goes_to_where_the_answer_is_and_the_outcome_is_said(drill: Drill, stage: Open) -> None:
    drill.seat("name:Ab:4", "place:G:1:box1")
    at = stage(drill, screen=DESKTOP)
    at.go_on()
    focused = "document.activeElement.getAttribute('aria-label') ?? document.activeElement.textContent"
    assert at.page.evaluate(focused) == "Chord name, written"
    at.answer(at.question())
    assert at.outcome() == "clean"
    assert at.page.evaluate(focused) == "Next"
    at.page.wait_for_timeout(60)
    assert at.page.locator("[role=status]").text_content().startswith("clean. D♭")
    at.next()
    at.wait_for_question()
    assert at.page.evaluate(focused) == "string 6 muted"


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("path", ["/", "/neck?key=B♭&box=3", "/settings", "/nowhere"])
def test_axe_finds_nothing_on_the_pages(drill: Drill, stage: Open, path: str, dark: bool) -> None:
    drill.end_session()
    at = stage(drill, dark=dark)
    at.go(path)
    at.page.wait_for_load_state("networkidle")
    assert axe(at) == []
    assert small_targets(at) == []
    assert at.page.evaluate("document.documentElement.scrollWidth <= screen.width")


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_axe_finds_nothing_from_the_first_card_to_the_closing_page(drill: Drill, stage: Open, dark: bool) -> None:
    drill.seat("name:Ab:4", "place:Ab:4:box1", "number:G:6:box1", "hands-on:G:2:box1", "name:D:3")
    at = stage(drill, dark=dark)
    at.go("/session")
    at.see("open in another tab")
    assert axe(at) == []
    at.press("Go on here")
    for _ in range(5):
        at.page.locator("[data-state=asking] .number").or_(at.page.get_by_role("heading", name="Pick up")).wait_for()
        if at.page.locator(".asked .said").count():
            assert axe(at) == []
            at.press("Ready")
        at.wait_for_question()
        question = at.question()
        assert axe(at) == [], question["card"]
        assert small_targets(at) == [], question["card"]
        words = at.page.locator(".asked [aria-hidden]").all_inner_texts()
        assert len(" ".join(words).split()) <= 8, words
        assert at.page.evaluate("document.documentElement.scrollHeight - innerHeight") <= 1, question["card"]
        if question["prompt"]["ask"] == "place":
            at.answer(question, frets=(4, 4, 4, None, 1, 12))
        elif question["prompt"]["ask"] == "hands-on":
            at.answer(question)
        else:
            at.press("Show me")
        at.acknowledged(question["question"])
        assert axe(at) == [], question["card"]
        assert small_targets(at) == [], question["card"]
        at.next()
    at.press("Leave")
    at.page.get_by_role("heading", name="A session is running").wait_for()
    assert axe(at) == []
    at.press("End it")
    at.page.wait_for_selector("#closing .card")
    assert axe(at) == []
    assert small_targets(at) == []


def test_an_empty_session_says_so_and_offers_a_step(drill: Drill, stage: Open) -> None:
    drill.seat("name:Ab:4")
    at = stage(drill)
    at.go("/")
    at.press("End it")
    at.see("No card was answered")
    at.press("To the start")
    at.page.get_by_role("button", name="Start").wait_for()
    at.go("/session")
    at.see("No session is running.")


def test_the_first_drill_page_is_small(drill: Drill, stage: Open) -> None:
    drill.seat("name:Ab:4")
    at = stage(drill)
    finished: list[Any] = []
    at.page.on("requestfinished", lambda request: finished.append(request))
    at.go_on()
    sizes = {
        request.url.removeprefix(drill.origin): request.sizes()["responseBodySize"]
        for request in finished
        if "/api/" not in request.url
    }
    assert {"/session", "/static/js/pages/session.js", "/static/css/session.css"} <= set(sizes)
    assert all(0 < size < 12_000 for size in sizes.values()), sizes
    assert sum(sizes.values()) <= BUDGET, sizes


def test_still_means_still(drill: Drill, stage: Open) -> None:
    drill.seat("name:Ab:4")
    at = stage(drill, motion=False)
    at.go_on()
    easings = at.page.evaluate("document.getAnimations().map((one) => one.effect.getTiming().easing)")
    assert easings == ["steps(4)"], "the clock goes on beat by beat, and nothing else moves"


WITH_SCRIPT = sorted(path.stem for path in (ROOT / "templates").glob("*.html") if "set entry" in path.read_text())


@pytest.mark.parametrize("template", WITH_SCRIPT)
def test_every_module_is_fetched_at_once(template: str) -> None:
    """The page names every module that its script imports, so that none waits for another."""
    import posixpath
    import re

    text = (ROOT / "templates" / f"{template}.html").read_text()
    entry = re.search(r'set entry = "([^"]+)"', text)
    named = re.search(r"set modules = \[([^]]*)\]", text)
    assert entry
    assert named
    needed: set[str] = set()
    waiting = [entry[1]]
    while waiting:
        module = waiting.pop()
        source = (ROOT / "static" / "js" / module).read_text()
        folder = posixpath.dirname(module)
        paths = re.findall(r'^import [^;]* from "(\.[^"]+)"', source, re.MULTILINE)
        imported = {posixpath.normpath(f"{folder}/{path}") for path in paths} - needed
        needed |= imported
        waiting += imported
    assert set(re.findall(r'"([^"]+)"', named[1])) == needed


def test_nothing_is_inline_in_the_templates() -> None:
    import re

    for template in (ROOT / "templates").glob("*.html"):
        text = template.read_text()
        assert not re.search(r"<style|\sstyle=|\son[a-z]+=|javascript:|<script(?![^>]*\ssrc=)", text), template.name
        assert not re.search(r'(?:href|src)="https?:', text), template.name


def test_no_form_takes_what_its_script_does_not_hear_yet() -> None:
    """What is typed before then would be lost, and sent it would be in the page's address."""
    import re

    for template in (ROOT / "templates").glob("*.html"):
        for form in re.findall(r"<form[^>]*>", template.read_text()):
            assert re.search(r'\sinert\b|\shidden\b|\smethod="dialog"', form), f"{template.name}: {form}"


@pytest.mark.parametrize("path", ["/", "/jams", "/tunes", "/tunes/new", "/neck", "/keys", "/settings"])
def test_every_form_listens_once_its_page_is_there(drill: Drill, stage: Open, path: str) -> None:
    drill.end_session()
    at = stage(drill)
    at.go(path)
    assert at.page.locator("form").count() > 0
    at.listen()


def test_a_part_of_a_page_that_did_not_come_is_said(drill: Drill, stage: Open) -> None:
    drill.end_session()
    at = stage(drill)
    at.page.route("**/fields.js", lambda route: route.abort())
    at.go("/")
    at.see("A part of this page did not come. Load it again.")
    at.page.unroute("**/fields.js")
    at.page.reload()
    at.listen()
    at.gone("did not come")


def test_the_first_answers_stay_where_the_page_is_left_without_starting(new_drill: Drill, stage: Open) -> None:
    at = stage(new_drill)
    at.go("/")
    at.listen()
    at.choose("left-handed")
    at.press("Settings")
    at.page.locator("#groups li").first.wait_for()
    assert new_drill.api("GET", "player")["settings"]["left_handed"]


def test_a_new_player_who_begins_in_settings_has_the_devices_zone(new_drill: Drill, stage: Open) -> None:
    at = stage(new_drill)
    at.page.add_init_script(
        "Intl.DateTimeFormat.prototype.resolvedOptions = () => ({ timeZone: 'America/New_York', locale: 'en' })"
    )
    at.go("/settings")
    at.listen()
    at.choose("small")
    at.see("Kept at")
    until_zone = lambda: new_drill.api("GET", "player")["settings"]  # noqa: E731
    for _ in range(50):
        if until_zone()["zone"] == "America/New_York":
            break
        at.page.wait_for_timeout(100)
    assert (until_zone()["zone"], until_zone()["hand"]) == ("America/New_York", "small")
