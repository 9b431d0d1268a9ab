"""The ask *left out*: a part of a voicing: which tone is missing, and what is it then.

Without its root B♭m7 is D♭; root and fifth alone are a power chord. Every right name is accepted.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from cards.asks.answers import Answer, Choice, Given, Prompt, Verdict
from cards.asks.card import Card, CardError, Setting
from cards.asks.naming import numerals
from cards.drawings.voicing import Panel, draw_question, draw_voicings
from cards.guitar.regions import BOXES
from cards.messages import message
from cards.theory.chords import ChordError, read_chord
from cards.theory.keys import Key, Mode
from cards.voicings.small import SmallVoicing, part_without

ASK = "left-out"
PARTS = ("choice", "name")
START = -0.4

_TONES = ("root", "third", "fifth", "seventh")
# Tones whose loss makes a chord that has a name of its own.
_TELLING = {
    "major": ("third",),
    "minor": ("third",),
    "maj7": ("root", "third", "seventh"),
    "m7": ("root", "third", "seventh"),
    "7": ("root", "third", "seventh"),
    "m7b5": ("root", "seventh"),
}


def cards(key: Key) -> Iterator[Card]:
    """Parts of the triads and seventh chords of the major keys that miss one tone that must sound."""
    if key.mode != Mode.MAJOR:
        return
    for numeral in numerals(key):
        for box in BOXES:
            for tone in _TELLING.get(numeral.quality.name, ()):
                yield Card(ASK, key, (numeral,), box, tone)


@cache
def _found(card: Card, setting: Setting) -> SmallVoicing | None:
    """The part for the player's hand and neck, or for a large hand on them."""
    missing = next(tone for tone in card.chord.tones if tone.name == card.detail)
    hands = (setting.fingers, setting.largest_hand)
    found = (part_without(card.chord, missing, card.region(setting), card.key, hand, setting.neck) for hand in hands)
    return next((small for small in found if small is not None), None)


def has_part(card: Card, setting: Setting) -> bool:
    """Whether the neck has such a part, and what is left has a name."""
    small = _found(card, setting)
    return small is not None and bool(small.becomes)


def _part(card: Card, setting: Setting) -> SmallVoicing:
    """The part that is drawn. Raises CardError where the neck has none."""
    small = _found(card, setting)
    if small is None:
        raise CardError(f"{card.id} has no place on this neck")
    return small


def question(card: Card, setting: Setting) -> Prompt:
    """The part as bare dots, and the chord it comes from."""
    title = f"Part of {card.chord}"
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
    """The missing tone, and every name of what is left."""
    small = _part(card, setting)
    names = tuple(map(str, small.becomes))
    return Answer(
        chord=str(card.chord),
        notes=tuple(map(str, card.chord.notes)),
        names=names,
        choices=((card.detail,),),
        drawing=_draw(card, small, setting),
        words=message("answer.left-out", chord=card.chord, tone=card.detail, names=" or ".join(names)),
    )


def _draw(card: Card, small: SmallVoicing, setting: Setting) -> str:
    drawn = Panel(card.chord, small.frets, card.region(setting), neck=setting.neck)
    return draw_voicings([drawn], f"{card.chord} without its {card.detail}", setting.left_handed)


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Both: the missing tone, and a right name."""
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
    """The tone, and the name by two taps or its letters and Enter."""
    return 1 + (len(given.name or str(card.chord)) + 1 if mode == "keyboard" else 2)
