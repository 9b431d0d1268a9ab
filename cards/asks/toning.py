"""The ask *tone*: the question is a drawing of a named chord, the player taps every root (third, fifth, seventh)."""

from __future__ import annotations

from collections.abc import Iterator

from cards.asks import borrowing, placing
from cards.asks.answers import Answer, Given, Prompt, Spots, Verdict
from cards.asks.card import Card, Setting
from cards.asks.naming import numerals
from cards.asks.record import Ask
from cards.drawings.voicing import draw_question
from cards.guitar.neck import STRINGS
from cards.guitar.regions import BOXES
from cards.messages import message, phrase
from cards.theory.keys import Key, Mode

ASK = "tone"
PARTS = ("spots",)

_OF_TRIAD = ("root", "third", "fifth")
_OF_SEVENTH = ("seventh",)


def cards(key: Key) -> Iterator[Card]:
    """Yield root, third and fifth of each triad and the seventh of each seventh chord, in each box of the
    major keys."""
    if key.mode != Mode.MAJOR:
        return
    for numeral in numerals(key):
        own = numeral.own(key)
        for box in BOXES:
            for tone in _OF_SEVENTH if own and own[1] else _OF_TRIAD:
                yield Card(ASK, key, (numeral,), box, tone)


def question(card: Card, setting: Setting) -> Prompt:
    """Show the main voicing as bare dots, with the chord's name."""
    voicing = placing.main_voicing(card, setting)
    title = phrase("{chord}, played", chord=card.chord)
    return Prompt(
        card.ask,
        str(card.key),
        str(card.chord),
        False,
        card.box,
        message(f"ask.{ASK}", tone=card.detail, chord=card.chord),
        PARTS,
        drawing=draw_question(voicing.frets, card.region(setting), title, setting.left_handed),
        spots=tuple((string, fret) for string, fret in zip(STRINGS, voicing.frets, strict=True) if fret is not None),
    )


def _spots(card: Card, setting: Setting) -> Spots:
    """Return the places of the tone that the card asks for."""
    voicing = placing.main_voicing(card, setting)
    return tuple(
        sorted(
            (string, fret)
            for string, fret, tone in zip(STRINGS, voicing.frets, voicing.tones, strict=True)
            if fret is not None and tone is not None and tone.name == card.detail
        )
    )


def answer(card: Card, setting: Setting) -> Answer:
    """Return the strings and frets of the tone."""
    spots = _spots(card, setting)
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
    """Judge whether the player tapped the tone everywhere and nothing else."""
    right = answer(card, setting)
    if not given.spots or not given.spots[0]:
        return Verdict(False, (message("wrong.no_spots"), right.words), right.drawing)
    if given.spots == right.spots[0]:
        return Verdict(True, (right.words,), right.drawing)
    wanted, tapped = set(right.spots[0][0]), set(given.spots[0])
    faults = []
    if tapped - wanted:
        strings = " ".join(str(string) for string, _ in sorted(tapped - wanted, reverse=True))
        faults.append(message("wrong.tone", strings=strings, tone=card.detail))
    if wanted - tapped:
        faults.append(message("wrong.more_tones", count=len(wanted - tapped), tone=card.detail))
    return Verdict(False, (*faults, right.words), right.drawing)


def actions(card: Card, given: Given, mode: str) -> int:
    """Count a tap for each tone and one for the check; by keyboard also a step for each string."""
    spots = given.spots[0] if given.spots else _spots(card, Setting())
    steps = len(STRINGS) if mode == "keyboard" else 0
    return steps + len(spots) + 1


RECORD = Ask(
    name=ASK,
    prompts=("ask.tone",),
    stage=2,
    head_start=0.6,
    usual_seconds=8.1,  # 2.5 actions on average, and the thinking of *number*: both read a drawing.
    cards=cards,
    requires=borrowing.placed_first,
    answerable=placing.has_voicings,
    question=question,
    answer=answer,
    judge=judge,
    actions=actions,
    draws=placing.main_voicing,
)
