"""Tunes in a real browser: typed with the reading beside, brought in as files, never lost."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from tests.browser.stage import DESKTOP, PHONE, PHONE_ON_ITS_SIDE, Drill, Stage
from tests.browser.test_jams import ahead
from tests.browser.test_pages import axe, small_targets
from tests.drill.tunes.test_uploads import zipped

Open = Callable[..., Stage]

SONG = """{key: G}
[G]Words of a song [Em]and more
[C]Words [B07]of a song [Gxx]and more
{soc}
[C]la [D/F#]la [Am7]la [D7sus4]la"""


@pytest.fixture
def drill(drill: Drill) -> Iterator[Drill]:
    """The service without a tune."""
    yield drill
    for tune in drill.api("GET", "tunes")["tunes"]:
        drill.api("DELETE", f"tunes/{tune['id']}", {})


def add(drill: Drill, title: str = "Slow blues", text: str = "Key: Bb\n| Bb7 | Eb7 | F7 |") -> str:
    return str(drill.api("POST", "tunes", {"title": title, "text": text})["id"])


def titles(drill: Drill) -> list[str]:
    return [tune["title"] for tune in drill.api("GET", "tunes")["tunes"]]


def write(at: Stage, text: str) -> None:
    """Type a chart once the page listens, and wait until it is read and shown."""
    at.listen()
    with at.page.expect_response("**/api/charts/read") as reading:
        at.page.get_by_label("Chart", exact=True).fill(text)
    reading.value.finished()
    # The page shows what it read in a task of its own: two frames later it is there.
    at.page.evaluate("() => new Promise((shown) => requestAnimationFrame(() => requestAnimationFrame(() => shown())))")


def numbers(at: Stage) -> list[str]:
    return list(at.page.locator("#chart .change strong").all_inner_texts())


def text_of(at: Stage) -> str:
    return str(at.page.get_by_label("Chart", exact=True).input_value())


def drop(at: Stage, files: dict[str, str]) -> None:
    """Drop files of text anywhere on the page."""
    dropped = at.page.evaluate_handle(
        """(files) => {
          const held = new DataTransfer();
          for (const [name, text] of Object.entries(files)) held.items.add(new File([text], name));
          return held;
        }""",
        files,
    )
    for kind in ("dragenter", "dragover", "drop"):
        at.page.dispatch_event("#main", kind, {"dataTransfer": dropped})


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("screen", [PHONE, DESKTOP, PHONE_ON_ITS_SIDE], ids=["phone", "desktop", "on its side"])
def test_everybody_can_use_the_pages(drill: Drill, stage: Open, screen: dict[str, int], dark: bool) -> None:
    at = stage(drill, screen=screen, dark=dark)

    def fine() -> None:
        assert axe(at) == []
        assert small_targets(at) == []
        assert at.page.evaluate("document.documentElement.scrollWidth <= screen.width")

    at.go("/tunes")
    at.see("The tunes of your band will stand here")
    fine()
    for number in range(12):
        add(drill, f"Vamp {number}", "{capo: 2}\n" + "[Am7]la [D13]la [Gmaj7]la [C#m7b5]la [F#7#9]la" * 4)
    jam = drill.api("POST", "jams", {"name": "Open jam", "at": ahead()})["id"]
    entry = {"tune": drill.api("GET", "tunes")["tunes"][0]["id"]}
    drill.api("PUT", f"jams/{jam}/set-list", {"was": [], "entries": [entry]})
    at.page.reload()
    at.page.get_by_label("Find").wait_for()
    assert at.page.get_by_role("link", name="Open jam").count() == 1
    drop(at, {"Vamp.txt": "1 4", "words.txt": "nothing but words"})
    at.see("1 tune brought in.")
    at.page.get_by_role("button", name="Delete Vamp 1", exact=True).click()
    at.see("Vamp 1 is deleted.")
    fine()
    at.go("/tunes/new")
    at.see("What you type is read here")
    fine()
    write(at, "First words\n\n" + SONG)
    at.page.get_by_label("Capo").select_option("2")
    at.see("shapes of the hand")
    at.page.get_by_text("How it is read").click()
    at.page.get_by_text("Start from a ready-made form").click()
    at.see("line 5, column 26: Gxx")
    at.see("Read it the other way")
    at.see("Not saved yet")
    fine()
    assert at.page.locator("#chart").bounding_box()["width"] <= screen["width"]


def test_a_chart_is_read_along_and_kept_without_its_words(drill: Drill, stage: Open) -> None:
    at = stage(drill)
    at.go("/tunes")
    at.press("New tune")
    write(at, SONG)
    at.see("8 of 9 chords read.")
    assert at.text("#counted") == "8 of 9 chords read. G · 8 bars"
    assert numbers(at)[:3] == ["1", "6-", "4"]
    assert "chorus" in at.text("#chart").casefold()
    at.page.get_by_role("button", name="line 3, column 26: Gxx").tap()
    assert at.page.evaluate("getSelection().toString()") == "Gxx"
    at.page.keyboard.type("G7")
    at.see("9 of 9 chords read.")
    assert not at.page.get_by_text("could not be read").count()
    at.see("Line 3: B07 is diminished; it could be half-diminished.")
    at.page.get_by_role("listitem").filter(has_text="B07").get_by_role("button").tap()
    at.see("Line 3: B07 is half-diminished; it could be diminished.")
    at.press("Save")
    at.see("a tune needs a title, like Slow blues")
    assert "[G]Words" in text_of(at), "nothing typed is lost"
    at.page.keyboard.type("Ballad in G")
    at.press("Save")
    at.see("Saved.")
    assert titles(drill) == ["Ballad in G"]
    at.page.reload()
    at.page.locator("#chart .change").first.wait_for()
    assert "Words" not in text_of(at)
    assert "{start_of_grid: Chorus}" in text_of(at)
    assert at.page.get_by_label("Title").input_value() == "Ballad in G"
    assert numbers(at)[:3] == ["1", "6-", "4"]
    at.page.get_by_label("Tempo").fill("72")
    at.page.get_by_label("Tempo").blur()
    at.page.get_by_label("Time").select_option("3/4")
    at.page.get_by_label("Feel").last.select_option("shuffle")
    at.see("3/4 · 72 bpm · shuffle")
    at.press("Save")
    at.see("Saved.")
    (tune,) = drill.api("GET", "tunes")["tunes"]
    assert (tune["tempo"], tune["feel"]) == (72, "shuffle")


def test_one_tap_changes_the_key_and_the_focus_stays(drill: Drill, stage: Open) -> None:
    at = stage(drill, screen=DESKTOP)
    at.go("/tunes/new")
    write(at, "| Em | C | G | D |")
    before = at.page.locator("#best button").all_inner_texts()
    assert before == ["Em, explains 100 %", "G, explains 100 %", "D, explains 75 %"]
    at.page.get_by_role("button", name="G, explains").focus()
    at.keys("Enter")
    at.see("4 of 4 chords read. G")
    assert at.page.evaluate("document.activeElement.innerText") == "G, explains 100 %"
    assert at.page.locator("#best button").all_inner_texts() == before, "the choices stay where they are"
    assert numbers(at) == ["6-", "4", "1", "5"]
    at.page.get_by_label("Another key").select_option("E♭")
    at.see("4 of 4 chords read. E♭")
    at.page.get_by_label("Another key").select_option("as the text has it")
    at.see("4 of 4 chords read. Em")
    at.page.get_by_text("How it is read").click()
    at.page.get_by_label("Minor is numbered").select_option("from its tonic: 1-")
    at.page.locator("#chart strong", has_text="1-").wait_for()
    assert numbers(at) == ["1-", "♭6", "♭3", "♭7"]


def test_letters_can_be_chosen_and_had_back(drill: Drill, stage: Open) -> None:
    at = stage(drill, screen=DESKTOP)
    at.go("/tunes/new")
    write(at, "| C | H7 | B | F |")
    at.see("H is read as B, and B as B♭.")
    at.page.get_by_role("button", name="Read it the other way").focus()
    at.keys("Enter")
    at.see("line 1, column 7: H7")
    assert at.page.evaluate("document.activeElement.localName") == "summary", "the way back is under the finger"
    at.keys("Enter")
    at.page.get_by_label("Letters").select_option("German: H is B, B is B♭")
    at.see("4 of 4 chords read.")


def test_behind_a_capo_both_are_shown_and_what_the_text_means_is_asked_once(drill: Drill, stage: Open) -> None:
    at = stage(drill)
    at.go("/tunes/new")
    write(at, "| G | C |\n| D | G |")
    at.page.get_by_label("Capo").select_option("2")
    at.see("A · capo 2, shapes of G")
    assert at.page.get_by_role("radio", name="shapes of the hand").is_checked()
    at.choose("what sounds")
    at.see("G · capo 2, shapes of F")
    first = at.page.locator("#chart .change").first
    assert first.inner_text().split() == ["1", "F", "G"]
    write(at, "{capo: 2}\n| G | C |\n| D | G |")
    at.page.get_by_label("Capo").select_option("as written")
    at.see("A · capo 2, shapes of G")


def test_what_is_typed_outlives_reload_the_way_back_and_a_service_that_is_away(drill: Drill, stage: Open) -> None:
    at = stage(drill)
    at.go("/tunes")
    at.press("New tune")
    write(at, "1 4 5 1")
    at.page.reload()
    at.see("4 of 4 chords read.")
    at.see("Not saved yet: what you typed here on")
    at.page.go_back()
    at.page.go_forward()
    at.see("4 of 4 chords read.")
    at.context.set_offline(True)
    at.page.get_by_label("Chart", exact=True).fill("1 4 5 b7")
    at.see("What you type is kept on this device, and read when the service is back.")
    at.page.get_by_label("Title").fill("Vamp")
    at.press("Save")
    at.see("What you typed is kept on this device.")
    at.context.set_offline(False)
    at.page.reload()
    at.page.locator("#chart strong", has_text="♭7").wait_for()
    assert at.page.get_by_label("Title").input_value() == "Vamp"
    at.press("Save")
    at.see("Saved.")
    assert titles(drill) == ["Vamp"]
    at.go("/tunes/new")
    at.see("What you type is read here")
    assert text_of(at) == ""


def test_another_tab_has_its_own_draft_and_can_take_up_this_one(drill: Drill, stage: Open) -> None:
    at = stage(drill, screen=DESKTOP)
    at.go("/tunes/new")
    write(at, "1 4 5 1")
    first, at.page = at.page, at.tab()
    at.go("/tunes/new")
    at.see("“1 4 5 1” was typed in another tab on")
    write(at, "2-7 57 1")
    first.reload()
    first.get_by_text("4 of 4 chords read.").wait_for()
    assert first.get_by_label("Chart", exact=True).input_value() == "1 4 5 1"
    first.close()
    at.page.reload()
    at.see("3 of 3 chords read.")
    at.press("Throw it away")
    at.page.reload()
    at.press("Go on with it here")
    at.see("4 of 4 chords read.")


def test_a_tune_that_was_changed_in_another_tab_is_told_and_both_are_kept(drill: Drill, stage: Open) -> None:
    there = add(drill)
    at = stage(drill, screen=DESKTOP)
    at.go(f"/tunes/{there}")
    at.see("3 of 3 chords read.")
    theirs = drill.api("GET", f"tunes/{there}")
    drill.api("PUT", f"tunes/{there}", {**theirs, "title": "Blues"})
    at.page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")  # The tab comes into sight again.
    from playwright.sync_api import expect

    expect(at.page.get_by_label("Title")).to_have_value("Blues")
    write(at, "1 4")
    theirs = drill.api("GET", f"tunes/{there}")
    drill.api("PUT", f"tunes/{there}", {**theirs, "title": "Slower blues"})
    at.press("Save")
    at.see("This tune was changed elsewhere since you opened it.")
    at.press("Take the other")
    at.see("This is how it was changed elsewhere.")
    assert at.page.get_by_label("Title").input_value() == "Slower blues"
    at.press("Have mine back")
    at.see("2 of 2 chords read.")
    theirs = drill.api("GET", f"tunes/{there}")
    drill.api("PUT", f"tunes/{there}", {**theirs, "title": "Slowest blues"})
    at.press("Save")
    at.press("Keep both")
    at.see("Saved.")
    assert titles(drill) == ["Blues", "Slowest blues"]
    assert not at.page.url.endswith(there)


def test_a_form_is_text_to_start_from_and_what_was_there_can_be_had_back(drill: Drill, stage: Open) -> None:
    at = stage(drill)
    at.go("/tunes/new")
    write(at, "1 4")
    at.page.get_by_text("Start from a ready-made form").tap()
    at.page.locator("[name=form-key]").select_option("E♭")
    at.press("Use it")
    at.see("12 of 12 chords read. E♭ blues · 4/4 · shuffle · 12 bars")
    assert at.page.get_by_label("Title").input_value() == "12-bar blues in E♭"
    assert text_of(at).startswith("{key: Eb blues}")
    at.press("Have it back")
    at.see("2 of 2 chords read.")
    assert text_of(at) == "1 4"


def test_the_line_on_top_is_only_offered_as_the_title(drill: Drill, stage: Open) -> None:
    at = stage(drill)
    at.go("/tunes/new")
    write(at, "Lantern light\n\nG  C  D\nla la la\n")
    at.see("Taken from the line on top: change it if that is no title.")
    title = at.page.get_by_label("Title")
    assert title.input_value() == "Lantern light"
    title.fill("Ballad")
    assert not at.page.locator("#title-how").is_visible()
    at.press("Save")
    at.see("Saved.")
    assert titles(drill) == ["Ballad"]


def test_a_file_is_opened_in_the_editor(drill: Drill, stage: Open) -> None:
    at = stage(drill, screen=DESKTOP)
    at.go("/tunes/new")
    at.see("What you type is read here")
    song = {"name": "Back_room.cho", "mimeType": "text/plain", "buffer": "[G]r\xeave [C]la".encode("latin-1")}
    at.page.get_by_label("Or open a file").set_input_files([song])
    at.see("2 of 2 chords read.")
    assert text_of(at) == "[G]rêve [C]la"
    assert at.page.get_by_label("Title").input_value() == "Back room"
    drop(at, {"photo.txt": "G\0C"})
    at.see("photo.txt: this is a binary file")
    drop(at, {"other.txt": "1 4 5"})
    at.see("other.txt replaced what was here.")
    at.press("Have it back")
    at.see("2 of 2 chords read.")
    drop(at, {"a.txt": "1", "b.txt": "4"})
    at.see("bring several files in on the Tunes page")


def test_files_are_brought_in_told_one_by_one_and_taken_out_again(drill: Drill, stage: Open) -> None:
    at = stage(drill, screen=DESKTOP)
    at.go("/tunes")
    at.see("The tunes of your band will stand here")
    band = zipped({"Vamp.cho": b"{key: A}\n[A]la [G]la [oh]la", "photo.jpg": b"\xff\0"})
    words = {"name": "words.txt", "mimeType": "text/plain", "buffer": b"words and more words"}
    archive = {"name": "band.zip", "mimeType": "application/zip", "buffer": band}
    at.page.get_by_label("Bring charts in").set_input_files([archive, words])
    at.see("1 tune brought in.")
    assert at.page.locator(".results li").all_inner_texts() == [
        "Vamp: A, given; 2 of 3 chords read",
        "photo.jpg not taken: this is a binary file, not text: save the chart as plain text or ChordPro",
        "words.txt not taken: no chord was read; a chart is a line like 1 4 5 or | G | C | or [G]words",
    ]
    at.press("Take it out again")
    at.see("The tunes of your band will stand here")
    at.context.set_offline(True)
    drop(at, {"Two chords.txt": "| E | D |"})
    at.see("Two chords.txt not taken: The service does not answer.")
    at.context.set_offline(False)
    at.page.locator(".results").get_by_role("button", name="Try again").click()
    at.see("1 tune brought in.")
    assert titles(drill) == ["Two chords"]


def test_tunes_are_found_deleted_and_had_back_by_the_keyboard(drill: Drill, stage: Open) -> None:
    for number in range(12):
        add(drill, f"Vamp {number}", "1 4")
    add(drill)
    at = stage(drill, screen=DESKTOP)
    at.go("/tunes")
    at.page.get_by_label("Find").fill("blues")
    assert at.page.locator(".tunes > li").count() == 1
    at.page.get_by_role("button", name="Delete Slow blues").focus()
    at.keys("Enter")
    at.see("Slow blues is deleted.")
    at.see("No tune is called “blues”.")
    at.keys("Enter")
    at.page.get_by_role("link", name="Slow blues", exact=True).wait_for()
    assert at.page.evaluate("document.activeElement.innerText") == "Slow blues"
    at.keys("Enter")
    at.see("3 of 3 chords read.")
    assert len(titles(drill)) == 13


def test_a_deleted_tune_and_one_that_never_was_say_so(drill: Drill, stage: Open) -> None:
    there = add(drill)
    drill.api("DELETE", f"tunes/{there}", {})
    at = stage(drill)
    at.go(f"/tunes/{there}")
    at.see("This tune is deleted.")
    at.press("Have it back")
    at.gone("This tune is deleted.")
    at.page.wait_for_timeout(100)
    assert titles(drill) == ["Slow blues"]
    at.go("/tunes/" + "0" * 32)
    at.see("there is no such tune")
    assert not at.page.locator("#tune").is_visible()


def test_nothing_can_be_typed_over_a_tune_that_is_on_its_way(drill: Drill, stage: Open) -> None:
    made = drill.api("POST", "tunes", {"id": secrets.token_hex(16), "title": "Vamp", "text": "1 b7"})["id"]
    at = stage(drill)
    held: list[Any] = []
    at.page.route(f"**/api/tunes/{made}", lambda route: held.append(route))
    with at.page.expect_request(f"**/api/tunes/{made}"):
        at.go(f"/tunes/{made}")
    assert at.page.locator("#tune").evaluate("form => form.inert")
    held[0].continue_()
    at.listen()
    assert "| C | Bb |" in text_of(at)


def test_a_new_tune_for_a_jam_comes_back_to_it(drill: Drill, stage: Open) -> None:
    jam: dict[str, Any] = drill.api("POST", "jams", {"name": "Open jam", "at": ahead()})
    at = stage(drill)
    at.go(f"/tunes/new?jam={jam['id']}")
    write(at, "1 b7")
    at.page.get_by_label("Title").fill("Vamp")
    at.press("Save")
    at.page.wait_for_url(f"**/jams/{jam['id']}*")
    at.page.locator(".played-as").get_by_text("Vamp").wait_for()
