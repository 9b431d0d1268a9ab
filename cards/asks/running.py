"""The asks *run* and *change*: the player plays on the guitar to the metronome.

A *run* is a progression in a region, with one or two chords a bar. A *change* goes from one chord to
another and back, four times, to drill one hard change. The player then marks each chord as right or
fumbled; the metronome has kept it in time.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

from cards.asks import placing
from cards.asks.answers import Answer, Given, Prompt, Verdict
from cards.asks.card import Card, Setting
from cards.asks.record import BAR, Ask
from cards.drawings.voicing import draw_voicings, panel
from cards.guitar.regions import Region
from cards.messages import message, phrase
from cards.theory.chords import Chord
from cards.theory.keys import Key, Mode
from cards.theory.numerals import Numeral, read_numeral
from cards.voicings.routes import Route, smoothest

ASK = "run"
CHANGE = "change"
PARTS = ("marks",)
TIMES = 4

_TWO_A_BAR = "two"
_RUNS = {
    Mode.MAJOR: ("1 4 5 1", "1 6 4 5", "1 5 6 4", "2 5 1", "1 6 2 5"),
    Mode.MINOR: ("1 4 V7 1", "1 6 7 1"),
    Mode.BLUES: ("1 4 1 5 4 1",),
}
_CHANGES = {
    Mode.MAJOR: ("1 4", "1 5", "4 5", "1 6", "6 2", "2 5"),
    Mode.MINOR: ("1 4", "1 V7"),
    Mode.BLUES: ("1 4", "4 5"),
}


def cards(key: Key) -> Iterator[Card]:
    """Yield the common progressions of the key in each box and in the open position, with one chord a bar and
    with two."""
    for text in _RUNS[key.mode]:
        calls = _read_calls(text, key)
        for box in placing.boxes_of(key):
            yield Card(ASK, key, calls, box)
            yield Card(ASK, key, calls, box, _TWO_A_BAR)


def changes(key: Key) -> Iterator[Card]:
    """Yield the common changes of the key in each box and in the open position."""
    for text in _CHANGES[key.mode]:
        calls = _read_calls(text, key)
        for box in placing.boxes_of(key):
            yield Card(CHANGE, key, calls, box)


def _read_calls(text: str, key: Key) -> tuple[Numeral, ...]:
    """Read a progression by numbers; all chords of a blues are sevenths."""
    suffix = ":7" if key.mode == Mode.BLUES else ""
    return tuple(read_numeral(number + suffix, key) for number in text.split())


def beats(card: Card) -> tuple[int, ...]:
    """Return the beats of each chord that is played, in order."""
    if card.ask == CHANGE:
        return (BAR,) * (len(card.calls) * TIMES)
    return (BAR // 2 if card.detail == _TWO_A_BAR else BAR,) * len(card.calls)


def length(card: Card) -> int:
    """Return how many beats the whole progression lasts."""
    return sum(beats(card))


def question(card: Card, setting: Setting) -> Prompt:
    """Show what to play, chord by chord."""
    steps = tuple(str(numeral) for numeral in card.calls)
    return Prompt(
        card.ask,
        str(card.key),
        None,
        False,
        card.box,
        message(f"ask.{card.ask}{'.open' if card.is_open else ''}", key=card.key, box=card.box),
        PARTS,
        steps=steps * TIMES if card.ask == CHANGE else steps,
        beats=beats(card),
    )


@lru_cache(maxsize=1024)
def _route(chords: tuple[Chord, ...], region: Region, setting: Setting) -> Route:
    """Return the smoothest way through the chords, on four strings or more if there is one."""
    return smoothest(chords, region, setting.largest_hand, setting.neck, fewest_strings=4)


def answer(card: Card, setting: Setting) -> Answer:
    """Return the smoothest way through. Every step is drawn, since a chord may have another voicing the second time."""
    route = _route(card.chords, (card.places(setting) or (card.region(setting),))[0], setting)
    chords = " ".join(map(str, card.chords))
    return Answer(
        chord=chords,
        notes=(),
        drawing=draw_voicings(
            [panel(voicing, str(voicing.chord)) for voicing in route.voicings],
            phrase("{chord}, open position", chord=chords)
            if card.is_open
            else phrase("{chord}, box {box}", chord=chords, box=card.box),
            setting.left_handed,
        ),
        words=message("answer.run", key=card.key, chords=chords),
    )


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Take the player's word: the answer is right if every chord was; otherwise name the fumbled ones."""
    right = answer(card, setting)
    count = len(beats(card))
    if given.marks is None or len(given.marks) != count:
        return Verdict(False, (message("wrong.marks", count=count), right.words), right.drawing)
    fumbled = [index + 1 for index, mark in enumerate(given.marks) if not mark]
    if not fumbled:
        return Verdict(True, (right.words,), right.drawing)
    return Verdict(
        False,
        (message("wrong.fumbled", fumbled=", ".join(map(str, fumbled)), count=count), right.words),
        right.drawing,
    )


def actions(card: Card, given: Given, mode: str) -> int:
    """Count nothing: the metronome keeps the time."""
    return 0


# Neither ask takes any action, and both take the thinking of *hands-on*, to find the first grip and form it.
# The metronome sets the rest of the time.

RECORD = Ask(
    name=ASK,
    prompts=("ask.run", "ask.run.open"),
    stage=3,
    head_start=-0.5,
    usual_seconds=4.9,
    cards=cards,
    requires=placing.all_placed_first,
    answerable=placing.has_voicings,
    question=question,
    answer=answer,
    judge=judge,
    actions=actions,
    beats=length,
    on_guitar=True,
)

CHANGE_RECORD = replace(
    RECORD, name=CHANGE, prompts=("ask.change", "ask.change.open"), stage=2, head_start=0.0, cards=changes
)
