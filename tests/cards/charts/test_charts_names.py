"""Chord names in charts: every form that players write."""

from __future__ import annotations

import pytest

from cards.charts import Options, read_chart
from cards.charts.notation.names import in_letters, is_italian, read_name
from cards.theory.chords import read_chord


def names(text: str, options: Options | None = None) -> list[str]:
    """The sounding chords of a chart."""
    chart = read_chart(text, options)
    assert chart.unread == ()
    return [str(chart.sounding(*step)) for step in chart.changes]


def one(word: str, how: str = "letters") -> str:
    read = read_name(word, how)
    assert read is not None
    return " ".join(str(symbol.what) for symbol in read.symbols)


@pytest.mark.parametrize(
    ("written", "chord"),
    [
        *((name, "Am") for name in ("Am", "Ami", "Amin", "A-")),
        ("am7", "Am7"),
        *((name, "Cmaj7") for name in ("Cmaj7", "CM7", "CMaj7", "Cma7", "C^7")),
        ("C7+", "C7♯5"),
        *((name, "Csus4") for name in ("Csus", "Csus4", "C4")),
        ("Csus2", "Csus2"),
        *((name, "C7sus4") for name in ("C7sus", "C7sus4", "C4/7", "C7/4")),
        ("C2", "C2"),
        ("A2(no3)", "Asus2"),
        *((name, "Cadd9") for name in ("Cadd9", "Cadd2")),
        *((name, "Cadd11") for name in ("Cadd4", "C(add4)")),
        *((name, "C5") for name in ("C5", "Cno3", "C(no3)")),
        ("C6", "C6"),
        ("C6/9", "C6/9"),
        *((name, "C9") for name in ("C9", "C7/9")),
        ("C11", "C11"),
        *((name, "C13") for name in ("C13", "C7/13", "C7/6")),
        *((name, "C7♭9") for name in ("C7b9", "C7(b9)", "C7-9")),
        *((name, "C7♯9") for name in ("C7#9", "C7+9")),
        *((name, "C°") for name in ("Cdim", "C°", "Co")),
        *((name, "C°7") for name in ("Cdim7", "Co7")),
        *((name, "Cm7♭5") for name in ("Cm7b5", "Cm7(b5)", "Cm7-5", "Cø")),
        ("C-9", "Cm9"),
        *((name, "C+") for name in ("Caug", "C+", "C5+")),
        *((name, "CmMaj7") for name in ("CmMaj7", "C-maj7")),
        ("Cmb6", "Cm♭6"),
        ("Csus2sus4", "Csus2sus4"),
        *((name, "B♭") for name in ("Bb", "B♭")),
        *((name, "F♯m/A") for name in ("F#m/A", "F♯m/A")),
    ],
)
def test_every_chord_name_that_occurs(written: str, chord: str) -> None:
    assert one(written) == chord
    assert str(read_chord(chord)) == chord


def test_the_third_of_a_bare_two_may_be_left_out() -> None:
    quality = read_chord("A2").quality
    assert quality.third is not None
    assert quality.third in quality.omissible


def test_a_zero_is_a_guess_between_half_diminished_and_diminished() -> None:
    chart = read_chart("| C | Dm7 G7 | B07 | C |")
    assert [guess.message.key for guess in chart.guesses] == ["chart.zero-half-dim"]
    assert names("| C | Dm7 G7 | B07 | C |")[3] == "Bm7♭5"
    assert names("| C | Dm7 G7 | B07 | C |", Options(zero="dim"))[3] == "B°7"
    assert names("| G | C | C#07 | D |")[2] == "C♯°7"


@pytest.mark.parametrize(
    ("written", "chords"),
    [("G D A", "G D A"), ("D-Dsus", "D Dsus4"), ("E/E7", "E E7"), ("FC", "F C"), ("AmG", "Am G"), ("D–G", "D G")],
)
def test_several_chords_in_one_bracket_share_its_bar(written: str, chords: str) -> None:
    chart = read_chart(f"{{title: Two at once}}\n[{written}]la")
    (bar,) = chart.sections[0].bars
    assert [str(chart.sounding(chart.sections[0], change)) for change in bar] == chords.split()
    assert sum(change.beats for change in bar) == pytest.approx(4)


def test_glued_names_are_a_guess() -> None:
    (guess,) = read_chart("{t: x}\n[FC]la").guesses
    assert guess.message.key == "chart.glued-names"
    assert dict(guess.message.values) == {"text": "FC", "chords": "F C"}


def test_a_bass_may_stand_apart_or_alone_or_have_a_quality() -> None:
    assert names("{t: x}\n[D / F#]la [G]la [/B]la [G/Dm]la") == ["D/F♯", "G", "G/B", "G/D"]
    assert [guess.message.key for guess in read_chart("{t: x}\n[G/Dm]la").guesses] == ["chart.bass-quality"]


def test_a_slash_can_mean_half_a_bar_each() -> None:
    text = "| C/G | Am/F |"
    whole, half = read_chart(text), read_chart(text, Options(slash="half"))
    assert ("slash", "half") in [guess.option for guess in whole.guesses]
    assert [len(bar) for bar in whole.sections[0].bars] == [1, 1]
    assert [change.beats for change in half.sections[0].bars[0]] == [2, 2]
    assert read_chart("| C/Am7 | F/G7 |").options.slash == "half"


def test_optional_and_alternative_chords() -> None:
    chart = read_chart("{t: x}\n[G]la [(D)]la [(A#dim7)]la [Dmi(G)]la")
    assert [change.optional for _, change in chart.changes] == [False, True, True, False]
    (guess,) = chart.guesses
    assert (guess.message.key, guess.rewrite) == ("chart.alternative", "G")
    shared = read_chart("{t: x}\n[(D]la [G)]la [C]la")
    assert [change.optional for _, change in shared.changes] == [True, True, False]


@pytest.mark.parametrize(
    ("written", "chord"),
    [
        *(("DO", "C"), ("LAm", "Am"), ("FA#m", "F♯m"), ("SIb", "B♭"), ("SOL7", "G7"), ("MI-", "Em")),
        *(("RE7+", "Dmaj7"), ("LA4", "Asus4"), ("SOL/SI", "G/B"), ("RÉm", "Dm"), ("DO7/9", "C9"), ("SOL4/7", "G7sus4")),
    ],
)
def test_names_in_syllables(written: str, chord: str) -> None:
    assert one(written, "italian") == chord
    assert is_italian(written)


def test_syllables_count_where_the_whole_song_uses_them() -> None:
    song = "LAm    FA    DO   SOL\nLa notte va e Si fa giorno\nRE7+   SI7/9\nRe di cuori\n"
    assert names(song) == ["Am", "F", "C", "G", "Dmaj7", "B9"]
    assert read_chart(song).options.names == "italian"
    english = "G   C\nLa\nSi\nRe\nD  Em\nDo Mi Fa\n"
    assert names(english) == ["G", "C", "D", "Em"]


def test_seven_plus_is_a_major_seventh_in_syllables_and_a_sharp_fifth_in_letters() -> None:
    assert in_letters("DO7+") == "Cmaj7"
    assert one("C7+") == "C7♯5"


def test_h_is_b_and_then_b_is_b_flat() -> None:
    song = "{t: x}\n[Hm]la [B]la [Fis]la [Es]la [Ami]la"
    chart = read_chart(song)
    assert names(song) == ["Bm", "B♭", "F♯", "E♭", "Am"]
    assert chart.options.names == "german"
    (guess,) = chart.guesses
    assert guess.option == ("names", "letters")


def test_a_czech_song_without_h_is_read_as_its_key_fits_best_and_can_be_changed() -> None:
    flat, natural = "{t: Řeka}\n[F]a [B]b [C]c [Dmi]d", "{t: Řeka}\n[E]a [B]b [A]c [C#mi]d"
    assert names(flat) == ["F", "B♭", "C", "Dm"]
    assert names(natural) == ["E", "B", "A", "C♯m"]
    assert read_chart(natural).guesses[0].option == ("names", "german")
    assert names(natural, Options(names="german"))[1] == "B♭"


def test_b_is_b_in_english() -> None:
    assert read_chart("{t: x}\n[E]a [B]b [A]c").guesses == ()


def test_a_small_letter_is_read_among_chords() -> None:
    assert names("{t: x}\n[am7]la [D7]la [g]la") == ["Am7", "D7", "G"]
    assert "chart.small" in [guess.message.key for guess in read_chart("{t: x}\n[H]la [a]la [E]x").guesses]


def test_odd_spellings_are_called_by_the_usual_degree() -> None:
    chart = read_chart("Key: F\n| F | A# | C | D#dim | G/B |")
    assert [str(change.numeral) for _, change in chart.changes] == ["I", "IV", "V", "♭vii°", "II/♯4"]


def test_a_word_with_two_o_is_no_diminished_chord() -> None:
    assert [each.text for each in read_chart("{t: x}\n[G]la [foo]la").unread] == ["foo"]


@pytest.mark.parametrize(("written", "chord"), [("Cisis", "C𝄪"), ("C##", "C𝄪"), ("Hes", "B♭"), ("Eses", "E𝄫")])
def test_german_letters_with_two_accidentals(written: str, chord: str) -> None:
    assert one(written, "german") == chord


def test_a_bass_in_german_letters() -> None:
    song = "{t: x}\n[H/Fis]la [G/D]la [D/F#]la [C/B]la"
    assert names(song) == ["B/F♯", "G/D", "D/F♯", "C/B♭"]
