"""Boxes, regions and the reach, for all keys, against plain semitones."""

from __future__ import annotations

import pytest

from cards.guitar.neck import STANDARD
from cards.guitar.regions import BOXES, RegionError, anchor_region, open_position, read_place
from cards.theory.keys import BLUES_KEYS, MAJOR_KEYS, MINOR_KEYS, Key
from tests.cards import oracle

EVERY_BOX = [(name, box) for name in (*oracle.KEYS, *oracle.MINOR_KEYS) for box in BOXES]


@pytest.mark.parametrize(("name", "low", "high"), [("Ab", 1, 4), ("G", 0, 3), ("Bb", 3, 6), ("E", 9, 12)])
def test_the_region_of_box_one(name: str, low: int, high: int) -> None:
    region = anchor_region(Key.read(name), 1)
    assert (region.low, region.high) == (low, high)


@pytest.mark.parametrize(("name", "box"), EVERY_BOX)
def test_the_notes_of_every_box(name: str, box: int) -> None:
    region = anchor_region(Key.read(name), box)
    assert [(note.string, note.fret) for note in region.notes] == oracle.box(name, box)
    assert (region.low, region.high) == oracle.region(name, box)
    assert region.reach == oracle.reach(region.low, region.high)
    for note in region.notes:
        assert STANDARD.pitch(note.string, note.fret) % 12 == note.note.pitch_class
        assert note.note in Key.read(name).scale


@pytest.mark.parametrize(("name", "box"), EVERY_BOX)
def test_box_three_spans_five_frets_and_the_others_four(name: str, box: int) -> None:
    region = anchor_region(Key.read(name), box)
    assert region.high - region.low + 1 == (5 if box == 3 else 4)


@pytest.mark.parametrize("key", MAJOR_KEYS, ids=str)
def test_the_low_string_of_box_one_has_the_two_tonics(key: Key) -> None:
    first, second = anchor_region(key, 1).notes[:2]
    assert (first.note, second.note) == (key.relative_minor, key.tonic)


@pytest.mark.parametrize("key", MINOR_KEYS, ids=str)
def test_a_minor_keys_boxes_are_its_relative_majors(key: Key) -> None:
    for box in BOXES:
        ours, theirs = anchor_region(key, box), anchor_region(key.relative, box)
        assert (ours.low, ours.high, ours.notes) == (theirs.low, theirs.high, theirs.notes)


@pytest.mark.parametrize("key", BLUES_KEYS, ids=str)
def test_a_blues_takes_the_boxes_of_its_own_tonics_minor(key: Key) -> None:
    """Three frets above the boxes that the major key of that name has."""
    for box in BOXES:
        ours, major = anchor_region(key, box), anchor_region(Key(key.tonic), box)
        assert (ours.low - major.low) % 12 == 3
        assert ours.high - ours.low == major.high - major.low
    assert anchor_region(key, 1).notes[0].note == key.tonic


@pytest.mark.parametrize(("name", "box"), EVERY_BOX)
def test_a_region_lies_at_the_lowest_place_that_is_not_below_the_nut(name: str, box: int) -> None:
    frets = [note.fret for note in anchor_region(Key.read(name), box).notes]
    assert min(frets) >= 0
    assert min(frets) - 12 < 0


@pytest.mark.parametrize("key", MAJOR_KEYS, ids=str)
def test_the_five_boxes_follow_each_other_up_the_neck(key: Key) -> None:
    firsts = [anchor_region(key, box).notes[0].note for box in BOXES]
    minor = key.relative_minor.pitch_class
    assert [(note.pitch_class - minor) % 12 for note in firsts] == [0, 3, 5, 7, 10]


def test_the_octave_up_is_the_same_box_twelve_frets_on() -> None:
    region = anchor_region(Key.read("Ab"), 1)
    higher = region.octave_up()
    assert (higher.low, higher.high, higher.reach) == (13, 16, (12, 17))
    assert [note.note for note in higher.notes] == [note.note for note in region.notes]


def test_how_far_a_fret_lies_outside() -> None:
    region = anchor_region(Key.read("Bb"), 1)
    assert [region.outside(fret) for fret in (0, 2, 3, 6, 7, 9)] == [3, 1, 0, 0, 1, 3]


def test_open_strings_belong_to_the_reach_where_it_touches_the_nut() -> None:
    keys = (*MAJOR_KEYS, *MINOR_KEYS)
    at_nut = {(str(key), box) for key in keys for box in BOXES if anchor_region(key, box).reach[0] == 0}
    assert ("G", 1) in at_nut
    assert ("A♭", 1) in at_nut
    assert ("B♭", 1) not in at_nut
    assert at_nut == {
        (str(Key.read(name)), box) for name, box in EVERY_BOX if oracle.reach(*oracle.region(name, box))[0] == 0
    }


@pytest.mark.parametrize("box", [0, 6, -1])
def test_there_are_five_boxes(box: int) -> None:
    with pytest.raises(RegionError, match="the boxes are 1 to 5"):
        anchor_region(Key.read("C"), box)


def test_a_place_is_a_box_or_the_open_position() -> None:
    assert read_place("3", Key.read("Bb")) == anchor_region(Key.read("Bb"), 3)
    assert read_place(" Open ", Key.read("A")) == open_position(Key.read("A"))
    assert read_place("open", Key.read("C")) == anchor_region(Key.read("C"), 4), "that box lies at the nut"
    with pytest.raises(RegionError, match="B♭ has no open position"):
        read_place("open", Key.read("Bb"))
    with pytest.raises(RegionError, match='no box "²"'):
        read_place("²", Key.read("C"))
