"""Chords called by number: as numbers and Roman numerals, in any key, with any quality, bass or target."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from music21 import key as m21_key
from music21 import roman as m21_roman

from cards.asks import KEYS
from cards.messages import LONGEST_ECHO, echo
from cards.theory.chords import read_quality
from cards.theory.keys import DEGREES, Key, KeyNameError
from cards.theory.numerals import (
    BASS,
    TARGET,
    Numeral,
    borrowed_reading,
    numeral_from_slug,
    own_numeral,
    read_numeral,
    slash_reading,
)
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
            assert borrowed_reading(text, key) is None


@pytest.mark.parametrize("degree", DEGREES)
def test_a_degree_of_a_minor_key_is_read_as_number_or_numeral(degree: int) -> None:
    key = Key.read("F#m")
    numeral = key.numeral(degree)
    for text in (str(degree), numeral, numeral.rstrip("°"), numeral.lstrip("♭")):
        assert read_numeral(text, key) == own_numeral(key, degree)


@pytest.mark.parametrize(
    ("text", "chord"),
    [("iv", "D♭m"), ("II", "B♭"), ("i", "A♭m"), ("v", "E♭m"), ("VII", "G"), ("III", "C"), ("VI", "F")],
)
def test_a_numeral_whose_case_is_not_the_keys_own_is_a_borrowed_chord(text: str, chord: str) -> None:
    """As players write it; what it was taken for is said, with the key's own chord."""
    key = Key.read("Ab")
    assert str(read_numeral(text, key).chord(key)) == chord
    said = borrowed_reading(text, key)
    assert said is not None
    degree = ("I", "II", "III", "IV", "V", "VI", "VII").index(text.upper()) + 1
    own = {"own": key.numeral(degree), "own_chord": str(key.chord(degree))}
    assert dict(said.values) == {"text": text, "chord": chord, "key": "A♭", **own}


@pytest.mark.parametrize("text", ["IV°", "V°", "VIIo"])
def test_a_degree_sign_names_the_chord_by_itself(text: str) -> None:
    key = Key.read("Ab")
    assert read_numeral(text, key).quality == read_quality("dim")


def test_a_quality_behind_the_numeral_says_that_it_is_meant() -> None:
    """ii° and vi° in a major key are asked for by name: nothing is corrected."""
    key = Key.read("Ab")
    for text, chord in (("ii°", "B♭°"), ("vi°", "F°"), ("II7", "B♭7"), ("iv7", "D♭m7"), ("Vø", "E♭m7♭5")):
        assert borrowed_reading(text, key) is None
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
        assert borrowed_reading(text, key) is None
        assert str(read_numeral(text, key).chord(key)) == chord
    borrowed = borrowed_reading("vi", key)
    assert borrowed is not None
    assert dict(borrowed.values)["own_chord"] == "D"
    assert str(read_numeral("vi", key).chord(key)) == "Dm"


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
        ("C", "V7/IV", "V7/IV", "C7"),
        ("C", "V7/iv", "V7/iv", "C7"),
        ("C", "V/V", "V/V", "D"),
        ("C", "vii°7/V", "vii°7/V", "F♯°7"),
        ("C", "viiø7/ii", "viiø7/ii", "C♯m7♭5"),
        ("C", "vii°/ii", "vii°/ii", "C♯°"),
        ("C", "ii7/V", "ii7/V", "Am7"),
        ("C", "ii/V", "ii/V", "Am"),
        ("C", "bII7/V", "♭II7/V", "A♭7"),
        ("C", "V9/IV", "V9/IV", "C9"),
        ("C", "V13/bVII", "V13/♭VII", "F13"),
        ("Am", "V7/III", "V7/♭III", "G7"),
        ("Am", "ii/V", "ii/V", "F♯m"),
        ("C", "V/VII", "V/7", "G/B"),
        ("C", "ii/IV", "ii/4", "Dm/F"),
        ("Am", "V/VII", "V/♭VII", "D"),
        ("C", "I/V", "I/5", "C/G"),
        ("C", "I/iii", "I/3", "C/E"),
        ("C", "IV/vi", "IV/6", "F/A"),
        ("C", "vi/V", "vi/5", "Am/G"),
        ("Am", "v/VII", "v/♭7", "Em/G"),
        ("C", "V7/4", "V7/4", "G7/F"),
        ("C", "57/4", "V7/4", "G7/F"),
        ("C", "V7/F", "V7/4", "G7/F"),
        ("C", "V7/C", "V7/1", "G7/C"),
        ("C", "1/Bb", "I/♭7", "C/B♭"),
        ("Gb", "4/F#", "IV/1", "C♭/G♭"),
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


@pytest.mark.parametrize(
    ("text", "right"),
    [("VIIb", "♭VII"), ("7b", "♭VII"), ("viib", "♭vii"), ("4#", "♯IV"), ("III♭", "♭III"), ("VIIb7", "♭VII7")],
)
def test_an_accidental_behind_the_figure_is_answered_with_it_in_front(text: str, right: str) -> None:
    with pytest.raises(KeyNameError) as refused:
        read_numeral(text, Key.read("C"))
    assert str(refused.value) == f'no degree "{text}": the accidental stands in front, write {right}'


def test_both_readings_of_a_slash_can_be_asked_for() -> None:
    key = Key.read("C")
    both = (("V7/IV", "C7", "G7/F"), ("IV/V", "C", "F/G"), ("V/VII", "F♯", "G/B"), ("V/V", "D", "G"))
    for text, target, bass in both:
        assert str(read_numeral(text, key, TARGET).chord(key)) == target
        assert str(read_numeral(text, key, BASS).chord(key)) == bass
        said = slash_reading(text, key)
        assert said is not None
        taken = str(read_numeral(text, key).chord(key))
        assert {dict(said.values)["chord"], dict(said.values)["other"]} == {target, bass}
        assert (said.key, dict(said.values)["chord"]) in (("numeral.target", target), ("numeral.bass", bass))
        assert dict(said.values)["chord"] == taken
    for text in ("V7/4", "V7/F", "4/5", "V7", "2:m7b5", "1:6/9"):
        assert slash_reading(text, key) is None


@pytest.mark.parametrize("text", ["x" * 201, "4/" + "9" * 300, "2:" + "y" * 5000, "VIIb" + "x" * 400])
def test_a_long_input_is_not_repeated_whole(text: str) -> None:
    with pytest.raises(KeyNameError) as refused:
        read_numeral(text, Key.read("C"))
    assert text not in str(refused.value)
    assert len(str(refused.value)) < 400


def test_what_is_not_long_is_repeated_whole() -> None:
    assert echo("x" * LONGEST_ECHO) == "x" * LONGEST_ECHO
    assert len(echo("x" * (LONGEST_ECHO + 1))) < LONGEST_ECHO


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


M21_TARGETS = {
    "C": ("ii", "iii", "IV", "V", "vi", "I", "iv", "v", "bII", "bIII", "bVI", "bVII", "II", "III", "VI"),
    "Am": ("III", "iv", "IV", "v", "V", "VI", "i"),
}
M21_LEADING = ("V", "V7", "vii°", "vii°7", "viiø7", "ii", "ii7", "V+")


@pytest.mark.parametrize("leading", M21_LEADING)
@pytest.mark.parametrize("tonic", ["C", "Eb", "F#", "Gb", "B"])
@pytest.mark.parametrize("mode", M21_TARGETS)
def test_music21_hears_every_figure_with_a_target(leading: str, tonic: str, mode: str) -> None:
    minor = mode.endswith("m")
    key = Key.read(tonic).relative if minor else Key.read(tonic)
    m21 = m21_key.Key(key.tonic.ascii.replace("b", "-").lower() if minor else key.tonic.ascii.replace("b", "-"))
    heard = 0
    for target in M21_TARGETS[mode]:
        numeral = read_numeral(f"{leading}/{target}", key)
        if numeral.target is None:
            assert (leading, target.upper()) in (("ii", "IV"), ("V", "VII"))
            continue
        theirs = m21_roman.RomanNumeral(f"{leading.replace('°', 'o')}/{target}", m21)
        ours = numeral.chord(key)
        assert {note.pitch_class for note in ours.notes} == {pitch.pitchClass for pitch in theirs.pitches}, target
        assert ours.root.pitch_class == theirs.root().pitchClass
        heard += 1
    assert heard >= len(M21_TARGETS[mode]) - 2


@pytest.mark.parametrize("target", ["ii", "iii", "IV", "V", "vi", "bVII"])
@pytest.mark.parametrize("extended", ["V9", "V13", "V7b9", "V7sus4"])
def test_an_extended_dominant_leads_where_music21_hears_the_seventh_chord_lead(extended: str, target: str) -> None:
    key = Key.read("D")
    theirs = m21_roman.RomanNumeral(f"V7/{target}", m21_key.Key("D"))
    ours = read_numeral(f"{extended}/{target}", key).chord(key)
    assert ours.root.pitch_class == theirs.root().pitchClass
    tritone_sub = read_numeral(f"bII7/{target}", key).chord(key)
    assert (tritone_sub.root.pitch_class - ours.root.pitch_class) % 12 == 6


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
