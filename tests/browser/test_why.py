"""Why this card now: a line on every card for whoever wants it, and nothing for the others."""

from __future__ import annotations

import json
import re
import sqlite3
from collections.abc import Callable
from contextlib import closing

import pytest

from drill.config import FILE_NAME
from tests.browser.stage import DESKTOP, PHONE, Drill, Stage
from tests.browser.test_pages import axe

Open = Callable[..., Stage]

SWITCH = "Every card says why it is asked now"

# Every reason there is, as it is kept and as it is said.
REASONS: tuple[tuple[str, dict[str, str], str], ...] = (
    ("why-new", {"key": "B♭"}, "New in B♭."),
    ("why-new-box", {"key": "E♭", "box": "2"}, "New in E♭: box 2."),
    ("why-missed", {}, "Missed last time."),
    ("why-late", {}, "Right last time, but late."),
    ("why-skill", {"skills": "degree:b7"}, "Keeps the flat seven in play."),
    ("why-fading", {"days": "9"}, "Fading: 9 days."),
    ("why-fading-a-day", {}, "Fading: one day."),
    ("why-warm", {}, "Known well, to keep it so."),
    ("why-focus", {"skills": "key:Ab degree:4"}, "You asked for the four of A♭."),
    ("why-again", {}, "Missed a moment ago: once more."),
    ("why-at-end", {}, "Missed today: once more before the end."),
)
IN_WORDS = re.compile(
    r"(New in|Missed|Right last time|Keeps .+ in play|Fading: |Known well|You asked for |.+ needs it).*\."
)


def seat_for_reasons(drill: Drill) -> None:
    """A session of a card for each reason."""
    drill.seat(*(f"number:{key}:4:box1" for key in ("G", "Ab", "D", "Bb", "A", "Eb", "E", "Db", "F", "B", "C")))
    session = drill.session()["id"]
    with closing(sqlite3.connect(drill.data / FILE_NAME, timeout=10)) as db, db:
        db.executemany(
            "UPDATE questions SET reason = ?, reason_values = ? WHERE session_id = ? AND question = ?",
            [(reason, json.dumps(values), session, n) for n, (reason, values, _) in enumerate(REASONS)],
        )


def reads(at: Stage) -> bool:
    """Whether the line is seen whole, and nothing lies on it."""
    return bool(
        at.page.evaluate(
            """() => {
              const why = document.getElementById("why");
              const text = document.createRange();
              text.selectNodeContents(why);
              const { left, right, top, bottom } = text.getBoundingClientRect();
              const onTop = [left + 1, (left + right) / 2, right - 1]
                .every((x) => document.elementFromPoint(x, (top + bottom) / 2) === why);
              return left >= 0 && right <= innerWidth && top >= 0 && bottom <= innerHeight && onTop
                && document.documentElement.scrollWidth <= screen.width;
            }"""
        )
    )


def test_it_is_off_until_it_is_switched_on_in_the_settings(drill: Drill, stage: Open) -> None:
    assert drill.api("GET", "player")["settings"]["why"] is False
    drill.seat("name:D:3")
    at = stage(drill)
    at.go_on()
    assert not at.page.locator("#why").is_visible()
    at.go("/settings")
    assert not at.page.get_by_role("checkbox", name=SWITCH).is_checked()
    at.choose(SWITCH)
    at.page.locator("#saved:not(:empty)").wait_for()
    assert drill.api("GET", "player")["settings"]["why"] is True
    at.go("/session")
    at.wait_for_question()
    assert at.text("#why") == at.question()["reason"]


def test_every_card_of_a_planned_session_says_why_in_words(band: Drill, stage: Open) -> None:
    band.end_session()
    band.api("PUT", "settings", {"why": True, "switched_off": []})
    session = band.api("POST", "sessions", {"minutes": 5, "tab": "away"})["id"]
    planned = band.api("GET", f"sessions/{session}")["questions"]
    assert [each["reason"] for each in planned if not IN_WORDS.fullmatch(each["reason"])] == []
    assert len({each["reason"] for each in planned}) > 2


@pytest.mark.parametrize("screen", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_every_reason_is_said_on_its_card_in_both_themes(drill: Drill, stage: Open, screen: dict[str, int]) -> None:
    drill.api("PUT", "settings", {"why": True})
    seat_for_reasons(drill)
    at = stage(drill, screen=screen)
    at.go_on()
    for n, (reason, _, words) in enumerate(REASONS):
        for theme in ("light", "dark"):
            at.page.emulate_media(color_scheme=theme)
            assert at.text("#why") == words
            assert reads(at), words
            if reason in ("why-skill", "why-at-end"):
                assert axe(at) == [], (words, theme)
        question = at.question()
        assert question["question"] == n
        at.answer(question)
        assert at.outcome() == "clean"
        assert at.text("#why") == words, "the reason is to stay beside the answer"
        at.acknowledged(n)
        at.next()


def test_a_page_without_a_card_gives_no_reason(drill: Drill, stage: Open) -> None:
    drill.api("PUT", "settings", {"why": True})
    drill.seat("name:D:3", "name:A:3")
    at = stage(drill)
    at.go_on()
    assert at.page.locator("#why").is_visible()
    session = drill.session()["id"]
    drill.api("POST", f"sessions/{session}/here", {"tab": "elsewhere"})
    at.page.reload()
    at.see("This session is open in another tab.")
    assert not at.page.locator("#why").is_visible()
