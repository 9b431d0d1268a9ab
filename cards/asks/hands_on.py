"""The ask *hands-on*: the question gives a number, a key and a box, the player plays the chord on the guitar.

The button "Played" stops the clock and shows the answer. The player says whether the chord was right; the
clock decides whether it was in time.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from cards.asks import borrowing, placing
from cards.asks.answers import Answer, Given, Prompt, Verdict
from cards.asks.card import Card, Setting
from cards.asks.naming import spelled_out
from cards.asks.record import Ask
from cards.messages import message
from cards.theory.keys import Key

ASK = "hands-on"
PARTS = ("hands",)


def cards(key: Key) -> Iterator[Card]:
    """Yield one card for each chord of the key in each box, and in the open position."""
    return placing.cards_in_boxes(ASK, key)


def question(card: Card, setting: Setting) -> Prompt:
    """Show the number, the key and the box."""
    return replace(placing.question(card, setting), parts=PARTS, hint=None)


def answer(card: Card, setting: Setting) -> Answer:
    """Return the main voicing; the page compares nothing."""
    return replace(placing.answer(card, setting), frets=())


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Take the player's word."""
    drawing = placing.draw_shown(card, setting)
    if given.right is None:
        return Verdict(False, (message("wrong.no_word"), spelled_out(card)), drawing)
    return Verdict(given.right, (spelled_out(card),), drawing)


def actions(card: Card, given: Given, mode: str) -> int:
    """Count one tap on "Played"."""
    return 1


RECORD = Ask(
    name=ASK,
    prompts=("ask.hands-on", "ask.hands-on.open", "ask.rootless", "ask.rootless.open"),
    stage=1,
    head_start=0.4,
    usual_seconds=6.0,
    cards=cards,
    requires=borrowing.placed_first,
    answerable=placing.has_voicings,
    question=question,
    answer=answer,
    judge=judge,
    actions=actions,
    draws=placing.shown_voicing,
    on_guitar=True,
    any_chord=True,
)
