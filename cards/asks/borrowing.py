"""The ask *borrowed*: a chord from outside the key, called by number, put on the neck.

♭VII in E, II7, iv, V7 of vi: the chords outside the key that charts most often hold. It is answered
and judged like *place*.
"""

from __future__ import annotations

from collections.abc import Iterator

from cards.asks import placing
from cards.asks.answers import Answer, Given, Prompt, Verdict
from cards.asks.card import Card, Setting
from cards.guitar.regions import BOXES
from cards.theory.keys import Key, Mode
from cards.theory.numerals import read_numeral

ASK = "borrowed"
PARTS = placing.PARTS
START = -0.1

# In the order of their share of all chords outside the key, counted over public charts: major keys
# II 22 %, ♭VII 19, VI 9, III 6, I7 5, then v, ♭III, IV7, II7, III7, iv, ♭VI, VI7; minor keys ♭II 8.
_IN_MAJOR = ("II", "bVII", "VI", "III", "I7", "v", "bIII", "IV7", "II7", "III7", "iv", "bVI", "VI7")
_IN_MINOR = ("bII",)


def cards(key: Key) -> Iterator[Card]:
    """One card for each common borrowed chord in each box."""
    texts = {Mode.MAJOR: _IN_MAJOR, Mode.MINOR: _IN_MINOR, Mode.BLUES: ()}[key.mode]
    for text in texts:
        for box in BOXES:
            yield Card(ASK, key, (read_numeral(text, key),), box)


def question(card: Card, setting: Setting) -> Prompt:
    """The numeral, the key and the box."""
    return placing.question(card, setting)


def answer(card: Card, setting: Setting) -> Answer:
    """The main voicing, and every voicing that is accepted."""
    return placing.answer(card, setting)


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Whether the frets are a right voicing."""
    return placing.judge(card, given, setting)


def actions(card: Card, given: Given, mode: str) -> int:
    """As for place."""
    return placing.actions(card, given, mode)
