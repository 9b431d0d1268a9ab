"""The ask *shape*: the question is a drawing, the answer is the CAGED shape it lies in: C, A, G, E or D.

If two shapes cover the voicing, both are accepted.
"""

from __future__ import annotations

from collections.abc import Iterator

from cards.asks import borrowing, placing
from cards.asks.answers import Answer, Choice, Given, Prompt, Verdict
from cards.asks.card import Card, Setting
from cards.asks.naming import spelled_out
from cards.asks.record import Ask
from cards.drawings.voicing import draw_question
from cards.guitar.regions import BOXES
from cards.guitar.shapes import SHAPES
from cards.messages import message, phrase
from cards.theory.keys import Key, Mode
from cards.theory.numerals import own_numeral

ASK = "shape"
PARTS = ("choice",)


def cards(key: Key) -> Iterator[Card]:
    """Yield the triads of the major keys in each box.

    The relative minor keys have the same chords in the same boxes.
    """
    if key.mode != Mode.MAJOR:
        return
    for degree in key.degrees:
        for box in BOXES:
            yield Card(ASK, key, (own_numeral(key, degree),), box)


def has_shape(card: Card, setting: Setting) -> bool:
    """Return whether the voicing lies in a shape; in other tunings it may not."""
    return placing.has_voicings(card, setting) and bool(placing.main_voicing(card, setting).shapes)


def question(card: Card, setting: Setting) -> Prompt:
    """Show the main voicing as bare dots."""
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
        drawing=draw_question(frets, None, phrase("A chord"), setting.left_handed),
        choices=(Choice("shape", options),),
    )


def answer(card: Card, setting: Setting) -> Answer:
    """Return the shapes that cover the voicing."""
    shapes = placing.main_voicing(card, setting).shapes
    return Answer(
        chord=str(card.chord),
        notes=tuple(map(str, card.chord.notes)),
        choices=tuple((shape.name,) for shape in shapes),
        drawing=placing.draw_main(card, setting),
        words=message("answer.shape", chord=card.chord, shapes=" or ".join(shape.name for shape in shapes)),
    )


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Judge whether the choice is one of the shapes."""
    right = answer(card, setting)
    if not given.choice:
        return Verdict(False, (message("wrong.no_choice"), right.words), right.drawing)
    if given.choice in right.choices:
        return Verdict(True, (right.words,), right.drawing)
    return Verdict(False, (right.words, spelled_out(card)), right.drawing)


def actions(card: Card, given: Given, mode: str) -> int:
    """Count one tap or one key."""
    return 1


RECORD = Ask(
    name=ASK,
    prompts=("ask.shape",),
    stage=2,
    head_start=0.8,
    usual_seconds=6.5,  # 1 action, and the thinking of *number*: both read a drawing.
    cards=cards,
    requires=borrowing.placed_first,
    answerable=has_shape,
    question=question,
    answer=answer,
    judge=judge,
    actions=actions,
    draws=placing.main_voicing,
)
