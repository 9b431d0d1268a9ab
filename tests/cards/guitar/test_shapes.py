"""The five CAGED shapes: skeletons of the root, and the forms of the open chords."""

from __future__ import annotations

import pytest

from cards.guitar.fingering import Frets
from cards.guitar.neck import STANDARD
from cards.guitar.regions import anchor_region
from cards.guitar.shapes import SHAPES, full_form, shapes_of
from cards.theory.chords import read_chord
from cards.theory.keys import MAJOR_KEYS, Key
from cards.voicings.voicing import voicings


def frets_of(grip: str) -> Frets:
    return tuple(None if sign == "x" else int(sign, 36) for sign in grip)


def shapes(chord: str, grip: str) -> str:
    return " ".join(shape.name for shape in shapes_of(read_chord(chord), frets_of(grip), STANDARD))


def test_skeletons_are_octaves_of_the_root() -> None:
    for shape in SHAPES:
        pitches = [STANDARD.pitch(string, 5 + offset) for string, offset in shape.roots]
        assert all((pitch - pitches[0]) % 12 == 0 for pitch in pitches)
        assert pitches == sorted(pitches)


def test_the_skeletons_are_the_theorys() -> None:
    assert {shape.name: shape.roots for shape in SHAPES} == {
        "E": ((6, 0), (4, 2), (1, 0)),
        "G": ((6, 0), (3, -3), (1, 0)),
        "A": ((5, 0), (3, 2)),
        "C": ((5, 0), (2, -2)),
        "D": ((4, 0), (2, 3)),
    }


@pytest.mark.parametrize(
    ("chord", "grip", "name"),
    [
        ("C", "x32010", "C"),
        ("A", "x02220", "A"),
        ("G", "320003", "G"),
        ("E", "022100", "E"),
        ("D", "xx0232", "D"),
        ("Am", "x02210", "A"),
        ("Em", "022000", "E"),
        ("Dm", "xx0231", "D"),
        ("F", "133211", "E"),
        ("Bb", "x13331", "A"),
        ("Eb", "xx1343", "D"),
        ("Db", "x4312x", "C"),
        ("Ab", "43111x", "G"),
        ("F7", "131211", "E"),
        ("D7", "xx0212", "D"),
        ("C7", "x32310", "C"),
        ("Fm7", "131111", "E"),
        ("Am7", "x02010", "A"),
        ("Fmaj7", "132211", "E"),
        ("Gm7b5", "3x332x", "E"),
        ("Cm7b5", "x3434x", "A"),
    ],
)
def test_the_shape_of_chords_that_everybody_knows(chord: str, grip: str, name: str) -> None:
    assert shapes(chord, grip).split()[0] == name


def test_a_small_voicing_may_lie_in_two_shapes() -> None:
    assert set(shapes("C", "xx555x").split()) >= {"A"}
    assert len(shapes("C", "xxx010").split()) >= 1


@pytest.mark.parametrize(("name", "grip"), [("C", "x32010"), ("A", "x02220"), ("G", "320003"), ("E", "022100")])
def test_the_usual_full_form_of_a_major_shape_is_its_open_chord(name: str, grip: str) -> None:
    shape = next(shape for shape in SHAPES if shape.name == name)
    frets = frets_of(grip)
    root = next(fret for fret in frets if fret is not None)
    assert full_form(shape, read_chord(name).quality, root, 0, STANDARD) == frets


@pytest.mark.parametrize("key", MAJOR_KEYS, ids=str)
def test_in_box_one_the_six_first_degrees_lie_in_the_shapes_g_a_a_c_d_e(key: Key) -> None:
    region = anchor_region(key, 1)
    mains = [voicings(key.chord(degree), region)[0] for degree in range(1, 7)]
    assert [main.shapes[0].name for main in mains] == list("GAACDE")


@pytest.mark.parametrize("key", MAJOR_KEYS, ids=str)
def test_in_box_one_the_three_is_an_a_shape_one_fret_above_the_region(key: Key) -> None:
    region = anchor_region(key, 1)
    three = voicings(key.chord(3), region)[0]
    assert [shape.name for shape in three.shapes] == ["A"]
    assert max(fret for fret in three.frets if fret is not None) == region.high + 1
    assert 0 not in three.frets


@pytest.mark.parametrize(
    ("degree", "grip"),
    [(1, "320003"), (2, "x02210"), (3, "x24432"), (4, "x32010"), (5, "xx0232"), (6, "022000")],
)
def test_box_one_in_g_is_the_open_chords_and_b_minor(degree: int, grip: str) -> None:
    key = Key.read("G")
    assert voicings(key.chord(degree), anchor_region(key, 1))[0].frets == frets_of(grip)
