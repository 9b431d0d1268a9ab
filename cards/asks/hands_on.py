"""The ask *hands-on*: as name and place, but on the guitar.

"Played" stops the clock, the answer appears, and the player says whether it was right; the clock,
not the player, decides whether it was in time.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from cards.asks import placing
from cards.asks.answers import Answer, Given, Prompt, Verdict
from cards.asks.card import Card, Setting
from cards.asks.naming import spelled_out
from cards.messages import message
from cards.theory.keys import Key

ASK = "hands-on"
PARTS = ("hands",)
START = 0.4


def cards(key: Key) -> Iterator[Card]:
    """One card for each chord of the key in each box."""
    return placing.cards_in_boxes(ASK, key)


def question(card: Card, setting: Setting) -> Prompt:
    """The number, the key and the box."""
    return replace(placing.question(card, setting), parts=PARTS, hint=None)


def answer(card: Card, setting: Setting) -> Answer:
    """The main voicing; nothing is compared."""
    return replace(placing.answer(card, setting), frets=())


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """The player's word."""
    drawing = placing.draw_shown(card, setting)
    if given.right is None:
        return Verdict(False, (message("wrong.no_word"), spelled_out(card)), drawing)
    return Verdict(given.right, (spelled_out(card),), drawing)


def actions(card: Card, given: Given, mode: str) -> int:
    """One: "Played"."""
    return 1
