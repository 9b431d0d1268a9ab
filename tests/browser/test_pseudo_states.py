"""Every state that the scripts of pages make, in the pseudo-language on a phone: what does not come from the catalogue,
and what longer words break at a width of 360 px. The pages as they are sent are walked in test_pseudo_locale.py.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator, Sequence
from typing import Any

import pytest

from cards.asks import RECORDS
from drill.words.language import ENGLISH, PSEUDO
from tests.browser.stage import PHONE, Drill, Stage, free_port, review
from tests.browser.test_pseudo_locale import BROKEN, FOREIGN, foreign
from tests.catalogue import SCRIPTS
from tests.conftest import DemoRun

CATALOGUE = json.loads((SCRIPTS / f"{PSEUDO}.json").read_text(encoding="utf-8"))
TITLE, PLACE, NAME, FILE = "Xzqw", "Zxwq", "Qwxz", "Wqzx"
"""What the player typed; the walk of the sent pages knows the first three as well."""

CHART = "{tempo: 240}\n[Verse]\n| C | F | G7 | C |\n[Chorus]\n| F | C | N.C. | G |\n"
WARM = "localStorage.setItem('warmed-up', new Date(Date.now() - 4 * 3600e3).toDateString())"
ASKED = (
    ("name:Ab:4", "place:G:1:box1", "name-place:G:4:box1", "number:G:6:box1"),
    ("hands-on:D:1:box1", "shape:Ab:1:box1", "tone:Ab:1:box1:third", "spell:Gb:4.7"),
    ("whose-key:F:box2", "whose-key:Ab:box1:fret", "box-notes:Ab:box1", "box-notes:Ab:4:box1"),
    ("bend:Gb:2:m7", "left-out:Gb:1.7:box1:third", "guide-tones:G:2.7~5.7~1.7:box1", "borrowed:E:b7_major:box1"),
    ("run:G:2~5~1:box1:two", "change:G:1~4:box1", "name:A-blues:4"),
)
"""Cards of every ask, few at a time, because a missed one comes back after three others."""

Open = Callable[[], "Walker"]


def says(sentence: str) -> str:
    """A sentence of the scripts as the page says it; what is none (a number, a chord) stays."""
    said = CATALOGUE.get(sentence, sentence)
    return str(said if isinstance(said, str) else said["one"])


class Walker:
    """A phone that looks at one state after the other and keeps what is wrong with each."""

    def __init__(self, at: Stage, typed: Sequence[str]) -> None:
        self.at = at
        self.page = at.page
        self.typed = typed
        self.wrong: dict[str, str] = {}  # what is wrong, each with the first state that has it

    def look(self, state: str) -> None:
        """Look at the page as it stands."""
        assert self.page.evaluate("document.documentElement.lang") == PSEUDO
        self.page.evaluate("document.querySelector('noscript')?.remove()")  # A page with scripts has it as bare text.
        for text, where in self.page.evaluate(FOREIGN):
            for given in self.typed:
                text = text.replace(given, "")
            if words := foreign(text):
                self.wrong.setdefault(f"{words} in {where}", state)
        for broken in self.page.evaluate(BROKEN):
            self.wrong.setdefault(broken, state)

    def see(self, selector: str) -> None:
        """Wait until something is there to be seen."""
        self.page.locator(selector).first.wait_for()

    def without_the_service(self, path: str = "**/api/**") -> None:
        """Let no request come through."""
        self.page.route(path, lambda route: route.abort())

    def with_the_service(self, path: str = "**/api/**") -> None:
        self.page.unroute(path)

    def end(self) -> None:
        assert not self.wrong, "\n".join(f"{state}: {what}" for what, state in self.wrong.items())


@pytest.fixture(scope="module")
def served(demo_run: DemoRun, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Drill]:
    """The service with demo data, for a player who reads the pseudo-language."""
    data = shutil.copytree(demo_run.data, tmp_path_factory.mktemp("states") / "data")
    drill = Drill(data, free_port(), {"DRILL_LANGUAGES": f"{ENGLISH},{PSEUDO}"})
    drill.start()
    drill.api("PUT", "settings", {"language": PSEUDO, "why": True})
    yield drill
    drill.stop()


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Drill]:
    """The service without any data, for such a player."""
    drill = Drill(tmp_path_factory.mktemp("empty"), free_port(), {"DRILL_LANGUAGES": f"{ENGLISH},{PSEUDO}"})
    drill.start()
    drill.api("PUT", "settings", {"language": PSEUDO})
    yield drill
    drill.stop()


@pytest.fixture
def walk(stage: Callable[..., Stage]) -> Callable[[Drill], Walker]:
    def begin(drill: Drill) -> Walker:
        titles = [tune["title"] for tune in drill.api("GET", "tunes")["tunes"]]
        names = [jam["name"] for jam in drill.api("GET", "jams")["jams"]]
        places = [jam["place"] for jam in drill.api("GET", "jams")["jams"] if jam["place"]]
        zone = drill.api("GET", "player")["settings"]["zone"]
        at = stage(drill, screen=PHONE, says=says, motion=False)
        at.context.add_init_script(WARM)
        given = {TITLE, PLACE, NAME, FILE, "Verse", "Chorus", zone, *titles, *names, *places}
        return Walker(at, sorted(given, key=len, reverse=True))

    return begin


def test_the_first_page(walk: Callable[[Drill], Walker], served: Drill, empty: Drill) -> None:
    new = walk(empty)

    def on_a_first_visit(route: Any) -> None:
        player = route.fetch().json()
        route.fulfill(json={**player, "first_visit": True})

    new.page.route("**/api/player", on_a_first_visit)
    new.at.go("/")
    new.see("#first:not([hidden])")
    new.look("a first visit")
    new.page.locator("#first [name=tempo]").fill("999")
    new.page.locator("#start .work").tap()
    new.see(".problem")
    new.look("an answer of the first visit is refused")
    new.end()

    known = walk(served)
    known.at.go("/")
    known.see("#start:not([hidden])")
    known.page.wait_for_load_state("networkidle")
    known.look("the first page")
    served.seat("name:D:3")
    known.at.go("/")
    known.see("#running:not([hidden])")
    known.look("a session runs in another tab")
    known.without_the_service()
    known.at.press("End it")
    known.see("#trouble .notice")
    known.look("the service does not answer")
    known.end()


def test_every_ask_and_what_was_shown(walk: Callable[[Drill], Walker], served: Drill) -> None:
    assert {card.split(":")[0] for batch in ASKED for card in batch} == {record.name for record in RECORDS}
    walker = walk(served)
    at = walker.at
    for batch in ASKED:
        served.seat(*batch, tempo=80)
        at.go_on()
        for card in batch:
            at.wait_for_question()
            assert at.question()["card"] == card
            walker.look(f"{card} is asked")
            at.press("Show me")
            at.outcome()
            walker.look(f"{card} is shown")
            at.next()
        at.page.evaluate("sessionStorage.removeItem('holds')")  # Or it would close the session it held.
    walker.end()


def test_every_verdict(walk: Callable[[Drill], Walker], served: Drill) -> None:
    served.seat("name:D:3", "number:G:6:box1", "place:G:1:box1", "hands-on:D:1:box1", capo=2, tuning="drop D")
    walker = walk(served)
    at = walker.at
    at.go("/session")
    walker.see("#ledge .work")
    walker.look("the session is open in another tab")
    at.go_on()
    at.press("To the neck") if walker.page.get_by_role("button", name=says("To the neck")).count() else at.check()
    walker.look("no name is given yet")
    at.answer(at.question())
    at.outcome()
    at.acknowledged(0)
    walker.look("a right name")
    walker.page.locator("#mistap").tap()
    walker.look("taken back as a mis-tap")
    at.next()
    at.wait_for_question()
    numbers = at.question()["answer"]["numbers"]
    at.press(next(number for number in "1234567" if number not in numbers))
    at.acknowledged(1)
    walker.look("a wrong number")
    at.next()
    at.wait_for_question()
    at.check()
    walker.look("no string is set yet")
    at.press("Mark the region")
    at.place(review(at.question())["given"]["frets"])
    walker.look("a chord on the neck, its region marked")
    walker.without_the_service("**/reviews")
    at.check()
    at.outcome()
    walker.look("judged by the page alone")
    walker.page.wait_for_timeout(4500)
    walker.look("an answer is not sent yet")
    walker.with_the_service("**/reviews")
    at.acknowledged(2)
    walker.look("a late answer")
    walker.page.evaluate("localStorage.setItem('warmed-up', '')")
    at.next()
    at.page.wait_for_timeout(100)
    walker.look("the hands are to be warmed up")
    served.api("PUT", "settings", {"capo": 0, "tuning": "standard"})
    walker.end()


def test_a_run_and_the_end_of_a_session(walk: Callable[[Drill], Walker], served: Drill) -> None:
    served.seat("run:G:2~5~1:box1:two", "name:D:3", "name:E:3", tempo=240)
    walker = walk(served)
    at = walker.at
    at.go_on()
    walker.at.press("Start")
    walker.look("a run goes on")
    walker.page.wait_for_selector("[data-state=played]", timeout=20_000)
    walker.look("a run was played")
    at.page.wait_for_timeout(350)
    walker.page.locator(".marks [data-key='1']").tap()
    walker.look("a change is fumbled")
    walker.page.locator("#ledge .work").tap()
    at.acknowledged(0)
    at.next()
    at.wait_for_question()
    at.answer(at.question())
    at.acknowledged(1)
    session = served.session()["id"]
    served.end_session()
    at.go(f"/session/{session}/closing")
    walker.see("#closing h2")
    walker.look("the closing page")
    walker.without_the_service()
    at.go("/session/nothing/closing")
    walker.see("#trouble .notice")
    walker.look("the closing page is away")
    walker.with_the_service()
    walker.page.evaluate("sessionStorage.clear(); indexedDB.deleteDatabase('drill')")
    at.go("/session")
    walker.see("[data-state=waiting] #ledge .work")
    walker.look("no session runs")
    walker.end()


def test_the_key_map(walk: Callable[[Drill], Walker], served: Drill, empty: Drill) -> None:
    walker = walk(served)
    walker.at.go("/keys")
    walker.see("#honest figure")
    walker.page.evaluate("for (const more of document.querySelectorAll('details')) more.open = true")
    walker.look("the map, why, and over time")
    walker.page.locator("#map .figure:not(.new)").first.tap()
    walker.see("#close-title")
    walker.page.evaluate("for (const more of document.querySelectorAll('#close details')) more.open = true")
    walker.look("a cell")
    walker.page.locator("[name=as]").select_option("table")
    walker.see("#map .figures")
    walker.page.locator("#map th button").nth(3).tap()
    walker.look("the map as a table")
    bring = walker.page.locator("#import [name=file]")
    bring.set_input_files({"name": "a.json", "mimeType": "application/json", "buffer": b"no"})
    walker.see("#import-said .notice")
    walker.look("a file is refused")
    walker.without_the_service()
    walker.page.locator("[name=mode]").select_option("minor")
    walker.see("#trouble .notice")
    walker.look("the map does not come")
    walker.end()

    new = walk(empty)
    new.at.go("/keys")
    new.see("#honest figure")
    new.look("a map without answers")
    new.end()


def test_the_neck(walk: Callable[[Drill], Walker], served: Drill) -> None:
    walker = walk(served)
    for address in ("", "?chords=sevenths&box=3", "?chords=small", "?key=Am&box=2", "?key=A%20blues&box=4"):
        walker.at.go(f"/neck{address}")
        walker.see("#region-title")
        walker.page.evaluate("for (const more of document.querySelectorAll('details')) more.open = true")
        walker.look(f"the neck {address}")
    served.api("PUT", "settings", {"capo": 2, "tuning": "drop D"})
    walker.at.go("/neck?progression=1%206-%202-7%205")
    walker.see("#way-title")
    walker.look("the smoothest way, with a capo")
    served.api("PUT", "settings", {"capo": 0, "tuning": "standard"})
    walker.page.locator("[name=progression]").fill("Q")
    walker.page.locator(".way-field button").tap()
    walker.see("#progression-problem:not(:empty)")
    walker.look("a progression is refused")
    walker.end()


def test_tunes_and_the_editor(walk: Callable[[Drill], Walker], served: Drill, empty: Drill) -> None:
    new = walk(empty)
    new.at.go("/tunes")
    new.see("#list[aria-busy=true] , #list:not([aria-busy])")
    new.page.wait_for_load_state("networkidle")
    new.look("no tunes")
    new.end()

    tune = served.api("POST", "tunes", {"title": TITLE, "text": CHART})["id"]
    walker = walk(served)
    walker.at.go("/tunes")
    walker.see("#list li")
    walker.look("the tunes")
    walker.page.locator("#bring [name=files]").set_input_files(
        [
            {"name": f"{FILE}.txt", "mimeType": "text/plain", "buffer": CHART.encode()},
            {"name": f"{FILE}.pro", "mimeType": "text/plain", "buffer": b"\x00\x01"},
        ]
    )
    walker.see("#bring-said button")
    walker.page.wait_for_load_state("networkidle")
    walker.look("files were brought in")
    walker.page.locator("#list li").filter(has_text=TITLE).locator("button").tap()
    walker.see("#undo button")
    walker.look("a tune is deleted")
    walker.page.locator("#undo button").tap()
    walker.at.go("/tunes/new")
    walker.see("form:not([inert])")
    walker.page.locator("#text").fill("Key: Am\n| 1 | 4 | B7 | qq |\nC/G H 7 6-7\n| 57 | G07 | F E |\ncapo 2")
    walker.see("#best button")
    walker.page.evaluate("for (const more of document.querySelectorAll('details')) more.open = true")
    walker.look("a chart is read along")
    walker.page.locator("form .work").tap()
    walker.page.wait_for_load_state("networkidle")
    walker.look("a tune without a title is refused")
    walker.page.locator("#text").fill("no chord at all")
    walker.page.wait_for_timeout(600)
    walker.look("a text without a chord")
    walker.page.locator("#use-form").tap()
    walker.see("#draft .notice")
    walker.look("a form replaced the text")
    walker.without_the_service()
    walker.page.locator("form .work").tap()
    walker.see("#trouble .notice")
    walker.look("a tune cannot be saved")
    walker.with_the_service()
    walker.at.go(f"/tunes/{tune}")
    walker.see("#best button")
    theirs = served.api("GET", f"tunes/{tune}")
    served.api("PUT", f"tunes/{tune}", {**theirs, "text": CHART + "| C |"})
    walker.page.locator("#text").press("End")
    walker.page.locator("#text").type(" ")
    walker.page.locator("form .work").tap()
    walker.see("#draft .notice")
    walker.look("a tune was changed elsewhere")
    walker.end()


def test_jams(walk: Callable[[Drill], Walker], served: Drill, empty: Drill) -> None:
    new = walk(empty)
    new.at.go("/jams")
    new.page.wait_for_load_state("networkidle")
    new.look("no jams")
    new.page.locator(".jam-form .work").tap()
    new.page.wait_for_load_state("networkidle")
    new.look("a jam without values is refused")
    new.end()

    tune = served.api("POST", "tunes", {"title": TITLE, "text": CHART})["id"]
    jam = served.api("POST", "jams", {"name": NAME, "place": PLACE, "at": "2027-01-02T20:00", "boxes": [1, 2]})["id"]
    walker = walk(served)
    walker.at.go(f"/jams/{jam}")
    walker.see("#adding label")
    walker.look("a jam without tunes")
    entries = [{"tune": tune, "key": "D"}, {"tune": tune}]
    served.api("PUT", f"jams/{jam}/set-list", {"was": [], "entries": entries})
    walker.at.go(f"/jams/{jam}")
    walker.see(".shaky li")
    walker.look("how ready a jam is")
    walker.page.locator("#readiness .later [role=status]").wait_for(state="detached", timeout=60_000)
    walker.page.evaluate("for (const more of document.querySelectorAll('details')) more.open = true")
    walker.look("a jam with its readiness")
    walker.page.locator("#values [name=name]").fill("")
    walker.page.locator("#values [name=place]").focus()
    walker.see("#values .problem:not(:empty)")
    walker.page.locator(".set-list [type=number]").first.fill("999")
    walker.page.locator(".set-list [type=number]").first.blur()
    walker.see(".set-list .problem:not(:empty)")
    walker.look("a name and a tempo are refused")
    walker.page.locator(".set-list li").first.locator("button").last.tap()
    walker.see("#order-undo button")
    walker.page.locator("#copy").tap()
    walker.look("a tune is off the list, a copy is to be made")
    served.end_session()
    served.seat("name:D:3")
    walker.page.locator("#readiness .work").tap()
    walker.see("#readiness .notice")
    walker.look("a session runs already")
    served.end_session()
    walker.without_the_service()
    walker.page.locator(".set-list select").first.select_option("E")
    walker.see("#trouble .notice")
    walker.look("a change cannot be sent")
    walker.with_the_service()
    walker.page.locator("#trouble button").tap()
    walker.page.locator("#trouble .notice").wait_for(state="detached")
    walker.page.locator("#delete").tap()
    walker.see("#undo [data-back]")
    walker.look("a jam is deleted")
    walker.at.go("/jams")
    walker.see("#list li")
    walker.page.evaluate("for (const more of document.querySelectorAll('details')) more.open = true")
    walker.look("the jams")
    walker.end()


def test_play_along(walk: Callable[[Drill], Walker], served: Drill) -> None:
    tune = served.api("POST", "tunes", {"title": TITLE, "text": CHART})["id"]
    walker = walk(served)
    at = walker.at
    at.go(f"/tunes/{tune}/play")
    walker.see("#ledge .work")
    walker.page.locator("[name=part]").select_option("bars")
    walker.look("set up")
    walker.page.locator("[name=part]").select_option("")
    at.press("Start")
    walker.look("counting in")
    walker.see("#fumble:enabled")
    walker.page.locator("#fumble").tap()
    walker.look("running")
    at.press("Pause")
    walker.look("paused")
    at.press("End")
    walker.see("#closing-title")
    walker.look("how it went")
    at.page.wait_for_timeout(350)
    walker.page.locator("#ledge .work").tap()
    walker.see("#way-to-cards a")
    walker.look("kept")
    at.page.wait_for_timeout(350)
    walker.page.locator("[data-way=lost]").tap()
    walker.see(".lost-choices button")
    walker.look("lost")
    walker.page.locator(".lost-choices button").first.tap()
    walker.look("what comes next")
    at.page.wait_for_timeout(350)
    walker.page.locator("#ledge .work").tap()
    walker.look("where it is")
    at.page.wait_for_timeout(350)
    walker.page.locator("#ledge [data-key=y]").tap()
    walker.see(".lost-choices button")
    at.press("Stop")
    walker.see("#ledge .work")
    walker.look("found again")
    walker.end()


def test_settings(walk: Callable[[Drill], Walker], served: Drill) -> None:
    walker = walk(served)
    walker.at.go("/settings")
    walker.see("#groups label")
    walker.look("settings")
    walker.page.locator("[name=tuning]").fill("Q")
    walker.page.locator("[name=tuning]").blur()
    walker.see(".problem")
    walker.page.locator("[name=thumb]").tap()
    walker.see("#saved:not(:empty)")
    walker.look("one is refused, one is kept")
    walker.without_the_service()
    walker.page.locator("[name=thumb]").tap()
    walker.see("#trouble .notice")
    walker.look("one cannot be kept")
    walker.end()
