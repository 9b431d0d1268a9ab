"""The ask *guide tones*: tap the third and the seventh of each chord through a progression.

The two tones that say what a chord is, and lead to the next one. Any third and any seventh inside
the reach count, and nothing else.
"""

from __future__ import annotations

from collections.abc import Iterator

from cards.asks.answers import Answer, Given, Prompt, Spots, Verdict
from cards.asks.card import Card, Setting
from cards.drawings.region import GUIDES, draw_guides
from cards.guitar.neck import STRINGS
from cards.guitar.regions import BOXES, Region
from cards.messages import Message, message
from cards.theory.chords import Chord
from cards.theory.keys import Key, Mode
from cards.theory.numerals import read_numeral

ASK = "guide-tones"
PARTS = ("spots",)
START = -0.6
BEATS = 4

_IN_MAJOR = (("2m7", "57", "1maj7"), ("1maj7", "6m7", "2m7", "57"))


def cards(key: Key) -> Iterator[Card]:
    """Two-five-one and the turnaround in each box of the major keys, one-four-five of each blues."""
    if key.mode == Mode.MINOR:
        return
    ways = _IN_MAJOR if key.mode == Mode.MAJOR else (("17", "47", "57"),)
    for way in ways:
        for box in BOXES:
            yield Card(ASK, key, tuple(read_numeral(text, key) for text in way), box)


def question(card: Card, setting: Setting) -> Prompt:
    """The progression by number."""
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
        beats=(BEATS,) * len(card.calls),
    )


def _guides(chord: Chord, region: Region, setting: Setting) -> dict[tuple[int, int], int]:
    """Places of third and seventh in the reach, with the number of the tone there."""
    low, high = region.reach
    found = {}
    for string in STRINGS:
        for fret in range(low, min(high, setting.neck.free_frets) + 1):
            tone = chord.tone_at(setting.neck.pitch(string, fret) % 12)
            if tone is not None and tone.number in GUIDES:
                found[string, fret] = tone.number
    return found


def _one_pair(chord: Chord, region: Region, setting: Setting) -> Spots:
    """A third and a seventh inside the region, on its upper strings."""
    guides = _guides(chord, region, setting)
    nearest = sorted(guides, key=lambda spot: (region.outside(spot[1]), abs(spot[0] - 3), spot))
    third = next(spot for spot in nearest if guides[spot] == 3)
    seventh = next(spot for spot in nearest if guides[spot] == 7 and spot[0] != third[0])
    return tuple(sorted((third, seventh)))


def answer(card: Card, setting: Setting) -> Answer:
    """One pair for each chord; any other is accepted as well."""
    region = (card.places(setting) or (card.region(setting),))[0]
    pairs = tuple(_one_pair(chord, region, setting) for chord in card.chords)
    said = "; ".join(f"{chord}: {_tones(chord)}" for chord in card.chords)
    return Answer(
        chord=" ".join(map(str, card.chords)),
        notes=(),
        spots=(pairs,),
        drawing=draw_guides(region, card.chords, setting.neck, setting.left_handed),
        words=message("answer.guide-tones", tones=said),
    )


def _tones(chord: Chord) -> str:
    pairs = zip(chord.notes, chord.tones, strict=True)
    return " and ".join(str(note) for note, tone in pairs if tone.number in GUIDES)


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Third and seventh of every chord, and no other tone, in one place of the region."""
    right = answer(card, setting)
    if not given.spots or not any(given.spots):
        return Verdict(False, (message("wrong.no_spots"), right.words), right.drawing)
    places = card.places(setting) or (card.region(setting),)
    faults = min((_faults(card, given.spots, place, setting) for place in places), key=len)
    if not faults:
        return Verdict(True, (right.words,), right.drawing)
    return Verdict(False, (*faults, right.words), right.drawing)


def _faults(card: Card, steps: tuple[Spots, ...], region: Region, setting: Setting) -> list[Message]:
    said = []
    for index, chord in enumerate(card.chords):
        tapped = steps[index] if index < len(steps) else ()
        guides = _guides(chord, region, setting)
        if any(spot not in guides for spot in tapped):
            said.append(message("wrong.guide", chord=chord))
        elif {guides[spot] for spot in tapped} != set(GUIDES):
            said.append(message("wrong.guide_missing", chord=chord))
    return said


def actions(card: Card, given: Given, mode: str) -> int:
    """Two taps per chord and the check of each."""
    count = sum(map(len, given.spots)) if given.spots else 2 * len(card.calls)
    return (count if mode != "keyboard" else 3 * count) + len(card.calls)
