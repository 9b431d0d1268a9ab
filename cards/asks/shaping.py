"""The ask *shape*: a drawing, answered by the CAGED shape it lies in: C, A, G, E or D.

Where two shapes cover the voicing, either is right.
"""

from __future__ import annotations

from collections.abc import Iterator

from cards.asks import placing
from cards.asks.answers import Answer, Choice, Given, Prompt, Verdict
from cards.asks.card import Card, Setting
from cards.asks.naming import spelled_out
from cards.drawings.voicing import draw_question
from cards.guitar.regions import BOXES
from cards.guitar.shapes import SHAPES
from cards.messages import message
from cards.theory.keys import Key, Mode
from cards.theory.numerals import own_numeral

ASK = "shape"
PARTS = ("choice",)
START = 0.8


def cards(key: Key) -> Iterator[Card]:
    """The triads of the major keys in each box: a shape is the same whatever the key is called."""
    if key.mode != Mode.MAJOR:
        return
    for degree in key.degrees:
        for box in BOXES:
            yield Card(ASK, key, (own_numeral(key, degree),), box)


def has_shape(card: Card, setting: Setting) -> bool:
    """Whether the voicing that would be drawn lies in a shape: in other tunings it may not."""
    return placing.has_voicings(card, setting) and bool(placing.main_voicing(card, setting).shapes)


def question(card: Card, setting: Setting) -> Prompt:
    """The main voicing as bare dots."""
    frets = placing.main_voicing(card, setting).frets
    options = tuple((shape.name, shape.name) for shape in SHAPES)
    return Prompt(
        card.ask,
        None,
        None,
        False,
        None,
        message(f"ask.{ASK}"),
        PARTS,
        drawing=draw_question(frets, None, "A chord", setting.left_handed),
        choices=(Choice("shape", options),),
    )


def answer(card: Card, setting: Setting) -> Answer:
    """The shapes that cover the voicing."""
    shapes = placing.main_voicing(card, setting).shapes
    return Answer(
        chord=str(card.chord),
        notes=tuple(map(str, card.chord.notes)),
        choices=tuple((shape.name,) for shape in shapes),
        drawing=placing.draw_main(card, setting),
        words=message("answer.shape", chord=card.chord, shapes=" or ".join(shape.name for shape in shapes)),
    )


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Whether it is one of the shapes."""
    right = answer(card, setting)
    if not given.choice:
        return Verdict(False, (message("wrong.no_choice"), right.words), right.drawing)
    if given.choice in right.choices:
        return Verdict(True, (right.words,), right.drawing)
    return Verdict(False, (right.words, spelled_out(card)), right.drawing)


def actions(card: Card, given: Given, mode: str) -> int:
    """One tap or one key."""
    return 1
