"""The smoothest way through a progression, against trying every way."""

from __future__ import annotations

import math
from dataclasses import replace
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
from cards.voicings.routes import (
    COMP,
    HOVER_MM,
    MANNERS,
    SMALL,
    SMOOTH,
    STRING_SPACING_MM,
    STRUM,
    Lead,
    Manner,
    Route,
    RouteError,
    change,
    change_reasons,
    melody,
    named_ways,
    playable,
    smoothest,
    top_note,
    voicing_cost,
    way_name,
)
from cards.voicings.voicing import Voicing, voicings

LEADS = [replace(manner, lead=lead) for manner in MANNERS.values() for lead in Lead]


def chords_of(progression: str, key: Key) -> tuple[Chord, ...]:
    return tuple(read_numeral(text, key).chord(key) for text in progression.split())


def cost(way: tuple[Voicing, ...], found: list[tuple[Voicing, ...]], manner: Manner = SMOOTH) -> float:
    """What a way costs, added up anew: voicings and changes. ``found`` is all that each chord has."""
    voices = sum(voicing_cost(voicing, all_of_it, manner) for voicing, all_of_it in zip(way, found, strict=True))
    return round(voices + sum(change(a, b, manner).cost for a, b in pairwise(way)), 6)


def cheapest(
    chords: tuple[Chord, ...],
    region: Region,
    fewest: int,
    hand: Hand,
    neck: Neck = STANDARD,
    manner: Manner = SMOOTH,
) -> float:
    """The least cost over every combination of voicings."""
    found = [playable(chord, region, hand, neck) for chord in chords]
    asked = replace(manner, fewest=max(manner.fewest, fewest))
    rows = list(map(asked.choices, found))
    alone = [[voicing_cost(each, all_of_it, asked) for each in row] for row, all_of_it in zip(rows, found, strict=True)]
    moves = [[[change(a, b, asked).cost for b in after] for a in before] for before, after in pairwise(rows)]
    return min(
        sum(costs[index] for costs, index in zip(alone, way, strict=True))
        + sum(costs[a][b] for costs, (a, b) in zip(moves, pairwise(way), strict=True))
        for way in product(*(range(len(row)) for row in rows))
    )


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
        assert route.cost == pytest.approx(cost(route.voicings, [playable(chord, region) for chord in chords]))


@pytest.mark.parametrize("manner", LEADS, ids=lambda manner: f"{manner.name}, {manner.lead}")
def test_no_other_way_is_cheaper_in_any_manner(manner: Manner) -> None:
    """Every way is tried, whatever leads and whatever is kept on top."""
    for key, box, progression in (
        (Key.read("Eb"), 1, "1 5 6-"),
        (Key.read("C"), 4, "4 57 1"),
        (Key.read("A"), 3, "2-7 5"),
    ):
        region, chords = anchor_region(key, box), chords_of(progression, key)
        for keep in (None, key.tonic):
            asked = replace(manner, keep=keep, fewest=min(max(manner.fewest, 4), manner.most))
            found = [playable(chord, region) for chord in chords]
            route = smoothest(chords, region, manner=asked)
            assert route.cost == pytest.approx(cheapest(chords, region, asked.fewest, Hand(), manner=asked))
            assert route.cost == pytest.approx(cost(route.voicings, found, asked))


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
        assert voicing in playable(voicing.chord, region)
        assert voicing.frets in {each.frets for each in voicings(voicing.chord, region)}
    assert route.changes == tuple(change(a, b) for a, b in pairwise(route.voicings))
    assert route.cost == pytest.approx(cost(route.voicings, [playable(chord, region) for chord in chords]))


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
    said = "A has no voicing in frets 9–12 for this hand, and no box has one for every chord here"
    with pytest.raises(RouteError, match=said):
        smoothest((Key.read("E").chord(4),), region, Hand("small"), unison)


# What a player plays


def frets_of(route: Route) -> list[str]:
    """The ways as codes: a is fret ten, b eleven, c twelve."""
    return [code(voicing.frets) for voicing in route.voicings]


def test_open_grips_are_kept_whole() -> None:
    key = Key.read("C")
    route = smoothest(chords_of("6- 4 1 5", key), anchor_region(key, 4), fewest_strings=4)
    assert frets_of(route) == ["x02210", "xx3211", "x32010", "320003"]


def test_small_voicings_where_the_hand_stays_and_where_the_top_voice_falls() -> None:
    key = Key.read("Eb")
    ways = named_ways(chords_of("1 5 6- 4", key), anchor_region(key, 1), manner=SMALL)
    stays, falls = ways[Lead.HAND], ways[Lead.TOP]
    assert frets_of(stays) == ["xx888x", "xxxaba", "xxx888", "xxx898"]
    assert [voicing.fingered.position for voicing in stays.voicings] == [8, 9, 8, 8]
    assert stays.voicings[1].grip.fingers == (None, None, None, 2, 4, 3)
    assert way_name(stays).key == "way.hand-stays"
    assert frets_of(falls) == ["xxxcbb", "xxxaba", "xxx888", "xxx898"]
    assert [str(note) for note in falls.top_voice] == ["E♭", "D", "C", "C"]
    assert way_name(falls) == melody(falls)
    assert melody(falls).key == "way.melody-falls"


@pytest.mark.parametrize("key", MAJOR_KEYS, ids=str)
def test_no_finger_bars_over_another_between(key: Key) -> None:
    for box, progression in product(BOXES, ("1 6- 2-7 5", "1 5 6- 4")):
        for voicing in smoothest(chords_of(progression, key), anchor_region(key, box)).voicings:
            for barre in voicing.grip.barres:
                covered = voicing.grip.fingers[6 - barre.low : 7 - barre.high]
                assert barre.finger == 1 or set(covered) <= {barre.finger, None}, code(voicing.frets)


@pytest.mark.parametrize("key", MAJOR_KEYS, ids=str)
def test_a_strum_has_the_root_in_the_bass(key: Key) -> None:
    for box in BOXES:
        for voicing in smoothest(chords_of("1 4 5", key), anchor_region(key, box), manner=STRUM).voicings:
            assert voicing.strings >= 4
            assert str(voicing.bass) == "R"


@pytest.mark.parametrize("key", MAJOR_KEYS, ids=str)
def test_comping_sounds_four_strings_and_its_top_voice_does_not_leap(key: Key) -> None:
    for box in BOXES:
        route = smoothest(chords_of("1 6- 2-7 57", key), anchor_region(key, box), manner=COMP)
        assert all(voicing.strings == 4 for voicing in route.voicings)
        assert not any(made.is_leap for made in route.changes)


@pytest.mark.parametrize("key", MAJOR_KEYS, ids=str)
def test_small_voicings_stand_on_three_neighbouring_strings(key: Key) -> None:
    for box in BOXES:
        for voicing in smoothest(chords_of("1 6- 4 5", key), anchor_region(key, box), manner=SMALL).voicings:
            assert voicing.strings == 3
            assert voicing.sounding[0] - voicing.sounding[-1] == 2


@pytest.mark.parametrize("key", MAJOR_KEYS, ids=str)
def test_where_the_hand_stays_the_index_is_within_one_fret_of_the_place(key: Key) -> None:
    for box in BOXES:
        region = anchor_region(key, box)
        route = smoothest(chords_of("1 4 5", key), region, manner=replace(SMOOTH, lead=Lead.HAND))
        for voicing in route.voicings:
            index = voicing.fingered.position
            assert index is None or abs(index - max(region.low, 1)) <= 1


def test_a_note_is_kept_on_top_where_the_chords_have_it() -> None:
    """B stays on top of Em, G and Cmaj7; D has none, and the way says so."""
    key = Key.read("G")
    asked = replace(SMOOTH, keep=key.scale[2])
    route = smoothest(chords_of("6- 1 4maj7 5", key), anchor_region(key, 3), manner=asked)
    tops = [str(note) for note in route.top_voice]
    assert tops[:3] == ["B", "B", "B"]
    assert tops[3] != "B"
    assert dict(route.reasons[0].values) == {"note": "B", "kept": "3", "count": "4"}


def test_a_finger_that_is_set_down_has_travelled() -> None:
    """From one finger to three at the same fret nothing slides, but two fingers come down."""
    key = Key.read("Eb")
    by_code = {code(v.frets): v for degree in (4, 6) for v in voicings(key.chord(degree), anchor_region(key, 1))}
    made = change(by_code["xxx888"], by_code["xxx898"])
    assert (made.held, made.new_fingers) == (1, 2)
    assert made.travel_mm >= 2 * HOVER_MM


def test_sevenths_fall_and_leading_tones_rise() -> None:
    key = Key.read("C")
    by_code = {code(v.frets): v for call in ("57", "1") for v in playable(*_chord_and_place(call, key))}
    dominant = by_code["320001"]
    assert change(dominant, by_code["x32010"]).unresolved == 0
    assert change(dominant, by_code["x32010"]).resolved == 3, "B twice to C, F to E"
    assert change(dominant, by_code["xxx010"]).unresolved == 1, "no low C for the low B"


def _chord_and_place(call: str, key: Key) -> tuple[Chord, Region]:
    return chords_of(call, key)[0], anchor_region(key, 4)


def test_the_top_note_is_the_highest_and_spelled_by_the_chord() -> None:
    key = Key.read("Gb")
    for box in BOXES:
        for voicing in voicings(key.chord(4), anchor_region(key, box)):
            pitches = [STANDARD.pitch(6 - index, fret) for index, fret in enumerate(voicing.frets) if fret is not None]
            assert top_note(voicing).pitch_class == max(pitches) % 12
            assert top_note(voicing) in key.chord(4).notes


def test_a_way_says_why_it_is_good() -> None:
    key = Key.read("Eb")
    route = smoothest(chords_of("1 5 6- 4", key), anchor_region(key, 1), manner=replace(SMALL, lead=Lead.HAND))
    told = {said.key: dict(said.values) for said in route.reasons}
    assert told["way.top-voice"] == {"notes": "G D C C"}
    assert told["way.index"] == {"frets": "8 9 8 8"}
    assert told["way.fingers-stay"] == {"fingers": "1"}
    said = [each.key for each in change_reasons(route.changes[0], route.voicings[1])]
    assert said == ["change.index-moves", "change.fingers-new", "change.top-moves"]


def test_a_way_without_chords_has_no_reasons() -> None:
    assert Route((), ()).reasons == ()
