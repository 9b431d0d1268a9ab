"""The ask *left out*: the question draws a part of a voicing, the player says which tone is missing and names the rest.

Without its root B♭m7 is D♭; root and fifth alone are a power chord. Every right name is accepted.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from cards.asks import borrowing
from cards.asks.answers import Answer, Choice, Given, Prompt, Verdict
from cards.asks.card import Card, CardError, Setting
from cards.asks.naming import name_actions, numerals
from cards.asks.record import Ask
from cards.drawings.voicing import Panel, draw_question, draw_voicings
from cards.guitar.regions import BOXES
from cards.messages import message, phrase
from cards.theory.chords import ChordError, read_chord
from cards.theory.keys import Key, Mode
from cards.voicings.small import SmallVoicing, part_without

ASK = "left-out"
PARTS = ("choice", "name")

_TONES = ("root", "third", "fifth", "seventh")
# By quality, the tones without which the rest is a chord with a name of its own.
_TELLING = {
    "major": ("third",),
    "minor": ("third",),
    "maj7": ("root", "third", "seventh"),
    "m7": ("root", "third", "seventh"),
    "7": ("root", "third", "seventh"),
    "m7b5": ("root", "seventh"),
}


def cards(key: Key) -> Iterator[Card]:
    """Yield parts of the triads and seventh chords of the major keys, each without one tone that must sound."""
    if key.mode != Mode.MAJOR:
        return
    for numeral in numerals(key):
        for box in BOXES:
            for tone in _TELLING.get(numeral.quality.name, ()):
                yield Card(ASK, key, (numeral,), box, tone)


@cache
def _find_part(card: Card, setting: Setting) -> SmallVoicing | None:
    """Return the part for the player's neck and hand, or for a large hand; None if no hand can play one."""
    missing = next(tone for tone in card.chord.tones if tone.name == card.detail)
    for hand in (setting.fingers, setting.largest_hand):
        part = part_without(card.chord, missing, card.region(setting), card.key, hand, setting.neck)
        if part is not None:
            return part
    return None


def has_part(card: Card, setting: Setting) -> bool:
    """Return whether the neck has such a part, and what is left has a name."""
    part = _find_part(card, setting)
    return part is not None and bool(part.becomes)


def _part(card: Card, setting: Setting) -> SmallVoicing:
    """Return the part that is drawn. Raises CardError if the neck has none."""
    part = _find_part(card, setting)
    if part is None:
        raise CardError("{card} has no place on this neck", card=card.id)
    return part


def question(card: Card, setting: Setting) -> Prompt:
    """Show the part as bare dots, and the chord that it comes from."""
    title = phrase("Part of {chord}", chord=card.chord)
    return Prompt(
        card.ask,
        str(card.key),
        str(card.chord),
        False,
        card.box,
        message(f"ask.{ASK}", chord=card.chord),
        PARTS,
        drawing=draw_question(_part(card, setting).frets, card.region(setting), title, setting.left_handed),
        choices=(Choice("which tone is missing", tuple((tone, f"tone.{tone}") for tone in _TONES)),),
    )


def answer(card: Card, setting: Setting) -> Answer:
    """Return the missing tone, and every name of what is left."""
    part = _part(card, setting)
    names = tuple(map(str, part.becomes))
    return Answer(
        chord=str(card.chord),
        notes=tuple(map(str, card.chord.notes)),
        names=names,
        choices=((card.detail,),),
        drawing=_draw(card, part, setting),
        words=message("answer.left-out", chord=card.chord, tone=card.detail, wholes=" ".join(names)),
    )


def _draw(card: Card, part: SmallVoicing, setting: Setting) -> str:
    diagram = Panel(card.chord, part.frets, card.region(setting), neck=setting.neck)
    title = phrase("{chord} without its {tone}", chord=card.chord, tone=phrase(card.detail))
    return draw_voicings([diagram], title, setting.left_handed)


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Judge both the missing tone and the name."""
    right = answer(card, setting)
    if not given.choice or not (given.name or "").strip():
        return Verdict(False, (message("wrong.half"), right.words), right.drawing)
    try:
        named = str(read_chord(given.name or ""))
    except ChordError as error:
        return Verdict(False, (message("wrong.unread", reason=error), right.words), right.drawing)
    if given.choice in right.choices and named in right.names:
        return Verdict(True, (right.words,), right.drawing)
    return Verdict(False, (right.words,), right.drawing)


def actions(card: Card, given: Given, mode: str) -> int:
    """Count one for the tone, and the actions of the name."""
    return 1 + name_actions(card, given, mode)


RECORD = Ask(
    name=ASK,
    prompts=("ask.left-out",),
    stage=3,
    head_start=-0.4,
    usual_seconds=8.7,  # 3 actions, and the thinking of *number*: both read a drawing.
    cards=cards,
    requires=borrowing.placed_first,
    answerable=has_part,
    question=question,
    answer=answer,
    judge=judge,
    actions=actions,
)
