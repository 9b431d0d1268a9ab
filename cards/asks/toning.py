"""The ask *tone*: a drawing and its chord, answered by tapping every root, third, fifth or seventh."""

from __future__ import annotations

from collections.abc import Iterator

from cards.asks import placing
from cards.asks.answers import Answer, Given, Prompt, Spots, Verdict
from cards.asks.card import Card, Setting
from cards.asks.naming import numerals
from cards.drawings.voicing import draw_question
from cards.guitar.neck import STRINGS
from cards.guitar.regions import BOXES
from cards.messages import message
from cards.theory.keys import Key, Mode

ASK = "tone"
PARTS = ("spots",)
START = 0.6

_OF_TRIAD = ("root", "third", "fifth")
_OF_SEVENTH = ("seventh",)


def cards(key: Key) -> Iterator[Card]:
    """Root, third and fifth of each triad, the seventh of each seventh chord, in each box of the
    major keys."""
    if key.mode != Mode.MAJOR:
        return
    for numeral in numerals(key):
        own = numeral.own(key)
        for box in BOXES:
            for tone in _OF_SEVENTH if own and own[1] else _OF_TRIAD:
                yield Card(ASK, key, (numeral,), box, tone)


def question(card: Card, setting: Setting) -> Prompt:
    """The main voicing as bare dots, with the chord's name."""
    main = placing.main_voicing(card, setting)
    title = f"{card.chord}, played"
    return Prompt(
        card.ask,
        str(card.key),
        str(card.chord),
        False,
        card.box,
        message(f"ask.{ASK}", tone=card.detail, chord=card.chord),
        PARTS,
        drawing=draw_question(main.frets, card.region(setting), title, setting.left_handed),
        spots=tuple((s, f) for s, f in zip(STRINGS, main.frets, strict=True) if f is not None),
    )


def _right(card: Card, setting: Setting) -> Spots:
    main = placing.main_voicing(card, setting)
    return tuple(
        sorted(
            (string, fret)
            for string, fret, tone in zip(STRINGS, main.frets, main.tones, strict=True)
            if fret is not None and tone is not None and tone.name == card.detail
        )
    )


def answer(card: Card, setting: Setting) -> Answer:
    """The strings and frets of that tone."""
    spots = _right(card, setting)
    return Answer(
        chord=str(card.chord),
        notes=tuple(map(str, card.chord.notes)),
        spots=((spots,),),
        drawing=placing.draw_main(card, setting),
        words=message(
            "answer.tone",
            tone=card.detail,
            chord=card.chord,
            note=next(
                note for note, tone in zip(card.chord.notes, card.chord.tones, strict=True) if tone.name == card.detail
            ),
            strings=" ".join(str(string) for string, _ in sorted(spots, reverse=True)),
        ),
    )


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Every one and no other."""
    right = answer(card, setting)
    if not given.spots or not given.spots[0]:
        return Verdict(False, (message("wrong.no_spots"), right.words), right.drawing)
    if given.spots == right.spots[0]:
        return Verdict(True, (right.words,), right.drawing)
    wanted, tapped = set(right.spots[0][0]), set(given.spots[0])
    said = []
    if tapped - wanted:
        strings = " ".join(str(string) for string, _ in sorted(tapped - wanted, reverse=True))
        said.append(message("wrong.tone", strings=strings, tone=card.detail))
    if wanted - tapped:
        said.append(message("wrong.more_tones", count=len(wanted - tapped), tone=card.detail))
    return Verdict(False, (*said, right.words), right.drawing)


def actions(card: Card, given: Given, mode: str) -> int:
    """One tap per tone and the check; by keyboard a step and a key for each string."""
    spots = given.spots[0] if given.spots else _right(card, Setting())
    return len(spots) + 1 if mode != "keyboard" else len(STRINGS) + len(spots) + 1
