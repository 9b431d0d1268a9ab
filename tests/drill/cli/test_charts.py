"""``drill chart``: what it prints, and how it says what is wrong."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from drill.cli.command import main

SONG = "{title: Low Lights}\n{key: A}\n{capo: 2}\n{sov}\n[G]la [D/F#]la [Em]la [C]la\n[G]la [oh]la\n"


@pytest.fixture
def song(tmp_path: Path) -> Path:
    path = tmp_path / "song.pro"
    path.write_text(SONG, encoding="utf-8")
    return path


def run(*words: object, **more: object) -> Result:
    return CliRunner().invoke(main, ["chart", *map(str, words)], **more)  # type: ignore[arg-type]


def test_bars_as_degrees_with_shapes_and_sounding_chords(song: Path) -> None:
    result = run(song)
    assert result.exit_code == 0
    assert result.stdout.splitlines()[:8] == [
        "Low Lights",
        "Key A: A explains 100%, F♯m explains 100%, E explains 80%",
        "Capo 2: shapes of G, then sounding chords",
        "",
        "Verse",
        "  | 1 | 5/7  | 6-  | 4 |",
        "  | G | D/F♯ | Em  | C |",
        "  | A | E/G♯ | F♯m | D |",
    ]
    assert "Read 5 of 6 chords as written." in result.stdout
    assert 'Not read: line 6, column 8: "oh"' in result.stdout
    assert "la" not in result.stdout.replace("explains", "").split()


def test_json(song: Path) -> None:
    data = json.loads(run(song, "--json").stdout)
    assert list(data) == ["title", "key", "key_given", "keys", "capo", "tempo", "time", "sections", "unread", "tokens"]
    assert (data["key"], data["capo"], data["tokens"]) == ("A", 2, 6)
    assert data["sections"][0]["bars"][1] == [
        {"degree": "5", "quality": "major", "bass": "7", "chord": "E/G♯", "beats": 4}
    ]


def test_a_key_that_is_found_says_how_sure(tmp_path: Path) -> None:
    path = tmp_path / "grid.txt"
    path.write_text("| G | C | D | G |\n")
    assert "Key G (found, " in run(path).stdout


def test_a_number_chart_in_any_key() -> None:
    result = run("-", "--key", "Eb", input="1 4 5 6-\n")
    assert "  | 1  | 4  | 5  | 6- |\n  | E♭ | A♭ | B♭ | Cm |" in result.stdout
    assert "Where no bar lines stand, every chord is a bar." in result.stdout


@pytest.mark.parametrize(
    ("data", "code", "said"),
    [
        (b"no chords at all\n", 1, "no chord was read; a chart is a line like"),
        (b"", 1, "no chord was read"),
        (b"\x7fELF\0\0", 2, "this is a binary file, not text"),
        (b"C " * 200_000, 2, "a chart has at most 100 kB"),
    ],
)
def test_files_without_a_chart(tmp_path: Path, data: bytes, code: int, said: str) -> None:
    path = tmp_path / "file"
    path.write_bytes(data)
    result = run(path)
    assert (result.exit_code, result.stdout) == (code, "")
    assert said in result.stderr
    assert result.stderr.count("\n") == 1


def test_a_file_that_is_not_there_and_a_key_that_is_none(tmp_path: Path, song: Path) -> None:
    missing = run(tmp_path / "none")
    assert (missing.exit_code, missing.stdout) == (2, "")
    assert "name a file with a chart in it" in missing.stderr
    wrong = run(song, "--key", "Q")
    assert (wrong.exit_code, wrong.stdout) == (2, "")
    assert 'no key "Q"' in wrong.stderr
