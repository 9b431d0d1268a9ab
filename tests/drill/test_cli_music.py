"""``drill chord`` and ``drill sheet``: what they print, and how they say what is wrong."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import click
import pytest
from click.testing import CliRunner, Result

from cards.keys import DEGREES, MAJOR_KEYS, Key
from cards.regions import BOXES, anchor_region
from cards.voicings import best_partials, voicings
from drill import cli_music

TONES = {"R", "b3", "3", "b5", "5", "b7", "7"}


@click.group()
def main() -> None:
    """The command with the music's part alone."""


cli_music.register(main)


def run(*words: str) -> Result:
    return CliRunner().invoke(main, list(words))


def listed(*words: str) -> dict[str, Any]:
    result = run("chord", *words, "--json")
    assert result.exit_code == 0, result.stderr
    data: dict[str, Any] = json.loads(result.stdout)
    return data


def refused(*words: str) -> str:
    """The one line on stderr of a command that ends with 2."""
    result = run(*words)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.exception is None or isinstance(result.exception, SystemExit)
    line = result.stderr
    assert line.endswith("\n")
    assert line.count("\n") == 1
    return line.strip()


# drill chord in the terminal


def test_the_four_of_a_flat_in_box_one() -> None:
    result = run("chord", "Ab", "4", "--box", "1")
    assert result.exit_code == 0
    assert result.stderr == ""
    head, notes, empty, first, *diagram = result.stdout.splitlines()[:11]
    assert head == "D♭: the four of A♭ (IV), box 1, frets 1–4"
    assert notes == "D♭ F A♭"
    assert empty == ""
    assert first.startswith("1. C shape, root in the bass, stretch 97 mm, effort ")
    assert diagram == [
        "    6  5  4  3  2  1",
        "    ×              ×",
        "  1 │  │  │  5  │  │",
        "  2 │  │  │  │  R  │",
        "  3 │  │  3  │  │  │",
        "  4 │  R  │  │  │  │",
        "       4  3  1  2      fingers",
    ]


def test_box_one_unless_told_otherwise() -> None:
    assert run("chord", "Ab", "4").stdout == run("chord", "Ab", "4", "--box", "1").stdout
    assert run("sheet", "Ab").stdout == run("sheet", "Ab", "--box", "1").stdout


@pytest.mark.parametrize("key", ["Ab", "A♭", "ab", "a♭"])
@pytest.mark.parametrize("degree", ["4", "IV"])
def test_key_and_degree_in_every_spelling(key: str, degree: str) -> None:
    assert run("chord", key, degree).stdout == run("chord", "Ab", "4").stdout


def test_the_answer_says_what_is_left_out_and_what_lies_outside() -> None:
    everything = run("chord", "Ab", "3", "--seventh", "--all").stdout
    assert "one fret outside the region" in everything
    assert "without the fifth" in everything
    assert "in the bass" in everything


def test_partials_say_what_they_are_part_of() -> None:
    shown = run("chord", "Ab", "4").stdout
    assert "2. C shape, third in the bass, part of voicing 1" in shown


@pytest.mark.parametrize("key", MAJOR_KEYS, ids=str)
def test_every_chord_of_every_box_is_shown(key: Key) -> None:
    for box in BOXES:
        for degree in DEGREES:
            result = run("chord", str(key), str(degree), "--box", str(box))
            assert result.exit_code == 0
            assert result.stdout.startswith(f"{key.chord(degree)}: the ")


# drill chord --json


def test_the_json_has_the_parts_in_their_order() -> None:
    data = listed("Ab", "4")
    assert list(data) == ["key", "degree", "numeral", "chord", "tones", "region", "voicings"]
    assert data["key"] == "A♭"
    assert data["degree"] == 4
    assert data["numeral"] == "IV"
    assert data["chord"] == "D♭"
    assert data["tones"] == ["D♭", "F", "A♭"]
    assert data["region"] == {"box": 1, "low": 1, "high": 4}
    first = data["voicings"][0]
    assert list(first) == [
        *("strings", "barres", "shapes", "left_out", "bass", "stretch_mm", "effort", "outside", "part_of"),
    ]
    assert first["strings"] == [
        {"string": 6, "fret": None, "finger": None, "tone": None},
        {"string": 5, "fret": 4, "finger": 4, "tone": "R"},
        {"string": 4, "fret": 3, "finger": 3, "tone": "3"},
        {"string": 3, "fret": 1, "finger": 1, "tone": "5"},
        {"string": 2, "fret": 2, "finger": 2, "tone": "R"},
        {"string": 1, "fret": None, "finger": None, "tone": None},
    ]
    assert first["shapes"] == ["C"]
    assert first["barres"] == []
    assert first["bass"] == "R"
    assert first["outside"] == 0
    assert first["part_of"] is None


def test_a_barre_in_the_json() -> None:
    main_voicing = listed("Ab", "6")["voicings"][0]
    assert main_voicing["barres"] == [{"finger": 1, "fret": 1, "from": 6, "to": 1}]


def test_an_open_string_is_fret_0_without_a_finger() -> None:
    string_3 = listed("G", "1")["voicings"][0]["strings"][3]
    assert string_3 == {"string": 3, "fret": 0, "finger": None, "tone": "R"}


def test_the_seventh_of_seven_is_half_diminished() -> None:
    data = listed("Ab", "7", "--seventh")
    assert (data["numeral"], data["chord"], data["tones"]) == ("viiø7", "Gm7♭5", ["G", "B♭", "D♭", "F"])


def test_the_main_voicing_comes_first_then_rising_effort() -> None:
    for words in (("Ab", "4"), ("E", "5", "--seventh"), ("G", "7", "--box", "4")):
        key, degree = Key.read(words[0]), int(words[1])
        box = 4 if "--box" in words else 1
        found = voicings(key.chord(degree, "--seventh" in words), anchor_region(key, box))
        data = listed(*words, "--all")
        frets = [tuple(string["fret"] for string in each["strings"]) for each in data["voicings"]]
        assert frets == [voicing.frets for voicing in found]
        efforts = [each["effort"]["total"] for each in data["voicings"][1:]]
        assert efforts == sorted(efforts)


def test_without_all_there_are_the_main_voicing_and_its_best_parts() -> None:
    key = Key.read("Ab")
    found = voicings(key.chord(4), anchor_region(key, 1))
    frets = [tuple(string["fret"] for string in each["strings"]) for each in listed("Ab", "4")["voicings"]]
    assert frets == [found[0].frets, *(part.frets for part in best_partials(found))]
    assert len(listed("Ab", "4", "--all")["voicings"]) == len(found) > len(frets)


@pytest.mark.parametrize("words", [("Ab", "4"), ("C", "7", "--seventh"), ("G", "1"), ("F#", "3", "--box", "3")])
def test_every_voicing_in_the_json_is_told_rightly(words: tuple[str, ...]) -> None:
    data = listed(*words, "--all")
    for each in data["voicings"]:
        assert [string["string"] for string in each["strings"]] == [6, 5, 4, 3, 2, 1]
        tones = [string["tone"] for string in each["strings"] if string["fret"] is not None]
        assert set(tones) <= TONES
        assert each["bass"] == tones[0]
        for string in each["strings"]:
            assert (string["finger"] is None) == (not string["fret"])
            assert string["finger"] in (None, 1, 2, 3, 4)
        parts = dict(each["effort"])
        total = parts.pop("total")
        assert set(parts) == {"stretch", "fingers", "barre", "mutes", "place"}
        assert total == pytest.approx(sum(parts.values()), abs=0.001)
        low, high = data["region"]["low"], data["region"]["high"]
        frets = [string["fret"] for string in each["strings"] if string["fret"] is not None]
        assert each["outside"] == max(max(low - fret, fret - high, 0) for fret in frets)
        if each["part_of"] is not None:
            whole = data["voicings"][each["part_of"]]["strings"]
            pairs = list(zip(each["strings"], whole, strict=True))
            assert all(mine["fret"] in (None, its["fret"]) for mine, its in pairs)
            assert any(mine["fret"] is None and its["fret"] is not None for mine, its in pairs)


def test_names_print_the_trades_glyphs() -> None:
    result = run("chord", "G#", "7", "--json")
    data = json.loads(result.stdout)
    assert data["chord"] == "F𝄪°"
    assert "F𝄪" in result.stdout


# What is wrong


def test_a_theoretical_key_is_answered_with_the_practical_name_as_a_hint() -> None:
    result = run("chord", "G#", "4")
    assert result.exit_code == 0
    assert result.stdout.startswith("C♯: the four of G♯ (IV)")
    assert result.stderr == "G♯ major is usually written A♭.\n"


@pytest.mark.parametrize(
    ("degree", "said"),
    [
        ("iv", '"iv" is not diatonic in A♭: the four there is IV (D♭)'),
        ("II", '"II" is not diatonic in A♭: the two there is ii (B♭m)'),
        ("VII", '"VII" is not diatonic in A♭: the seven there is vii° (G°)'),
        ("IV°", '"IV°" is not diatonic in A♭: the four there is IV (D♭)'),
        ("8", 'no degree "8": write a number 1–7 or a numeral like IV or ii'),
        ("four", 'no degree "four": write a number 1–7 or a numeral like IV or ii'),
        ("", 'no degree "": write a number 1–7 or a numeral like IV or ii'),
    ],
)
def test_a_wrong_degree_in_one_line(degree: str, said: str) -> None:
    assert refused("chord", "Ab", degree) == said
    assert refused("chord", "Ab", degree, "--json") == said


@pytest.mark.parametrize("key", ["H", "", "Bbm", "4"])
def test_a_wrong_key_in_one_line(key: str) -> None:
    assert refused("chord", key, "4") == f'no key "{key}": a key is a letter A–G with ♯ or ♭, like B♭'
    assert refused("sheet", key) == f'no key "{key}": a key is a letter A–G with ♯ or ♭, like B♭'


@pytest.mark.parametrize("box", ["0", "6", "-1"])
def test_a_wrong_box_in_one_line(box: str) -> None:
    assert refused("chord", "Ab", "4", "--box", box) == f"no box {box}: the boxes are 1 to 5"
    assert refused("sheet", "Ab", "--box", box) == f"no box {box}: the boxes are 1 to 5"


def test_a_missing_word_is_a_usage_error() -> None:
    result = run("chord", "Ab")
    assert result.exit_code == 2
    assert "Missing argument 'DEGREE'" in result.stderr


# drill sheet


def test_a_sheet_goes_to_the_terminal() -> None:
    result = run("sheet", "Bb", "--box", "2")
    assert result.exit_code == 0
    svg = ElementTree.fromstring(result.stdout)
    assert svg[0].text == "B♭ major (G minor), box 2, frets 5–8"


def test_a_sheet_goes_to_a_file(tmp_path: Path) -> None:
    file = tmp_path / "bb.svg"
    result = run("sheet", "Bb", "-o", str(file))
    assert result.exit_code == 0
    assert result.stdout == f"Wrote {file}.\n"
    assert file.read_text(encoding="utf-8") == run("sheet", "Bb").stdout.rstrip("\n")
    ElementTree.parse(file)


def test_a_file_that_cannot_be_written_is_one_line(tmp_path: Path) -> None:
    file = tmp_path / "missing" / "bb.svg"
    assert refused("sheet", "Bb", "-o", str(file)).startswith(f"cannot write {file}: ")


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    assert refused("sheet", "Bb", "-o", str(tmp_path)).startswith(f"cannot write {tmp_path}: ")
