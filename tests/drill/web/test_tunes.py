"""The pages and API of tunes: charts read along, kept, changed, brought in as files."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cards.charts import MOST_BYTES
from cards.charts.forms import FORMS
from drill.app import create_app
from drill.config import Config
from tests.conftest import Clock
from tests.drill.tunes.test_uploads import encoded, zipped

BLUES = "| B♭7 | E♭7 | B♭7 . Fm7 B♭7 |"


def ask(client: FlaskClient, method: str, path: str, body: object = None, status: int = 200) -> Any:
    reply = client.open(f"/api/{path}", method=method, json={} if body is None and method != "GET" else body)
    assert reply.status_code == status, reply.text
    return reply.json


def read(client: FlaskClient, text: str, **beside: object) -> Any:
    return ask(client, "POST", "charts/read", {"text": text, **beside})


def numbers(chart: Mapping[str, Any]) -> list[list[str]]:
    return [[change["number"] for change in bar] for section in chart["sections"] for bar in section["bars"]]


def chords(chart: Mapping[str, Any], which: str = "chord") -> list[str]:
    return [change[which] for section in chart["sections"] for bar in section["bars"] for change in bar]


def add(client: FlaskClient, title: str = "Slow blues", text: str = BLUES, **beside: object) -> Any:
    """A tune that is kept."""
    return ask(client, "POST", "tunes", {"title": title, "text": text, **beside}, 201)


@pytest.mark.parametrize("address", ["/tunes", "/tunes/new", "/tunes/" + "0" * 32])
def test_pages_say_that_words_are_never_stored(client: FlaskClient, address: str) -> None:
    page = client.get(address).text
    assert "never stored" in page
    assert " style=" not in page
    assert "<script>" not in page


# Reading along


def test_a_text_is_read_beside_it_and_nothing_is_kept(client: FlaskClient) -> None:
    found = read(client, "{title: Vamp}\n[G]la [C]la [Gxx]la [FC]la\n")
    assert numbers(found["chart"]) == [["5"], ["1"], ["4", "1"]]
    assert (found["chart"]["title"], found["title_given"], found["tokens"]) == ("Vamp", True, 4)
    assert found["unread"] == [{"line": 2, "column": 14, "text": "Gxx"}]
    assert found["keys"][0]["key"] == found["chart"]["key"]
    assert all(0 <= fit["share"] <= 1 for fit in found["keys"])
    assert [(each["line"], each["column"], each["text"]) for each in found["guesses"]] == [(2, 22, "FC")]
    assert ask(client, "GET", "tunes") == {"tunes": []}


def test_a_line_that_only_stands_on_top_is_said_to_be_no_declared_title(client: FlaskClient) -> None:
    found = read(client, "First words\n\nG  C  D\nla la la\n")
    assert (found["chart"]["title"], found["title_given"]) == ("First words", False)


def test_one_tap_changes_the_key(client: FlaskClient) -> None:
    text = "| Em | C | G | D |"
    best = read(client, text)["keys"]
    assert len(best) == 3
    for fit in best:
        assert read(client, text, options={"key": fit["key"]})["chart"]["key"] == fit["key"]
    found = read(client, text, options={"key": "E♭"})
    assert (found["chart"]["key"], found["key_given"]) == ("E♭", True)
    assert numbers(found["chart"]) == [["♭2-"], ["6"], ["3"], ["7:maj"]]


def test_a_guess_can_be_taken_the_other_way_and_back(client: FlaskClient) -> None:
    text = "| C | H7 | B | F |"
    (guess,) = (each for each in read(client, text)["guesses"] if each["option"][0] == "names")
    assert chords(read(client, text)["chart"]) == ["C", "B7", "B♭", "F"]
    other = read(client, text, options=dict([guess["option"]]))
    assert other["options"]["names"] == "letters"
    assert [each["text"] for each in other["unread"]] == ["H7"]
    assert chords(read(client, text, options={"names": "german"})["chart"]) == ["C", "B7", "B♭", "F"]


def test_a_minor_song_is_numbered_from_where_the_player_counts(client: FlaskClient) -> None:
    text = "{key: Am}\n| Am | F | E7 |"
    assert numbers(read(client, text)["chart"]) == [["6-"], ["4"], ["37"]]
    found = read(client, text, options={"minor_from": "tonic"})
    assert numbers(found["chart"]) == [["1-"], ["♭6"], ["57"]]
    tune = add(client, text=text, options={"minor_from": "tonic"})
    assert numbers(ask(client, "GET", f"tunes/{tune['id']}")["chart"]) == [["1-"], ["♭6"], ["57"]]
    assert tune["options"]["minor_from"] == "tonic"


@pytest.mark.parametrize(
    ("text", "beside", "capo", "sounding", "shapes"),
    [
        ("{capo: 2}\n| G | C |", {}, 2, ["A", "D"], ["G", "C"]),
        ("| G | C |", {"capo": 2}, 2, ["A", "D"], ["G", "C"]),
        ("| G | C |", {"capo": 2, "capo_chords": "shapes"}, 2, ["A", "D"], ["G", "C"]),
        ("| G | C |", {"capo": 2, "capo_chords": "sounding"}, 2, ["G", "C"], ["F", "B♭"]),
        ("{capo: 2}\n| G | C |", {"capo": 5}, 5, ["A", "D"], ["E", "A"]),
        ("{capo: 2}\n| G | C |", {"capo": 5, "capo_chords": "shapes"}, 5, ["C", "F"], ["G", "C"]),
        ("{capo: 2}\n| G | C |", {"capo": 0}, 0, ["A", "D"], [None, None]),
        ("Key: A\n1 4", {"capo": 2}, 2, ["A", "D"], ["G", "C"]),
    ],
)
def test_behind_a_capo_shapes_and_what_sounds_are_told_apart(
    client: FlaskClient, text: str, beside: dict[str, object], capo: int, sounding: list[str], shapes: list[str]
) -> None:
    chart = read(client, text, **beside)["chart"]
    assert (chart["capo"], chords(chart), chords(chart, "shape")) == (capo, sounding, shapes)
    assert (chart["shape_key"] is None) == (capo == 0)


def test_tempo_and_feel_are_the_players(client: FlaskClient) -> None:
    chart = read(client, "{tempo: 96}\n| G | C |", tempo=72.5, feel="shuffle")["chart"]
    assert (chart["tempo"], chart["feel"]) == (72.5, "shuffle")


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({}, "text"),
        ({"text": 7}, "text"),
        ({"text": "G" * (MOST_BYTES + 1)}, "text"),
        ({"text": "1 4", "tempo": "fast"}, "tempo"),
        ({"text": "1 4", "tempo": 1e400}, "tempo"),
        ({"text": "1 4", "tempo": 20}, "tempo"),
        ({"text": "1 4", "capo": 12}, "capo"),
        ({"text": "1 4", "capo": 1.5}, "capo"),
        ({"text": "1 4", "capo": 1, "capo_chords": []}, "capo"),
        ({"text": "1 4", "feel": []}, "feel"),
        ({"text": "1 4", "options": []}, "options"),
        ({"text": "1 4", "options": {"letters": "german"}}, "options"),
        ({"text": "1 4", "options": {"names": {}}}, "options"),
        ({"text": "1 4", "options": {"key": "X"}}, "key"),
    ],
)
def test_wrong_input_is_told_with_the_field_that_is_meant(
    client: FlaskClient, body: dict[str, object], field: str
) -> None:
    told = client.post("/api/charts/read", data=json.dumps(body), content_type="application/json")
    assert (told.status_code, told.json["field"]) == (422, field)
    assert len(told.json["error"]) > 15


def test_what_is_too_large_is_told_with_the_bound(client: FlaskClient) -> None:
    told = client.post("/api/charts/read", json={"text": "G " * 2 * MOST_BYTES})
    assert (told.status_code, told.json["error"]) == (413, "That is more than 195 kB: send it in smaller parts.")


@pytest.fixture(scope="module")
def one_client(tmp_path_factory: pytest.TempPathFactory, migrated: Path) -> FlaskClient:
    """A client for many requests that keep nothing."""
    data = tmp_path_factory.mktemp("fuzz")
    (data / migrated.name).write_bytes(migrated.read_bytes())
    app = create_app(Config(data=data), Clock())
    app.testing = True
    return app.test_client()


PIECES = ("[G]", "{key: ", "{capo: 3}", "\n", "| ", "1", "b7", "H", "la ", "}", ":||", "x2", "V7/ii", "\0", "\ud800")
SOMETHING = st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=8), st.just([]))
BESIDE = st.fixed_dictionaries(
    {"text": st.one_of(st.text(max_size=200), st.lists(st.sampled_from(PIECES), max_size=40).map("".join), SOMETHING)},
    optional={
        "options": st.one_of(
            SOMETHING,
            st.dictionaries(st.sampled_from(("key", "names", "slash", "zero", "capo", "x")), SOMETHING),
            st.fixed_dictionaries({"key": st.sampled_from(("C", "F♯m", "E blues", "G#"))}),
        ),
        "capo": st.one_of(SOMETHING, st.integers(0, 11)),
        "capo_chords": st.sampled_from(("shapes", "sounding", "x", None)),
        "tempo": st.one_of(SOMETHING, st.integers(30, 240)),
        "feel": st.sampled_from(("straight", "shuffle", "x", None)),
    },
)
FUZZ = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@FUZZ
@given(BESIDE)
def test_whatever_is_sent_to_be_read_gets_an_answer(one_client: FlaskClient, body: dict[str, object]) -> None:
    reply = one_client.post("/api/charts/read", data=json.dumps(body), content_type="application/json")
    assert reply.status_code in (200, 422)
    assert isinstance(reply.json, dict)


@FUZZ
@given(st.one_of(st.binary(max_size=300), SOMETHING.map(lambda value: json.dumps([value]).encode())))
def test_whatever_bytes_are_sent_get_a_sentence(one_client: FlaskClient, data: bytes) -> None:
    reply = one_client.post("/api/charts/read", data=data, content_type="application/json")
    assert reply.status_code in (400, 422)
    assert reply.json["error"]


@FUZZ
@given(st.binary(max_size=300), st.sampled_from((b"", b"PK\3\4", b"PK\5\6", b"\xff\xfe", b"| G | C |\n")))
def test_whatever_file_is_sent_has_a_result(one_client: FlaskClient, data: bytes, front: bytes) -> None:
    found = ask(one_client, "POST", "tunes/files", {"name": "song", "data": encoded(front + data)})
    for each in found["files"]:
        assert ("tune" in each) != ("refused" in each)


# Forms


@pytest.mark.parametrize("name", FORMS)
def test_a_form_is_text_to_start_from(client: FlaskClient, name: str) -> None:
    for feel in (None, "straight", "shuffle"):
        made = ask(client, "POST", "charts/form", {"form": name, "key": "D♭", "feel": feel})
        found = read(client, made["text"])
        assert found["unread"] == []
        assert found["chart"]["key"].startswith(("D♭", "C♯m"))
        assert feel in (None, found["chart"]["feel"])
        assert made["title"].endswith((" in D♭", " in C♯"))


@pytest.mark.parametrize("wrong", [{"form": "polka"}, {"form": []}, {"key": "X"}, {"key": None}, {"feel": "polka"}])
def test_a_form_that_is_none(client: FlaskClient, wrong: dict[str, object]) -> None:
    ask(client, "POST", "charts/form", {"form": "12-bar blues", "key": "B♭", **wrong}, 422)


# Keeping


@pytest.mark.both_databases
def test_a_tune_is_kept_listed_changed_deleted_and_had_back(client: FlaskClient, clock: Clock) -> None:
    song = "{tempo: 72}\n{capo: 3}\n{sov: Verse \0\ud800}\n[G]la [C]la [G]la [D]la"
    tune = add(client, "Slow \0 blues", song)
    assert tune["text"].splitlines()[:5] == ["{key: Bb}", "{capo: 3}", "{tempo: 72}", "", "{start_of_grid: Verse}"]
    clock.go_on(seconds=5)
    changed = {"title": "Slower blues", "text": tune["text"], "options": tune["options"], "tempo": 60}
    again = ask(client, "PUT", f"tunes/{tune['id']}", {**changed, "changed_at": tune["changed_at"]})
    assert again["chart"] == {**tune["chart"], "title": "Slower blues", "tempo": 60}
    (line,) = ask(client, "GET", "tunes")["tunes"]
    assert (line["title"], line["key"], line["capo"], line["tempo"], line["bars"]) == ("Slower blues", "B♭", 3, 60, 4)
    assert (line["chords"], line["jams"]) == (["B♭", "E♭", "F"], [])
    ask(client, "DELETE", f"tunes/{tune['id']}")
    assert ask(client, "GET", "tunes")["tunes"] == []
    assert ask(client, "GET", f"tunes/{tune['id']}")["deleted"]
    ask(client, "POST", f"tunes/{tune['id']}/back")
    assert len(ask(client, "GET", "tunes")["tunes"]) == 1


def test_the_tune_of_another_tab_is_not_overwritten_and_both_are_there(client: FlaskClient, clock: Clock) -> None:
    tune = add(client)
    clock.go_on(seconds=5)
    mine = {"title": "Mine", "text": "1 4", "changed_at": tune["changed_at"]}
    ask(client, "PUT", f"tunes/{tune['id']}", {**mine, "title": "Theirs"})
    told = ask(client, "PUT", f"tunes/{tune['id']}", mine, 409)
    assert told["tune"]["title"] == "Theirs"
    assert "changed elsewhere" in told["error"]
    ask(client, "PUT", f"tunes/{tune['id']}", {**mine, "changed_at": told["tune"]["changed_at"]})
    ask(client, "PUT", f"tunes/{tune['id']}", {**mine, "changed_at": "yesterday"}, 422)


def test_which_jams_a_tune_is_in(client: FlaskClient) -> None:
    tune = add(client)
    jam = ask(client, "POST", "jams", {"name": "Open jam", "at": "2026-05-08T20:00"}, 201)
    entry = {"id": None, "tune": tune["id"], "key": None, "tempo": None}
    ask(client, "PUT", f"jams/{jam['id']}/set-list", {"was": [], "entries": [entry]})
    (line,) = ask(client, "GET", "tunes")["tunes"]
    assert line["jams"] == [{"id": jam["id"], "name": "Open jam"}]


@pytest.mark.parametrize(("method", "more"), [("GET", ""), ("PUT", ""), ("DELETE", ""), ("POST", "/back")])
@pytest.mark.parametrize("tune_id", ["0" * 32, "x", "%00", "new"])
def test_no_such_tune(client: FlaskClient, method: str, more: str, tune_id: str) -> None:
    body = {"title": "x", "text": "1 4", "changed_at": "2026-05-01T18:00:00+00:00"}
    told = ask(client, method, f"tunes/{tune_id}{more}", None if method == "GET" else body, 404)
    assert "no such tune" in told["error"]


@pytest.mark.parametrize(
    ("body", "field"),
    [({"text": "1 4"}, "title"), ({"title": "Vamp", "text": "la la"}, "chart"), ({"title": "Vamp"}, "text")],
)
def test_a_tune_that_cannot_be_kept(client: FlaskClient, body: dict[str, object], field: str) -> None:
    assert ask(client, "POST", "tunes", body, 422)["field"] == field


def test_a_new_tune_that_is_sent_twice_is_one(client: FlaskClient) -> None:
    for _ in range(2):
        assert add(client, "Slow blues", id="ab" * 16)["id"] == "ab" * 16
    other = {"title": "Slower blues", "text": "1 4", "id": "ab" * 16}
    assert ask(client, "POST", "tunes", other, 409)["tune"]["title"] == "Slow blues", "it is another tab's by now"
    assert [each["title"] for each in ask(client, "GET", "tunes")["tunes"]] == ["Slow blues"]
    for wrong in ("x", 7, "AB" * 16):
        assert ask(client, "POST", "tunes", {"title": "x", "text": "1 4", "id": wrong}, 422)["field"] == "id"


@pytest.mark.parametrize("time", ["4/3", "99/4", "x", ""])
def test_a_metre_that_there_is_not_is_refused(client: FlaskClient, time: str) -> None:
    assert ask(client, "POST", "charts/read", {"text": "1 4", "options": {"time": time}}, 422)["field"] == "time"


# Files


def test_a_file_becomes_text_for_the_editor(client: FlaskClient) -> None:
    opened = ask(client, "POST", "charts/file", {"data": encoded("[G]r\xeave".encode("latin-1"))})
    assert opened == {"text": "[G]rêve"}
    for data in (b"\0", b"| G | C |\n" * 20_000):
        assert ask(client, "POST", "charts/file", {"data": encoded(data)}, 422)["field"] == "text"
    ask(client, "POST", "charts/file", {"data": "é"}, 422)
    assert ask(client, "GET", "tunes") == {"tunes": []}


def test_files_are_taken_or_refused_one_by_one(client: FlaskClient) -> None:
    archive = zipped({"Vamp.txt": b"1 4", "photo.jpg": b"\xff\0", "b.cho": b"{t: Two chords}\n{key: D}\n[G]la [oh]la"})
    vamp, photo, chordpro = ask(client, "POST", "tunes/files", {"name": "band.zip", "data": encoded(archive)})["files"]
    assert (vamp["tune"]["title"], vamp["tokens"], vamp["unread"]) == ("Vamp", 2, 0)
    assert (vamp["key_given"], vamp["key_found"]) == (False, False)
    assert "binary" in photo["refused"]
    assert (chordpro["tune"]["title"], chordpro["key_given"], chordpro["unread"]) == ("Two chords", True, 1)
    assert [each["title"] for each in ask(client, "GET", "tunes")["tunes"]] == ["Two chords", "Vamp"]


def test_a_file_sent_again_is_brought_in_once(client: FlaskClient) -> None:
    archive = zipped({"vamp.txt": b"A G A G", "two.txt": b"E D E D"})
    body = {"id": "d" * 32, "name": "band.zip", "data": encoded(archive)}
    first = ask(client, "POST", "tunes/files", body)
    assert ask(client, "POST", "tunes/files", body) == first
    assert len(ask(client, "GET", "tunes")["tunes"]) == 2
    ask(client, "POST", "tunes/files", {**body, "id": "e" * 32})
    assert len(ask(client, "GET", "tunes")["tunes"]) == 4


NO_FILES: tuple[dict[str, object], ...] = (
    {},
    {"name": "a"},
    {"name": "a", "data": "é"},
    {"name": 7, "data": ""},
    {"id": "no", "name": "a", "data": ""},
)


@pytest.mark.parametrize("body", NO_FILES)
def test_what_is_no_file(client: FlaskClient, body: dict[str, object]) -> None:
    ask(client, "POST", "tunes/files", body, 422)
