"""The ask *number*: a drawing on the neck and a key, answered by the degree.

Every degree whose triad or seventh chord the drawn notes are is right.
"""

from __future__ import annotations

from cards.asks.answers import Answer, Given, Question, Verdict
from cards.asks.card import Card, Setting
from cards.asks.naming import spelled_out
from cards.asks.placing import draw_main, main_voicing
from cards.drawings.voicing import draw_question
from cards.keys import DEGREES, KeyNameError, read_degree
from cards.messages import message
from cards.voicings import tones_of

ASK = "number"
PARTS = ("number",)


def question(card: Card, setting: Setting) -> Question:
    """The main voicing as bare dots, and the key."""
    frets = main_voicing(card, setting).frets
    return Question(
        card.ask,
        str(card.key),
        None,
        False,
        card.box,
        message(f"ask.{ASK}", key=card.key, box=card.box),
        PARTS,
        drawing=draw_question(frets, card.region, f"A chord in {card.key}", setting.left_handed),
    )


def accepted_numbers(card: Card, setting: Setting) -> tuple[str, ...]:
    """Every degree that the drawn notes are."""
    frets = main_voicing(card, setting).frets
    right = []
    for degree in DEGREES:
        for chord in (card.key.chord(degree), card.key.chord(degree, seventh=True)):
            tones = tones_of(chord, frets)
            foreign = any(fret is not None and tone is None for fret, tone in zip(frets, tones, strict=True))
            if not foreign and set(chord.quality.must_sound) <= set(tones):
                right.append(str(degree))
    return tuple(dict.fromkeys(right))


def answer(card: Card, setting: Setting) -> Answer:
    """The degree, with the voicing's tones."""
    return Answer(
        chord=str(card.chord),
        notes=tuple(map(str, card.chord.notes)),
        names=(),
        numbers=accepted_numbers(card, setting),
        frets=(),
        drawing=draw_main(card, setting),
        words=spelled_out(card),
    )


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Whether the number is one of the right ones; a numeral is read as well."""
    drawing = draw_main(card, setting)
    if not (given.number or "").strip():
        return Verdict(False, (message("wrong.no_number"), spelled_out(card)), drawing)
    try:
        degree = read_degree(given.number or "", card.key)
    except KeyNameError as error:
        return Verdict(False, (message("wrong.unread", reason=error), spelled_out(card)), drawing)
    if str(degree) in accepted_numbers(card, setting):
        return Verdict(True, (spelled_out(card),), drawing)
    other = message(
        "wrong.other_number",
        degree=degree,
        chord=card.key.chord(degree, card.seventh),
        key=card.key,
    )
    return Verdict(False, (other, spelled_out(card)), drawing)


def actions(card: Card, given: Given, mode: str) -> int:
    """One tap or one key."""
    return 1
