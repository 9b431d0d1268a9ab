"""The ask *name*: the question gives a number and a key, the answer is the chord's name.

The player gives the name with two taps (letter with accidental, then quality) or types it. Every
spelling of a quality is accepted. The spelling of the root counts: the three of D is F♯m, never G♭m.
"""

from __future__ import annotations

from collections.abc import Iterator

from cards.asks.answers import Answer, Given, Prompt, Verdict
from cards.asks.card import Card, Setting
from cards.asks.record import Ask
from cards.messages import Message, message
from cards.theory.chords import Chord, ChordError, read_chord
from cards.theory.keys import Key, Mode
from cards.theory.numerals import Numeral, own_numeral, read_numeral

ASK = "name"
PARTS = ("name",)

# Chords that everybody plays in a minor key besides its own: V (harmonic minor) and IV (dorian).
_MINOR_PRACTICE = ("V", "V7", "vii°7", "IV", "IV7")


def numerals(key: Key) -> tuple[Numeral, ...]:
    """Return the chords of a key that have cards: its own triads and seventh chords, and in a minor key
    V, V7, vii°7, IV and IV7 as well."""
    if key.mode == Mode.BLUES:
        return tuple(own_numeral(key, degree) for degree in key.degrees)
    own = tuple(own_numeral(key, degree, seventh) for degree in key.degrees for seventh in (False, True))
    if not key.is_minor:
        return own
    return own + tuple(read_numeral(text, key) for text in _MINOR_PRACTICE)


def cards(key: Key) -> Iterator[Card]:
    """Yield one card for each chord of the key."""
    for numeral in numerals(key):
        yield Card(ASK, key, (numeral,))


def requires(card: Card) -> tuple[Card, ...]:
    """Return the name of the degree's triad for a seventh chord, and the name of the major one for a minor key or
    a blues.

    The major key of a minor key is its relative, that of a blues has the same tonic.
    """
    if card.key.mode == Mode.MAJOR:
        return card.on_own_triad
    major = card.key.relative if card.key.is_minor else Key(card.key.tonic)
    return (*card.on_own_triad, Card(ASK, major, (own_numeral(major, 1),)))


def named_first(card: Card) -> tuple[Card, ...]:
    """Return the card that asks for the name of a card's chord."""
    return (Card(ASK, card.key, (card.numeral,)),)


def question(card: Card, setting: Setting) -> Prompt:
    """Show the number and the key."""
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
    """Return the chord's name and its notes."""
    return Answer(
        chord=str(card.chord),
        notes=tuple(map(str, card.chord.notes)),
        names=accepted_names(card, setting),
        words=spelled_out(card),
    )


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Judge whether the name is the chord's."""
    right, messages = judge_name(card, given.name, setting)
    return Verdict(right, messages)


def actions(card: Card, given: Given, mode: str) -> int:
    """Count two taps, or one key for each character and Enter."""
    return name_actions(card, given, mode)


def name_actions(card: Card, given: Given, mode: str) -> int:
    """Count the actions that it takes to give the name in an input mode."""
    return len(given.name or str(card.chord)) + 1 if mode == "keyboard" else 2


def richer_chord(card: Card, setting: Setting) -> Chord | None:
    """Return the seventh chord that is accepted instead of the triad; None if the player's setting accepts none."""
    if not setting.richer or card.own is None or card.seventh or card.key.mode == Mode.BLUES:
        return None
    return card.key.chord(card.own[0], seventh=True)


def accepted_names(card: Card, setting: Setting) -> tuple[str, ...]:
    """Return the printed names that are right."""
    richer = richer_chord(card, setting)
    return (str(card.chord),) if richer is None else (str(card.chord), str(richer))


def spelled_out(card: Card) -> Message:
    """Return the answer in a sentence: ``The four of A♭ is D♭: D♭ F A♭.``"""
    notes = " ".join(map(str, card.chord.notes))
    return message("answer.chord", called=card.called, key=card.key, chord=card.chord, notes=notes)


def judge_name(card: Card, name: str | None, setting: Setting) -> tuple[bool, tuple[Message, ...]]:
    """Judge a chord name for a card; for a wrong name, explain what it is instead."""
    if not (name or "").strip():
        return False, (message("wrong.no_name"), spelled_out(card))
    try:
        chord = read_chord(name or "")
    except ChordError as error:
        return False, (message("wrong.unread", reason=error), spelled_out(card))
    if str(chord) in accepted_names(card, setting):
        is_richer = chord.quality != card.chord.quality
        return True, (message("right.richer" if is_richer else "right.named", chord=chord),)
    return False, (_why_wrong(card, chord), spelled_out(card))


def _why_wrong(card: Card, chord: Chord) -> Message:
    wanted = card.chord
    sounds_right = [note.pitch_class for note in chord.notes] == [note.pitch_class for note in wanted.notes]
    if chord.root != wanted.root and sounds_right:
        return message("wrong.spelling", chord=chord, root=wanted.root, key=card.key)
    if card.own is not None and chord == card.key.chord(card.own[0], seventh=not card.seventh):
        return message("wrong.without" if card.seventh else "wrong.added", chord=chord, wanted=wanted)
    if chord.root == wanted.root:
        return message("wrong.quality", chord=chord, wanted=wanted)
    for numeral in numerals(card.key):
        if numeral.chord(card.key) == chord:
            return message("wrong.number", chord=chord, called=numeral.number, key=card.key)
    return message("wrong.name", chord=chord, key=card.key)


RECORD = Ask(
    name=ASK,
    prompts=("ask.name",),
    stage=0,
    head_start=1.2,
    usual_seconds=4.5,
    cards=cards,
    requires=requires,
    question=question,
    answer=answer,
    judge=judge,
    actions=actions,
)
