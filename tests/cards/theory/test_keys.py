"""Keys against an oracle of plain semitones, and against music21."""

from __future__ import annotations

import pytest
from music21 import key as m21_key
from music21 import roman as m21_roman
from music21 import scale as m21_scale

from cards.theory.keys import BLUES_KEYS, DEGREES, MAJOR_KEYS, MINOR_KEYS, Key, KeyNameError, Mode, key_reading
from tests.cards import oracle

EVERY_KEY = (*oracle.KEYS, *oracle.MINOR_KEYS)
CHORDS = [(name, degree, seventh) for name in EVERY_KEY for degree in DEGREES for seventh in (False, True)]


def _m21(note: str) -> str:
    """As music21 writes it; a minor key in small letters."""
    note = note[0].lower() + note[1:-1] if note.endswith("m") else note
    return note[0] + note[1:].replace("♭", "-").replace("b", "-").replace("♯", "#").replace("𝄪", "##").replace(
        "𝄫", "--"
    )


def test_there_are_thirteen_keys_from_six_flats_to_six_sharps() -> None:
    assert [key.tonic.ascii for key in MAJOR_KEYS] == list(oracle.KEYS)
    assert [f"{key.tonic.ascii}m" for key in MINOR_KEYS] == list(oracle.MINOR_KEYS)
    assert [key.tonic for key in BLUES_KEYS] == [key.tonic for key in MAJOR_KEYS]


@pytest.mark.parametrize("name", EVERY_KEY)
def test_the_scale_of_every_key(name: str) -> None:
    notes = [str(note) for note in Key.read(name).scale]
    assert notes == oracle.scale(name)
    scale = (m21_scale.MinorScale if name.endswith("m") else m21_scale.MajorScale)(_m21(name))
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


@pytest.mark.parametrize("name", oracle.MINOR_KEYS)
def test_music21_spells_the_chords_of_minor_keys_alike(name: str) -> None:
    key = Key.read(name)
    figures = ("i", "iio", "III", "iv", "v", "VI", "VII")
    for degree, numeral in zip(DEGREES, figures, strict=True):
        for seventh, figure in ((False, numeral), (True, numeral.replace("iio", "iiø") + "7")):
            theirs = m21_roman.RomanNumeral(figure, m21_key.Key(_m21(name)))
            ours = [_m21(str(note)) for note in key.chord(degree, seventh).notes]
            assert ours == [pitch.name for pitch in theirs.pitches], (name, figure)


@pytest.mark.parametrize("key", MINOR_KEYS, ids=str)
def test_numerals_are_the_same_in_every_minor_key(key: Key) -> None:
    assert [key.numeral(degree) for degree in DEGREES] == ["i", "ii°", "♭III", "iv", "v", "♭VI", "♭VII"]
    sevenths = [key.numeral(degree, seventh=True) for degree in DEGREES]
    assert sevenths == ["i7", "iiø7", "♭IIImaj7", "iv7", "v7", "♭VImaj7", "♭VII7"]


@pytest.mark.parametrize("key", BLUES_KEYS, ids=str)
def test_a_blues_has_three_dominant_sevenths(key: Key) -> None:
    assert key.degrees == (1, 4, 5)
    major = Key(key.tonic)
    for seventh in (False, True):
        assert [key.numeral(degree, seventh) for degree in key.degrees] == ["I7", "IV7", "V7"]
        assert [key.chord(degree, seventh).root for degree in key.degrees] == [
            major.chord(degree).root for degree in key.degrees
        ]


def test_the_blues_in_a() -> None:
    assert [str(Key.read("A blues").chord(degree)) for degree in (1, 4, 5)] == ["A7", "D7", "E7"]


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
    for key in MAJOR_KEYS:
        assert key.relative.is_minor
        assert key.relative.relative == key
        assert key.relative.signature == key.signature
        assert set(key.relative.scale) == set(key.scale)


def test_a_minor_key_and_a_blues_take_the_boxes_of_their_own_tonic() -> None:
    """Songs in a minor key and blues anchor on the tonic's own minor pentatonic."""
    assert str(Key.read("Am").relative_minor) == "A"
    assert str(Key.read("A blues").relative_minor) == "A"
    with pytest.raises(KeyNameError, match="A blues has no relative key"):
        _ = Key.read("A blues").relative


@pytest.mark.parametrize("text", ["Bb", "B♭", "bb", " bb ", "b♭"])
def test_a_key_is_read_as_players_type_it(text: str) -> None:
    assert Key.read(text) == Key.read("B♭")


@pytest.mark.parametrize("text", ["F#m", "F♯m", "f# minor", "F#min", "F#-", " f♯m "])
def test_a_minor_key_is_read_as_players_type_it(text: str) -> None:
    key = Key.read(text)
    assert (str(key), key.long_name, key.mode) == ("F♯m", "F♯ minor", Mode.MINOR)


@pytest.mark.parametrize("text", ["A", "a", "Amaj", "A major"])
def test_a_major_key_may_say_so(text: str) -> None:
    assert Key.read(text) == Key(Key.read("A").tonic, Mode.MAJOR)


def test_a_blues_is_read_and_printed() -> None:
    assert str(Key.read("Bb blues")) == "B♭ blues"
    assert Key.read("bb  blues").mode == Mode.BLUES


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("A Blues", "A blues"),
        ("E♭ BLUES", "E♭ blues"),
        ("B flat", "B♭"),
        ("b-flat minor", "B♭m"),
        ("F sharp minor", "F♯m"),
        ("F Sharp", "F♯"),
        ("Fis", "F♯"),
        ("cis moll", "C♯m"),
        ("Es", "E♭"),
        ("as", "A♭"),
        ("Des dur", "D♭"),
        ("C dur", "C"),
        ("a-moll", "Am"),
        ("H", "B"),
        ("h moll", "Bm"),
        ("B dur", "B♭"),
        ("B", "B"),
        ("Bb", "B♭"),
        ("bb", "B♭"),
    ],
)
def test_keys_are_read_as_players_write_and_say_them(text: str, key: str) -> None:
    assert str(Key.read(text)) == key


def test_what_german_letters_were_taken_for_is_said() -> None:
    for text, key in (("H", "B major"), ("h moll", "B minor"), ("B dur", "B♭ major"), ("B-moll", "B♭ minor")):
        said = key_reading(text)
        assert said is not None
        assert dict(said.values) == {"text": text, "key": key}
    for text in ("B", "Bb", "C dur", "Fis", "A Blues"):
        assert key_reading(text) is None


@pytest.mark.parametrize("text", ["", "X", "Bb7", "B minus", "4", "♭", "A major!", "Am7", "AM", "A\nm m"])
def test_what_is_no_key_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(KeyNameError, match=r"a key is a letter A–G with ♯ or ♭, like B♭"):
        Key.read(text)


def test_a_theoretical_key_is_spelled_right_with_its_double_sharp() -> None:
    assert [str(note) for note in Key.read("G#").scale] == ["G♯", "A♯", "B♯", "C♯", "D♯", "E♯", "F𝄪"]
    assert str(Key.read("G#").chord(7)) == "F𝄪°"
    assert str(Key.read("Fb").scale[3]) == "B𝄫"
    assert [str(note) for note in Key.read("Abm").scale] == ["A♭", "B♭", "C♭", "D♭", "E♭", "F♭", "G♭"]


@pytest.mark.parametrize(
    ("theoretical", "practical"),
    [
        ("G#", "A♭"),
        ("D#", "E♭"),
        ("A#", "B♭"),
        ("E#", "F"),
        ("B#", "C"),
        ("C#", "D♭"),
        ("Cb", "B"),
        ("Fb", "E"),
        ("Abm", "G♯m"),
        ("A#m", "B♭m"),
        ("E#m", "Fm"),
        ("Dbm", "C♯m"),
    ],
)
def test_a_theoretical_key_is_hinted_by_the_one_players_use(theoretical: str, practical: str) -> None:
    key = Key.read(theoretical)
    assert str(key.practical) == practical
    assert key.practical.tonic.pitch_class == key.tonic.pitch_class


@pytest.mark.parametrize("key", [*MAJOR_KEYS, *MINOR_KEYS, *BLUES_KEYS], ids=str)
def test_practical_keys_are_their_own_and_their_slugs_and_names_read_back(key: Key) -> None:
    assert key.practical == key
    assert key.slug.isascii()
    assert key.slug.replace("-", "").isalpha()
    assert Key.from_slug(key.slug) == key
    assert Key.read(str(key)) == key
    assert Key.read(key.long_name) == key
    assert abs(key.signature) <= 6


@pytest.mark.parametrize(
    ("key", "slug"),
    [("Ab", "Ab"), ("F#", "Fs"), ("F#m", "Fsm"), ("Ebm", "Ebm"), ("A blues", "A-blues"), ("F# blues", "Fs-blues")],
)
def test_the_slug_of_a_key(key: str, slug: str) -> None:
    assert Key.read(key).slug == slug


@pytest.mark.parametrize(
    ("key", "semitones", "moved"), [("G", 2, "A"), ("A", -2, "G"), ("Em", 3, "Gm"), ("E", -4, "C"), ("B", 1, "C")]
)
def test_a_capo_moves_a_key_by_semitones_to_the_name_that_players_use(key: str, semitones: int, moved: str) -> None:
    assert str(Key.read(key).moved(semitones)) == moved


@pytest.mark.parametrize("name", [*EVERY_KEY, "A blues"])
def test_a_key_spells_every_pitch_once_and_its_own_notes_as_they_stand(name: str) -> None:
    key = Key.read(name)
    for pitch in range(12):
        assert key.spell(pitch).pitch_class == pitch
    assert {key.spell(note.pitch_class) for note in key.scale} == set(key.scale)
