"""The ask *name and place*: as in "four chord in E♭, box 2: name and shape"."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from cards.asks import naming, placing
from cards.asks.answers import Answer, Given, Prompt, Verdict
from cards.asks.card import Card, Setting
from cards.theory.keys import Key

ASK = "name-place"
PARTS = ("name", "frets")
START = -0.3


def cards(key: Key) -> Iterator[Card]:
    """One card for each chord of the key in each box."""
    return placing.cards_in_boxes(ASK, key)


def question(card: Card, setting: Setting) -> Prompt:
    """The number, the key and the box; both parts are asked."""
    return replace(placing.question(card, setting), parts=PARTS)


def answer(card: Card, setting: Setting) -> Answer:
    """The name and the voicings."""
    return replace(placing.answer(card, setting), names=naming.accepted_names(card, setting))


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Right when both parts are; the faults of either are said."""
    named, of_name = naming.judge_name(card, given.name, setting)
    placed = placing.judge(card, given, setting)
    if named and placed.right:
        return replace(placed, messages=(*of_name, *placed.messages[1:]))
    faults = [said for part, right in ((of_name, named), (placed.messages, placed.right)) if not right for said in part]
    return Verdict(False, tuple(dict.fromkeys(faults)), placed.drawing)


def actions(card: Card, given: Given, mode: str) -> int:
    """The actions of both parts."""
    return naming.name_actions(card, given, mode) + placing.actions(card, given, mode)
