"""The asks *run* and *change*: on the guitar, against the metronome.

*Run*: a progression in a region, one or two chords a bar. *Change*: from one chord to another and
back, four times: the one hard change drilled. The player marks each change as right or fumbled; the
metronome has already decided that it was in time.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from cards.asks.answers import Answer, Given, Prompt, Verdict
from cards.asks.card import Card, Setting
from cards.drawings.voicing import draw_voicings, panel
from cards.guitar.regions import BOXES, Region
from cards.messages import message
from cards.theory.chords import Chord
from cards.theory.keys import Key, Mode
from cards.theory.numerals import read_numeral
from cards.voicings.routes import Route, smoothest

ASK = "run"
CHANGE = "change"
PARTS = ("marks",)
START = -0.5
CHANGE_START = 0.0
TIMES = 4

_BAR = 4
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
    """The common progressions of the key in each box, with one chord a bar and with two."""
    for text in _RUNS[key.mode]:
        calls = tuple(read_numeral(each, key) for each in text.split())
        if key.mode == Mode.BLUES:
            calls = tuple(numeral for each in text.split() for numeral in [read_numeral(f"{each}:7", key)])
        for box in BOXES:
            yield Card(ASK, key, calls, box)
            yield Card(ASK, key, calls, box, _TWO_A_BAR)


def changes(key: Key) -> Iterator[Card]:
    """The common changes of the key in each box."""
    mark = ":7" if key.mode == Mode.BLUES else ""
    for text in _CHANGES[key.mode]:
        calls = tuple(read_numeral(each + mark, key) for each in text.split())
        for box in BOXES:
            yield Card(CHANGE, key, calls, box)


def beats(card: Card) -> tuple[int, ...]:
    """Beats of each chord that is played, in order."""
    if card.ask == CHANGE:
        return (_BAR,) * (len(card.calls) * TIMES)
    return ((_BAR // 2) if card.detail == _TWO_A_BAR else _BAR,) * len(card.calls)


def question(card: Card, setting: Setting) -> Prompt:
    """What to play, chord by chord."""
    steps = tuple(str(numeral) for numeral in card.calls)
    return Prompt(
        card.ask,
        str(card.key),
        None,
        False,
        card.box,
        message(f"ask.{card.ask}", key=card.key, box=card.box),
        PARTS,
        steps=steps * TIMES if card.ask == CHANGE else steps,
        beats=beats(card),
    )


@lru_cache(maxsize=1024)
def _route(chords: tuple[Chord, ...], region: Region, setting: Setting) -> Route:
    """The smoothest way through, on four strings or more where there is one."""
    return smoothest(chords, region, setting.largest_hand, setting.neck, fewest_strings=4)


def answer(card: Card, setting: Setting) -> Answer:
    """The smoothest way through, each different voicing drawn once."""
    route = _route(card.chords, (card.places(setting) or (card.region(setting),))[0], setting)
    chords = " ".join(map(str, card.chords))
    distinct = list({voicing.chord: voicing for voicing in route.voicings}.values())
    return Answer(
        chord=chords,
        notes=(),
        drawing=draw_voicings(
            [panel(voicing, str(voicing.chord)) for voicing in distinct],
            f"{chords}, box {card.box}",
            setting.left_handed,
        ),
        words=message("answer.run", key=card.key, chords=chords),
    )


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Right when every change was; the fumbled ones are named."""
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
    """None while playing: the metronome keeps the time."""
    return 0
