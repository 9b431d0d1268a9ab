"""The smoothest way through a progression, against trying every way."""

from __future__ import annotations

import math
from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cards.asks import code
from cards.guitar.fingering import Hand
from cards.guitar.neck import STANDARD, Neck
from cards.guitar.regions import BOXES, Region, anchor_region
from cards.theory.chords import Chord
from cards.theory.keys import MAJOR_KEYS, Key
from cards.theory.numerals import read_numeral
from cards.voicings.routes import STRING_SPACING_MM, Route, RouteError, change, smoothest
from cards.voicings.voicing import Voicing, voicings

EFFORT_SHARE = 0.3


def chords_of(progression: str, key: Key) -> tuple[Chord, ...]:
    return tuple(read_numeral(text, key).chord(key) for text in progression.split())


def cost(way: tuple[Voicing, ...]) -> float:
    """What a way costs, added up anew: efforts and changes."""
    efforts = sum(EFFORT_SHARE * voicing.effort.total for voicing in way)
    return round(efforts + sum(change(a, b).cost for a, b in pairwise(way)), 6)


def cheapest(chords: tuple[Chord, ...], region: Region, fewest: int, hand: Hand, neck: Neck = STANDARD) -> float:
    """The least cost over every combination of voicings."""
    choices = []
    for chord in chords:
        found = voicings(chord, region, hand, neck)
        choices.append([voicing for voicing in found if voicing.strings >= fewest] or list(found))
    return min(cost(way) for way in product(*choices))


def _choices(chord: Chord, region: Region, hand: Hand, fewest: int) -> int:
    found = voicings(chord, region, hand)
    return sum(voicing.strings >= fewest for voicing in found) or len(found)


def told(route: Route) -> str:
    return " ".join(code(voicing.frets) for voicing in route.voicings)


@pytest.mark.parametrize("key", [Key.read(name) for name in ("Eb", "G", "A", "F#m", "A blues")], ids=str)
@pytest.mark.parametrize("box", [1, 3, 5])
def test_no_other_way_is_cheaper(key: Key, box: int) -> None:
    region = anchor_region(key, box)
    for progression in ("1 4 5", "1 5", "4 1 5"):
        chords = chords_of(progression, key)
        route = smoothest(chords, region, fewest_strings=4)
        assert route.cost == pytest.approx(cheapest(chords, region, 4, Hand()))
        assert route.cost == cost(route.voicings)


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(MAJOR_KEYS),
    st.sampled_from(BOXES),
    st.lists(
        st.sampled_from(["1", "2-7", "3", "4", "5", "57", "6-", "7", "b7", "1maj7", "V/vi", "iv"]),
        min_size=1,
        max_size=3,
    ),
    st.sampled_from(["small", "medium", "large"]),
)
def test_the_smoothest_way_is_the_least_of_all_ways(key: Key, box: int, calls: list[str], hand: str) -> None:
    region = anchor_region(key, box)
    chords = chords_of(" ".join(calls), key)
    for fewest in (5, 4):
        sizes = [_choices(chord, region, Hand(hand), fewest) for chord in chords]
        if not 0 < math.prod(sizes) <= 3000:
            continue  # too many ways to try, or none
        route = smoothest(chords, region, Hand(hand), fewest_strings=fewest)
        assert route.cost == pytest.approx(cheapest(chords, region, fewest, Hand(hand)))


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(MAJOR_KEYS), st.sampled_from(BOXES), st.lists(st.sampled_from("1234567"), min_size=1, max_size=8)
)
def test_a_route_has_one_voicing_per_chord_in_the_reach(key: Key, box: int, degrees: list[str]) -> None:
    region = anchor_region(key, box)
    chords = chords_of(" ".join(degrees), key)
    route = smoothest(chords, region)
    assert [voicing.chord for voicing in route.voicings] == list(chords)
    assert len(route.changes) == len(chords) - 1
    for voicing in route.voicings:
        assert voicing in voicings(voicing.chord, region)
    assert route.changes == tuple(change(a, b) for a, b in pairwise(route.voicings))
    assert route.cost == pytest.approx(cost(route.voicings))


def test_staying_on_a_chord_costs_no_travel() -> None:
    region = anchor_region(Key.read("Ab"), 1)
    main = voicings(Key.read("Ab").chord(4), region)[0]
    stay = change(main, main)
    fingers = len({finger for finger in main.grip.fingers if finger})
    assert (stay.travel_mm, stay.held, stay.new_fingers, stay.shape) == (0, fingers, 0, False)


def test_what_a_change_is_made_of() -> None:
    """From C to Am the first two fingers stay and the third moves from string 5 to string 3."""
    key = Key.read("C")
    region = anchor_region(key, 4)
    by_code = {code(v.frets): v for degree in (1, 6) for v in voicings(key.chord(degree), region)}
    c, a_minor = by_code["x32010"], by_code["x02210"]
    assert c.grip.fingers == (None, 3, 2, None, 1, None)
    assert a_minor.grip.fingers == (None, None, 2, 3, 1, None)
    moved = change(c, a_minor)
    assert (moved.held, moved.new_fingers) == (2, 0)
    along = STANDARD.fret_mm(3) - STANDARD.fret_mm(2)
    across = 2 * STRING_SPACING_MM
    assert moved.travel_mm == pytest.approx((along**2 + across**2) ** 0.5, abs=0.001)
    assert moved.shape


def test_a_way_holds_what_it_can() -> None:
    """One, six, two, five in C near the nut: something is held in every change."""
    key = Key.read("C")
    route = smoothest(chords_of("1 6", key), anchor_region(key, 4), fewest_strings=5)
    assert route.changes[0].held >= 1
    assert route.travel_mm == pytest.approx(sum(each.travel_mm for each in route.changes), abs=0.1)


def test_the_same_way_every_time() -> None:
    key = Key.read("Eb")
    chords = chords_of("1 6- 2-7 5", key)
    assert told(smoothest(chords, anchor_region(key, 1))) == told(smoothest(chords, anchor_region(key, 1)))


def test_no_chords_are_no_way() -> None:
    assert smoothest((), anchor_region(Key.read("C"), 1)) == Route((), ())


def test_a_capo_moves_the_way_with_it() -> None:
    key, neck = Key.read("A"), Neck(capo=2)
    ours = smoothest(chords_of("1 4 5", key), anchor_region(key, 1, neck), neck=neck, fewest_strings=4)
    lower = Key.read("G")
    choices = {code(v.frets) for degree in (1, 4, 5) for v in voicings(lower.chord(degree), anchor_region(lower, 1))}
    assert {code(voicing.frets) for voicing in ours.voicings} & choices


def test_a_chord_that_no_hand_reaches_here_is_named() -> None:
    """Bass strings in unison leave a small hand no A between frets 9 and 12."""
    region = anchor_region(Key.read("E"), 1)
    unison = Neck((40, 40, 40, 52, 52, 64), frets=12)
    said = r"A has no voicing in frets 9–12 for this hand: try another box or a larger hand"
    with pytest.raises(RouteError, match=said):
        smoothest((Key.read("E").chord(4),), region, Hand("small"), unison)
