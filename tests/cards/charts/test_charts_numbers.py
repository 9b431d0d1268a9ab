"""Number charts and Roman numerals, with every shorthand that occurs."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cards.charts import Options, read_chart
from cards.charts.notation.numbers import number_name, read_figures
from cards.theory.keys import Key, Mode
from cards.theory.numerals import read_numeral


def numerals(text: str, options: Options | None = None) -> list[str]:
    chart = read_chart(text, options)
    assert chart.unread == ()
    return [str(change.numeral) for _, change in chart.changes]


def doubts(text: str) -> list[str]:
    return [guess.message.key.removeprefix("chart.") for guess in read_chart(text).guesses]


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("1 4 5 1", "I IV V I"),
        ("b7 1", "♭VII I"),
        ("#4- 4", "♯iv IV"),
        ("4maj7 1M7", "IVmaj7 Imaj7"),
        ("2-7 57", "ii7 V7"),
        ("7o 7ø 1", "vii° viiø7 I"),
        ("1/3 5/7", "I/3 V/7"),
        ("1sus 3+ 1", "Isus4 III+ I"),
        ("57 17 27", "V7 I7 II7"),
        ("59 2-9", "V9 ii9"),
        ("14 1145", "I IV I I IV V"),
        ("1-4-5", "I IV V"),
        ("2-5-1", "ii V I"),
        ("1–5–4", "I V IV"),
        ("2-7 5 4-maj7", "ii7 V ivMaj7"),
        ("4-5- 1", "IV v I"),
        ("1-b7-4", "I ♭VII IV"),
        ("2-7b5 57b9 1", "iiø7 V7♭9 I"),
        ("I vi ii7 V7", "I vi ii7 V7"),
        ("bVII IV I", "♭VII IV I"),
        ("I-IV-V", "I IV V"),
        ("I–V–vi–IV", "I V vi IV"),
        ("ii-7 V7 Imaj7", "ii7 V7 Imaj7"),
        ("I6 IV I", "I6 IV I"),
        ("V7/ii V/vi IV/V", "V7/ii V/vi IV/5"),
        ("viio viiø7 I", "vii° viiø7 I"),
        ("6M 2- 1", "VI ii I"),
    ],
)
def test_every_shorthand(written: str, read: str) -> None:
    assert " ".join(numerals(written)) == read


def test_a_glued_seven_in_a_run_is_a_guess() -> None:
    chart = read_chart("1457")
    (guess,) = [guess for guess in chart.guesses if guess.place]
    assert (guess.message.key, guess.option) == ("chart.glued-extension", ("glued", "chord"))
    assert numerals("1457") == ["I", "IV", "V7"]
    assert numerals("1457", Options(glued="chord")) == ["I", "IV", "V", "vii°"]
    assert numerals("57 1", Options(glued="chord")) == ["V7", "I"]


def test_a_lone_pair_is_a_guess() -> None:
    guess = next(guess for guess in read_chart("1-6 4 5").guesses if guess.place)
    assert (guess.message.key, guess.rewrite) == ("chart.pair", "1:m6")
    assert numerals("1-6 4 5")[:2] == ["I", "vi"]
    assert numerals("1:m6 4 5")[0] == "i6"


def test_a_hyphen_before_the_last_seven_of_a_run_is_a_guess() -> None:
    guess = next(guess for guess in read_chart("1-4-5-7").guesses if guess.place)
    assert (guess.message.key, guess.rewrite) == ("chart.minor-seven", "1 4 5 7")


def test_what_stands_behind_the_slash_of_a_numeral_is_said_and_can_be_changed() -> None:
    target, over = (guess for guess in read_chart("V/vi IV/V I I").guesses if guess.place)
    assert (target.message.key, target.rewrite) == ("chart.target", "V/6")
    assert (over.message.key, over.rewrite) == ("chart.over", "I")
    assert numerals("V/6 IV/vi I I")[:2] == ["V/6", "IV/6"]


@pytest.mark.parametrize(
    ("written", "chord", "rewritten", "other"),
    [
        ("V7/IV", "C7", "V7/4", "G7/F"),
        ("V7/iv", "C7", "V7/4", "G7/F"),
        ("V/V", "D", "V", "G"),
        ("ii7/V", "Am7", "ii7/5", "Dm7/G"),
        ("V7/bVII", "F7", "V7/b7", "G7/B♭"),
        ("V/VII", "G/B", "♯IV", "F♯"),
        ("ii/IV", "Dm/F", "v", "Gm"),
        ("IV/V", "F/G", "I", "C"),
        ("I/iii", "C/E", "III", "E"),
    ],
)
def test_the_other_reading_of_a_slash_is_one_rewriting_away(
    written: str, chord: str, rewritten: str, other: str
) -> None:
    """Whatever a numeral behind a slash was taken for, the guess has the word for the other reading."""
    key = Key.read("C")
    chart = read_chart(f"{written} I I I")
    assert str(next(chart.changes)[1].numeral.chord(key)) == chord
    (guess,) = (each for each in chart.guesses if each.place)
    assert guess.rewrite == rewritten
    assert str(read_numeral(guess.rewrite, key).chord(key)) == other
    assert "chart.over" not in [each.message.key for each in read_chart(f"{rewritten} I I I").guesses]


@pytest.mark.parametrize(("written", "chord"), [("V7/4", "G7/F"), ("V7/C", "G7/C"), ("57/4", "G7/F"), ("1/E", "C/E")])
def test_a_digit_or_a_note_behind_a_slash_is_a_bass(written: str, chord: str) -> None:
    chart = read_chart(f"{written} 1 1 1")
    assert str(next(chart.changes)[1].numeral.chord(Key.read("C"))) == chord
    assert not [guess for guess in chart.guesses if guess.place]


@pytest.mark.parametrize("written", ["V/vi", "♭II7/vi", "ii7/vi", "vii°7/ii", "V7/ii", "V7/IV"])
def test_whatever_leads_to_a_target_is_printed_as_written(written: str) -> None:
    assert str(read_numeral(written, Key.read("G"))) == written


def test_a_bare_two_three_or_six_is_the_keys_own_unless_minor_is_marked() -> None:
    assert numerals("1 6 2 5 3") == ["I", "vi", "ii", "V", "iii"]
    assert numerals("1 6- 2 5 3") == ["I", "vi", "II", "V", "III"]
    assert doubts("1 6 2 5") == ["bare-own"]
    assert doubts("1 6- 2 5") == ["bare-major"]
    assert numerals("1 6 2 5", Options(bare="major")) == ["I", "VI", "II", "V"]


def test_a_bare_seven_is_diminished_and_flat_seven_is_offered() -> None:
    chart = read_chart("1 7 4 5")
    assert ("seven", "flat") in [guess.option for guess in chart.guesses]
    assert numerals("1 7 4 5", Options(seven="flat")) == ["I", "♭VII", "IV", "V"]
    assert numerals("1 7 4 5")[1] == "vii°"


def test_minor_songs_count_from_the_relative_major_or_from_the_tonic() -> None:
    relative = read_chart("Key: Am\n6- 4 1 5")
    assert [str(relative.sounding(*step)) for step in relative.changes] == ["Am", "F", "C", "G"]
    assert relative.options.minor_from == "relative"
    tonic = read_chart("Key: Am\n1- b6 b3 b7")
    assert [str(tonic.sounding(*step)) for step in tonic.changes] == ["Am", "F", "C", "G"]
    assert tonic.options.minor_from == "tonic"
    assert ("minor_from", "relative") in [guess.option for guess in tonic.guesses]
    forced = read_chart("Key: Am\n6- 4 1 5", Options(minor_from="tonic"))
    assert str(forced.sounding(*next(iter(forced.changes)))) == "Fm"


def test_a_number_chart_without_a_key_is_shown_in_c_and_says_so() -> None:
    chart = read_chart("1 4 5 1")
    assert (str(chart.key), chart.key_given, chart.keys) == ("C", False, ())
    assert "chart.no-key" in [each.key for each in chart.assumptions]
    assert str(read_chart("1- 4- 5 1-").key) == "Am"
    assert str(read_chart("17 47 17 57").key) == "C blues"
    assert str(read_chart("1 4 5 1", Options(key=Key.read("Eb"))).key) == "E♭"


def test_numbers_in_brackets_among_words() -> None:
    assert numerals("{t: x}\n[1]la la [4]la [6-]la [5/7]la") == ["I", "IV", "vi", "V/7"]


@pytest.mark.parametrize("word", ["8", "0", "10", "1x", "4foo", "IIV", "VIII", "1//3", "5(q)", "hello", "-", ""])
def test_what_is_no_number(word: str) -> None:
    assert read_figures(word) is None


ROOTS = st.sampled_from(("1", "2", "b3", "3", "4", "#4", "5", "b6", "6", "b7", "7"))
QUALITIES = st.sampled_from(
    (
        *("maj", "m", "7", "maj7", "m7", "m7b5", "dim", "dim7", "sus4", "sus2"),
        *("7sus4", "6", "m6", "9", "add9", "+", "5", "2"),
    )
)
BASSES = st.sampled_from(("", "/1", "/3", "/5", "/b7", "/7"))


@given(ROOTS, QUALITIES, BASSES, st.sampled_from(("G", "Eb", "F#")))
def test_a_chord_written_as_a_number_is_read_back(root: str, quality: str, bass: str, name: str) -> None:
    key = Key.read(name)
    numeral = read_numeral(f"{root}:{quality}{bass}", key)
    chart = read_chart(f"Key: {key}\n| {number_name(numeral, key)} | 1 |", Options(bare="major"))
    ((_, change), *_) = chart.changes
    assert change.numeral == numeral


@given(ROOTS, QUALITIES, st.sampled_from(("Am", "F#m")))
def test_a_chord_of_a_minor_song_is_read_back_from_the_relative_major(root: str, quality: str, name: str) -> None:
    key = Key.read(name)
    assert key.mode == Mode.MINOR
    numeral = read_numeral(f"{root}:{quality}", key)
    written = number_name(numeral, key)
    chart = read_chart(f"Key: {key}\n| {written} | 1 |", Options(bare="major", minor_from="relative"))
    ((section, change), *_) = chart.changes
    heard = chart.sounding(section, change)
    assert heard is not None
    assert heard.root.pitch_class == numeral.chord(key).root.pitch_class
    assert heard.quality == numeral.quality


def test_a_quality_behind_a_colon_makes_no_heading_of_the_row() -> None:
    chart = read_chart("6- 6- 2:9 2:9 4")
    assert [section.name for section in chart.sections] == [""]
    assert [str(change.numeral) for _, change in chart.changes] == ["vi", "vi", "II9", "II9", "IV"]
