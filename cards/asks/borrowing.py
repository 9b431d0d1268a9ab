"""The ask *borrowed*: the question gives the number of a chord from outside the key, the answer is a voicing.

Its cards are the chords from outside the key that are most frequent in charts: ♭VII in E, II7, iv, V7 of
vi. Besides, any chord of a player's tunes that is not the key's own has a card in each box. The answer is
given and judged as in *place*.
"""

from __future__ import annotations

from collections.abc import Iterator

from cards.asks import placing
from cards.asks.answers import Answer, Given, Prompt, Verdict
from cards.asks.card import Card, Setting
from cards.asks.naming import numerals
from cards.asks.record import Ask
from cards.guitar.regions import BOXES
from cards.theory.keys import Key, Mode
from cards.theory.numerals import Numeral, own_numeral, read_numeral

ASK = "borrowed"
PARTS = placing.PARTS

# Sorted by their share of all chords from outside the key, as counted in public charts. In major keys: II 22 %,
# ♭VII 19 %, VI 9 %, III 6 %, I7 5 %, then v, ♭III, IV7, II7, III7, iv, ♭VI, VI7. In minor keys: ♭II 8 %.
_IN_MAJOR = ("II", "bVII", "VI", "III", "I7", "v", "bIII", "IV7", "II7", "III7", "iv", "bVI", "VI7")
_IN_MINOR = ("bII",)


def cards(key: Key) -> Iterator[Card]:
    """Yield one card for each common borrowed chord in each box."""
    texts = {Mode.MAJOR: _IN_MAJOR, Mode.MINOR: _IN_MINOR, Mode.BLUES: ()}[key.mode]
    for text in texts:
        for box in BOXES:
            yield Card(ASK, key, (read_numeral(text, key),), box)


def placing_card(key: Key, numeral: Numeral, box: int | None) -> Card:
    """Return the card that asks for a voicing of any chord: *place* for the key's own, *borrowed* for others."""
    return Card(placing.ASK if numeral in numerals(key) else ASK, key, (numeral,), box)


def placed_first(card: Card) -> tuple[Card, ...]:
    """Return the card that asks for a voicing of a card's chord in its box."""
    return (placing_card(card.key, card.numeral, card.box),)


def requires(card: Card) -> tuple[Card, ...]:
    """Return the cards that place one, four and five of the key in the same box."""
    return tuple(Card(placing.ASK, card.key, (own_numeral(card.key, degree),), card.box) for degree in (1, 4, 5))


def question(card: Card, setting: Setting) -> Prompt:
    """Show the numeral, the key and the box."""
    return placing.question(card, setting)


def answer(card: Card, setting: Setting) -> Answer:
    """Return the main voicing, and every voicing that is accepted."""
    return placing.answer(card, setting)


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Judge whether the frets are a right voicing."""
    return placing.judge(card, given, setting)


def actions(card: Card, given: Given, mode: str) -> int:
    """Count as *place* does."""
    return placing.actions(card, given, mode)


RECORD = Ask(
    name=ASK,
    prompts=("ask.borrowed", "ask.borrowed.open", "ask.rootless", "ask.rootless.open"),
    stage=3,
    head_start=-0.1,
    usual_seconds=9.4,  # 5.9 actions on average, and the thinking of *place*: both find a grip.
    cards=cards,
    requires=requires,
    answerable=placing.has_voicings,
    question=question,
    answer=answer,
    judge=judge,
    actions=actions,
    draws=placing.shown_voicing,
    any_chord=True,
)
