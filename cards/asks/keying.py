"""The ask *whose key*: the question gives a box and its first fret, the answer is the key that the box belongs to.

Cards with the detail ``fret`` ask the other way: they give box and key, and the answer is the fret. A box
belongs to a major key and to its relative minor; the answer names both.
"""

from __future__ import annotations

from collections.abc import Iterator

from cards.asks.answers import Answer, Choice, Given, Prompt, Verdict
from cards.asks.card import Card, Setting
from cards.asks.record import Ask
from cards.drawings.region import draw_region
from cards.guitar.regions import BOXES, Region
from cards.messages import message
from cards.theory.keys import MAJOR_KEYS, Key, Mode

ASK = "whose-key"
PARTS = ("choice",)

_BACK = "fret"
_FRETS = range(16)


def cards(key: Key) -> Iterator[Card]:
    """Yield each box of the major keys, both ways."""
    if key.mode != Mode.MAJOR:
        return
    for box in BOXES:
        yield Card(ASK, key, (), box)
        yield Card(ASK, key, (), box, _BACK)


def first_fret(region: Region) -> int:
    """Return the fret of the box's first note, which lies on string 6."""
    return region.notes[0].fret


def requires(card: Card) -> tuple[Card, ...]:
    """Return the same card one box lower."""
    return card.in_previous_box


def question(card: Card, setting: Setting) -> Prompt:
    """Show box and fret, or box and key."""
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
    """Return the ids of the right options.

    F♯ and G♭ lie in one place, and so both are right; a box an octave up is the same box.
    """
    fret = first_fret(card.region(setting))
    if card.detail == _BACK:
        return tuple(str(option) for option in _FRETS if option % 12 == fret % 12)
    tonic = card.key.tonic.pitch_class
    return tuple(key.slug for key in MAJOR_KEYS if key.tonic.pitch_class == tonic)


def answer(card: Card, setting: Setting) -> Answer:
    """Return the key with its relative minor, and the drawing of the box."""
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
    """Judge whether the choice is the key, or the fret."""
    right = answer(card, setting)
    if not given.choice:
        return Verdict(False, (message("wrong.no_choice"), right.words), right.drawing)
    return Verdict(given.choice in right.choices, (right.words,), right.drawing)


def actions(card: Card, given: Given, mode: str) -> int:
    """Count one tap."""
    return 1


RECORD = Ask(
    name=ASK,
    prompts=("ask.whose-key", "ask.whose-key.back"),
    stage=2,
    head_start=0.0,
    usual_seconds=6.5,  # 1 action, and the thinking of *number*: both turn a place on the neck into theory.
    cards=cards,
    requires=requires,
    question=question,
    answer=answer,
    judge=judge,
    actions=actions,
)
