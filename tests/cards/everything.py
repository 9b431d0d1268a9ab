"""Every card with its question and answer for a player without any setting, worked out once."""

from __future__ import annotations

from functools import cache

from cards.asks import Answer, Card, Prompt, Setting, answer, question, universe
from cards.guitar.fingering import Frets
from drill.words import say

CARDS = list(universe())
PLAIN = Setting()
PLACING = ("place", "name-place", "hands-on", "borrowed")
"""Asks for a voicing."""


def of(*asks: str) -> list[Card]:
    return [card for card in CARDS if card.ask in asks]


@cache
def told(card: Card) -> Answer:
    """The answer; drawing it takes time."""
    return answer(card, PLAIN)


@cache
def asked(card: Card) -> Prompt:
    return question(card, PLAIN)


def words_of(card: Card) -> str:
    return say(asked(card).words)


def frets_of(fret_code: str) -> Frets:
    """Six frets from six characters, as in ``x4312x``."""
    return tuple(None if sign == "x" else int(sign, 36) for sign in fret_code)
