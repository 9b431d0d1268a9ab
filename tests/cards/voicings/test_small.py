"""Small voicings: triads on three neighbouring strings, shells, parts; what they leave out and become."""

from __future__ import annotations

from itertools import product

import pytest

from cards.asks import code
from cards.guitar.fingering import inner_mutes
from cards.guitar.neck import STRINGS
from cards.guitar.regions import BOXES, anchor_region
from cards.theory.chords import FIFTH, MAJOR_THIRD, ROOT, read_chord
from cards.theory.keys import DEGREES, MAJOR_KEYS, MINOR_KEYS, Key
from cards.voicings.small import chords_of, close_triads, part_without, parts_of, shells, small_voicing, spread_triads
from cards.voicings.voicing import voicings
from tests.cards import oracle
from tests.cards.everything import frets_of

SETS = ((6, 5, 4), (5, 4, 3), (4, 3, 2), (3, 2, 1))
C = Key.read("C")


def named(chords: tuple[object, ...]) -> set[str]:
    return set(map(str, chords))


@pytest.mark.parametrize("key", [*MAJOR_KEYS, *MINOR_KEYS[::4]], ids=str)
def test_a_triad_on_every_set_of_three_strings_in_every_inversion_of_the_reach(key: Key) -> None:
    """Held against trying every fret of the reach on each three neighbouring strings."""
    for box in BOXES:
        region = anchor_region(key, box)
        low, high = region.reach
        for degree in key.degrees:
            chord = key.chord(degree)
            notes = {note.pitch_class for note in chord.notes}
            wanted = set()
            for first in range(4):
                for three in product(range(low, high + 1), repeat=3):
                    frets = (None,) * first + three + (None,) * (3 - first)
                    if set(oracle.sounding(frets)) == notes and oracle.playable(frets):
                        wanted.add(frets)
            found = close_triads(chord, region, key)
            assert {small.frets for small in found} == wanted
            assert len(found) == len(wanted)
            for small in found:
                assert small.strings in SETS
                assert small.left_out == ()
                assert small.becomes == ()
                lowest = next(fret for fret in small.frets if fret is not None)
                pitch = oracle.OPEN[6 - small.strings[0]] + lowest
                assert small.bass == chord.tone_at(pitch % 12)
            assert [small.strings[0] for small in found] == sorted((s.strings[0] for s in found), reverse=True)


def _spread(notes: set[int], low: int, high: int) -> set[tuple[int | None, ...]]:
    """Every way to sound three notes on strings 6 4 2 or 5 3 1 with three fingers, each on its own string."""
    found = set()
    for first in (0, 1):
        for three in product(range(low, high + 1), repeat=3):
            frets: list[int | None] = [None] * 6
            frets[first], frets[first + 2], frets[first + 4] = three
            # Nothing between the strings is muted: the same stops on three strings in a row.
            if set(oracle.sounding(tuple(frets))) == notes and oracle.assignments((*three, None, None, None), 1.0):
                found.add(tuple(frets))
    return found


@pytest.mark.parametrize("key", MAJOR_KEYS[::4], ids=str)
def test_a_spread_triad_on_every_second_string_in_every_inversion_of_the_reach(key: Key) -> None:
    for box in BOXES:
        region = anchor_region(key, box)
        for degree in key.degrees:
            chord = key.chord(degree)
            found = spread_triads(chord, region, key)
            assert {small.frets for small in found} == _spread(
                {note.pitch_class for note in chord.notes}, *region.reach
            )
            for small in found:
                assert small.is_spread
                assert small.left_out == ()
                held = small.held(region)
                assert held is not None
                assert held.effort.mutes == 0
                assert held.effort.total == held.fingered.total


@pytest.mark.parametrize("key", MAJOR_KEYS, ids=str)
def test_over_the_five_boxes_every_set_has_every_inversion(key: Key) -> None:
    for degree in DEGREES:
        chord = key.chord(degree)
        regions = [anchor_region(key, box) for box in BOXES]
        found = {
            (small.strings, small.bass)
            for region in (*regions, *(region.octave_up() for region in regions[:4]))
            for small in close_triads(chord, region, key)
        }
        every = set(product(SETS, chord.tones))
        if chord.quality.name == "dim":
            # On the low strings its root, third and fifth lie two frets apart each: not for every hand and place.
            low = {((6, 5, 4), ROOT), ((5, 4, 3), ROOT)}
            assert every - low <= found <= every
        else:
            assert found == every


def test_the_four_of_a_flat_in_small() -> None:
    key = Key.read("Ab")
    found = [
        (code(small.frets), str(small.bass), [shape.name for shape in small.shapes])
        for small in close_triads(read_chord("Db"), anchor_region(key, 1), key)
    ]
    assert found == [
        ("443xxx", "5", []),
        ("x431xx", "R", ["C"]),
        ("xx312x", "3", ["C"]),
        ("xxx121", "5", ["C"]),
    ]


def test_a_small_voicing_between_two_shapes_names_both_the_better_cover_first() -> None:
    both = [
        small.shapes
        for key in MAJOR_KEYS
        for box in BOXES
        for small in close_triads(key.chord(1), anchor_region(key, box), key)
        if len(small.shapes) > 1
    ]
    assert both
    assert all(len(shapes) == 2 for shapes in both)


@pytest.mark.parametrize("key", MAJOR_KEYS, ids=str)
def test_shells_are_root_third_and_seventh_with_the_root_lowest(key: Key) -> None:
    for degree in DEGREES:
        chord = key.chord(degree, seventh=True)
        seen = False
        for box in BOXES:
            region = anchor_region(key, box)
            plain = {
                voicing.frets
                for voicing in voicings(chord, region)
                if [tone.number if tone else 0 for tone in voicing.tones].count(0) == 3
                and {tone.number for tone in voicing.tones if tone} == {1, 3, 7}
                and voicing.bass == ROOT
            }
            found = shells(chord, region, key)
            assert {small.frets for small in found} == plain
            seen = seen or bool(found)
            for small in found:
                assert small.is_shell
                assert {tone.number for tone in small.left_out} == {5}
                # Without its flat five a half-diminished seventh chord would be a minor one: it has no shell.
                assert chord.quality.name != "m7b5"
        assert seen == (chord.quality.name != "m7b5")


# What a part becomes


@pytest.mark.parametrize(
    ("chord", "frets", "left_out", "becomes"),
    [
        ("C", "x355xx", {"3"}, {"C5"}),
        ("C", "x32010", set(), set()),
        ("Cmaj7", "xx2000", {"R"}, {"Em"}),
        ("Am7", "xx2010", {"R"}, {"C"}),
        ("C7", "x323xx", {"5"}, set()),
        ("C7", "xx231x", {"5"}, set()),
        ("Bm7b5", "x2323x", set(), set()),
        ("Bm7b5", "xxx231", {"R"}, {"Dm"}),
        ("Cmaj7", "x3545x", set(), set()),
    ],
)
def test_a_part_that_loses_a_tone_that_must_sound_is_called_by_what_it_is(
    chord: str, frets: str, left_out: set[str], becomes: set[str]
) -> None:
    sounding = [fret for fret in frets_of(frets) if fret is not None]
    assert len(sounding) >= 3
    small = small_voicing(read_chord(chord), frets_of(frets), C)
    assert {str(tone) for tone in small.left_out} == left_out
    assert named(small.becomes) == becomes


def test_root_and_fifth_alone_are_a_power_chord() -> None:
    for key in MAJOR_KEYS:
        for degree in (1, 4, 5, 2, 3, 6):
            chord = key.chord(degree)
            region = anchor_region(key, 1)
            third = chord.quality.third
            assert third is not None
            small = part_without(chord, third, region, key)
            if small is not None:
                assert named(small.becomes) == {f"{chord.root}5"}


def test_same_notes_two_names() -> None:
    """6 is vi m7, m6 is vi m7♭5, sus2 is sus4 a fifth up, dim7 has four names, aug three."""

    def names(chord: str) -> set[str]:
        return named(chords_of(frozenset(note.pitch_class for note in read_chord(chord).notes), C))

    assert names("C6") == {"C6", "Am7"}
    assert names("Am6") == {"Am6", "F♯m7♭5"}
    assert names("Csus2") == {"Csus2", "Gsus4"}
    assert len(names("Cdim7")) == 4
    assert {name[-2:] for name in names("Cdim7")} == {"°7"}
    assert len(names("Caug")) == 3
    assert names("C") == {"C"}
    assert names("C5") == {"C5"}


@pytest.mark.parametrize("key", MAJOR_KEYS[::3], ids=str)
def test_every_part_of_a_voicing_says_truly_what_it_is(key: Key) -> None:
    for box in BOXES:
        for degree in DEGREES:
            for seventh in (False, True):
                main = voicings(key.chord(degree, seventh), anchor_region(key, box))[0]
                for small in parts_of(main, key):
                    assert len(small.strings) in (3, 4)
                    assert small.strings == tuple(range(small.strings[0], small.strings[-1] - 1, -1))
                    assert all(mine in (None, whole) for mine, whole in zip(small.frets, main.frets, strict=True))
                    notes = set(oracle.sounding(small.frets))
                    for name in small.becomes:
                        assert {note.pitch_class for note in name.notes} == notes
                    still = set(main.chord.must_sound) <= set(main.chord.tones) - set(small.left_out)
                    assert not (still and small.becomes)
                    if not still and len(notes) >= 2:
                        assert main.chord not in small.becomes


@pytest.mark.parametrize("key", MAJOR_KEYS[::4], ids=str)
def test_a_part_without_a_tone_is_the_easiest_on_three_neighbouring_strings(key: Key) -> None:
    for box in BOXES:
        region = anchor_region(key, box)
        low, high = region.reach
        for degree in DEGREES:
            chord = key.chord(degree, seventh=True)
            for tone in chord.tones:
                small = part_without(chord, tone, region, key)
                notes = {chord.root.above(each).pitch_class for each in chord.tones if each != tone}
                anywhere = any(
                    set(oracle.sounding(frets)) == notes and oracle.playable(frets)
                    for first in range(4)
                    for three in product(range(low, high + 1), repeat=3)
                    for frets in [(None,) * first + three + (None,) * (3 - first)]
                )
                assert (small is not None) == anywhere
                if small is not None:
                    assert small.left_out == (tone,)
                    assert len(small.strings) == 3
                    assert not inner_mutes(small.frets)
                    assert set(oracle.sounding(small.frets)) == notes


def test_rootless_voicings_leave_the_root_out_of_all() -> None:
    key = Key.read("Bb")
    chord = key.chord(2, seventh=True)
    found = voicings(chord, anchor_region(key, 1), rootless=True)
    assert found
    for voicing in found:
        assert ROOT not in voicing.tones
        assert {tone for tone in chord.must_sound if tone != ROOT} <= set(voicing.tones)
    assert not {voicing.frets for voicing in found} & {
        voicing.frets for voicing in voicings(chord, anchor_region(key, 1))
    }


def test_what_a_small_voicing_needs_is_counted_in_its_own_tones() -> None:
    small = small_voicing(read_chord("C"), frets_of("xx5553"), C)
    assert small.bass == FIFTH
    assert MAJOR_THIRD not in small.left_out
    assert [6 - index for index, fret in enumerate(small.frets) if fret is not None] == list(STRINGS[2:])
