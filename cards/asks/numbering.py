"""The ask *number*: the question is a drawing on the neck and a key, the answer is the degree.

If the drawn notes are the triad or seventh chord of several degrees, each of these is accepted.
"""

from __future__ import annotations

from collections.abc import Iterator

from cards.asks import borrowing, placing
from cards.asks.answers import Answer, Given, Prompt, Verdict
from cards.asks.card import Card, Setting
from cards.asks.naming import numerals, spelled_out
from cards.asks.record import Ask
from cards.drawings.voicing import draw_question
from cards.guitar.fingering import Frets
from cards.guitar.neck import Neck
from cards.messages import message, phrase
from cards.theory.keys import Key, KeyNameError, Mode
from cards.theory.numerals import Numeral, read_numeral
from cards.voicings.voicing import tones_of

ASK = "number"
PARTS = ("number",)


def cards(key: Key) -> Iterator[Card]:
    """Yield one card for each chord of the key in each box, and in the open position.

    A blues has none: its three chords are too few to guess a number from.
    """
    return placing.cards_in_boxes(ASK, key) if key.mode != Mode.BLUES else iter(())


def question(card: Card, setting: Setting) -> Prompt:
    """Show the main voicing as bare dots, and the key."""
    frets = placing.main_voicing(card, setting).frets
    drawing = draw_question(frets, card.region(setting), phrase("A chord in {key}", key=card.key), setting.left_handed)
    return Prompt(
        card.ask,
        str(card.key),
        None,
        False,
        card.box,
        message(f"ask.{ASK}", key=card.key, box=card.box),
        PARTS,
        drawing=drawing,
    )


def sounds_as(numeral: Numeral, key: Key, frets: Frets, neck: Neck) -> bool:
    """Return whether frets sound a chord: every tone that must sound, and no foreign note."""
    chord = numeral.chord(key)
    tones = tones_of(chord, frets, neck)
    foreign = any(fret is not None and tone is None for fret, tone in zip(frets, tones, strict=True))
    return not foreign and set(chord.must_sound) <= set(tones)


def _degrees(card: Card, setting: Setting) -> tuple[str, ...]:
    """Return every degree whose chord the drawn notes are, with its accidental: ``7`` or ``♭7``."""
    frets = placing.main_voicing(card, setting).frets
    degrees = (numeral.number for numeral in numerals(card.key) if sounds_as(numeral, card.key, frets, setting.neck))
    return tuple(dict.fromkeys(degrees))


def accepted_numbers(card: Card, setting: Setting) -> tuple[str, ...]:
    """Return every number that is right.

    Players count the degrees of a minor key without accidentals: its ♭VII and its vii° are both the 7.
    """
    degrees = _degrees(card, setting)
    return tuple(dict.fromkeys((*degrees, *(degree.lstrip("♭♯") for degree in degrees))))


def answer(card: Card, setting: Setting) -> Answer:
    """Return the degree, with the tones of the voicing."""
    return Answer(
        chord=str(card.chord),
        notes=tuple(map(str, card.chord.notes)),
        numbers=accepted_numbers(card, setting),
        drawing=placing.draw_main(card, setting),
        words=spelled_out(card),
    )


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Judge whether the number is one of the right ones; a Roman numeral is read as well."""
    drawing = placing.draw_main(card, setting)
    text = (given.number or "").strip()
    if not text:
        return Verdict(False, (message("wrong.no_number"), spelled_out(card)), drawing)
    try:
        numeral = read_numeral(text, card.key)
    except KeyNameError as error:
        return Verdict(False, (message("wrong.unread", reason=error), spelled_out(card)), drawing)
    if numeral.number in _degrees(card, setting) or text in accepted_numbers(card, setting):
        return Verdict(True, (spelled_out(card),), drawing)
    other = message("wrong.other_number", called=numeral.number, chord=numeral.chord(card.key), key=card.key)
    return Verdict(False, (other, spelled_out(card)), drawing)


def actions(card: Card, given: Given, mode: str) -> int:
    """Count one tap or one key."""
    return 1


RECORD = Ask(
    name=ASK,
    prompts=("ask.number",),
    stage=1,
    head_start=0.5,
    usual_seconds=6.5,
    cards=cards,
    requires=borrowing.placed_first,
    answerable=placing.has_voicings,
    question=question,
    answer=answer,
    judge=judge,
    actions=actions,
    draws=placing.main_voicing,
)
