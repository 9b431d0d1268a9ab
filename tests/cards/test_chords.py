"""Chord names, read as players write them and printed in one way."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from music21 import harmony

from cards.chords import QUALITIES, Chord, ChordError, quality_of, read_chord
from cards.keys import DEGREES, MAJOR_KEYS
from cards.pitch import Interval, Note

UNIVERSE = {key.chord(degree, seventh) for key in MAJOR_KEYS for degree in DEGREES for seventh in (False, True)}


@pytest.mark.parametrize(
    ("spellings", "printed"),
    [
        (("G", "GM", "Gmaj", "G major", "g", "G Major", "Gma"), "G"),
        (("Gm", "G-", "Gmin", "Gmi", "G minor", "gm", "G Minor"), "Gm"),
        (("Bb", "B♭", "bb"), "B♭"),
        (("Bdim", "B°", "Bo", "B dim", "Bm(b5)", "Bm♭5", "Bmb5", "Bdiminished"), "B°"),
        (("Abmaj7", "A♭M7", "AbΔ", "A♭Δ7", "Abma7", "Ab^7", "Abj7", "AbMaj7"), "A♭maj7"),
        (("F#m7", "F♯-7", "F#min7", "f#mi7"), "F♯m7"),
        (("Eb7", "E♭7", "Ebdom7"), "E♭7"),
        (("Bm7b5", "Bm7♭5", "B-7b5", "Bø", "Bø7", "Bmin7b5", "Bm7(b5)", "Bmi7b5", "Bm7(♭5)"), "Bm7♭5"),
    ],
)
def test_every_spelling_of_a_chord_is_one_chord(spellings: tuple[str, ...], printed: str) -> None:
    assert {str(read_chord(spelling)) for spelling in spellings} == {printed}


@pytest.mark.parametrize("chord", sorted(UNIVERSE, key=str), ids=str)
def test_a_printed_name_is_read_back(chord: Chord) -> None:
    assert read_chord(str(chord)) == chord


@pytest.mark.parametrize("text", ["", "  ", "H7", "7", "♭", "m7"])
def test_a_chord_without_a_root_is_refused(text: str) -> None:
    with pytest.raises(ChordError, match="a chord starts with a letter A–G"):
        read_chord(text)


@pytest.mark.parametrize("text", ["Gfoo", "Bbmm", "Cmaj8", "G7 please", "A♭♭♭x"])
def test_a_quality_that_does_not_exist_is_refused_with_examples(text: str) -> None:
    with pytest.raises(ChordError, match="is no quality; write for example"):
        read_chord(text)


@given(st.text(max_size=12))
def test_no_text_breaks_the_reader(text: str) -> None:
    try:
        chord = read_chord(text)
    except ChordError:
        return
    assert read_chord(str(chord)) == chord


@given(st.integers(-15, 15).map(Note), st.sampled_from(sorted(QUALITIES)))
def test_every_chord_reads_back_on_every_root(root: Note, quality: str) -> None:
    chord = Chord(root, QUALITIES[quality])
    assert read_chord(str(chord)) == chord


@pytest.mark.parametrize("chord", sorted(UNIVERSE, key=str), ids=str)
def test_music21_hears_the_same_notes(chord: Chord) -> None:
    kinds = {
        "major": "major",
        "minor": "minor",
        "dim": "diminished",
        "maj7": "major-seventh",
        "m7": "minor-seventh",
        "7": "dominant-seventh",
        "m7b5": "half-diminished-seventh",
    }
    root = str(chord.root).replace("♭", "-").replace("♯", "#").replace("𝄪", "##").replace("𝄫", "--")
    theirs = harmony.ChordSymbol(root=root, kind=kinds[chord.quality.name])
    ours = [str(note).replace("♭", "-").replace("♯", "#").replace("𝄪", "##").replace("𝄫", "--") for note in chord.notes]
    assert ours == [pitch.name for pitch in theirs.pitches]


def test_what_may_be_left_out() -> None:
    left_out = {name: {str(tone) for tone in quality.omissible} for name, quality in QUALITIES.items()}
    assert left_out == {
        "major": set(),
        "minor": set(),
        "dim": set(),
        "maj7": {"5"},
        "m7": {"5"},
        "7": {"5"},
        "m7b5": set(),
    }


def test_tones_are_found_by_pitch() -> None:
    chord = read_chord("Db")
    assert [str(chord.tone_at(pitch)) for pitch in (1, 5, 8)] == ["R", "3", "5"]
    assert chord.tone_at(0) is None


def test_tones_that_are_no_chord_are_refused() -> None:
    with pytest.raises(ChordError, match="no chord has the tones R 4"):
        quality_of((Interval(1), Interval(4)))
