"""The ask *name and place*: the question gives a number, a key and a box, the answer is the name and a voicing.

As one player calls to another: "four chord in E♭, box 2: name and shape".
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from cards.asks import borrowing, naming, placing
from cards.asks.answers import Answer, Given, Prompt, Verdict
from cards.asks.card import Card, Setting
from cards.asks.record import Ask
from cards.theory.keys import Key

ASK = "name-place"
PARTS = ("name", "frets")


def cards(key: Key) -> Iterator[Card]:
    """Yield one card for each chord of the key in each box, and in the open position."""
    return placing.cards_in_boxes(ASK, key)


def question(card: Card, setting: Setting) -> Prompt:
    """Show the number, the key and the box; ask for both parts."""
    return replace(placing.question(card, setting), parts=PARTS)


def answer(card: Card, setting: Setting) -> Answer:
    """Return the name and the voicings."""
    return replace(placing.answer(card, setting), names=naming.accepted_names(card, setting))


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Judge both parts: the answer is right if both are, else the faults of either are explained."""
    name_right, name_messages = naming.judge_name(card, given.name, setting)
    placed = placing.judge(card, given, setting)
    if name_right and placed.right:
        return replace(placed, messages=(*name_messages, *placed.messages[1:]))
    faults = (() if name_right else name_messages) + (() if placed.right else placed.messages)
    return Verdict(False, tuple(dict.fromkeys(faults)), placed.drawing)


def actions(card: Card, given: Given, mode: str) -> int:
    """Count the actions of both parts."""
    return naming.name_actions(card, given, mode) + placing.actions(card, given, mode)


RECORD = Ask(
    name=ASK,
    prompts=("ask.name-place", "ask.name-place.open", "ask.rootless", "ask.rootless.open"),
    stage=1,
    head_start=-0.3,
    usual_seconds=12.0,
    cards=cards,
    requires=borrowing.placed_first,
    answerable=placing.has_voicings,
    question=question,
    answer=answer,
    judge=judge,
    actions=actions,
    draws=placing.shown_voicing,
)
