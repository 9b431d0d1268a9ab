"""Notes and intervals: spelling is addition on the line of fifths."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cards.theory.pitch import Interval, Note, PitchError, accidentals
from tests.cards.oracle import LETTERS, pitch_class, spelled

places = st.integers(-21, 21).map(Note)
intervals = st.builds(Interval, st.integers(1, 13), st.integers(-2, 2))
semitones_above = dict(zip(range(1, 8), (0, 2, 4, 5, 7, 9, 11), strict=True))


@pytest.mark.parametrize(
    ("written", "printed"),
    [("Bb", "B♭"), ("B♭", "B♭"), ("bb", "B♭"), ("F#", "F♯"), ("F♯", "F♯"), ("F##", "F𝄪"), ("Fx", "F𝄪"), ("Ebb", "E𝄫")],
)
def test_a_note_is_read_in_ascii_and_in_the_trades_glyphs_and_printed_in_these(written: str, printed: str) -> None:
    assert str(Note.read(written)) == printed


@pytest.mark.parametrize("text", ["", "H", "Bbm", "#", "♭B", "B ", "b♭x#q", "BB", "1", "B\n"])
def test_what_is_no_note_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(PitchError, match="like B♭"):
        Note.read(text)


@given(places)
def test_a_printed_note_is_read_back(note: Note) -> None:
    assert Note.read(str(note)) == note
    assert Note.read(note.ascii) == note


@given(places)
def test_the_spelling_sounds_as_its_letter_and_accidentals_say(note: Note) -> None:
    name = note.letter + "#" * max(note.alteration, 0) + "b" * max(-note.alteration, 0)
    assert note.pitch_class == pitch_class(name)


@given(intervals)
def test_an_interval_is_as_wide_as_its_scale_step_and_alteration(interval: Interval) -> None:
    step = semitones_above[(interval.number - 1) % 7 + 1]
    assert interval.semitones == (step + interval.alteration) % 12


@given(intervals)
def test_a_printed_interval_is_read_back(interval: Interval) -> None:
    assert Interval.read(str(interval)) == interval
    assert Interval.read(interval.ascii) == interval


@given(places, intervals)
def test_the_note_above_sounds_right_and_stands_on_the_right_letter(note: Note, interval: Interval) -> None:
    above = note.above(interval)
    assert above.pitch_class == (note.pitch_class + interval.semitones) % 12
    assert LETTERS.index(above.letter) == (LETTERS.index(note.letter) + interval.number - 1) % 7


@given(places, intervals, intervals)
def test_intervals_add_up_in_any_order(note: Note, one: Interval, other: Interval) -> None:
    assert note.above(one).above(other) == note.above(other).above(one)
    assert note.above(one).above(other).fifths == note.fifths + one.fifths + other.fifths


@given(places)
def test_seven_fifths_up_is_one_sharp_more_on_the_same_letter(note: Note) -> None:
    sharper = Note(note.fifths + 7)
    assert (sharper.letter, sharper.alteration) == (note.letter, note.alteration + 1)


@given(places)
def test_twelve_fifths_up_is_the_same_pitch_spelled_otherwise(note: Note) -> None:
    other = Note(note.fifths + 12)
    assert other.pitch_class == note.pitch_class
    assert other != note


@given(places.filter(lambda note: abs(note.alteration) <= 2))
def test_the_oracle_spells_the_same(note: Note) -> None:
    assert str(note) == spelled(note.letter, note.pitch_class)


@pytest.mark.parametrize("text", ["", "0", "14", "b", "3b", "r", "b3 "])
def test_what_is_no_chord_tone_is_refused(text: str) -> None:
    with pytest.raises(PitchError, match="no chord tone"):
        Interval.read(text)


def test_accidentals_print_doubles_with_their_own_glyphs() -> None:
    assert [accidentals(count) for count in (-3, -2, -1, 0, 1, 2, 3)] == ["𝄫♭", "𝄫", "♭", "", "♯", "𝄪", "𝄪♯"]


def test_the_root_is_written_r() -> None:
    assert str(Interval(1)) == "R"
    assert Interval.read("R") == Interval(1)
    assert Interval(7, -1).ascii == "b7"
    assert Interval(7, -1).name == "seventh"
