"""ChordPro as it is found: directives of every kind, and in brackets much that is no chord."""

from __future__ import annotations

import pytest

from cards.charts import Chart, Options, Place, read_chart

SONG = """\
{title: Low Lights}
{subtitle: for a velvet night}
{key: A}
{capo: 2}
{tempo: 79.02}
{time: 3/4}

{start_of_verse: Verse 1}
[G]lantern and [D/F#]harbour and [Em]willow
[C]candle
{end_of_verse}
{soc}
[G]up [D]down (x2)
{eoc}
{sov: Verse 2}
[Em]meadow lantern
{eov}
{chorus}
"""


def chords(chart: Chart) -> list[str]:
    return [str(chart.shape(*step)) for step in chart.changes]


def sections(text: str) -> dict[str, str]:
    chart = read_chart(text)
    return {
        f"{index} {section.name}".rstrip(): " ".join(
            str(chart.shape(section, change)) for bar in section.bars for change in bar
        )
        for index, section in enumerate(chart.sections)
    }


def test_a_whole_song() -> None:
    chart = read_chart(SONG)
    assert (chart.title, str(chart.key), chart.key_given, chart.capo) == ("Low Lights", "A", True, 2)
    assert (chart.tempo, chart.time, chart.unread, chart.tokens) == (79.02, "3/4", (), 7)
    assert sections(SONG) == {
        "0 Verse 1": "G D/F♯ Em C",
        "1 Chorus": "G D G D",
        "2 Verse 2": "Em",
        "3 Chorus": "G D G D",
    }
    assert [change.beats for _, change in chart.changes][:2] == [3, 3]


def test_no_word_of_a_song_is_kept() -> None:
    kept = repr(read_chart(SONG))
    for word in ("lantern", "harbour", "willow", "candle", "meadow", "velvet"):
        assert word not in kept


def test_with_a_capo_the_key_is_the_sounding_one_and_both_are_shown() -> None:
    chart = read_chart(SONG)
    section, change = next(iter(chart.changes))
    assert (str(chart.shape(section, change)), str(chart.sounding(section, change))) == ("G", "A")
    assert str(chart.shape_key) == "G"
    (guess,) = (guess for guess in chart.guesses if guess.option and guess.option[0] == "capo_key")
    assert guess.option == ("capo_key", "shapes")


def test_a_key_that_only_fits_the_shapes_is_theirs() -> None:
    song = "{key: G}\n{capo: 2}\n[G]a [C]b [D]c [Em]d [C]e [G]f"
    assert str(read_chart(song).key) == "A"
    assert read_chart(song).options.capo_key == "shapes"
    assert str(read_chart(song, Options(capo_key="sounding")).key) == "G"


def test_without_a_key_the_capo_moves_the_one_that_is_found() -> None:
    chart = read_chart("{capo: 3}\n[G]a [C]b [D]c [G]d")
    assert (str(chart.key), str(chart.shape_key), str(chart.keys[0].key)) == ("B♭", "G", "B♭")


@pytest.mark.parametrize(
    ("directives", "key"),
    [
        ("{key: Em}", "Em"),
        ("{key:}\n{key: D}", "D"),
        ("{key: A:}", "A"),
        ("{key: G}\n{key: D}", "G"),
        ("{meta: key Bb}", "B♭"),
        ("{KEY: f#m}", "F♯m"),
        ("{key: G (capo 2)}", "G"),
    ],
)
def test_keys_as_they_are_given(directives: str, key: str) -> None:
    chart = read_chart(f"{directives}\n[G]la [D]la")
    assert (str(chart.key), chart.key_given) == (key, True)


def test_a_key_that_is_none_is_listed_and_one_is_found() -> None:
    chart = read_chart("{key: fast}\n[G]la [D]la [G]la")
    assert not chart.key_given
    assert [each.text for each in chart.unread] == ["fast"]
    assert "chart.other-key" in [each.key for each in read_chart("{key: G}{key: D}\n[G]la").assumptions]


@pytest.mark.parametrize(
    ("directives", "tempo", "feel"),
    [
        *(("{tempo: 120}", 120.0, None), ("{tempo: 79.02}", 79.02, None), ("{tempo: Medium}", None, None)),
        *(("{tempo: Slow swing}", None, "shuffle"), ("{meta: tempo 96 bpm}", 96.0, None), ("{tempo: 4}", None, None)),
    ],
)
def test_tempi_as_they_are_given(directives: str, tempo: float | None, feel: str | None) -> None:
    chart = read_chart(f"{directives}\n[G]la")
    assert (chart.tempo, chart.feel) == (tempo, feel)


def test_every_kind_of_section() -> None:
    song = (
        "{soc}\n[G]\n{eoc}\n{sov}\n[C]\n{eov}\n{sob}\n[D]\n{eob}\n"
        '{start_of_verse: label="Verse 2"}\n[Em]\n{end_of_verse}\n{start_of_solo}\n[Am]\n{end_of_solo}\n'
        "{comment: Outro}\n[G]\n{c: Bridge softly}\n[D]\n{ci:Chorus (x2)}\n[C]\nIntro:\n[F]\n"
    )
    assert list(sections(song)) == [
        *("0 Chorus", "1 Verse", "2 Bridge", "3 Verse 2", "4 Solo", "5 Outro", "6 Bridge", "7 Chorus", "8 Intro"),
    ]
    assert sections(song)["7 Chorus"] == "C C"


def test_a_chorus_is_played_again_with_or_without_a_label() -> None:
    song = "{soc}\n[G]la [D]la\n{eoc}\n[Em]la\n{chorus}\n{start_of_chorus: Last}\n[C]la\n{eoc}\n{chorus: Last}\n"
    assert list(sections(song).values()) == ["G D", "Em", "G D", "C", "C"]


def test_tablature_and_its_like_hold_no_chords() -> None:
    closed = "{sot}\ne|--[G]--3--|\n{eot}\n[C]la\n{start_of_abc}\n[G]x\n{end_of_abc}\n"
    song = closed + "{start_of_tab}\nB|--[D]-1-|\n{soc}\n[F]la"
    assert list(sections(song).values()) == ["C", "F"]


def test_grids_inside_a_song() -> None:
    song = "{start_of_grid: Intro}\n|: G . . . | C . D . :| x3\n{end_of_grid}\n[Em]la"
    assert list(sections(song).values()) == ["G C D G C D G C D", "Em"]


@pytest.mark.parametrize(
    ("line", "read"),
    [
        ("[| Gm /// | Cm // F // |]", [("Gm", 4.0), ("Cm", 2.0), ("F", 2.0)]),
        ("[G]la [%] [C]la", [("G", 4.0), ("G", 4.0), ("C", 4.0)]),
        ("[G]la [/] [C]la [/]", [("G", 2.0), ("C", 2.0)]),
        ("[G]la [D]la [x2]", [("G", 4.0), ("D", 4.0)] * 2),
        ("[G]la [D]la [(2x)]", [("G", 4.0), ("D", 4.0)] * 2),
        ("[G]la [D]la la (x2)", [("G", 4.0), ("D", 4.0)] * 2),
        ("[G]la [D]la la 2x", [("G", 4.0), ("D", 4.0)] * 2),
        ("[N.C.]la [G]la", [("None", 4.0), ("G", 4.0)]),
        ("[NC]la [G]la", [("None", 4.0), ("G", 4.0)]),
    ],
)
def test_what_else_stands_in_brackets(line: str, read: list[tuple[str, float]]) -> None:
    chart = read_chart("{t: x}\n" + line)
    assert [(str(chart.sounding(*step)), step[1].beats) for step in chart.changes] == read
    assert chart.unread == ()


def test_annotations_and_section_words_in_brackets() -> None:
    song = "[*intro] [G]la\n[Chorus] [C]la [*softly 4x]\n[Verse 2]\n[D]la\n[solo] [Em]la [*let it ring]"
    assert list(sections("{t: x}\n" + song).items()) == [
        *(("0 intro", "G"), ("1 Chorus", "C"), ("2 Verse 2", "D"), ("3 solo", "Em")),
    ]


def test_fret_strings_and_words_are_listed_with_their_place() -> None:
    chart = read_chart("{t: x}\n[x 0 2 2 1 0]la [oh] [G]la\n la [x02210]")
    assert [(each.place, each.text) for each in chart.unread] == [
        (Place(2, 2), "x 0 2 2 1 0"),
        (Place(2, 18), "oh"),
        (Place(3, 6), "x02210"),
    ]
    assert chart.tokens == 4


def test_links_are_no_chords() -> None:
    chart = read_chart("From [G](https://example.org) and [the band](band.md)\n[C]la [F](softly) [G]la")
    assert chords(chart) == ["C", "F", "G"]
    assert chart.unread == ()


def test_a_song_inside_markdown() -> None:
    text = "# Made Up\n\nSome [link](x.md) and text.\n\n```chordpro\n[G]la [C]la\n```\n\n[D] is not part of it\n"
    chart = read_chart(text)
    assert (chart.title, chords(chart)) == ("Made Up", ["G", "C"])


def test_unbalanced_files_are_read_as_far_as_they_go() -> None:
    song = "{title: Loose Ends\n{soc} [G]la [D la [C}la\n[Em]la {eoc} [Am]la\n{eoc}\n{eov}\n[F]la [G"
    chart = read_chart(song)
    assert chart.title == "Loose Ends"
    assert chords(chart) == ["G", "D", "C", "Em", "Am", "F", "G"]
    assert chart.unread == ()


def test_definitions_columns_and_comments_are_passed_over() -> None:
    song = (
        "# [A] comment\n{define: G base-fret 1 frets 3 2 0 0 0 3}\n{define G 3 2 0 0 0 3}\n"
        "{define: G 1 3 2 0 0 0 3}\n{columns: 2}\n{new_song}\n[C]la\n{artist: Nobody}{st: x}\n"
    )
    assert chords(read_chart(song)) == ["C"]


def test_a_transposed_song_sounds_elsewhere() -> None:
    chart = read_chart("{key: G}\n{transpose: 2}\n[G]la [D]la\n{transpose: -1}\n[C]la")
    assert str(chart.key) == "A"
    assert [str(chart.sounding(*step)) for step in chart.changes] == ["A", "E", "D♭"]


def test_a_key_change_starts_a_section_in_the_new_key() -> None:
    chart = read_chart("{key: G}\n{sov}\n[G]la [D]la\n{key: A}\n[A]la [E]la")
    assert [(section.name, str(section.key)) for section in chart.sections] == [("Verse", "G"), ("Verse", "A")]
    assert [str(change.numeral) for _, change in chart.changes] == ["I", "V", "I", "V"]


def test_chords_in_a_comment_are_read() -> None:
    (unread,) = read_chart("{c: Intro [G] [oh] [D]}\n[Em]la").unread
    assert unread.place == Place(1, 16)
    assert chords(read_chart("{c: Intro [G] [D]}\n[Em]la")) == ["G", "D", "Em"]


@pytest.mark.parametrize(
    ("text", "chords"),
    [
        ("{key: G}\n1 4 5 1", "G C D G"),
        ("{tempo: 90}\n{key: A}\n| 1 | 4 | 5 |", "A D E"),
        ("{title: Vamp}\n{key: G}\nI IV V I", "G C D G"),
    ],
)
def test_numbers_below_directives_are_read(text: str, chords: str) -> None:
    chart = read_chart(text)
    assert [str(chart.sounding(*step)) for step in chart.changes] == chords.split()
    assert not chart.unread


def test_numbers_below_a_grid_of_names_are_listed() -> None:
    chart = read_chart("{key: G}\n{start_of_grid}\n| G | C |\n{end_of_grid}\n1 4 5 1")
    assert [str(chart.sounding(*step)) for step in chart.changes] == ["G", "C"]
    assert [(each.place.line, each.text) for each in chart.unread] == [(5, "1"), (5, "4"), (5, "5"), (5, "1")]
