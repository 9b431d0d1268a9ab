"""The ask *whose key*: a box and its first fret, answered by the key it belongs to, and back.

A box is the major key's and its relative minor's at once; the answer names both.
"""

from __future__ import annotations

from collections.abc import Iterator

from cards.asks.answers import Answer, Choice, Given, Prompt, Verdict
from cards.asks.card import Card, Setting
from cards.drawings.region import draw_region
from cards.guitar.regions import BOXES, Region
from cards.messages import message
from cards.theory.keys import MAJOR_KEYS, Key, Mode

ASK = "whose-key"
PARTS = ("choice",)
START = 0.0

_BACK = "fret"
_FRETS = range(16)


def cards(key: Key) -> Iterator[Card]:
    """Each box of the major keys, both ways."""
    if key.mode != Mode.MAJOR:
        return
    for box in BOXES:
        yield Card(ASK, key, (), box)
        yield Card(ASK, key, (), box, _BACK)


def first_fret(region: Region) -> int:
    """The fret of the box's first note, on string 6."""
    return region.notes[0].fret


def question(card: Card, setting: Setting) -> Prompt:
    """Box and fret, or box and key."""
    region = card.region(setting)
    back = card.detail == _BACK
    if back:
        choice = Choice("fret", tuple((str(fret), str(fret)) for fret in _FRETS))
        words = message("ask.whose-key.back", key=card.key, box=card.box)
    else:
        keys = tuple((key.slug, f"{key} · {key.relative}") for key in MAJOR_KEYS)
        choice = Choice("key", keys)
        words = message(f"ask.{ASK}", box=card.box, fret=first_fret(region))
    return Prompt(
        card.ask,
        str(card.key) if back else None,
        None if back else str(first_fret(region)),
        False,
        card.box,
        words,
        PARTS,
        choices=(choice,),
    )


def _right(card: Card, setting: Setting) -> tuple[str, ...]:
    """Ids of the right options: F♯ and G♭ are one place, and so is a box an octave up."""
    fret = first_fret(card.region(setting))
    if card.detail == _BACK:
        return tuple(str(each) for each in _FRETS if each % 12 == fret % 12)
    sound = card.key.tonic.pitch_class
    return tuple(key.slug for key in MAJOR_KEYS if key.tonic.pitch_class == sound)


def answer(card: Card, setting: Setting) -> Answer:
    """The key with its relative minor, and the drawing of the box."""
    region = card.region(setting)
    return Answer(
        chord=str(card.key),
        notes=(),
        choices=tuple((option,) for option in _right(card, setting)),
        drawing=draw_region(region, setting.left_handed),
        words=message(
            "answer.whose-key",
            key=card.key,
            minor=card.key.relative,
            box=card.box,
            fret=first_fret(region),
            low=region.low,
            high=region.high,
        ),
    )


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Whether it is the key, or the fret."""
    right = answer(card, setting)
    if not given.choice:
        return Verdict(False, (message("wrong.no_choice"), right.words), right.drawing)
    return Verdict(given.choice in right.choices, (right.words,), right.drawing)


def actions(card: Card, given: Given, mode: str) -> int:
    """One tap."""
    return 1
