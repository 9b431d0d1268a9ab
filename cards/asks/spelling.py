"""The ask *spell*: a chord's name, answered by its notes, root first, rightly spelled."""

from __future__ import annotations

from collections.abc import Iterator

from cards.asks.answers import Answer, Given, Prompt, Verdict
from cards.asks.card import Card, Setting
from cards.asks.naming import numerals
from cards.messages import message
from cards.theory.keys import Key
from cards.theory.pitch import Note, PitchError

ASK = "spell"
PARTS = ("notes",)
START = 0.3


def cards(key: Key) -> Iterator[Card]:
    """One card for each chord of the key."""
    for numeral in numerals(key):
        yield Card(ASK, key, (numeral,))


def question(card: Card, setting: Setting) -> Prompt:
    """The chord's name."""
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
    """Its notes in order."""
    notes = tuple(map(str, card.chord.notes))
    words = message("answer.spell", chord=card.chord, notes=" ".join(notes))
    return Answer(chord=str(card.chord), notes=notes, words=words)


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """The root first, the others in any order, none missing and none too many."""
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
    sounds = sorted(note.pitch_class for note in notes) == sorted(note.pitch_class for note in wanted)
    return Verdict(False, (message("wrong.spelled"), right) if sounds and notes != wanted else (right,))


def actions(card: Card, given: Given, mode: str) -> int:
    """A tap per note and the check; by keyboard a key per character, a space between, and Enter."""
    notes = given.notes or tuple(map(str, card.chord.notes))
    return sum(map(len, notes)) + len(notes) if mode == "keyboard" else len(notes) + 1
