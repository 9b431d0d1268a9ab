"""A whole session, played by touch on a phone and by the keyboard on a desktop."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.browser.stage import DESKTOP, PHONE, Drill, Stage, right_frets

Open = Callable[..., Stage]

EVERY_ASK = ("name:Ab:4", "place:Ab:4:box1", "name-place:Bb:5.7:box1", "number:G:6:box1", "hands-on:G:2:box1")

# Chord tones or not, no hand reaches from fret 1 to fret 12.
TOO_WIDE = (1, None, 12, None, 1, 12)


def ready(stage: Stage) -> None:
    """Past the warm-up line, if the day's first hands-on card is next."""
    if stage.page.locator(".asked .said").count():
        assert "Pick up the guitar" in stage.text(".asked")
        assert "doctor or physiotherapist" in stage.text("#outcome")
        stage.press("Ready") if stage.by_touch else stage.keys("Enter")
    stage.wait_for_question()


@pytest.mark.parametrize("screen", [PHONE, DESKTOP], ids=["by touch on a phone", "by keyboard on a desktop"])
def test_a_session_of_every_ask_answered_right(drill: Drill, stage: Open, screen: dict[str, int]) -> None:
    drill.seat(*EVERY_ASK)
    at = stage(drill, screen=screen)
    at.go_on()
    for _ in EVERY_ASK:
        ready(at)
        question = at.question()
        at.answer(question)
        assert at.outcome() == "clean", question["card"]
        stored = at.acknowledged(question["question"])
        assert stored["outcome"] == "clean"
        assert question["answer"]["chord"] in at.text("#outcome")
        at.next()


@pytest.mark.parametrize("screen", [PHONE, DESKTOP], ids=["by touch on a phone", "by keyboard on a desktop"])
def test_wrong_unplayable_and_shown_answers_are_missed_and_explained(
    drill: Drill, stage: Open, screen: dict[str, int]
) -> None:
    drill.seat("place:G:1:box1", "name:E:3", "number:C:5:box1", "hands-on:D:1:box1", "place:C:4:box1")
    at = stage(drill, screen=screen)
    at.go_on()
    wide = shown = False
    for _ in range(5):
        ready(at)
        question = at.question()
        ask = question["prompt"]["ask"]
        if ask == "place" and wide:
            at.press("Show me") if at.by_touch else at.keys("s")
            shown = True
        elif ask == "place":
            at.answer(question, frets=TOO_WIDE)
            wide = True
        elif ask == "number":
            at.answer(question, number=next(n for n in "1234567" if n not in question["answer"]["numbers"]))
        elif ask == "name":
            at.answer(question, name="B♭m7♭5")
        else:
            at.answer(question, right=False)
        assert at.outcome() == "missed", question["card"]
        at.acknowledged(question["question"])
        at.gone("Not right.")  # The service's words are there.
        assert question["answer"]["description"] in at.text("#outcome")
        if ask == "place" and not shown:
            assert "yours" in at.page.locator("#work svg").text_content(), "the player's own voicing is not shown"
        at.next()
    assert shown


def test_the_region_is_a_hint_and_makes_a_right_answer_late(drill: Drill, stage: Open) -> None:
    drill.seat("place:G:1:box1")
    at = stage(drill)
    at.go_on()
    question = at.question()
    assert at.page.locator(".cell.band").count() == 0
    at.press("Mark the region")
    low, high = question["prompt"]["hint"]
    marked = {int(cell.get_attribute("data-fret")) for cell in at.page.locator(".cell.band").all()}
    assert marked >= set(range(low, high + 1)) - set(range(13, 30))
    at.answer(question)
    assert at.outcome() == "late"
    assert at.acknowledged(question["question"])["outcome"] == "late"


def test_a_page_that_was_hidden_does_not_know_the_time(drill: Drill, stage: Open) -> None:
    drill.seat("name:D:3")
    at = stage(drill)
    at.go_on()
    question = at.question()
    at.page.evaluate(
        """() => {
          Object.defineProperty(document, "hidden", { configurable: true, get: () => true });
          document.dispatchEvent(new Event("visibilitychange"));
          delete document.hidden;
          document.dispatchEvent(new Event("visibilitychange"));
        }"""
    )
    at.answer(question)
    assert at.outcome() == "late"
    assert "Time unknown" in at.text("#outcome")


def test_a_name_that_cannot_be_read_stays_and_is_explained(drill: Drill, stage: Open) -> None:
    drill.seat("name:D:3")
    at = stage(drill, screen=DESKTOP)
    at.go_on()
    field = at.page.get_by_label("Chord name, written")
    field.fill("Hm")
    field.press("Enter")
    assert "No chord “Hm”" in at.text("#name-problem")
    assert field.input_value() == "Hm"
    assert at.question()["review"] is None


def test_undo_clear_and_the_other_view_of_the_neck(drill: Drill, stage: Open) -> None:
    drill.seat("place:G:1:box1")
    at = stage(drill)
    at.go_on()

    def sounding() -> list[str]:
        found = at.page.locator("[role=gridcell][aria-selected=true]").all()
        return sorted(cell.get_attribute("aria-label") for cell in found)

    at.place((3, 0, None, None, None, None))
    assert sounding() == ["string 5 open", "string 6 fret 3"]
    at.press("Undo")
    assert sounding() == ["string 6 fret 3"]
    at.press("Show frets 12 to 22")
    at.page.locator('[data-string="1"][data-fret="15"]').tap()
    assert at.page.locator('[data-string="6"][data-fret="0"]').inner_text() == "3"
    at.press("Show nut to fret 12")
    assert at.page.locator('[data-string="1"][data-fret="0"]').get_attribute("aria-label") == "string 1 at fret 15"
    at.press("Clear")
    assert sounding() == []
    at.press("Check")
    assert "No string is set yet" in at.text("#ledge")


def test_a_name_can_be_changed_before_the_check(drill: Drill, stage: Open) -> None:
    drill.seat("name-place:G:4:box1")
    at = stage(drill)
    at.go_on()
    question = at.question()
    at.name("B♭m7♭5")
    at.page.locator('[data-string="6"][data-fret="1"]').tap()
    assert at.page.locator(".name-pad").count() == 0
    at.press("Named B♭m7♭5: change it")
    at.name(question["answer"]["names"][0])
    assert at.page.locator('[data-string="6"][data-fret="1"][aria-selected=true]').count() == 1, "the neck stays"
    at.press("Clear")
    at.place(right_frets(question))
    at.check()
    assert at.outcome() in ("clean", "late")


def test_the_time_is_up_after_the_running_card_and_the_closing_page_lists_it(drill: Drill, stage: Open) -> None:
    drill.seat("name:D:3", "place:Ab:4:box1", minutes=5)
    drill.pass_time(298)
    at = stage(drill)
    at.go_on()
    assert at.text("#left") == "last minute"
    at.see("time is up: last card")
    question = at.question()
    at.press("Show me")
    assert at.outcome() == "missed"
    at.acknowledged(question["question"])
    at.page.wait_for_timeout(350)
    at.press("That was the time")
    at.page.wait_for_url("**/closing")
    at.page.wait_for_selector("#closing .card")
    assert at.page.get_by_role("heading", name="What comes next").is_visible()
    missed = at.page.locator("section[aria-labelledby=missed-title] .card")
    assert missed.count() == 1
    assert f"in {question['prompt']['key']}" in missed.inner_text()
    assert missed.locator("svg").count() == 1
    at.page.go_back()
    assert at.page.url != f"{drill.origin}/session"


@pytest.mark.parametrize("screen", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_a_tired_hand_goes_on_with_cards_that_need_none(drill: Drill, stage: Open, screen: dict[str, int]) -> None:
    drill.seat("name:B:1", "hands-on:G:2:box1", "name:Ab:4", "hands-on:G:5:box1", "name:E:3")
    at = stage(drill, screen=screen)
    at.go_on()
    at.answer(at.question())
    at.outcome()
    at.acknowledged(0)
    at.next()
    ready(at)
    assert at.question()["card"] == "hands-on:G:2:box1"
    at.press("My hand is tired")
    at.page.get_by_role("button", name="My hand is tired").wait_for(state="detached")
    at.wait_for_question()
    question = at.question()
    assert question["card"] == "name:Ab:4"
    at.answer(question)
    assert at.outcome() == "clean"
    at.acknowledged(question["question"])
    at.next()
    assert at.question()["card"] == "name:E:3"
    assert not [each for each in drill.session()["questions"] if each["card"].startswith("hands-on")]
