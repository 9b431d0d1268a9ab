"""The player's guitar, band and choice of cards in Settings, and what the Neck page makes of them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest

from tests.browser.stage import DESKTOP, PHONE, Drill, Stage
from tests.browser.test_pages import axe, small_targets

Open = Callable[..., Stage]

PLAIN = {
    "keys": [],
    "tuning": "standard",
    "capo": 0,
    "frets": 22,
    "hand": "medium",
    "barre": "full",
    "pins": [],
    "band": False,
    "switched_off": [],
    "highest": 22,
}


@pytest.fixture(autouse=True)
def plain_guitar(drill: Drill) -> Iterator[None]:
    """Afterwards the player is as before."""
    yield
    drill.api("PUT", "settings", PLAIN)


def kept(drill: Drill, at: Stage, name: str, wanted: object) -> None:
    """Wait until the service has kept a setting."""
    for _ in range(50):
        if drill.api("GET", "player")["settings"][name] == wanted:
            return
        at.page.wait_for_timeout(100)
    raise AssertionError(f"{name} is {drill.api('GET', 'player')['settings'][name]}, not {wanted}")


def open_settings(at: Stage) -> None:
    at.go("/settings")
    at.page.locator("#groups li").first.wait_for()


# ---- Settings


def test_the_guitar_the_hand_and_the_band_are_kept(drill: Drill, stage: Open) -> None:
    at = stage(drill)
    open_settings(at)
    at.press("Capo higher")
    kept(drill, at, "capo", 1)
    at.press("More frets")
    kept(drill, at, "frets", 23)
    for name, words in (
        ("thumb", "My thumb can hold string 6"),
        (
            "band",
            "A bass or keys play along: small voicings on the upper strings come first, "
            "and a seventh chord may leave out its root",
        ),
        ("richer", "The seventh chord counts where the triad is asked"),
    ):
        at.choose(words)
        kept(drill, at, name, True)
        at.page.get_by_label(words).uncheck()
        kept(drill, at, name, False)
    scale = at.page.get_by_label("Scale length")
    scale.fill("628.5")
    scale.blur()
    kept(drill, at, "scale_mm", 628.5)
    scale.fill("64")
    scale.blur()
    at.page.locator('[data-field="scale_mm"] .problem').wait_for()
    scale.fill("648")
    scale.blur()
    kept(drill, at, "scale_mm", 648.0)
    at.press("Lower")
    kept(drill, at, "highest", 21)


def test_a_tuning_is_taken_by_name_or_by_its_notes_and_a_wrong_one_stays_to_be_mended(
    drill: Drill, stage: Open
) -> None:
    at = stage(drill)
    open_settings(at)
    field = at.page.get_by_role("textbox", name="Tuning")
    at.press("drop D")
    kept(drill, at, "tuning", "drop D")
    assert field.input_value() == "drop D"
    field.fill("D A D G A")
    field.blur()
    at.page.locator('[data-field="tuning"] .problem').wait_for()
    assert "six notes low to high" in at.text('[data-field="tuning"] .problem')
    assert field.input_value() == "D A D G A", "nothing typed is lost"
    assert drill.api("GET", "player")["settings"]["tuning"] == "drop D"
    field.fill("D A D G A D")
    field.blur()
    kept(drill, at, "tuning", "D A D G A D")
    at.page.locator('[data-field="tuning"] .problem').wait_for(state="detached")


def test_what_is_shown_last_is_what_is_kept_however_slow_the_way(drill: Drill, stage: Open) -> None:
    drill.api("PUT", "settings", {"capo": 0})
    at = stage(drill)
    open_settings(at)
    held: list[Any] = []
    at.page.route("**/api/settings", lambda route: route.continue_() if held else held.append(route))
    with at.page.expect_request("**/api/settings"):
        at.press("Capo higher")
    at.press("Capo higher")
    at.press("Capo higher")
    held[0].continue_()
    kept(drill, at, "capo", 3)


def test_what_could_not_be_kept_is_kept_with_the_next_change(drill: Drill, stage: Open) -> None:
    drill.api("PUT", "settings", {"capo": 0, "hand": "medium"})
    at = stage(drill)
    open_settings(at)
    at.context.set_offline(True)
    at.choose("small")
    at.see("Not kept: ")
    at.context.set_offline(False)
    at.press("Capo higher")
    kept(drill, at, "capo", 1)
    kept(drill, at, "hand", "small")
    at.gone("Not kept: ")


def test_nothing_can_be_changed_before_the_settings_are_there(drill: Drill, stage: Open) -> None:
    at = stage(drill)
    held: list[Any] = []
    at.page.route("**/api/player", lambda route: held.append(route))
    at.go("/settings")
    at.page.locator("#fields").wait_for()
    assert at.page.locator("#fields").evaluate("form => form.inert")
    held[0].continue_()
    at.page.locator("#groups li").first.wait_for()
    assert not at.page.locator("#fields").evaluate("form => form.inert")


def test_minor_keys_and_blues_are_among_the_keys_played_most(drill: Drill, stage: Open) -> None:
    at = stage(drill)
    open_settings(at)
    assert not at.page.get_by_role("checkbox", name="Am", exact=True).is_visible()
    at.page.get_by_text("Minor keys and blues").tap()
    at.choose("Am")
    at.choose("A blues")
    kept(drill, at, "keys", ["Am", "A blues"])
    open_settings(at)
    assert at.page.get_by_role("checkbox", name="A blues", exact=True).is_checked(), "what is chosen is in sight"
    assert axe(at) == []
    assert small_targets(at) == []


def test_groups_say_in_words_what_they_hold_and_a_session_keeps_to_them(drill: Drill, stage: Open) -> None:
    at = stage(drill, screen=DESKTOP)
    open_settings(at)
    groups = drill.api("GET", "player")["groups"]
    labels = at.page.locator("#groups label").all_inner_texts()
    assert len(labels) == len(groups)
    assert not any(":" in label for label in labels), labels
    assert "place a borrowed chord 910 cards" in labels
    boxes = at.page.locator("#groups input")
    assert boxes.evaluate_all("every => every.every(one => one.checked)")
    for group in groups:
        if group["name"].startswith("ask:") and group["name"] != "ask:spell":
            at.page.locator(f'#groups input[value="{group["name"]}"]').uncheck()
    kept(drill, at, "switched_off", [each for each in _asks_as_shown(at) if each != "ask:spell"])
    at.page.locator('#groups input[value="ask:spell"]').uncheck()
    at.page.locator("[data-place] .problem").wait_for()
    assert "one kind of question at least" in at.text("[data-place] .problem")
    drill.end_session()
    at.go("/")
    at.press("Start")
    at.wait_for_question()
    assert {each["prompt"]["ask"] for each in drill.session()["questions"]} == {"spell"}
    drill.end_session()


def _asks_as_shown(at: Stage) -> list[str]:
    values: list[str] = at.page.locator('#groups input[value^="ask:"]').evaluate_all("all => all.map(one => one.value)")
    return values


# ---- the Neck page


def headings(at: Stage) -> list[str]:
    return list(at.page.locator(".card h3").all_inner_texts())


def test_the_neck_page_shows_minor_keys_and_blues(drill: Drill, stage: Open) -> None:
    at = stage(drill)
    at.go("/neck?key=C&box=1")
    at.page.get_by_role("heading", name="C, box 1").wait_for()
    at.choose("minor")
    at.page.get_by_role("heading", name="Am, box 1").wait_for()
    assert headings(at)[:3] == ["1 Am", "2 B°", "♭3 C"]
    at.choose("blues")
    at.page.get_by_role("heading", name="C blues, box 1").wait_for()
    assert headings(at) == ["1 C7", "4 F7", "5 G7"]
    assert "C blues (C minor box)" in at.text(".region-shown"), "which tonic the box belongs to"
    assert not at.page.get_by_role("radio", name="triads").is_visible()
    at.page.reload()
    at.page.get_by_role("heading", name="C blues, box 1").wait_for()
    assert axe(at) == []
    assert small_targets(at) == []


def test_a_capo_says_what_sounds_and_what_is_fretted(drill: Drill, stage: Open) -> None:
    drill.api("PUT", "settings", {"capo": 2, "tuning": "drop D"})
    at = stage(drill)
    at.go("/neck?key=A&box=1")
    at.see("capo 2: sounding A, fretted G")
    assert "Tuning drop D" in at.text(".region-shown")
    assert "fretted Am" in at.page.locator(".card").nth(1).inner_text()


@pytest.mark.parametrize("screen", [PHONE, DESKTOP], ids=["by touch on a phone", "by keyboard on a desktop"])
def test_the_smoothest_way_through_a_progression(drill: Drill, stage: Open, screen: dict[str, int]) -> None:
    at = stage(drill, screen=screen)
    at.go("/neck?key=E♭&box=1")
    at.page.get_by_role("heading", name="E♭, box 1").wait_for()
    field = at.page.get_by_label("Way through")
    field.fill("1 6- 2-7 5")
    at.press("Show") if at.by_touch else field.press("Enter")
    at.page.locator(".way-shown").wait_for()
    assert headings(at)[:4] == ["I E♭", "vi Cm", "ii7 Fm7", "V B♭"]
    steps = at.page.locator(".way-shown .card")
    assert "mm from the last" in steps.nth(2).inner_text()
    assert steps.locator("svg").count() == 4
    assert axe(at) == []
    field.fill("1 6- foo 5")
    field.blur()
    at.page.locator(".way-shown").wait_for(state="detached")
    assert 'no degree "foo"' in at.text("#progression-problem")
    assert field.input_value() == "1 6- foo 5"
    assert len(headings(at)) == 7, "the key and its chords stay"
    assert at.page.evaluate("document.documentElement.scrollWidth <= screen.width")


@pytest.mark.parametrize("screen", [PHONE, DESKTOP], ids=["by touch on a phone", "by keyboard on a desktop"])
def test_a_way_in_another_manner(drill: Drill, stage: Open, screen: dict[str, int]) -> None:
    at = stage(drill, screen=screen)
    at.go("/neck?key=E♭&box=1&progression=1-5-6-4")
    at.page.locator(".way-shown").wait_for()
    assert headings(at)[:4] == ["I E♭", "V B♭", "vi Cm", "IV A♭"]
    at.choose("comp")
    assert at.page.locator("[name=lead][value=top]").is_checked(), "in comp the top voice leads"
    at.choose("hand stays")
    at.page.get_by_role("heading", name="Hand stays", exact=True).wait_for()
    at.page.get_by_label("Keep on top").fill("Eb")
    at.page.get_by_label("Keep on top").press("Enter")
    at.see("E♭ on top in")
    assert axe(at) == []
    assert small_targets(at) == []
    at.page.reload()
    at.see("E♭ on top in")
    assert at.page.locator("[name=manner][value=comp]").is_checked()
    assert at.page.evaluate("document.documentElement.scrollWidth <= screen.width")


def test_what_stands_behind_a_slash_can_be_taken_the_other_way(drill: Drill, stage: Open) -> None:
    at = stage(drill)
    at.go("/neck?key=C&box=2&progression=1+V7/IV+4")
    at.see("V7/IV is read as C7, which leads to the chord behind the slash; as a bass it is G7/F.")
    at.press("Take it as a bass")
    at.page.get_by_role("heading", name="G7/F").wait_for()
    at.page.reload()
    at.press("Take it as leading there")
    at.page.get_by_role("heading", name="V7/IV C7").wait_for()
    at.page.get_by_label("Way through").fill("1 4")
    at.page.get_by_label("Way through").press("Enter")
    at.page.locator(".taken").wait_for(state="detached")
    assert "slash" not in at.page.url


def test_the_grip_with_which_the_hand_stays_is_shown_beside_the_full_one(drill: Drill, stage: Open) -> None:
    at = stage(drill)
    at.go("/neck?key=C&box=2&chords=sevenths")
    card = at.page.locator(".card", has=at.page.get_by_role("heading", name="2 Dm7"))
    card.wait_for()
    assert card.locator(".told:visible").all_inner_texts() == [
        "full · drop 3 · index at 9, moves up 2",
        "hand stays · index at 7",
    ]
    assert card.locator("svg:visible").count() == 2


def test_wide_stretches_are_marked_with_the_word(drill: Drill, stage: Open) -> None:
    drill.api("PUT", "settings", {"hand": "large"})
    neck = drill.api("GET", "neck?key=Ab&box=1")
    wide = [chord["chord"] for chord in neck["chords"] if chord["wide"] or (chord["staying"] or chord)["wide"]]
    at = stage(drill, screen=DESKTOP)
    at.go("/neck?key=A♭&box=1")
    at.page.locator(".card").first.wait_for()
    marked = at.page.locator(".card", has=at.page.get_by_text("wide stretch"))
    assert [card.split("\n")[0].split(" ")[1] for card in marked.all_inner_texts()] == wide
    assert wide


def test_the_region_and_the_chords_stand_side_by_side_on_a_desktop(drill: Drill, stage: Open) -> None:
    at = stage(drill, screen=DESKTOP)
    at.go("/neck?key=A♭&box=1")
    at.page.locator(".card svg").first.wait_for()
    region, chord = at.page.locator(".region-shown").bounding_box(), at.page.locator(".card").first.bounding_box()
    assert region["x"] + region["width"] < chord["x"]
    assert abs(region["y"] - chord["y"]) < 40
    svg = at.page.locator(".card svg").first
    assert svg.bounding_box()["width"] > 160
    words = at.page.locator(".card").first.get_by_text("string 6")
    assert not words.first.is_visible()
    at.page.get_by_text("in words").first.click()
    assert at.page.locator(".card details p").first.is_visible()


@pytest.mark.parametrize("screen", [PHONE, DESKTOP], ids=["by touch on a phone", "by keyboard on a desktop"])
def test_small_voicings_say_what_is_lowest_and_what_they_become(
    drill: Drill, stage: Open, screen: dict[str, int]
) -> None:
    at = stage(drill, screen=screen)
    at.go("/neck?key=B♭&box=1")
    at.page.locator(".card svg").first.wait_for()
    at.choose("small voicings")
    at.page.get_by_role("heading", name="2 Cm7 ii7").wait_for()
    said = at.page.locator(".card > .quiet").all_inner_texts()
    assert "Strings 4, 3 and 2: third in the bass." in said
    assert any(words.endswith("without the root, which makes it E♭.") for words in said)
    assert at.page.locator(".card svg").count() == len(said)
    assert axe(at) == []
    assert at.page.evaluate("document.documentElement.scrollWidth <= screen.width")
    at.page.reload()
    at.page.get_by_role("heading", name="2 Cm7 ii7").wait_for()


def test_with_a_band_the_card_says_that_the_root_may_be_left_out(drill: Drill, stage: Open) -> None:
    drill.seat("place:Bb:2.7:box1", band=True)
    at = stage(drill)
    at.go_on()
    at.page.get_by_text("Place it, root optional").wait_for()
    assert at.page.get_by_text("B♭, box 1, two seventh: root optional.").count() == 1
    at.press("Show me")
    at.page.get_by_text("Shown, so it counts as missed.", exact=True).wait_for()
    assert at.text("#said").startswith("missed. Cm7. Shown, so it counts as missed. The two seventh of B♭ is Cm7")


def test_a_grip_is_pinned_on_the_neck_page_and_unpinned(drill: Drill, stage: Open) -> None:
    at = stage(drill)
    at.go("/neck?key=E♭&box=1")
    four = at.page.locator("li.card").filter(has=at.page.get_by_role("heading", name="4 A♭"))
    four.get_by_text("other grips").click()
    four.get_by_role("button", name="Show this grip first").nth(1).click()
    unpin = four.get_by_role("button", name="Unpin")
    unpin.wait_for()
    (pin,) = drill.api("GET", "player")["settings"]["pins"]
    assert pin.startswith("Eb:4:box1:")
    unpin.click()
    unpin.wait_for(state="detached")
    assert drill.api("GET", "player")["settings"]["pins"] == []
