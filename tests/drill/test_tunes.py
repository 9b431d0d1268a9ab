"""Tunes: kept without words, read along, brought in as files, changed in two tabs."""

from __future__ import annotations

import base64
import io
import json
import zipfile
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from flask.testing import FlaskClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import text

from cards.charts import read_chart
from drill.cli import main
from drill.store import Store
from drill.tunes import chart_of, tunes
from drill.uploads import MOST_FILES, read_file
from tests.conftest import Clock

WORD = "quagmirish"
SHEET = f"{WORD} morning\n\nVerse\nB♭7      E♭7\n{WORD} {WORD} la\n[zz{WORD}]\nF7       B♭7\n{WORD}\n"
PRO = f"{{title: Slow blues}}\n{{key: Bb}}\n[Bb7]{WORD} [Eb7]la [{WORD}]la\n[F7]la\n"


def add(client: FlaskClient, title: str = "Slow blues", written: str = "| Bb7 | Eb7 |", **more: Any) -> Any:
    reply = client.post("/api/tunes", json={"title": title, "text": written, "options": {}, **more})
    assert reply.status_code == 201, reply.json
    return reply.json


def files(client: FlaskClient, name: str, data: bytes) -> Any:
    body = {"name": name, "data": base64.b64encode(data).decode()}
    reply = client.post("/api/tunes/files", json=body)
    assert reply.status_code == 200, reply.json
    return reply.json["files"]


def archive(**members: bytes) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as made:
        for name, data in members.items():
            made.writestr(name, data)
    return packed.getvalue()


@pytest.mark.both_databases
def test_no_word_of_a_song_is_ever_stored(client: FlaskClient, store: Store) -> None:
    read = client.post("/api/charts/read", json={"text": SHEET, "options": {}}).json
    add(client, "Morning", SHEET)
    add(client, "Slow blues", PRO)
    files(client, "song.txt", SHEET.encode())
    files(client, "book.zip", archive(one=PRO.encode(), two=SHEET.encode()))
    with store.reading() as db:
        rows = [str(row) for row in db.execute(text("SELECT * FROM tunes"))]
    assert len(rows) == 5
    assert WORD not in "".join(rows)
    assert read["chart"]["title"] == f"{WORD} morning", "the page shows it, for the player to say"
    assert read["title_given"] is False


def test_a_text_is_read_along_with_all_that_was_guessed(client: FlaskClient) -> None:
    body = {"text": "Verse\n| Bb7 | Eb7 | Bb7 | Gxx7 |\n| C/G | Cm7 F7 | Bb7 | Bb7 |", "options": {}}
    reply = client.post("/api/charts/read", json=body).json
    assert [(each["line"], each["column"], each["text"]) for each in reply["unread"]] == [(2, 21, "Gxx7")]
    assert next(key["key"] for key in reply["keys"]) == reply["chart"]["key"]
    assert [change["number"] for change in reply["chart"]["sections"][0]["bars"][0]] == ["17"]
    guess = next(each for each in reply["guesses"] if each["option"] == ["slash", "half"])
    again = client.post("/api/charts/read", json={**body, "options": dict([guess["option"]])}).json
    bars = again["chart"]["sections"][0]["bars"]
    assert ["C", "G"] in [[change["chord"] for change in bar] for bar in bars]
    assert client.get("/api/tunes").json == {"tunes": []}, "nothing is kept"


def test_a_key_is_changed_by_one_tap_and_a_capo_moves_only_the_shapes(client: FlaskClient) -> None:
    body = {"text": "{capo: 3}\n[Am]la [F]la [C]la [G]la", "options": {}}
    found = client.post("/api/charts/read", json=body).json["chart"]
    assert (found["key"], found["shape_key"]) == ("Cm", "Am")
    other = client.post("/api/charts/read", json={**body, "options": {"key": "Eb"}}).json["chart"]
    assert [bar[0]["number"] for bar in other["sections"][0]["bars"]] == ["6-", "4", "1", "5"]
    moved = client.post("/api/charts/read", json={**body, "capo": 1}).json["chart"]
    first = moved["sections"][0]["bars"][0][0]
    assert (first["chord"], first["shape"]) == ("Cm", "Bm")


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"text": 3}, "text"),
        ({"text": "x" * 100_001}, "text"),
        ({"options": {"key": "H"}}, "key"),
        ({"options": {"slash": "twice"}}, "options"),
        ({"options": {"volume": "11"}}, "options"),
        ({"options": []}, "options"),
        ({"tempo": 9}, "tempo"),
        ({"capo": 14}, "capo"),
        ({"feel": "stiff"}, "feel"),
    ],
)
def test_what_cannot_be_read_is_said_with_its_field(client: FlaskClient, more: dict[str, Any], field: str) -> None:
    reply = client.post("/api/charts/read", json={"text": "1 4", "options": {}, **more})
    assert (reply.status_code, reply.json["field"]) == (422, field)


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.text(max_size=300) | st.text("1234567bm-/|[]{}:() \nABCDG#7xse.", max_size=300))
def test_no_text_is_an_error_of_ours(client: FlaskClient, written: str) -> None:
    assert client.post("/api/charts/read", json={"text": written, "options": {}}).status_code == 200


@pytest.mark.parametrize(
    ("title", "written", "field"),
    [("", "1 4", "title"), (7, "1 4", "title"), ("x" * 121, "1", "title"), ("A", "la la", "chart")],
)
def test_a_tune_needs_a_title_and_a_chord(client: FlaskClient, title: object, written: str, field: str) -> None:
    reply = client.post("/api/tunes", json={"title": title, "text": written, "options": {}})
    assert (reply.status_code, reply.json["field"]) == (422, field)


def test_a_kept_tune_comes_back_as_text_that_reads_the_same(client: FlaskClient, store: Store) -> None:
    made = add(client, written="Verse\n| Bb7 | Eb7 . . Bb7 |\nChorus\n| Cm7 | F7 |", tempo=72, feel="shuffle")
    assert made["text"].splitlines()[:4] == ["{key: Bb blues}", "{tempo: 72}", "{feel: shuffle}", ""]
    same = client.put(f"/api/tunes/{made['id']}", json={**made, "title": "Slower blues"})
    assert same.status_code == 200
    assert same.json["chart"] == {**made["chart"], "title": "Slower blues"}
    (kept,) = tunes(store, 1)
    assert [section.name for section in chart_of(kept).sections] == ["Verse", "Chorus"]


def test_two_tabs_do_not_overwrite_each_other_unseen(client: FlaskClient, clock: Clock) -> None:
    first = add(client)
    clock.go_on(seconds=5)
    theirs = client.put(f"/api/tunes/{first['id']}", json={**first, "text": "| Bb7 | F7 |"}).json
    refused = client.put(f"/api/tunes/{first['id']}", json={**first, "text": "| Bb7 | Bb7 |"})
    assert refused.status_code == 409
    assert refused.json["tune"]["text"] == theirs["text"]
    kept = client.put(f"/api/tunes/{first['id']}", json={**first, "changed_at": theirs["changed_at"]})
    assert kept.status_code == 200


def test_a_deleted_tune_can_be_had_back(client: FlaskClient) -> None:
    made = add(client)
    assert client.delete(f"/api/tunes/{made['id']}", json={}).status_code == 200
    assert client.get("/api/tunes").json["tunes"] == []
    assert client.post(f"/api/tunes/{made['id']}/back", json={}).json["title"] == "Slow blues"
    assert len(client.get("/api/tunes").json["tunes"]) == 1


@pytest.mark.parametrize("tune_id", ["0" * 32, "nothing", "../x"])
def test_there_is_no_other_tune(client: FlaskClient, tune_id: str) -> None:
    assert client.get(f"/api/tunes/{tune_id}").status_code == 404
    assert client.delete(f"/api/tunes/{tune_id}", json={}).status_code == 404


def test_forms_to_start_from_stand_in_any_key_and_feel(client: FlaskClient) -> None:
    made = client.post("/api/charts/form", json={"form": "12-bar blues", "key": "Eb", "feel": "straight"}).json
    assert made["title"] == "12-bar blues in E♭"
    chart = read_chart(made["text"])
    assert (str(chart.key), chart.feel, len(chart.sections[0].bars)) == ("E♭ blues", "straight", 12)
    wrong = client.post("/api/charts/form", json={"form": "13-bar blues", "key": "Eb", "feel": None})
    assert (wrong.status_code, wrong.json["field"]) == (422, "form")


def test_a_file_is_kept_under_the_title_it_gives_or_under_its_own_name(client: FlaskClient) -> None:
    (given_,) = files(client, "whatever.pro", PRO.encode())
    (named,) = files(client, "back_room_vamp.txt", SHEET.encode())
    assert given_["tune"]["title"] == "Slow blues"
    assert named["tune"]["title"] == "back room vamp"


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"\x89PNG\0\0\0", "binary file"),
        (b"1 4 5 1\n" * 20_000, "a chart has at most 100 kB"),
        (b"\xff\xfe1\x00\xd8\xd8", "not valid"),
        (b"nothing but words here", "no chord was read"),
        (b"PK\x05\x06" + b"\0" * 18, "no file in this archive"),
        (archive(a=b"1 4")[:-30] + b"x" * 30, ""),
    ],
)
def test_a_file_that_is_no_chart_is_refused_in_a_sentence(client: FlaskClient, data: bytes, says: str) -> None:
    (reply,) = files(client, "song", data)
    assert says in reply["refused"]
    assert client.get("/api/tunes").json["tunes"] == []


def test_an_archive_is_opened_with_bounds(client: FlaskClient) -> None:
    members = {"bomb.txt": b"1 " * 30_000_000, "good.txt": b"1 4 5 1", "__MACOSX/._good.txt": b"1", ".hidden": b"1"}
    big, good = files(client, "book.zip", archive(**members))
    assert "at most 100 kB" in big["refused"]
    assert good["tune"]["title"] == "good"
    many = list(read_file("many.zip", archive(**{f"{n}.txt": b"1 4" for n in range(MOST_FILES + 3)})))
    assert len(many) == MOST_FILES + 1
    assert f"only the first {MOST_FILES}" in (many[-1].refused or "")


def test_a_broken_file_is_not_our_fault(client: FlaskClient) -> None:
    for body in ({"name": "x", "data": "€"}, {"name": 1, "data": ""}, {"data": "MQ=="}):
        assert client.post("/api/tunes/files", json=body).status_code == 422


def run(data: Path, *words: object) -> Result:
    return CliRunner().invoke(main, ["tunes", words[0], "--data", str(data), *map(str, words[1:])])  # type: ignore[list-item]


def test_the_command_keeps_files_and_lists_them(store: Store, tmp_path: Path) -> None:
    song, book, bad = tmp_path / "vamp.txt", tmp_path / "book.zip", tmp_path / "bad.txt"
    song.write_text("Key: A\n1 b7 1 b7")
    book.write_bytes(archive(**{"slow.pro": PRO.encode()}))
    bad.write_text("just words")
    result = run(tmp_path, "add", song, book, bad)
    assert result.exit_code == 0
    vamp, slow = result.stdout.splitlines()
    assert (vamp, slow) == ("vamp: A (given), 4 of 4 chords read", "Slow blues: B♭ (given), 3 of 4 chords read")
    assert "bad.txt: no chord was read" in result.stderr
    assert run(tmp_path, "add", bad).exit_code == 1
    assert run(tmp_path, "list").stdout.splitlines() == ["Slow blues: B♭, 3 bars", "vamp: A, 4 bars"]
    assert [row["title"] for row in json.loads(run(tmp_path, "list", "--json").stdout)] == ["Slow blues", "vamp"]


def test_the_command_says_what_to_do_where_there_is_nothing(store: Store, tmp_path: Path) -> None:
    assert "drill tunes add FILE" in run(tmp_path, "list").stdout
