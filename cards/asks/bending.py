"""The ask *bend*: a triad is to become another quality, and the player says which tone moves, and where to.

To get from four to fourmaj7 the root goes down one fret, or the fifth goes up four. Every move of one tone
that turns the triad into the wanted chord is accepted.
"""

from __future__ import annotations

from collections.abc import Iterator

from cards.asks.answers import Answer, Choice, Given, Prompt, Verdict
from cards.asks.card import Card, Setting
from cards.asks.naming import named_first
from cards.asks.record import Ask
from cards.messages import message
from cards.theory.chords import Chord, Quality, read_quality
from cards.theory.keys import Key, Mode
from cards.theory.numerals import own_numeral

ASK = "bend"
PARTS = ("choice",)

_FARTHEST = 4
_MOVES = tuple(step for step in range(-_FARTHEST, _FARTHEST + 1) if step)
_FROM_MAJOR = ("maj7", "7", "sus4", "sus2", "6", "m", "aug")
_FROM_MINOR = ("m7", "sus4", "sus2", "m6", "", "dim")
_SLUGS = {"": "major", "m": "minor"}


def cards(key: Key) -> Iterator[Card]:
    """Yield the major and minor triads of the major keys, each with the qualities that players turn it into."""
    if key.mode != Mode.MAJOR:
        return
    for degree in key.degrees:
        numeral = own_numeral(key, degree)
        if numeral.quality.name in ("major", "minor"):
            for suffix in _FROM_MINOR if numeral.quality.is_minor else _FROM_MAJOR:
                yield Card(ASK, key, (numeral,), detail=_SLUGS.get(suffix, suffix))


def _goal(card: Card) -> Quality:
    return read_quality("" if card.detail == "major" else card.detail)


def moves(triad: Quality, goal: Quality) -> tuple[tuple[str, int], ...]:
    """Return every move, as (tone, frets), that turns a triad into the goal.

    A grip doubles its tones, so a tone that moves still sounds on another string if the goal has it.

    >>> moves(read_quality(""), read_quality("maj7"))
    (('root', -1), ('fifth', 4))
    """
    right = []
    must = {tone.semitones for tone in goal.must_sound}
    allowed = {tone.semitones for tone in goal.tones}
    own = {tone.semitones for tone in triad.tones}
    for tone in triad.tones:
        stays = own if tone.semitones in allowed else own - {tone.semitones}
        for step in _MOVES:
            reached = (tone.semitones + step) % 12
            if reached not in own and must <= stays | {reached} <= allowed:
                right.append((tone.name, step))
    return tuple(right)


def question(card: Card, setting: Setting) -> Prompt:
    """Show the triad by its number, and the quality that it is to become."""
    goal = Chord(card.chord.root, _goal(card))
    tones = tuple((tone.name, f"tone.{tone.name}") for tone in card.chord.tones)
    steps = tuple((str(step), f"move.{step}") for step in _MOVES)
    return Prompt(
        card.ask,
        str(card.key),
        card.called,
        False,
        None,
        message(f"ask.{ASK}", called=card.called, key=card.key, chord=card.chord, goal=goal),
        PARTS,
        choices=(Choice("which tone moves", tones), Choice("where to", steps)),
    )


def answer(card: Card, setting: Setting) -> Answer:
    """Return the moves that are right."""
    goal = Chord(card.chord.root, _goal(card))
    right = moves(card.chord.quality, goal.quality)
    tone, step = right[0]
    return Answer(
        chord=str(goal),
        notes=tuple(map(str, goal.notes)),
        choices=tuple((name, str(steps)) for name, steps in right),
        words=message(
            "answer.bend",
            chord=card.chord,
            goal=goal,
            tone=tone,
            move=f"move.{step}",
            notes=" ".join(map(str, goal.notes)),
        ),
    )


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Judge whether the move makes the wanted chord."""
    right = answer(card, setting)
    if not given.choice:
        return Verdict(False, (message("wrong.no_choice"), right.words))
    if given.choice in right.choices:
        return Verdict(True, (right.words,))
    return Verdict(False, (message("wrong.bend", goal=right.chord), right.words))


def actions(card: Card, given: Given, mode: str) -> int:
    """Count one for the tone and one for the move."""
    return 2


RECORD = Ask(
    name=ASK,
    prompts=("ask.bend",),
    stage=3,
    head_start=0.2,
    usual_seconds=5.9,  # 2 actions, and the thinking of *name and place*: both find two things about a chord.
    cards=cards,
    requires=named_first,
    question=question,
    answer=answer,
    judge=judge,
    actions=actions,
)
