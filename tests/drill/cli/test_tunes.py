"""``drill tunes``: files into the drill, the list, one of them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from drill.cli.command import main
from drill.store import prepare
from tests.conftest import EVENING
from tests.drill.tunes.test_uploads import zipped

VAMP = b"{key: A}\n{capo: 2}\n{tempo: 96}\n[G]la [F]la [oh]la"


@pytest.fixture
def data(tmp_path: Path) -> Path:
    folder = tmp_path / "data"
    prepare(f"sqlite:///{folder / 'drill.sqlite'}", EVENING)
    return folder


@pytest.fixture
def files(tmp_path: Path) -> dict[str, Path]:
    """A blues, an archive with a vamp and a picture, words, a picture."""
    contents = {
        "Slow_blues.txt": "Key: B♭\n| B♭7 | E♭7 |\n| B♭7 | F7 |\n".encode(),
        "band.zip": zipped({"Vamp.cho": VAMP, "photo.jpg": b"\xff\0"}),
        "words.txt": b"words and more words",
        "photo.jpg": b"\xff\xd8\0",
    }
    for name, content in contents.items():
        (tmp_path / name).write_bytes(content)
    return {name: tmp_path / name for name in contents}


def run(data: Path, command: str, *words: object) -> Result:
    return CliRunner().invoke(main, ["tunes", command, "--data", str(data), *map(str, words)])


def test_files_and_archives_are_added_and_what_is_refused_is_told(data: Path, files: dict[str, Path]) -> None:
    added = run(data, "add", *files.values(), files["band.zip"].parent / "missing.txt", files["band.zip"].parent)
    assert added.exit_code == 0
    assert added.stdout.splitlines() == [
        "Slow blues: B♭ (given), 4 of 4 chords read",
        "Vamp: A (given), 2 of 3 chords read",
    ]
    assert [line.rpartition("/")[2].partition(": ")[0] for line in added.stderr.splitlines()] == [
        "photo.jpg",
        "words.txt",
        "photo.jpg",
        "missing.txt",
        files["band.zip"].parent.name,
    ]
    assert run(data, "list").stdout.splitlines() == ["Slow blues: B♭, 4 bars", "Vamp: A, capo 2, 2 bars, 96 bpm"]


def test_the_exit_code_says_what_became_of_it(data: Path, files: dict[str, Path]) -> None:
    assert run(data, "add", files["words.txt"], files["photo.jpg"]).exit_code == 1
    assert run(data, "add", files["photo.jpg"]).exit_code == 2
    large = files["photo.jpg"].with_name("large.txt")
    large.write_bytes(bytes(5 * 2**20))
    refused = run(data, "add", large)
    assert (refused.exit_code, "more than 4 MB" in refused.stderr) == (2, True)
    assert run(data, "list").stdout == "No tunes yet: bring some in with drill tunes add FILE…\n"
    assert json.loads(run(data, "list", "--json").stdout) == []


def test_a_tune_is_shown_by_its_title_or_id(data: Path, files: dict[str, Path]) -> None:
    run(data, "add", files["Slow_blues.txt"], files["band.zip"])
    assert run(data, "show", "vamp").stdout.splitlines() == [
        "Vamp",
        "Key A",
        "Capo 2: shapes of G, then sounding chords",
        "Tempo 96",
        "",
        "  | 1 | ♭7 |",
        "  | G | F  |",
        "  | A | G  |",
    ]
    vamp = json.loads(run(data, "list", "--json").stdout)[1]
    assert (vamp["title"], vamp["capo"]) == ("Vamp", 2)
    told = json.loads(run(data, "show", vamp["id"], "--json").stdout)
    assert (told["title"], told["key"], told["sections"][0]["bars"][1][0]["degree"]) == ("Vamp", "A", "b7")


def test_a_title_of_none_or_two_is_told(data: Path, files: dict[str, Path]) -> None:
    assert "drill tunes list prints what is there" in run(data, "show", "polka").stderr
    run(data, "add", files["band.zip"], files["band.zip"])
    twice = run(data, "show", "Vamp")
    assert twice.exit_code == 1
    assert all(each["id"] in twice.stderr for each in json.loads(run(data, "list", "--json").stdout))
