"""The ask *spell*: the question is a chord's name, the answer is its notes in the right spelling, root first."""

from __future__ import annotations

from collections.abc import Iterator

from cards.asks.answers import Answer, Given, Prompt, Verdict
from cards.asks.card import Card, Setting
from cards.asks.naming import named_first, numerals
from cards.asks.record import Ask
from cards.messages import message
from cards.theory.keys import Key
from cards.theory.pitch import Note, PitchError

ASK = "spell"
PARTS = ("notes",)


def cards(key: Key) -> Iterator[Card]:
    """Yield one card for each chord of the key."""
    for numeral in numerals(key):
        yield Card(ASK, key, (numeral,))


def question(card: Card, setting: Setting) -> Prompt:
    """Show the chord's name."""
    return Prompt(
        card.ask,
        str(card.key),
        str(card.chord),
        False,
        None,
        message(f"ask.{ASK}", chord=card.chord),
        PARTS,
    )


def answer(card: Card, setting: Setting) -> Answer:
    """Return the chord's notes in order."""
    notes = tuple(map(str, card.chord.notes))
    words = message("answer.spell", chord=card.chord, notes=" ".join(notes))
    return Answer(chord=str(card.chord), notes=notes, words=words)


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Judge whether the notes are the chord's: the root first, the others in any order."""
    right = answer(card, setting).words
    if not given.notes:
        return Verdict(False, (message("wrong.no_notes"), right))
    try:
        notes = [Note.read(text) for text in given.notes]
    except PitchError as error:
        return Verdict(False, (message("wrong.unread", reason=error), right))
    wanted = list(card.chord.notes)
    if notes[0] == wanted[0] and sorted(notes) == sorted(wanted):
        return Verdict(True, (right,))
    sounds_right = sorted(note.pitch_class for note in notes) == sorted(note.pitch_class for note in wanted)
    return Verdict(False, (message("wrong.spelled"), right) if sounds_right else (right,))


def actions(card: Card, given: Given, mode: str) -> int:
    """Count a tap for each note and one for the check; by keyboard a key for each character, the spaces and Enter."""
    notes = given.notes or tuple(map(str, card.chord.notes))
    return sum(map(len, notes)) + len(notes) if mode == "keyboard" else len(notes) + 1


RECORD = Ask(
    name=ASK,
    prompts=("ask.spell",),
    stage=2,
    head_start=0.3,
    usual_seconds=7.3,  # 4.6 actions on average, and the thinking of *name*: both spell from memory.
    cards=cards,
    requires=named_first,
    question=question,
    answer=answer,
    judge=judge,
    actions=actions,
)
