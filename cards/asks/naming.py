"""The ask *name*: a number and a key, answered by the chord's name.

Two taps (letter with accidental, quality) or typed; any spelling of the quality is one. The
spelling of the root counts: the three of D is F♯m, never G♭m.
"""

from __future__ import annotations

from collections.abc import Iterator

from cards.asks.answers import Answer, Given, Prompt, Verdict
from cards.asks.card import Card, Setting
from cards.messages import Message, message
from cards.theory.chords import Chord, ChordError, read_chord
from cards.theory.keys import Key, Mode
from cards.theory.numerals import Numeral, own_numeral, read_numeral

ASK = "name"
PARTS = ("name",)
START = 1.2

# What everybody plays in a minor key beside its own chords: V (harmonic) and IV (dorian).
_MINOR_PRACTICE = ("V", "V7", "vii°7", "IV", "IV7")


def numerals(key: Key) -> tuple[Numeral, ...]:
    """The chords of a key that cards are about: its own triads and seventh chords; in a minor key
    V, V7, vii°7, IV and IV7 as well."""
    if key.mode == Mode.BLUES:
        return tuple(own_numeral(key, degree) for degree in key.degrees)
    own = tuple(own_numeral(key, degree, seventh) for degree in key.degrees for seventh in (False, True))
    if not key.is_minor:
        return own
    return own + tuple(read_numeral(text, key) for text in _MINOR_PRACTICE)


def cards(key: Key) -> Iterator[Card]:
    """One card for each chord of the key."""
    for numeral in numerals(key):
        yield Card(ASK, key, (numeral,))


def question(card: Card, setting: Setting) -> Prompt:
    """The number and the key."""
    return Prompt(
        card.ask,
        str(card.key),
        card.called.removesuffix(" seventh"),
        card.seventh,
        card.box,
        message(f"ask.{ASK}", called=card.called, key=card.key),
        PARTS,
    )


def answer(card: Card, setting: Setting) -> Answer:
    """The chord's name and its notes."""
    return Answer(
        chord=str(card.chord),
        notes=tuple(map(str, card.chord.notes)),
        names=accepted_names(card, setting),
        words=spelled_out(card),
    )


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Whether the name is the chord's."""
    right, said = judge_name(card, given.name, setting)
    return Verdict(right, said)


def actions(card: Card, given: Given, mode: str) -> int:
    """Two taps, or one key per character and Enter."""
    return name_actions(card, given, mode)


def name_actions(card: Card, given: Given, mode: str) -> int:
    """Actions that giving the name takes in an input mode."""
    return len(given.name or str(card.chord)) + 1 if mode == "keyboard" else 2


def richer_chord(card: Card, setting: Setting) -> Chord | None:
    """The chord accepted in the triad's stead, if the player's setting accepts richer ones."""
    if not setting.richer or card.own is None or card.seventh or card.key.mode == Mode.BLUES:
        return None
    return card.key.chord(card.own[0], seventh=True)


def accepted_names(card: Card, setting: Setting) -> tuple[str, ...]:
    """Printed names that are right."""
    richer = richer_chord(card, setting)
    return (str(card.chord),) if richer is None else (str(card.chord), str(richer))


def spelled_out(card: Card) -> Message:
    """The answer in a sentence: ``The four of A♭ is D♭: D♭ F A♭.``"""
    notes = " ".join(map(str, card.chord.notes))
    return message("answer.chord", called=card.called, key=card.key, chord=card.chord, notes=notes)


def judge_name(card: Card, name: str | None, setting: Setting) -> tuple[bool, tuple[Message, ...]]:
    """Judge a chord name for a card; explain a wrong one by what it is."""
    if not (name or "").strip():
        return False, (message("wrong.no_name"), spelled_out(card))
    try:
        chord = read_chord(name or "")
    except ChordError as error:
        return False, (message("wrong.unread", reason=error), spelled_out(card))
    if str(chord) in accepted_names(card, setting):
        added = chord.quality != card.chord.quality
        return True, (message("right.named" if not added else "right.richer", chord=chord),)
    return False, (_why_wrong(card, chord), spelled_out(card))


def _why_wrong(card: Card, chord: Chord) -> Message:
    wanted = card.chord
    if chord.root != wanted.root and [n.pitch_class for n in chord.notes] == [n.pitch_class for n in wanted.notes]:
        return message("wrong.spelling", chord=chord, root=wanted.root, key=card.key)
    if card.own is not None and chord == card.key.chord(card.own[0], seventh=not card.seventh):
        return message("wrong.without" if card.seventh else "wrong.added", chord=chord, wanted=wanted)
    if chord.root == wanted.root:
        return message("wrong.quality", chord=chord, wanted=wanted)
    for numeral in numerals(card.key):
        if numeral.chord(card.key) == chord:
            return message("wrong.number", chord=chord, called=numeral.number, key=card.key)
    return message("wrong.name", chord=chord, key=card.key)
