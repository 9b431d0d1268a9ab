"""Plain sheets: chords above words, grids, number charts with sections, and what players add."""

from __future__ import annotations

import pytest

from cards.charts import Chart, read_chart
from cards.charts.notation.above_words import judge
from cards.charts.notation.sections import section_name


def chords(chart: Chart) -> str:
    return " ".join(str(chart.sounding(*step)) for step in chart.changes)


def bars(text: str) -> list[list[tuple[str, float]]]:
    chart = read_chart(text)
    assert chart.unread == ()
    return [
        [(str(change.numeral), change.beats) for change in bar] for section in chart.sections for bar in section.bars
    ]


def named(text: str) -> list[tuple[str, int]]:
    return [(section.name, len(section.bars)) for section in read_chart(text).sections]


# Which line is a row of chords


@pytest.mark.parametrize(
    "line",
    [
        *("G   D  Em  C", "Am7 D/F# Gsus4", "| A | Am |", "|D   |G", "A", "Am", "G D Em (x2)", "| G | % | C |"),
        *("G - D - Em", "C, G, Am", "G D Em C softly now", "Bb Eb F", "N.C.  G", "| F . C . | G |"),
    ],
)
def test_rows_of_chords(line: str) -> None:
    assert judge(line)


@pytest.mark.parametrize(
    "line",
    [
        *("A day in May", "I am a man", "Am I a fool", "Go", "Do Re Mi", "As Es", "la la la", "Be a dad", ""),
        *("Add it up", "G force", "Do it", "a", "am", "1 2 3"),
    ],
)
def test_lines_of_words(line: str) -> None:
    assert not judge(line)


def test_chords_above_words() -> None:
    song = "Made Up Song\nby Nobody\n\nVerse 1\nG        D/F#\nA word and a word\nA\nAm I here\n  Em     C\nGo\n"
    chart = read_chart(song)
    assert (chart.title, chords(chart)) == ("Made Up Song", "G D/F♯ A Em C")
    assert "word" not in repr(chart)


def test_bars_in_a_chord_line() -> None:
    assert bars("Key: D\n|D   |G\nwords here\n") == [[("I", 4)], [("IV", 4)]]


def test_a_repeat_at_the_end_of_a_line_of_chords_or_of_words() -> None:
    song = "Verse\nG D (x2)\nChorus\nG D\nla la (2x)\nBridge\nG D x3\n"
    assert named(song) == [("Verse", 4), ("Chorus", 4), ("Bridge", 6)]


def test_words_in_a_row_of_chords_are_listed_and_remarks_passed_over() -> None:
    chart = read_chart("G D Em C softly\nG (let it ring) D\n")
    assert chords(chart) == "G D Em C G D"
    assert [(each.place.line, each.place.column, each.text) for each in chart.unread] == [(1, 10, "softly")]


def test_what_is_said_above_the_chords() -> None:
    chart = read_chart("Title: Slow Train\nKey: Eb   Capo: 1   Tempo: 72\nTime: 6/8\nFeel: shuffle\n\nD G A\n")
    assert (chart.title, str(chart.key), chart.capo, chart.tempo, chart.time, chart.feel) == (
        *("Slow Train", "E♭", 1, 72.0, "6/8", "shuffle"),
    )
    assert read_chart("Capo 2nd fret\nKey of G\n120 bpm\nA D E").capo == 2


def test_tablature_is_passed_over() -> None:
    assert chords(read_chart("e|--3---0--|\nB|--0---1--|\nG|--------0|\nG  C\nwords\n")) == "G C"


# Sections


@pytest.mark.parametrize(
    ("heading", "name"),
    [
        *((text, "Chorus") for text in ("Chorus", "[Chorus]", "Chorus:", "(Chorus)")),
        *((text, "Chorus") for text in ("**Chorus**", "# Chorus", "== Chorus ==")),
        *(("Verse 2", "Verse 2"), ("VERSE", "VERSE"), ("Pre-Chorus", "Pre-Chorus"), ("Middle 8", "Middle 8")),
        *(("Final chorus", "Final chorus"), ("Strofa 1", "Strofa 1"), ("Refrén:", "Refrén"), ("Solo II", "Solo II")),
    ],
)
def test_headings(heading: str, name: str) -> None:
    assert named(f"{heading}\nG D\n") == [(name, 2)]


@pytest.mark.parametrize("text", ["Chorus of angels", "Bridge over the river", "Tagged", "Versed", "hello", ""])
def test_what_is_no_heading(text: str) -> None:
    assert section_name(text) is None


def test_a_heading_in_front_of_its_chords() -> None:
    assert named("Intro: G D\n[Verse] | G | C | D |\nRiff A: G C\n") == [("Intro", 2), ("Verse", 3), ("Riff A", 2)]


def test_letters_are_verse_and_chorus_where_there_is_a_v_and_else_letters() -> None:
    assert named("V: 1 4\nC: 5 1\nB: 6- 4\nV2: 1 1\n") == [("Verse", 2), ("Chorus", 2), ("Bridge", 2), ("Verse 2", 2)]
    assert named("A: C Am F G\nB: F G\n") == [("A", 4), ("B", 2)]


def test_a_heading_alone_plays_its_section_again() -> None:
    assert named("A: C Am F G\nB: F G\nA:\n") == [("A", 4), ("B", 2), ("A", 4)]
    assert named("Chorus\nG D\nla\n\nVerse\nC\nla\n\nChorus\n") == [("Chorus", 2), ("Verse", 1), ("Chorus", 2)]


def test_a_section_played_twice() -> None:
    assert named("Chorus x2\nG D\nVerse (x3)\nC\n") == [("Chorus", 4), ("Verse", 3)]


# Bars


def test_one_number_is_one_bar() -> None:
    assert bars("1 4 5 1") == [[("I", 4)], [("IV", 4)], [("V", 4)], [("I", 4)]]
    assert bars("1141") == [[("I", 4)], [("I", 4)], [("IV", 4)], [("I", 4)]]
    assert "chart.bars" in [each.key for each in read_chart("1 4 5 1").assumptions]


@pytest.mark.parametrize("row", ["(1 5) 4", "1_5 4", "(1-5) 4", "(15) 4", "| 1 5 | 4 |"])
def test_a_split_bar(row: str) -> None:
    assert bars(row) == [[("I", 2), ("V", 2)], [("IV", 4)]]


@pytest.mark.parametrize("row", ["1''' 4 5", "1 . . 4 5 . . .", "| 1 . . 4 | 5 |", "| 1''' 4' | 5 |", "1''' 4' 5"])
def test_an_uneven_bar(row: str) -> None:
    assert bars(row) == [[("I", 3), ("IV", 1)], [("V", 4)]]


def test_beats_by_slashes() -> None:
    assert bars("| C / / F | G //// |") == [[("I", 3), ("IV", 1)], [("V", 4)]]
    assert bars("C / / / F / G /") == [[("I", 4)], [("IV", 2), ("V", 2)]]


def test_bars_that_are_held() -> None:
    four = [[("I", 4.0)]] * 4
    for row in ("| C | % | % | % |", "| C | - | - | - |", "|: C | % :|", "| C | | | C |"):
        assert bars(row) == four, row
    assert bars("| C F | % |") == [[("I", 2), ("IV", 2)]] * 2


def test_repeats_and_endings_are_written_out() -> None:
    assert [bar[0][0] for bar in bars("||: 1 | 4 :||")] == ["I", "IV"] * 2
    assert [bar[0][0] for bar in bars("||: 1 | 4 :|| x3")] == ["I", "IV"] * 3
    assert [bar[0][0] for bar in bars("||: 1 | 4 |1. 5 :||2. 1 ||")] == ["I", "IV", "V", "I", "IV", "I"]
    assert [bar[0][0] for bar in bars("|: 1 | 4 |\n| 5 | 1 :|\n")] == ["I", "IV", "V", "I"] * 2
    assert len(bars("1 4 (x2)\n5")) == 5


def test_held_and_pushed_chords() -> None:
    chart = read_chart("<1> <4 ◇5 1")
    assert [(change.held, change.pushed) for _, change in chart.changes] == [
        *((True, False), (False, True), (True, False), (False, False)),
    ]


def test_a_metre_in_front() -> None:
    assert bars("3/4 1 4 5\n") == [[("I", 3)], [("IV", 3)], [("V", 3)]]
    assert bars("6/8 | G | C D |") == [[("I", 6)], [("IV", 3), ("V", 3)]]
    changed = read_chart("1 4\n3/4\n5 1")
    assert [change.beats for _, change in changed.changes] == [4, 4, 3, 3]
    assert [str(change.numeral) for _, change in read_chart("1 4\n5/4 1\n").changes] == ["I", "IV", "V/4", "I"]


def test_a_key_change_in_a_number_chart() -> None:
    chart = read_chart("Key: C\n1 4\nKey of D\n1 4\n")
    assert chords(chart) == "C F D G"
    assert str(chart.key) == "C"


def test_comments() -> None:
    assert bars("1 4 # turn it up\n# all of it\n5 #4o") == [[("I", 4)], [("IV", 4)], [("V", 4)], [("♯iv°", 4)]]
    assert chords(read_chart("| G | C | C#07 | D | # a comment\n")) == "G C C♯°7 D"


def test_numerals_in_bars() -> None:
    assert bars("| I | vi ii7 | V7 |") == [[("I", 4)], [("vi", 2), ("ii7", 2)], [("V7", 4)]]
