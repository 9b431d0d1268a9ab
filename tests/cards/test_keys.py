"""Keys against an oracle of plain semitones, and against music21."""

from __future__ import annotations

import oracle
import pytest
from music21 import key as m21_key
from music21 import roman as m21_roman
from music21 import scale as m21_scale

from cards.keys import DEGREES, MAJOR_KEYS, Key, KeyNameError, number_word, read_degree

CHORDS = [(name, degree, seventh) for name in oracle.KEYS for degree in DEGREES for seventh in (False, True)]


def _m21(note: str) -> str:
    return note.replace("♭", "-").replace("b", "-").replace("♯", "#").replace("𝄪", "##").replace("𝄫", "--")


def test_there_are_thirteen_keys_from_six_flats_to_six_sharps() -> None:
    assert [key.tonic.ascii for key in MAJOR_KEYS] == list(oracle.KEYS)


@pytest.mark.parametrize("name", oracle.KEYS)
def test_the_scale_of_every_key(name: str) -> None:
    notes = [str(note) for note in Key.read(name).scale]
    assert notes == oracle.scale(name)
    scale = m21_scale.MajorScale(_m21(name))
    assert [_m21(note) for note in notes] == [pitch.name for pitch in scale.getPitches()[:7]]


@pytest.mark.parametrize(("name", "degree", "seventh"), CHORDS)
def test_the_chord_on_every_degree_of_every_key(name: str, degree: int, seventh: bool) -> None:
    chord = Key.read(name).chord(degree, seventh)
    assert [str(note) for note in chord.notes] == oracle.chord_notes(name, degree, seventh)
    assert chord.quality.name == oracle.quality(name, degree, seventh)
    assert str(chord) == oracle.chord_name(name, degree, seventh)


@pytest.mark.parametrize("name", oracle.KEYS)
def test_music21_spells_the_chords_alike(name: str) -> None:
    key = Key.read(name)
    for degree, numeral in zip(DEGREES, ("I", "ii", "iii", "IV", "V", "vi", "viio"), strict=True):
        for seventh, figure in ((False, numeral), (True, numeral.replace("viio", "viiø") + "7")):
            theirs = m21_roman.RomanNumeral(figure, m21_key.Key(_m21(name)))
            ours = [_m21(str(note)) for note in key.chord(degree, seventh).notes]
            assert ours == [pitch.name for pitch in theirs.pitches], (name, figure)


@pytest.mark.parametrize("key", MAJOR_KEYS, ids=str)
def test_numerals_are_the_same_in_every_major_key(key: Key) -> None:
    assert [key.numeral(degree) for degree in DEGREES] == ["I", "ii", "iii", "IV", "V", "vi", "vii°"]
    sevenths = [key.numeral(degree, seventh=True) for degree in DEGREES]
    assert sevenths == ["Imaj7", "ii7", "iii7", "IVmaj7", "V7", "vi7", "viiø7"]


@pytest.mark.parametrize(
    ("key", "degree", "chord"),
    [("D", 3, "F♯m"), ("Gb", 4, "C♭"), ("F#", 7, "E♯°"), ("Ab", 4, "D♭"), ("Bb", 2, "Cm"), ("F#", 3, "A♯m")],
)
def test_diatonic_chords_stand_on_the_scales_own_letters(key: str, degree: int, chord: str) -> None:
    assert str(Key.read(key).chord(degree)) == chord


def test_the_relative_minor_is_the_six() -> None:
    assert [str(Key.read(name).relative_minor) for name in ("Ab", "G", "Bb", "E")] == ["F", "E", "G", "C♯"]


@pytest.mark.parametrize("text", ["Bb", "B♭", "bb", " bb ", "b♭"])
def test_a_key_is_read_as_players_type_it(text: str) -> None:
    assert Key.read(text) == Key.read("B♭")


@pytest.mark.parametrize("text", ["", "H", "Bbm", "B minor", "4", "♭", "A major"])
def test_what_is_no_key_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(KeyNameError, match=r"a key is a letter A–G with ♯ or ♭, like B♭"):
        Key.read(text)


def test_a_theoretical_key_is_spelled_right_with_its_double_sharp() -> None:
    assert [str(note) for note in Key.read("G#").scale] == ["G♯", "A♯", "B♯", "C♯", "D♯", "E♯", "F𝄪"]
    assert str(Key.read("G#").chord(7)) == "F𝄪°"
    assert str(Key.read("Fb").scale[3]) == "B𝄫"


@pytest.mark.parametrize(
    ("theoretical", "practical"),
    [("G#", "A♭"), ("D#", "E♭"), ("A#", "B♭"), ("E#", "F"), ("B#", "C"), ("C#", "D♭"), ("Cb", "B"), ("Fb", "E")],
)
def test_a_theoretical_key_is_hinted_by_the_one_players_use(theoretical: str, practical: str) -> None:
    key = Key.read(theoretical)
    assert str(key.practical) == practical
    assert key.practical.tonic.pitch_class == key.tonic.pitch_class


@pytest.mark.parametrize("key", MAJOR_KEYS, ids=str)
def test_practical_keys_are_their_own_and_their_slugs_read_back(key: Key) -> None:
    assert key.practical == key
    assert key.slug.isascii()
    assert key.slug.isalpha()
    assert Key.from_slug(key.slug) == key


@pytest.mark.parametrize("degree", DEGREES)
def test_a_degree_is_read_as_number_or_numeral(degree: int) -> None:
    key = Key.read("Ab")
    for text in (str(degree), key.numeral(degree), key.numeral(degree).rstrip("°"), f" {degree} "):
        assert read_degree(text, key) == degree


@pytest.mark.parametrize("text", ["iv", "II", "i", "v", "VII", "III", "vi°", "IV°", "ii°", "Vø", "VIIo"])
def test_a_numeral_that_disagrees_with_the_key_names_the_diatonic_one(text: str) -> None:
    key = Key.read("Ab")
    degree = ("I", "II", "III", "IV", "V", "VI", "VII").index(text.upper().strip("°OØ")) + 1
    expected = f"the {number_word(degree)} there is {key.numeral(degree)} ({key.chord(degree)})"
    with pytest.raises(KeyNameError) as refused:
        read_degree(text, key)
    assert expected in str(refused.value)


@pytest.mark.parametrize("text", ["", "0", "8", "12", "four", "iiii", "Iv", "4th", "°"])
def test_what_is_no_degree_is_refused(text: str) -> None:
    with pytest.raises(KeyNameError, match="no degree"):
        read_degree(text, Key.read("C"))


def test_degrees_have_words() -> None:
    assert [number_word(degree) for degree in DEGREES] == ["one", "two", "three", "four", "five", "six", "seven"]
