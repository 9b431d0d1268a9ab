"""Chords called by number: as numbers and Roman numerals, in any key, with any quality, bass or target."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from music21 import key as m21_key
from music21 import roman as m21_roman

from cards.asks import KEYS
from cards.theory.chords import read_quality
from cards.theory.keys import DEGREES, Key, KeyNameError
from cards.theory.numerals import Numeral, check_case, numeral_from_slug, own_numeral, read_numeral
from cards.theory.pitch import Interval
from drill.words import number_word
from tests.cards import oracle


def called(text: str, key: str) -> tuple[str, str]:
    """(numeral, chord) of a call."""
    numeral = read_numeral(text, Key.read(key))
    return str(numeral), str(numeral.chord(Key.read(key)))


@pytest.mark.parametrize("degree", DEGREES)
def test_a_degree_is_read_as_number_or_numeral(degree: int) -> None:
    for key in (Key.read("Ab"), Key.read("E")):
        own = own_numeral(key, degree)
        for text in (str(degree), key.numeral(degree), key.numeral(degree).rstrip("°"), f" {degree} "):
            assert read_numeral(text, key) == own
            check_case(text, key)


@pytest.mark.parametrize("degree", DEGREES)
def test_a_degree_of_a_minor_key_is_read_as_number_or_numeral(degree: int) -> None:
    key = Key.read("F#m")
    numeral = key.numeral(degree)
    for text in (str(degree), numeral, numeral.rstrip("°"), numeral.lstrip("♭")):
        assert read_numeral(text, key) == own_numeral(key, degree)


@pytest.mark.parametrize("text", ["iv", "II", "i", "v", "VII", "III", "IV°", "V°", "VIIo"])
def test_a_numeral_that_disagrees_with_the_key_names_the_diatonic_one(text: str) -> None:
    key = Key.read("Ab")
    degree = ("I", "II", "III", "IV", "V", "VI", "VII").index(text.upper().strip("°OØ")) + 1
    if key.chord(degree).quality.is_minor == text.strip("°oø").islower():
        check_case(text, key)  # the case agrees; ° is a quality that it names by itself
        return
    expected = f"the {number_word(str(degree))} there is {key.numeral(degree)} ({key.chord(degree)})"
    with pytest.raises(KeyNameError) as refused:
        check_case(text, key)
    assert expected in str(refused.value)


def test_a_quality_behind_the_numeral_says_that_it_is_meant() -> None:
    """ii° and vi° in a major key are asked for by name: nothing is corrected."""
    key = Key.read("Ab")
    for text, chord in (("ii°", "B♭°"), ("vi°", "F°"), ("II7", "B♭7"), ("iv7", "D♭m7"), ("Vø", "E♭m7♭5")):
        check_case(text, key)
        assert str(read_numeral(text, key).chord(key)) == chord


def test_in_a_minor_key_both_fours_and_both_fives_are_played() -> None:
    key = Key.read("F#m")
    for text, chord in (
        ("5", "C♯m"),
        ("v", "C♯m"),
        ("V", "C♯"),
        ("V7", "C♯7"),
        ("IV", "B"),
        ("iv", "Bm"),
        ("IV7", "B7"),
    ):
        check_case(text, key)
        assert str(read_numeral(text, key).chord(key)) == chord
    with pytest.raises(KeyNameError, match=r"the six there is ♭VI \(D\)"):
        check_case("vi", key)


@pytest.mark.parametrize(
    ("key", "text", "numeral", "chord"),
    [
        ("F#m", "V7", "V7", "C♯7"),
        ("Eb", "b7", "♭VII", "D♭"),
        ("A", "4/5", "IV/5", "D/E"),
        ("Bb", "2:m7b5", "iiø7", "Cm7♭5"),
        ("E", "bVII", "♭VII", "D"),
        ("E", "II7", "II7", "F♯7"),
        ("E", "iv", "iv", "Am"),
        ("E", "V/vi", "V/vi", "G♯"),
        ("E", "V7/vi", "V7/vi", "G♯7"),
        ("C", "V7/V", "V7/V", "D7"),
        ("C", "vii°7/vi", "vii°7/vi", "G♯°7"),
        ("C", "ii/iii", "ii/iii", "F♯m"),
        ("E", "#iv°", "♯iv°", "A♯°"),
        ("E", "1/3", "I/3", "E/G♯"),
        ("E", "IV/V", "IV/5", "A/B"),
        ("Am", "1/b3", "i/♭3", "Am/C"),
        ("Am", "vii°7", "vii°7", "G♯°7"),
        ("Am", "vii", "vii°", "G♯°"),
        ("Am", "7", "♭VII", "G"),
        ("Am", "3", "♭III", "C"),
        ("Am", "bIII", "♭III", "C"),
        ("Am", "III", "♭III", "C"),
        ("Am", "6", "♭VI", "F"),
        ("Am", "2", "ii°", "B°"),
        ("Am", "IV7", "IV7", "D7"),
        ("A blues", "1", "I7", "A7"),
        ("A blues", "4", "IV7", "D7"),
        ("A blues", "V7", "V7", "E7"),
        ("C", "6-", "vi", "Am"),
        ("C", "2-7", "ii7", "Dm7"),
        ("C", "57", "V7", "G7"),
        ("C", "17", "I7", "C7"),
        ("C", "4maj7", "IVmaj7", "Fmaj7"),
        ("C", "1-maj7", "iMaj7", "CmMaj7"),
        ("C", "7o", "vii°", "B°"),
        ("C", "7ø", "viiø7", "Bm7♭5"),
        ("C", "7", "vii°", "B°"),
        ("C", "vii", "vii°", "B°"),
        ("C", "1sus", "Isus4", "Csus4"),
        ("C", "3+", "III+", "E+"),
        ("C", "#4-", "♯iv", "F♯m"),
        ("C", "1:6/9", "I6/9", "C6/9"),
        ("C", "I6", "I6", "C6"),
        ("Gb", "b7", "♭VII", "F♭"),
    ],
)
def test_any_degree_of_any_key_with_any_quality(key: str, text: str, numeral: str, chord: str) -> None:
    assert called(text, key) == (numeral, chord)


@pytest.mark.parametrize("text", ["", "0", "8", "12a", "four", "iiii", "Iv", "4th", "°", "b", "bb7", "9", "/3"])
def test_what_is_no_degree_is_refused(text: str) -> None:
    with pytest.raises(KeyNameError, match=r"no degree|no chord"):
        read_numeral(text, Key.read("C"))


@pytest.mark.parametrize("text", ["4/", "4/8", "V/X", "1/3m", "6/9"])
def test_what_is_no_bass_is_refused(text: str) -> None:
    with pytest.raises(KeyNameError, match=r"no bass .*: write a degree 1–7, like 4/5"):
        read_numeral(text, Key.read("C"))


def test_degrees_have_words() -> None:
    words = [number_word(str(degree)) for degree in DEGREES]
    assert words == ["one", "two", "three", "four", "five", "six", "seven"]
    assert [number_word(number) for number in ("♭7", "♯4")] == ["flat seven", "sharp four"]


@pytest.mark.parametrize("name", ["C", "Gb", "E", "F#"])
@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        ("V7/ii", "V7/ii"),
        ("V/V", "V/V"),
        ("V7/vi", "V7/vi"),
        ("vii°7/vi", "viio7/vi"),
        ("bVII", "bVII"),
        ("bIII", "bIII"),
        ("bVI", "bVI"),
        ("iv", "iv"),
        ("II", "II"),
        ("#iv°", "#ivo"),
    ],
)
def test_music21_hears_the_same_chord(name: str, ours: str, theirs: str) -> None:
    key = Key.read(name)
    expected = m21_roman.RomanNumeral(theirs, m21_key.Key(name.replace("b", "-")))
    chord = read_numeral(ours, key).chord(key)
    assert {note.pitch_class for note in chord.notes} == {pitch.pitchClass for pitch in expected.pitches}
    assert chord.root.pitch_class == expected.root().pitchClass


QUALITIES = (
    "",
    "m",
    "dim",
    "aug",
    "7",
    "maj7",
    "m7",
    "m7b5",
    "dim7",
    "6",
    "m6",
    "6/9",
    "sus4",
    "7sus4",
    "add9",
    "2",
    "9",
    "13",
    "7#9",
    "mMaj7",
    "b5",
)
numerals = st.builds(
    Numeral,
    st.builds(Interval, st.integers(1, 7), st.sampled_from([-1, 0, 1])),
    st.sampled_from(QUALITIES).map(read_quality),
    st.one_of(st.none(), st.builds(Interval, st.integers(1, 7), st.sampled_from([-1, 0, 1]))),
)


@settings(max_examples=500)
@given(numerals, st.sampled_from(KEYS))
def test_slugs_read_back_in_every_key(numeral: Numeral, key: Key) -> None:
    slug = numeral.slug(key)
    assert slug.isascii()
    assert not set(slug) - set("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789._-")
    assert numeral_from_slug(slug, key) == numeral


@settings(max_examples=500)
@given(numerals, st.sampled_from(KEYS))
def test_a_printed_numeral_is_read_back(numeral: Numeral, key: Key) -> None:
    # Charts write I7/4 for I7sus4 and I9/6 for I6/9.
    glued = "" if numeral.bass is None else f"{numeral.quality.suffix[-1:]}/{numeral.bass.number}"
    assume(glued not in ("7/4", "4/7", "7/6", "9/6"))
    # A bare vii means vii°, and in a minor key ii means ii°: for the minor chord there one writes 7:m.
    diminished = [Interval(7), *([Interval(2)] if key.is_minor else [])]
    assume(numeral.root not in diminished or numeral.quality.suffix != "m")
    read = read_numeral(str(numeral), key)
    assert read.chord(key).quality == numeral.quality
    if not key.is_minor:
        assert read.chord(key) == numeral.chord(key)


@pytest.mark.parametrize("slug", ["", "8", "b7", "4.9", "4_", "4_foo", "1_major", "4_major_on", "b7_M", "4.7.7", "5_7"])
def test_what_is_no_slug_of_a_key_is_refused(slug: str) -> None:
    with pytest.raises(KeyNameError):
        numeral_from_slug(slug, Key.read("C"))


@pytest.mark.parametrize("name", [*oracle.KEYS, *oracle.MINOR_KEYS])
def test_the_keys_own_chords_know_their_degree(name: str) -> None:
    key = Key.read(name)
    for degree in DEGREES:
        for seventh in (False, True):
            numeral = own_numeral(key, degree, seventh)
            assert numeral.own(key) == (degree, seventh)
            assert str(numeral.chord(key)) == oracle.chord_name(name, degree, seventh)
            assert numeral.slug(key) == f"{degree}.7" if seventh else str(degree)
    assert read_numeral("2:7", key).own(key) is None
