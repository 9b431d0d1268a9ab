"""What is offered where nothing can be played: it was tried, and it helps."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from cards.guitar.fingering import HAND_SCALE, Hand
from cards.guitar.neck import STANDARD_TUNING, Neck
from cards.guitar.regions import BOXES, anchor_region
from cards.theory.keys import Key
from cards.theory.numerals import Numeral, read_numeral
from cards.voicings.listing import list_small, mend_chord, mend_small
from cards.voicings.routes import RouteError, smoothest
from cards.voicings.voicing import voicings

KEYS = ("C", "Eb", "F#", "A", "Bm", "G blues")
DEGREES = ("4", "5:7b9", "2:m11", "6/b5", "1:13", "3/5", "b7:maj7/3")
NECKS = (Neck(), Neck((40, 40, 40, 52, 52, 64), frets=12), Neck(STANDARD_TUNING, frets=12, scale_mm=750.0, capo=1))


def empty_places(hand: Hand) -> Iterator[tuple[Key, Numeral, int, Neck]]:
    """Every chord in a box that a hand cannot play there."""
    for neck in NECKS:
        for key in map(Key.read, KEYS):
            for degree in DEGREES:
                numeral = read_numeral(degree, key)
                for box in BOXES:
                    if not voicings(numeral.chord(key), anchor_region(key, box, neck), hand, neck):
                        yield key, numeral, box, neck


def followed(mend: str, box: int, hand: Hand) -> Iterator[tuple[int, Hand]]:
    """The box and the hand that a mend names, each way that it offers."""
    to_box, to_hand = re.search(r"box (\d)", mend), re.search(r"a (\w+) hand", mend)
    larger = Hand(to_hand[1], hand.thumb) if to_hand else hand
    there = int(to_box[1]) if to_box else box
    if ", or " in mend:
        yield from ((there, hand), (box, larger))
    else:
        yield there, larger


@pytest.mark.parametrize("size", ["small", "large"])
def test_what_is_offered_where_nothing_is_playable_gives_voicings(size: str) -> None:
    hand, kinds = Hand(size), set()
    for key, numeral, box, neck in empty_places(hand):
        mend = mend_chord(key, numeral, anchor_region(key, box, neck), hand, neck)
        chord = numeral.chord(key)
        if mend is None:
            for other in BOXES:
                for larger in HAND_SCALE:
                    if HAND_SCALE[larger] >= hand.scale:
                        assert not voicings(chord, anchor_region(key, other, neck), Hand(larger), neck), (key, chord)
            kinds.add("none")
            continue
        kinds.add(re.sub(r"\d|large|medium", "…", str(mend)))
        for there, larger_hand in followed(str(mend), box, hand):
            assert (there, larger_hand) != (box, hand)
            assert voicings(chord, anchor_region(key, there, neck), larger_hand, neck), (key, chord, box, str(mend))
    assert "try box …" in kinds
    assert ("try box …, or a … hand" in kinds) is (size == "small"), "no hand is larger than a large one"


def test_small_voicings_are_mended_by_small_voicings() -> None:
    hand, neck, key = Hand("small"), NECKS[1], Key.read("C")
    empty = 0
    for degree in ("1", "4", "5:7", "2:m7"):
        numeral = read_numeral(degree, key)
        for box in BOXES:
            if list_small(key, numeral, anchor_region(key, box, neck), hand, neck).voicings:
                continue
            empty += 1
            mend = mend_small(key, numeral, anchor_region(key, box, neck), hand, neck)
            for there, larger in () if mend is None else followed(str(mend), box, hand):
                assert list_small(key, numeral, anchor_region(key, there, neck), larger, neck).voicings
    assert empty


def test_a_progression_is_mended_by_a_place_for_all_its_chords() -> None:
    neck, hand, refused = NECKS[1], Hand("small"), 0
    for key in map(Key.read, KEYS):
        chords = tuple(read_numeral(degree, key).chord(key) for degree in ("1", "4", "5"))
        for box in BOXES:
            try:
                smoothest(chords, anchor_region(key, box, neck), hand, neck)
            except RouteError as error:
                refused += 1
                said = str(error)
                if "no box has one for every chord" in said:
                    continue
                for there, larger in followed(said.partition("hand: ")[2], box, hand):
                    assert smoothest(chords, anchor_region(key, there, neck), larger, neck).voicings
    assert refused
