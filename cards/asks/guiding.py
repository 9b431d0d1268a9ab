"""The ask *guide tones*: the player taps the third and the seventh of each chord of a progression.

These two tones tell what a chord is, and they lead to the next chord. Any third and any seventh inside
the reach are accepted, and no other tone.
"""

from __future__ import annotations

from collections.abc import Iterator

from cards.asks import placing
from cards.asks.answers import Answer, Given, Prompt, Spots, Verdict
from cards.asks.card import Card, Setting
from cards.asks.record import BAR, Ask
from cards.drawings.region import GUIDES, draw_guides
from cards.guitar.neck import STRINGS
from cards.guitar.regions import BOXES, Region
from cards.messages import Message, message
from cards.theory.chords import Chord
from cards.theory.keys import Key, Mode
from cards.theory.numerals import read_numeral

ASK = "guide-tones"
PARTS = ("spots",)

_IN_MAJOR = (("2m7", "57", "1maj7"), ("1maj7", "6m7", "2m7", "57"))
_IN_BLUES = (("17", "47", "57"),)


def cards(key: Key) -> Iterator[Card]:
    """Yield two-five-one and the turnaround in each box of the major keys, and one-four-five of each blues."""
    if key.mode == Mode.MINOR:
        return
    progressions = _IN_MAJOR if key.mode == Mode.MAJOR else _IN_BLUES
    for progression in progressions:
        for box in BOXES:
            yield Card(ASK, key, tuple(read_numeral(text, key) for text in progression), box)


def question(card: Card, setting: Setting) -> Prompt:
    """Show the progression by number; the region is a hint."""
    region = card.places(setting)[0]
    return Prompt(
        card.ask,
        str(card.key),
        None,
        False,
        card.box,
        message(f"ask.{ASK}", key=card.key, box=card.box),
        PARTS,
        hint=(region.low, region.high),
        steps=tuple(str(numeral) for numeral in card.calls),
        beats=(BAR,) * len(card.calls),
    )


def _guides(chord: Chord, region: Region, setting: Setting) -> dict[tuple[int, int], int]:
    """Return the places of third and seventh in the reach, with the number of the tone at each: 3 or 7."""
    low, high = region.reach
    guides = {}
    for string in STRINGS:
        for fret in range(low, min(high, setting.neck.free_frets) + 1):
            tone = chord.tone_at(setting.neck.pitch(string, fret) % 12)
            if tone is not None and tone.number in GUIDES:
                guides[string, fret] = tone.number
    return guides


def _one_pair(chord: Chord, region: Region, setting: Setting) -> Spots:
    """Return a third and a seventh inside the region, as near to string 3 as there are."""
    guides = _guides(chord, region, setting)
    nearest = sorted(guides, key=lambda spot: (region.outside(spot[1]), abs(spot[0] - 3), spot))
    third = next(spot for spot in nearest if guides[spot] == 3)
    seventh = next(spot for spot in nearest if guides[spot] == 7 and spot[0] != third[0])
    return tuple(sorted((third, seventh)))


def answer(card: Card, setting: Setting) -> Answer:
    """Return one pair of tones for each chord; any other right pair is accepted as well."""
    region = (card.places(setting) or (card.region(setting),))[0]
    pairs = tuple(_one_pair(chord, region, setting) for chord in card.chords)
    tones = "; ".join(f"{chord}: {_tones(chord)}" for chord in card.chords)
    return Answer(
        chord=" ".join(map(str, card.chords)),
        notes=(),
        spots=(pairs,),
        drawing=draw_guides(region, card.chords, setting.neck, setting.left_handed),
        words=message("answer.guide-tones", tones=tones),
    )


def _tones(chord: Chord) -> str:
    pairs = zip(chord.notes, chord.tones, strict=True)
    return " and ".join(str(note) for note, tone in pairs if tone.number in GUIDES)


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Judge whether the player tapped third and seventh of every chord, and no other tone.

    Of the region and the one an octave up, the one with fewer faults is taken as the one meant.
    """
    right = answer(card, setting)
    if not given.spots or not any(given.spots):
        return Verdict(False, (message("wrong.no_spots"), right.words), right.drawing)
    places = card.places(setting) or (card.region(setting),)
    faults = min((_faults(card, given.spots, place, setting) for place in places), key=len)
    if not faults:
        return Verdict(True, (right.words,), right.drawing)
    return Verdict(False, (*faults, right.words), right.drawing)


def _faults(card: Card, steps: tuple[Spots, ...], region: Region, setting: Setting) -> list[Message]:
    faults = []
    for index, chord in enumerate(card.chords):
        tapped = steps[index] if index < len(steps) else ()
        guides = _guides(chord, region, setting)
        if any(spot not in guides for spot in tapped):
            faults.append(message("wrong.guide", chord=chord))
        elif {guides[spot] for spot in tapped} != set(GUIDES):
            faults.append(message("wrong.guide_missing", chord=chord))
    return faults


def actions(card: Card, given: Given, mode: str) -> int:
    """Count two taps for each chord and one for its check; by keyboard, also two steps of the cursor to each place."""
    taps = sum(map(len, given.spots)) if given.spots else 2 * len(card.calls)
    return (3 if mode == "keyboard" else 1) * taps + len(card.calls)


RECORD = Ask(
    name=ASK,
    prompts=("ask.guide-tones",),
    stage=3,
    head_start=-0.6,
    usual_seconds=20.6,  # 10 actions on average, and for each of 3.3 chords on average the thinking of *place*.
    cards=cards,
    requires=placing.all_placed_first,
    question=question,
    answer=answer,
    judge=judge,
    actions=actions,
)
