"""The asks beyond name, place and number, each played by touch on a phone and by keyboard on a desktop."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from typing import Any

import pytest

from tests.browser.stage import DESKTOP, PHONE, PHONE_ON_ITS_SIDE, Drill, Stage, review
from tests.browser.test_pages import axe, small_targets

Open = Callable[..., Stage]

WITH_THE_EAR_AND_EYE = (
    "shape:Ab:1:box1",
    "tone:Ab:1:box1:third",
    "spell:Gb:4.7",
    "whose-key:F:box2",
    "whose-key:Ab:box1:fret",
    "box-notes:Ab:box1",
    "box-notes:Ab:4:box1",
    "bend:Gb:2:m7",
    "left-out:Gb:1.7:box1:third",
    "guide-tones:G:2.7~5.7~1.7:box1",
    "borrowed:E:b7_major:box1",
    "number:Am:7_dim7:box1",
    "name:A-blues:4",
)
RUN = "run:G:2~5~1:box1:two"
CHANGE = "change:G:1~4:box1"
FEW = 4

SCREENS = pytest.mark.parametrize("screen", [PHONE, DESKTOP], ids=["by touch on a phone", "by keyboard on a desktop"])
WARM = "localStorage.setItem('warmed-up', new Date(Date.now() - 4 * 3600e3).toDateString())"


def wrong(question: dict[str, Any]) -> dict[str, Any]:
    """A wrong answer of the kind that is asked for, with its most telling part wrong."""
    given: dict[str, Any] = review(question)["given"]
    answer = question["answer"]
    part = question["prompt"]["parts"][0]
    if part == "choice":
        options = [[option for option, _ in group["options"]] for group in question["prompt"]["choices"]]
        right = {tuple(choice) for choice in answer["choices"]}
        given["choice"] = next(
            [first, *given["choice"][1:]] for first in options[0] if (first, *given["choice"][1:]) not in right
        )
    elif part == "spots":
        first, *rest = given["spots"]
        elsewhere = question["prompt"]["spots"] or [[string, 9] for string in range(1, 7)]
        given["spots"] = [[next(place for place in elsewhere if place not in first), *first[1:]], *rest]
    elif part == "notes":
        given["notes"] = given["notes"][::-1]
    elif part == "frets":
        given["frets"] = (1, None, 12, None, 1, 12)
    elif part == "number":
        given["number"] = next(number for number in "1234567" if number not in answer["numbers"])
    else:
        given["name"] = "B♭m7♭5"
    return given


@SCREENS
def test_every_ask_is_answered_right_and_in_time(drill: Drill, stage: Open, screen: dict[str, int]) -> None:
    drill.seat(*WITH_THE_EAR_AND_EYE, tempo=30)
    at = stage(drill, screen=screen)
    at.go_on()
    for card in WITH_THE_EAR_AND_EYE:
        at.wait_for_question()
        question = at.question()
        assert question["card"] == card
        at.answer(question)
        at.outcome()
        assert at.acknowledged(question["question"])["outcome"] == "clean", card
        at.page.locator("#outcome .mark-of.clean").wait_for()
        at.gone("will say whether")
        assert question["answer"]["chord"] in at.text("#outcome")
        at.next()


def each_once(drill: Drill, at: Stage, cards: Sequence[str], **settings: object) -> Iterator[dict[str, Any]]:
    """The cards one after the other, to be missed, few at a time: a missed one comes back after three others."""
    for start in range(0, len(cards), FEW):
        batch = cards[start : start + FEW]
        drill.seat(*batch, **settings)
        at.go_on()
        for card in batch:
            at.wait_for_question()
            question = at.question()
            assert question["card"] == card
            yield question
            at.next()
        at.page.evaluate("sessionStorage.removeItem('holds')")  # Or it would close the session it held.


@SCREENS
def test_every_ask_answered_wrong_is_missed_and_explained(drill: Drill, stage: Open, screen: dict[str, int]) -> None:
    at = stage(drill, screen=screen)
    for question in each_once(drill, at, WITH_THE_EAR_AND_EYE, tempo=30):
        at.answer(question, **wrong(question))
        at.outcome()
        assert at.acknowledged(question["question"])["outcome"] == "missed", question["card"]
        at.page.locator("#outcome .mark-of.missed").wait_for()
        at.gone("Not right.")
        assert question["answer"]["description"] in at.text("#outcome"), question["card"]


def test_every_ask_is_shown_by_one_key(drill: Drill, stage: Open) -> None:
    at = stage(drill, screen=DESKTOP)
    at.context.add_init_script(WARM)
    for question in each_once(drill, at, (*WITH_THE_EAR_AND_EYE[::2], RUN)):
        at.keys("s")
        assert at.outcome() == "missed", question["card"]
        at.see("Shown, so it counts as missed.")


def test_every_ask_fits_upright_and_on_its_side_and_axe_finds_nothing(drill: Drill, stage: Open) -> None:
    at = stage(drill, motion=False)
    at.context.add_init_script(WARM)

    def fits(card: str) -> None:
        root = "document.documentElement"
        assert at.page.evaluate(f"{root}.scrollHeight - innerHeight") <= 1, card
        assert at.page.evaluate(f"{root}.scrollWidth - screen.width") <= 0, card
        assert small_targets(at) == [], card

    for number, question in enumerate(each_once(drill, at, (*WITH_THE_EAR_AND_EYE[:-2], RUN, CHANGE))):
        card = question["card"]
        at.page.emulate_media(color_scheme="dark" if number % 2 else "light")
        words = at.page.locator(".asked .number:not(.way), .asked .where, .asked .wanted").all_inner_texts()
        assert len(" ".join(words).split()) <= 8, words
        fits(card)
        assert axe(at) == [], card
        at.page.set_viewport_size(PHONE_ON_ITS_SIDE)
        at.page.wait_for_timeout(60)
        fits(card)
        at.page.set_viewport_size(PHONE)
        at.page.wait_for_timeout(60)
        at.press("Show me")
        assert at.outcome() == "missed", card


# ---- with the metronome


CLICKS = """(() => {
  const start = OscillatorNode.prototype.start;
  window.clicks = [];
  OscillatorNode.prototype.start = function (at) {
    window.clicks.push({ at, strong: this.frequency.value > 1500, ahead: at - this.context.currentTime });
    return start.call(this, at);
  };
})()"""


@SCREENS
def test_a_run_is_played_to_the_click_and_marked_step_by_step(
    drill: Drill, stage: Open, screen: dict[str, int]
) -> None:
    drill.seat(RUN, RUN.replace(":G:", ":D:"), tempo=240)
    at = stage(drill, screen=screen)
    at.context.add_init_script(CLICKS)
    at.go("/session")
    at.press("Go on here")
    at.see("doctor or physiotherapist")
    at.press("Ready") if at.by_touch else at.keys("Enter")
    for marks, outcome in (((True, True, True), "clean"), ((True, False, True), "missed")):
        at.wait_for_question()
        question = at.question()
        at.answer(question, marks=marks)
        assert at.outcome() == outcome
        assert at.acknowledged(question["question"])["outcome"] == outcome
        assert question["answer"]["chord"] in at.text("#outcome")
        if outcome == "clean":
            assert "1.5 s" in at.text("#outcome"), "six beats at 240"
        else:
            at.see("Fumbled: number 2 of 3.")
        at.next()
    clicks = at.page.evaluate("window.clicks")
    assert len(clicks) == 2 * (4 + 6)
    gaps = [round(after["at"] - before["at"], 6) for before, after in pairwise(clicks[:10])]
    assert gaps == [0.25] * 9, "every click stands on the audio clock"
    assert [click["strong"] for click in clicks[:10]] == [True, *[False] * 3, *[True, False] * 3]
    assert min(click["ahead"] for click in clicks) > 0, "each is scheduled before it sounds"


def test_one_hard_change_eight_times_over(drill: Drill, stage: Open) -> None:
    drill.seat(CHANGE, tempo=240)
    at = stage(drill)
    at.context.add_init_script(WARM)
    at.go_on()
    question = at.question()
    assert question["prompt"]["steps"] == ["I", "IV"] * 4
    at.press("Start")
    at.page.locator(".run-now").get_by_text("IV", exact=True).wait_for()
    assert at.text(".run-next") == "then I", "the next one is there early"
    at.page.wait_for_selector("[data-state=played]", timeout=20_000)
    at.page.wait_for_timeout(350)
    at.press("All right")
    assert at.outcome() == "clean"


@pytest.mark.parametrize("silence", ["the click is off", "there is no sound"])
def test_a_run_works_without_sound(drill: Drill, stage: Open, silence: str) -> None:
    drill.seat(RUN, tempo=240)
    at = stage(drill, motion=False)
    at.context.add_init_script(WARM)
    at.context.add_init_script(CLICKS if silence == "the click is off" else "delete window.AudioContext")
    at.go_on()
    if silence == "the click is off":
        at.press("Click on")
        at.page.get_by_role("button", name="Click off").wait_for()
    at.press("Start")
    at.page.locator(".beats .past").nth(2).wait_for()
    assert at.page.evaluate("document.getAnimations().length") == 0, "the beats step, and nothing moves"
    at.page.wait_for_selector("[data-state=played]", timeout=20_000)
    assert not at.page.evaluate("window.clicks?.length")


def test_a_run_can_be_stopped_and_stops_when_the_page_is_left(drill: Drill, stage: Open) -> None:
    drill.seat(RUN, tempo=60)
    at = stage(drill, screen=DESKTOP)
    at.context.add_init_script(WARM)
    at.go_on()
    at.see("turn it up only until you hear the click")
    at.keys(" ")
    at.page.get_by_role("button", name="Stop").wait_for()
    at.keys("Escape")
    at.page.get_by_role("button", name="Start").wait_for()
    at.keys(" ")
    at.page.get_by_role("button", name="Stop").wait_for()
    at.page.evaluate(
        """() => {
          Object.defineProperty(document, "hidden", { configurable: true, get: () => true });
          document.dispatchEvent(new Event("visibilitychange"));
          delete document.hidden;
          document.dispatchEvent(new Event("visibilitychange"));
        }"""
    )
    at.see("The page was hidden")
    assert at.page.get_by_role("button", name="Start").is_visible()
    assert at.question()["review"] is None


def test_what_was_played_is_marked_after_a_reload(drill: Drill, stage: Open) -> None:
    drill.seat(RUN, tempo=240)
    at = stage(drill)
    at.context.add_init_script(WARM)
    at.go_on()
    at.press("Start")
    at.page.wait_for_selector("[data-state=played]", timeout=20_000)
    at.page.reload()
    at.page.wait_for_selector(".marks")
    assert axe(at) == []
    assert small_targets(at) == []
    at.page.locator('.marks [data-key="2"]').tap()
    at.press("1 fumbled, the rest right")
    assert at.outcome() == "missed"


# ---- on the neck


def test_guide_tones_go_chord_by_chord_and_back(drill: Drill, stage: Open) -> None:
    drill.seat("guide-tones:G:2.7~5.7~1.7:box1", tempo=30)
    at = stage(drill)
    at.go_on()
    question = at.question()
    first, second, third = question["answer"]["spots"][0]
    selected = at.page.locator("[role=gridcell][aria-selected=true]")
    at.press("Next: V7")
    assert "Nothing is tapped yet" in at.text("#ledge")
    for string, fret in first:
        at.put_at(string, fret)
    at.press("Next: V7")
    assert at.text(".way .here") == "V7"
    assert selected.count() == 0
    assert at.page.locator(".cell.before").count() == len(first), "the chord before stays in sight"
    at.press("Back")
    assert selected.count() == len(first)
    at.press("Next: V7")
    for string, fret in second:
        at.put_at(string, fret)
    at.page.reload()
    at.wait_for_question()
    assert at.text(".way .here") == "V7", "a reload goes on at the same chord"
    at.press("Next: Imaj7")
    at.tap_notes([third])
    assert at.acknowledged(question["question"])["outcome"] == "late", "the question was on the screen before"


def test_only_the_notes_of_the_drawing_can_be_tapped(drill: Drill, stage: Open) -> None:
    drill.seat("tone:C:1:box4:third")
    at = stage(drill)
    at.go_on()
    spots = at.question()["prompt"]["spots"]
    assert at.page.locator(".cell.played").count() == len(spots)
    frets = [fret for _, fret in spots]
    string, fret = spots[0]
    away = next(other for other in range(min(frets), max(frets) + 1) if [string, other] not in spots and other > 0)
    at.page.locator(f'[data-string="{string}"][data-fret="{away}"]').tap(force=True)
    assert at.page.locator("[aria-selected=true]").count() == 0
    at.put_at(string, fret)
    assert at.page.locator("[aria-selected=true]").count() == 1


def test_what_is_missing_can_be_changed_before_the_name_is_given(drill: Drill, stage: Open) -> None:
    drill.seat("left-out:Gb:1.7:box1:third", tempo=30)
    at = stage(drill)
    at.go_on()
    question = at.question()
    at.pick(["root"])
    assert at.text(".asked .wanted") == "What is it now?"
    assert at.page.locator(".name-pad svg").count() == 1, "the part stays in sight"
    at.press("Missing: root. Change it")
    at.answer(question)
    assert at.outcome() == "clean"


def test_a_tone_that_moves_can_be_changed_before_where_to_is_said(drill: Drill, stage: Open) -> None:
    drill.seat("bend:G:1:maj7", tempo=30)
    at = stage(drill, screen=DESKTOP)
    at.go_on()
    at.keys("3", "Backspace", "1", "-", "1")
    assert at.outcome() == "clean"
    at.see("goes down 1 fret")


def test_notes_can_be_taken_back_and_what_is_no_note_is_said(drill: Drill, stage: Open) -> None:
    drill.seat("spell:Gb:4")
    at = stage(drill)
    at.go_on()
    field = at.page.get_by_label("Notes, written")
    at.press("C♭")
    at.press("F")
    at.press("Undo")
    at.press("E♭")
    assert field.input_value() == "C♭ E♭"
    field.fill("C♭ E♭ H")
    at.press("Check")
    at.see("is not all notes")
    assert field.input_value() == "C♭ E♭ H"
    field.fill("cb eb gb")
    at.press("Check")
    assert at.outcome() in ("clean", "late")


@pytest.mark.parametrize(
    ("frets", "capo", "views"),
    [
        (22, 0, ("nut to fret 12", "frets 12 to 22")),
        (24, 0, ("nut to fret 12", "frets 13 to 24")),
        (20, 2, ("capo to fret 12, counted from the capo at 2", "frets 8 to 18, counted from the capo at 2")),
        (12, 0, ("nut to fret 12", None)),
    ],
)
def test_the_neck_is_the_players_own(
    drill: Drill, stage: Open, frets: int, capo: int, views: tuple[str, str | None]
) -> None:
    drill.seat("place:D:1:box4", frets=frets, capo=capo, tuning="drop D" if capo else "standard")
    at = stage(drill)
    at.go_on()
    grid = at.page.get_by_role("grid")
    assert grid.get_attribute("aria-label") == f"Neck, {views[0]}"
    other = at.page.get_by_role("button", name="Show frets")
    assert other.count() == (0 if views[1] is None else 1)
    if views[1]:
        other.tap()
        assert grid.get_attribute("aria-label") == f"Neck, {views[1]}"
        assert small_targets(at) == []
    assert ("capo 2 · drop D" in at.text(".bar")) is (capo == 2)
    drill.api("PUT", "settings", {"frets": 22, "capo": 0, "tuning": "standard"})
