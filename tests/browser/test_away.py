"""Nothing is lost: a reload, the service away, a second tab, the way back, a slip of the thumb."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tests.browser.stage import DESKTOP, Drill, Stage, review

Open = Callable[..., Stage]


def reviews(drill: Drill) -> dict[int, dict[str, Any]]:
    """What the service has, by question."""
    return {each["question"]: each["review"] for each in drill.session()["questions"] if each["review"]}


def test_a_reload_keeps_what_was_put_down_and_forgets_the_time(drill: Drill, stage: Open) -> None:
    drill.seat("place:G:1:box1", "name:D:3")
    at = stage(drill)
    at.go_on()
    question = at.question()
    at.press("Mark the region")
    frets = review(question)["given"]["frets"]
    at.place(frets)
    at.page.reload()
    at.wait_for_question()
    assert at.page.locator("[role=gridcell][aria-selected=true]").count() == sum(fret is not None for fret in frets)
    assert at.page.locator(".cell.band").count() > 0, "the hint was taken and must not be forgotten"
    at.check()
    assert at.outcome() == "late"
    at.next()
    at.wait_for_question()
    at.page.reload()
    at.wait_for_question()
    at.answer(at.question())
    assert at.outcome() == "late"
    assert "Time unknown" in at.text("#outcome")


def test_what_was_played_before_a_reload_is_not_played_again(drill: Drill, stage: Open) -> None:
    drill.seat("hands-on:G:2:box1")
    at = stage(drill, screen=DESKTOP)
    at.context.add_init_script("localStorage.setItem('warmed-up', new Date(Date.now() - 4 * 3600e3).toDateString())")
    at.go_on()
    at.keys(" ")
    at.page.wait_for_selector("[data-state=played]")
    at.page.reload()
    at.page.wait_for_selector("[data-state=played]")
    at.page.wait_for_timeout(350)
    at.keys("y")
    assert at.outcome() == "clean"


def test_the_service_stops_and_starts_in_the_middle_of_a_session(new_drill: Drill, stage: Open) -> None:
    drill = new_drill
    cards = ("name:Ab:4", "name:D:3", "place:G:1:box1", "number:G:6:box1", "name:E:2")
    drill.seat(*cards)
    questions = drill.session()["questions"]
    at = stage(drill)
    at.go_on()
    at.answer(questions[0])
    at.acknowledged(0)
    at.page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    at.next()

    drill.stop()
    at.answer(questions[1])
    assert at.outcome() == "clean", "the page knows the answer without the service"
    assert "F♯m" in at.text("#outcome")
    at.see("1 answer not sent yet")
    at.next()
    at.press("Show me")
    assert at.outcome() == "missed"
    at.see("2 answers not sent yet")
    at.page.reload()
    at.wait_for_question()
    assert at.text(".asked .number") == "?", "the reload goes on with the fourth card"
    at.see("2 answers not sent yet")
    at.answer(questions[3], number="1")
    assert at.outcome() == "missed"
    at.press("Mis-tap")
    at.next()

    drill.start()
    at.answer(questions[4])
    at.acknowledged(4)
    at.gone("not sent yet")
    kept = reviews(drill)
    assert {number: kept[number]["outcome"] for number in range(5)} == {
        0: "clean", 1: "clean", 2: "missed", 3: "missed", 4: "clean"
    }  # fmt: skip
    assert kept[3]["mistap"], "the mis-tap was sent between the answers, in its turn"


def test_a_closing_page_waits_for_the_service(new_drill: Drill, stage: Open) -> None:
    drill = new_drill
    drill.seat("name:D:3", "name:E:2", minutes=5)
    drill.pass_time(299)
    at = stage(drill)
    at.go_on()
    at.see("time is up: last card")
    question = at.question()
    drill.stop()
    at.answer(question)
    at.page.wait_for_timeout(350)
    at.press("That was the time")
    at.page.locator("#outcome").get_by_text("not sent yet").wait_for()
    drill.start()
    at.page.wait_for_url("**/closing")
    at.page.locator("section[aria-labelledby=clean-title] .card").wait_for()
    assert reviews(drill)[question["question"]]["outcome"] == "clean"


def test_a_second_tab_goes_on_and_the_first_says_so_and_loses_nothing(drill: Drill, stage: Open) -> None:
    drill.seat("name:Ab:4", "name:D:3", "name:E:2")
    at = stage(drill)
    at.go_on()
    at.answer(at.question())
    at.acknowledged(0)
    at.next()

    first, second = at.page, at.tab()
    at.page = second
    at.go("/session")
    at.see("open in another tab")
    at.press("Go on here")
    at.wait_for_question()
    assert at.text(".asked .where") == "D"

    at.page = first
    at.name("B♭")
    at.see("This session goes on in another tab.")
    assert at.acknowledged(1)["outcome"] == "missed"

    at.page = second
    at.name("F♯m")
    at.see("the first answer counts")
    assert at.outcome() == "missed"
    at.next()

    at.page = first
    at.press("Go on here")
    at.wait_for_question()
    assert at.text(".asked .where") == "E"


def test_a_tab_that_went_on_before_it_heard_of_the_second_one_says_so_at_its_next_answer(
    drill: Drill, stage: Open
) -> None:
    drill.seat("name:Ab:4", "name:D:3", "name:E:2")
    at = stage(drill)
    at.go_on()
    first, second = at.page, at.tab()
    held: list[Any] = []
    first.route("**/reviews", lambda route: held.append(route))
    at.name("D♭")
    assert at.outcome() == "clean"
    at.next()

    at.page = second
    at.go_on()
    at.page = first
    held[0].continue_()
    first.unroute("**/reviews")
    assert at.acknowledged(0)["outcome"] == "clean"
    assert at.text(".asked .where") == "D", "the card that was begun may be finished"
    at.name("F♯m")
    at.see("This session goes on in another tab.")
    assert at.acknowledged(1)["outcome"] in ("clean", "late")
    first.reload()
    at.see("This session is open in another tab.")


def test_the_home_page_offers_to_go_on_with_a_running_session(drill: Drill, stage: Open) -> None:
    drill.seat("name:Ab:4", "name:D:3")
    at = stage(drill, screen=DESKTOP)
    at.go("/")
    at.page.get_by_role("heading", name="A session is running").wait_for()
    assert not at.page.locator("#start").is_visible()
    at.press("Go on here")
    at.wait_for_question()
    question = at.question()
    at.page.go_back()
    at.page.get_by_role("heading", name="A session is running").wait_for()
    at.page.go_forward()
    at.wait_for_question()
    at.answer(question)
    assert at.acknowledged(question["question"])["outcome"] == "late", "the question was on the screen before"
    at.press("Leave")
    at.press("Go on")
    at.wait_for_question()
    assert at.text(".asked .where") == "D"


def test_a_slip_can_be_taken_back_and_only_the_last_one(drill: Drill, stage: Open) -> None:
    drill.seat("name:Ab:4", "name:D:3", "name:E:2")
    at = stage(drill)
    at.go_on()
    assert not at.page.get_by_role("button", name="Mis-tap").is_visible()
    at.name("A")
    at.acknowledged(0)
    at.press("Mis-tap")
    at.see("Taken back as a mis-tap.")
    assert not at.page.get_by_role("button", name="Mis-tap").is_visible()
    for _ in range(50):
        if reviews(drill)[0]["mistap"]:
            break
        at.page.wait_for_timeout(100)
    kept = reviews(drill)[0]
    assert kept["mistap"]
    assert kept["outcome"] == "missed", "the review itself stays as it was"


def test_a_second_tap_meant_for_the_answer_does_not_skip_it(drill: Drill, stage: Open) -> None:
    drill.seat("place:G:1:box1", "name:D:3")
    at = stage(drill)
    at.go_on()
    at.place((3, None, None, None, None, None))
    place = at.page.get_by_role("button", name="Check").bounding_box()
    middle = place["x"] + place["width"] / 2, place["y"] + place["height"] / 2
    at.page.touchscreen.tap(*middle)
    at.page.touchscreen.tap(*middle)
    at.page.wait_for_timeout(400)
    assert at.outcome() == "missed"


def test_a_refused_answer_stays_in_sight_with_the_reason_and_its_card_comes_again(drill: Drill, stage: Open) -> None:
    drill.seat("name:Ab:4", "name:D:3")
    at = stage(drill)

    def break_it(route: Any) -> None:
        body = route.request.post_data_json
        for item in body["reviews"]:
            item["mode"] = "with the toes"
        route.continue_(post_data=body)

    at.go_on()
    at.page.route("**/reviews", break_it, times=1)
    at.answer(at.question())
    at.see("Not taken: the mode is one of")
    assert "Not taken (name:Ab:4)" in at.text("#unsent")
    at.next()
    assert at.text(".asked .where") == "A♭"
    at.answer(at.question())
    assert at.acknowledged(0)["outcome"] in ("clean", "late")
    at.page.reload()
    at.see("Not taken (name:Ab:4)")
    at.press("Remove")
    at.page.locator("#unsent").wait_for(state="hidden")
