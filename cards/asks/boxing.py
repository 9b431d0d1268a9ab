"""The ask *box notes*: the player taps the scale of a box on the neck, or a chord's tones inside its region.

It leads from chords to soloing: the frets are the same, note by note.
"""

from __future__ import annotations

from collections.abc import Iterator

from cards.asks import keying
from cards.asks.answers import Answer, Given, Prompt, Spots, Verdict
from cards.asks.card import Card, Setting
from cards.asks.naming import spelled_out
from cards.asks.record import Ask
from cards.drawings.region import draw_region, draw_tones
from cards.guitar.neck import STRINGS
from cards.guitar.regions import BOXES, Region
from cards.messages import message
from cards.theory.keys import Key, Mode
from cards.theory.numerals import own_numeral

ASK = "box-notes"
PARTS = ("spots",)


def cards(key: Key) -> Iterator[Card]:
    """Yield the scale of each box of the major keys, and the tones of each triad in it."""
    if key.mode != Mode.MAJOR:
        return
    for box in BOXES:
        yield Card(ASK, key, (), box)
        for degree in key.degrees:
            yield Card(ASK, key, (own_numeral(key, degree),), box)


def requires(card: Card) -> tuple[Card, ...]:
    """Return the card that asks whose key the box is."""
    return (Card(keying.ASK, card.key, (), card.box),)


def question(card: Card, setting: Setting) -> Prompt:
    """Show the key and the box, and a chord's number if the card is about a chord; the region is a hint."""
    region = card.places(setting)[0]
    kind = "chord" if card.calls else "scale"
    called = card.called if card.calls else ""
    return Prompt(
        card.ask,
        str(card.key),
        called or None,
        card.seventh,
        card.box,
        message(f"ask.{ASK}.{kind}", key=card.key, box=card.box, called=called or "1"),
        PARTS,
        hint=(region.low, region.high),
    )


def _spots(card: Card, region: Region, setting: Setting) -> Spots:
    if not card.calls:
        return tuple(sorted((note.string, note.fret) for note in region.notes))
    return tuple(
        sorted(
            (string, fret)
            for string in STRINGS
            for fret in range(region.low, region.high + 1)
            if card.chord.tone_at(setting.neck.pitch(string, fret) % 12) is not None
        )
    )


def answer(card: Card, setting: Setting) -> Answer:
    """Return the places to tap, in the region's own place and an octave up."""
    places = card.places(setting) or (card.region(setting),)
    first = places[0]
    if card.calls:
        drawing = draw_tones(first, card.chord, setting.neck, setting.left_handed)
        words = spelled_out(card)
    else:
        drawing = draw_region(first, setting.left_handed)
        words = message("answer.box", key=card.key, box=card.box, low=first.low, high=first.high)
    return Answer(
        chord=str(card.chord) if card.calls else str(card.key),
        notes=tuple(map(str, card.chord.notes)) if card.calls else (),
        spots=tuple((_spots(card, place, setting),) for place in places),
        drawing=drawing,
        words=words,
    )


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Judge whether the player tapped every place and no other.

    Of the region and the one an octave up, the one with fewer faults is taken as the one meant.
    """
    right = answer(card, setting)
    tapped = set(given.spots[0]) if given.spots else set()
    if not tapped:
        return Verdict(False, (message("wrong.no_spots"), right.words), right.drawing)
    wanted = min((set(steps[0]) for steps in right.spots), key=lambda spots: len(spots ^ tapped))
    if tapped == wanted:
        return Verdict(True, (right.words,), right.drawing)
    faults = []
    if tapped - wanted:
        faults.append(message("wrong.spots", count=len(tapped - wanted)))
    if wanted - tapped:
        faults.append(message("wrong.more_spots", count=len(wanted - tapped)))
    return Verdict(False, (*faults, right.words), right.drawing)


def actions(card: Card, given: Given, mode: str) -> int:
    """Count a tap for each place and one for the check; by keyboard, also two steps of the cursor to each place."""
    spots = given.spots[0] if given.spots else _spots(card, card.region(Setting()), Setting())
    return (3 if mode == "keyboard" else 1) * len(spots) + 1


RECORD = Ask(
    name=ASK,
    prompts=("ask.box-notes.scale", "ask.box-notes.chord"),
    stage=2,
    head_start=-0.2,
    usual_seconds=12.4,  # 8.7 actions on average, and the thinking of *place*: both find notes on the neck.
    cards=cards,
    requires=requires,
    question=question,
    answer=answer,
    judge=judge,
    actions=actions,
)
