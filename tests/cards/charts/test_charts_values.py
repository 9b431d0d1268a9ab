"""The chart as a value: transposed, with a capo, as JSON; files; options; ready-made forms."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cards.charts import CHOICES, MOST_BYTES, Chart, ChartError, Options, decode, read_chart
from cards.charts.forms import FEELS, FORMS, form
from cards.theory.keys import MAJOR_KEYS, Key, Mode

SONG = "Key: G\n| G | D/F# | Em | C |\n| F | G7 | N.C. | G |\n"


def chords(chart: Chart) -> list[str]:
    return [str(chart.sounding(*step)) for step in chart.changes]


def numerals(chart: Chart) -> list[str]:
    return [str(change.numeral) for _, change in chart.changes]


# Keys and capos


def test_up_a_fourth() -> None:
    chart = read_chart(SONG).moved(5)
    assert str(chart.key) == "C"
    assert chords(chart) == ["C", "G/B", "Am", "F", "B♭", "C7", "None", "C"]


def test_in_the_key_called_tonight_the_numerals_stay() -> None:
    chart = read_chart(SONG)
    for key in MAJOR_KEYS:
        moved = chart.in_key(key)
        assert moved.key == key
        assert numerals(moved) == numerals(chart)
        assert moved.in_key(Key.read("G")) == chart


def test_a_key_change_moves_along() -> None:
    chart = read_chart("Key: C\n1 4\nKey of D\n1 4\n").in_key(Key.read("G"))
    assert chords(chart) == ["G", "C", "A", "D"]


@given(st.integers(-12, 12), st.integers(-12, 12))
def test_moving_twice_is_moving_once(first: int, second: int) -> None:
    chart = read_chart(SONG)
    twice, once = chart.moved(first).moved(second), chart.moved(first + second)
    assert [section.key.tonic.pitch_class for section in twice.sections] == [
        section.key.tonic.pitch_class for section in once.sections
    ]


def test_a_capo_changes_the_shapes_and_not_the_sound() -> None:
    chart = read_chart(SONG).with_capo(3)
    assert chords(chart) == chords(read_chart(SONG))
    assert [str(chart.shape(*step)) for step in chart.changes][:3] == ["E", "B/D♯", "C♯m"]
    assert str(chart.shape_key) == "E"


# JSON


def test_the_json_has_the_fields_in_their_order() -> None:
    data = read_chart("{title: Low Lights}\n{key: G}\n{tempo: 90}\n{time: 4/4}\n{sov}\n[G]a [F/C]b [oh]\n").as_json()
    assert json.loads(json.dumps(data)) == {
        "title": "Low Lights",
        "key": "G",
        "key_given": True,
        "keys": data["keys"],
        "capo": 0,
        "tempo": 90.0,
        "time": "4/4",
        "sections": [
            {
                "name": "Verse",
                "bars": [
                    [{"degree": "1", "quality": "major", "bass": None, "chord": "G", "beats": 4}],
                    [{"degree": "b7", "quality": "major", "bass": "4", "chord": "F/C", "beats": 4}],
                ],
            }
        ],
        "unread": [{"line": 6, "column": 14, "text": "oh"}],
        "tokens": 3,
    }
    assert list(data) == ["title", "key", "key_given", "keys", "capo", "tempo", "time", "sections", "unread", "tokens"]
    assert [list(each) for each in data["keys"]] == [["key", "share"]] * 3


def test_rests_and_thirds_of_bars_in_json() -> None:
    (section,) = read_chart("| N.C. | C F G |").as_json()["sections"]
    assert section["bars"][0] == [{"degree": None, "quality": None, "bass": None, "chord": "N.C.", "beats": 4}]
    assert [each["beats"] for each in section["bars"][1]] == [1.333] * 3


# Files


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
def test_encodings(encoding: str) -> None:
    data = "Title: Café\r\n| C | F |\r\n".encode(encoding)
    assert read_chart(decode(data)).title == "Café"


def test_central_european_files() -> None:
    assert decode("Písnička, žluťoučký kůň".encode("cp1250")) == "Písnička, žluťoučký kůň"


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"\x89PNG\r\n\0\0", "binary file"),
        (b"| C | F |\0", "binary file"),
        (b"C " * MOST_BYTES, "at most"),
        (b"\xff\xfeC", "not valid UTF-16-LE"),
        (b"\xef\xbb\xbf\xff\xfe\xfd\0", "not valid UTF-8"),
        (b"| C \x01\x02 |", "control characters"),
    ],
)
def test_files_that_are_refused_in_a_sentence(data: bytes, said: str) -> None:
    with pytest.raises(ChartError, match=said) as refused:
        decode(data)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    "text",
    [
        *("| C | F |", "| C | F |\n", "\ufeff| C | F |", "| C |\u00a0F |"),
        *("|\tC\t|\tF\t|", "| C | F |\r\n", "\r| C | F |\r"),
    ],
)
def test_whatever_separates_and_ends_the_lines(text: str) -> None:
    chart = read_chart(text)
    assert (chords(chart), chart.unread) == (["C", "F"], ())


# Options


def test_a_choice_is_made_by_name() -> None:
    assert Options().choose("names", "german") == Options(names="german")
    with pytest.raises(ChartError, match='no choice "colour"'):
        Options().choose("colour", "red")
    with pytest.raises(ChartError, match='no reading "french" for names: write letters or german or italian'):
        Options().choose("names", "french")


@pytest.mark.parametrize(
    "text",
    [
        *("1457 7 6", "Key: Am\n6- 4 1", "{t: x}\n[H]a [B]b", "LAm FA DO", "| C/G | B07 |"),
        "{key: A}{capo: 2}\n[G]a [D]b",
    ],
)
def test_every_guess_can_be_taken_the_other_way_and_back(text: str) -> None:
    chart = read_chart(text)
    options = [guess.option for guess in chart.guesses if guess.option]
    assert options
    for name, value in options:
        assert value in CHOICES[name]
        other = read_chart(text, Options().choose(name, value))
        assert getattr(other.options, name) == value
        assert read_chart(text, chart.options).sections == chart.sections


@pytest.mark.parametrize("text", ["{time: 6/8}\n[G]la [C]la", "1 4", "4/4\n| G | C |", "{capo: 2}\n| G | C |"])
def test_the_player_can_say_the_metre_and_the_capo(text: str) -> None:
    chart = read_chart(text, Options(time="3/4", capo=3))
    assert (chart.time, chart.capo) == ("3/4", 3)
    assert [change.beats for _, change in chart.changes] == [3, 3]
    assert [chart.shape_key.moved(3), chart.options.time] == [chart.key, "3/4"]
    with pytest.raises(ChartError, match="like 3/4"):
        read_chart(text, Options(time="waltz"))


# Forms


@pytest.mark.parametrize("name", FORMS)
def test_every_form_in_every_key_and_feel(name: str) -> None:
    for key in MAJOR_KEYS:
        for feel in FEELS:
            chart = form(name, key, feel)
            assert (chart.title, chart.feel, chart.unread) == (name, feel, ())
            assert chart.key.tonic == key.tonic
            assert numerals(chart) == numerals(form(name, Key.read("C")))


def test_twelve_bars_of_blues() -> None:
    chart = form("12-bar blues", Key.read("A"))
    assert chords(chart) == ["A7"] * 4 + ["D7"] * 2 + ["A7"] * 2 + ["E7", "D7", "A7", "E7"]
    assert (chart.key.mode, chart.feel) == (Mode.BLUES, "shuffle")
    assert chords(form("12-bar blues, quick change", Key.read("A")))[1] == "D7"
    assert chords(form("minor blues", Key.read("A")))[8:] == ["F7", "E7", "Am7", "E7"]


def test_a_form_or_feel_that_does_not_exist() -> None:
    with pytest.raises(ChartError, match='no form "polka"'):
        form("polka", Key.read("A"))
    with pytest.raises(ChartError, match='no feel "odd"'):
        form("vamp 1 4", Key.read("A"), "odd")
