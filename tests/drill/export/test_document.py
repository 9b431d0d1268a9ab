"""Yours: everything taken away and brought back, and what is not taken in."""

from __future__ import annotations

import copy
import csv
import io
import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from flask.testing import FlaskClient

from cards.charts import plain
from cards.charts.forms import form
from cards.theory.keys import Key
from drill.cli.command import main
from drill.export.document import ArchiveError, export, export_csv, read, take_in
from drill.learning.learn import rebuild, relearn
from drill.learning.parameter_versions import keep_fit, parameters_of
from drill.memory.parameters import START
from drill.players.preferences import pin
from drill.progress.key_map import View, key_map
from drill.progress.why import why
from drill.store import Store, prepare
from drill.store.memory import last_answers, memory_rows
from drill.store.models import Jam, Mistap, Player, SetListEntry, Tune
from tests.conftest import EVENING, Clock, Guitarist
from tests.drill.logs import lines, write
from tests.drill.rows import NOW

Document = dict[str, Any]


@pytest.fixture
def played(store: Store, guitarist: Guitarist, client: FlaskClient) -> Store:
    """A store with settings, a session played over the API, and a mis-tap."""
    client.put("/api/settings", json={"keys": ["B♭", "E♭"], "tempo": 96, "tuning": "drop D", "zone": "Europe/Rome"})
    guitarist.start()
    for number in range(6):
        guitarist.answer(number, {"shown": True} if number % 3 == 2 else None)
    slip = guitarist.answer(6, {"name": "F♯m"})
    client.post(f"{guitarist.address}/mistaps", json={"review": slip["id"]})
    set_list(store)
    return store


def set_list(store: Store) -> None:
    """A jam with a slow blues, a step higher than it stands."""
    chart = plain(form("12-bar blues", Key.read("Bb")))
    with store.writing(1) as (db, player):
        mine = {"player_id": player.id, "deleted_at": None}
        db.add(Tune(id="a" * 32, title="Slow blues", chart=chart, made_at=NOW, changed_at=NOW, **mine))
        db.add(Jam(id="b" * 32, name="Open jam", at=NOW, place="the back room", boxes=[1, 2], made_at=NOW, **mine))
        db.flush()
        entry = {"id": "c" * 32, "jam_id": "b" * 32, "position": 0, "tune_id": "a" * 32}
        db.add(SetListEntry(**entry, player_id=player.id, key="C blues", tempo=72))


@pytest.fixture
def other(empty_database: str) -> Iterator[Store]:
    """Another installation, in which nobody has played."""
    prepare(empty_database, EVENING)
    store = Store(empty_database)
    yield store
    store.close()


@pytest.mark.both_databases
def test_everything_comes_back_and_every_figure_is_the_same(played: Store, other: Store, clock: Clock) -> None:
    document = export(played, 1, clock())
    assert take_in(other, 1, json.dumps(document)) == 6, "the mis-tap teaches nothing"
    assert export(other, 1, clock()) == document
    later = clock() + timedelta(days=3)
    assert key_map(other, 1, View(), later) == key_map(played, 1, View(), later)
    assert why(other, 1, later) == why(played, 1, later)
    with played.reading() as here, other.reading() as there:
        assert memory_rows(there, 1) == memory_rows(here, 1)
        assert last_answers(there, 1) == last_answers(here, 1)
    assert rebuild(other) == 6


def test_a_player_with_parameters_of_its_own_comes_back_with_them(played: Store, other: Store, clock: Clock) -> None:
    own = replace(START, gain=1.4)
    with played.writing(1) as (db, _):
        keep_fit(db, 1, replace(START, gain=2.0), (0.5, 0.6), False, clock())
        version = keep_fit(db, 1, own, (0.5, 0.4), True, clock())
    relearn(played, 1, version)
    document = export(played, 1, clock())
    assert take_in(other, 1, json.dumps(document)) == 6
    assert export(other, 1, clock()) == document
    with played.reading() as here, other.reading() as there:
        assert parameters_of(there, there.get_one(Player, 1)) == own
        assert memory_rows(there, 1) == memory_rows(here, 1)
    twice = {**document, "fits": [document["fits"][0], document["fits"][0], document["fits"][1]]}
    with pytest.raises(ArchiveError, match=r"fits\[1\]: there twice, by its version"):
        read(json.dumps(twice))


def test_a_session_goes_on_after_it_was_brought_back(played: Store, other: Store, clock: Clock) -> None:
    from drill.sessions.today import today

    take_in(other, 1, json.dumps(export(played, 1, clock())))
    before, after = today(played, 1, clock()), today(other, 1, clock())
    assert after == before
    assert after.running is not None


def test_an_export_from_before_there_were_languages_is_taken_in(played: Store, other: Store, clock: Clock) -> None:
    document = export(played, 1, clock())
    del document["player"]["language"]
    take_in(other, 1, json.dumps({**_without_barres(document), "version": 2}))
    assert export(other, 1, clock()) == export(played, 1, clock())
    with pytest.raises(ArchiveError, match="player has no language"):
        read(json.dumps({**_without_barres(document), "version": 3}))


def test_an_export_from_before_there_was_a_choice_of_barres_is_taken_in(
    played: Store, other: Store, clock: Clock
) -> None:
    document = export(played, 1, clock())
    take_in(other, 1, json.dumps({**_without_barres(document), "version": 3}))
    assert export(other, 1, clock()) == document
    with pytest.raises(ArchiveError, match=r"sessions\[0\] has no barre"):
        read(json.dumps({**_without_barres(document), "version": 4}))


def test_pins_are_taken_along(played: Store, other: Store, clock: Clock) -> None:
    pin(played, 1, "Eb:4:box1:x688xx")
    document = export(played, 1, clock())
    take_in(other, 1, json.dumps(document))
    assert export(other, 1, clock())["player"]["pins"] == ["Eb:4:box1:x688xx"]
    document["sessions"][0]["pins"] = ["Eb:4:box1"]
    with pytest.raises(ArchiveError, match=r"sessions\[0\]: no grip"):
        read(json.dumps(document))


def _without_barres(document: dict[str, Any]) -> dict[str, Any]:
    """Return a document as it was before version 4."""
    rows = [document["player"], *document["sessions"]]
    player, *sessions = [
        {name: value for name, value in row.items() if name not in {"barre", "pins", "tired"}} for row in rows
    ]
    questions = [
        {name: value for name, value in question.items() if name != "dropped"} for question in document["questions"]
    ]
    return {**document, "player": player, "sessions": sessions, "questions": questions}


def test_an_export_from_before_there_was_the_open_position_brings_none_of_its_cards(
    played: Store, other: Store, clock: Clock
) -> None:
    document = export(played, 1, clock())
    document["player"]["switched_off"] = ["box:5"]
    take_in(other, 1, json.dumps({**_without_barres(document), "version": 3}))
    assert export(other, 1, clock())["player"]["switched_off"] == ["box:5", "open position"]
    assert list(read(json.dumps(document)).player["switched_off"]) == ["box:5"]


def test_an_export_holds_what_is_told_in_the_documents(played: Store, clock: Clock) -> None:
    document = export(played, 1, clock())
    assert list(document) == [
        "format",
        "version",
        "exported_at",
        "player",
        "fits",
        "jams",
        "sessions",
        "tunes",
        "questions",
        "set_list",
        "reviews",
        "mistaps",
    ]
    readme = (Path(__file__).parents[3] / "drill" / "export" / "README.md").read_text()
    told = readme.partition("## The format")[2].partition("\n## ")[0]
    for table in ("player", "sessions", "questions", "reviews", "mistaps", "tunes", "jams", "set_list"):
        rows = document[table] if isinstance(document[table], list) else [document[table]]
        for column in rows[0]:
            assert f"`{column}`" in told, f"{table}.{column}"


def test_it_is_taken_in_only_where_nobody_has_played(played: Store, clock: Clock) -> None:
    with pytest.raises(ArchiveError, match="empty installation"):
        take_in(played, 1, json.dumps(export(played, 1, clock())))


def test_a_tune_alone_is_something_too(played: Store, other: Store, clock: Clock) -> None:
    set_list(other)
    with pytest.raises(ArchiveError, match="empty installation"):
        take_in(other, 1, json.dumps(export(played, 1, clock())))


def test_what_is_no_export_is_refused_with_its_place() -> None:
    for text, says in (
        ("", "line 1, column 1: not JSON"),
        ('{"format": "anchor-drill",\n "version" 1}', "line 2, column 12: not JSON"),
        ("[1, 2]", "no export of Anchor Drill"),
        ('{"format": "tunes"}', "no export of Anchor Drill"),
        ('{"format": "anchor-drill", "version": 9}', "this installation reads 2, 3, 4, not 9"),
        ('{"format": "anchor-drill", "version": 2}', "the document has no exported_at"),
        ('{"format": NaN}', "NaN is no number"),
        ("[" * 100_000, "too many brackets"),
    ):
        with pytest.raises(ArchiveError, match=says):
            read(text)


def test_a_mark_that_an_editor_put_before_a_file_changes_nothing(played: Store, other: Store, clock: Clock) -> None:
    assert take_in(other, 1, "\ufeff" + json.dumps(export(played, 1, clock()))) == 6


def change(table: str, number: int, column: str, value: object) -> Callable[[Document], object]:
    def changed(document: Document) -> None:
        document[table][number][column] = value

    return changed


def drop(*path: Any) -> Callable[[Document], object]:
    def changed(document: Document) -> None:
        *others, last = path
        inside: Any = document
        for step in others:
            inside = inside[step]
        del inside[last]

    return changed


def a_fit(parameters: dict[str, Any]) -> Callable[[Document], object]:
    values = {"version": 1, "made_at": EVENING.isoformat(), "loss_before": 0.5, "loss_after": 0.4, "adopted": True}
    return lambda document: document["fits"].append({**values, "parameters": parameters})


BROKEN = [
    (change("reviews", 2, "answered_at", "soon"), r'reviews\[2\].answered_at is "soon": an instant with its zone'),
    (change("reviews", 2, "answered_at", "2026-05-01T18:00:00"), r"reviews\[2\].answered_at .*with its zone"),
    (change("reviews", 1, "outcome", "good"), r"reviews\[1\].outcome must be one of clean, late, missed"),
    (
        lambda document: document["reviews"][1].update(right=not document["reviews"][1]["right"]),
        r"reviews\[1\].right must be (true|false) where the outcome is ",
    ),
    (change("reviews", 0, "seconds", "3"), r'reviews\[0\].seconds is "3": a number'),
    (change("reviews", 0, "seconds", -1), r"reviews\[0\].seconds must be 0 or more"),
    (
        lambda document: (document["mistaps"].clear(), document["reviews"][0].update(id="x" * 32)),
        r"reviews\[0\].id must be 32 digits",
    ),
    (change("reviews", 0, "id", "0" * 40), r"reviews\[0\].id is longer than 32"),
    (change("reviews", 0, "given", {"solo": True}), r"reviews\[0\].given: an answer has no part solo"),
    (change("reviews", 0, "given", [1]), r"reviews\[0\].given"),
    (change("reviews", 0, "given", []), r"reviews\[0\].given"),
    (change("questions", 0, "reason", "nope"), r"questions\[0\].reason"),
    (change("questions", 0, "reason", "why-fading"), r"questions\[0\].reason"),
    (change("questions", 0, "reason_values", []), r"questions\[0\].reason_values"),
    (change("sessions", 0, "highest", -1), r"sessions\[0\].highest"),
    (change("sessions", 0, "minutes", -5), r"sessions\[0\].minutes"),
    (change("sessions", 0, "visible_seconds", -1.0), r"sessions\[0\].visible_seconds"),
    (change("reviews", 0, "question", 99), r"reviews\[0\].session_id and question: no such row in questions"),
    (change("reviews", 0, "mode", "telepathy"), r"reviews\[0\].mode must be one of touch"),
    (change("reviews", 0, "answered_at", "0001-01-01T00:00:00+14:00"), r"reviews\[0\].answered_at .*with its zone"),
    (change("reviews", 0, "allowance", -9), r"reviews\[0\].allowance must be 0 or more"),
    (change("reviews", 0, "drawn", []), r"reviews\[0\].drawn must be an object"),
    (change("reviews", 0, "drawn", {"beats": 0}), r"reviews\[0\].drawn.beats must be more than 0"),
    (change("reviews", 0, "tempo", 0), r"reviews\[0\].tempo must be from 1 to 1000"),
    (change("questions", 0, "reason", "why\0"), r"questions\[0\].reason is .*: a text"),
    (change("sessions", 0, "tab", "\ud800"), r"sessions\[0\].tab is .*: a text"),
    (change("reviews", 0, "tempo", True), r"reviews\[0\].tempo is true: a whole number"),
    (change("questions", 3, "card", "name:H:4"), r'questions\[3\].card: no card "name:H:4"'),
    (change("questions", 3, "reason_values", "x"), r'questions\[3\].reason_values is "x": an object'),
    (change("sessions", 0, "tuning", "banjo"), r"sessions\[0\]: "),
    (change("sessions", 0, "hand", "third"), r"sessions\[0\].hand must be one of small, medium, large"),
    (change("sessions", 0, "frets", 90), r"sessions\[0\]: "),
    (change("sessions", 0, "tempo", 0), r"sessions\[0\].tempo must be from 1 to 1000"),
    (change("sessions", 0, "hand", None), r"sessions\[0\].hand is null: a text"),
    (change("mistaps", 0, "review_id", "0" * 32), r"mistaps\[0\].review_id: no such row in reviews"),
    (lambda document: document["player"].update(tempo=1000), r"player.tempo: a tempo is from 30 to 240"),
    (lambda document: document["reviews"].append(document["reviews"][0]), r"reviews\[7\]: there twice, by its "),
    (lambda document: document["reviews"][0].update(lucky=1), r"reviews\[0\] has lucky, which is not known here"),
    (lambda document: document.update(songs=[]), "the document has songs, which is not known here"),
    (lambda document: document.update(reviews={}), "reviews is not a list"),
    (lambda document: document["reviews"].append(3), r"reviews\[7\] is not an object"),
    (drop("reviews", 1, "card"), r"reviews\[1\] has no card"),
    (change("sessions", 0, "kind", "nap"), r"sessions\[0\].kind must be one of drill, last look"),
    (change("questions", 0, "beats", 0), r"questions\[0\].beats must be more than 0"),
    (change("tunes", 0, "chart", {"key": "E"}), r"tunes\[0\].chart: this is no kept chart"),
    (change("jams", 0, "boxes", [6]), r"jams\[0\].boxes must be a list of boxes"),
    (change("set_list", 0, "key", "X"), r"set_list\[0\].key: "),
    (change("set_list", 0, "key", ""), r"set_list\[0\].key: "),
    (change("jams", 0, "boxes", [True]), r"jams\[0\].boxes must be a list of boxes"),
    (change("jams", 0, "at", "0001-01-01T00:00:00+00:00"), r"jams\[0\].at .*, from 2000 to 2099"),
    (change("reviews", 0, "answered_at", "9999-12-31T23:59:59+00:00"), r"reviews\[0\].answered_at .*from 2000"),
    (lambda document: document["tunes"][0]["chart"].update(tempo="x"), r"tunes\[0\].chart: .*'x' is no number above 0"),
    (lambda document: document["tunes"][0]["chart"].update(time="4"), r"tunes\[0\].chart: .*'4' is no metre"),
    (lambda document: document["player"].update(fit=3), r"player.fit must be 0 or the version of one of fits"),
    (a_fit({"card": {"days": 0.0}}), r"fits\[0\].parameters must be what the model can be worked out by"),
    (a_fit({"spread": "wide"}), r"fits\[0\].parameters must be"),
    (change("set_list", 0, "tempo", 0), r"set_list\[0\].tempo must be from 1"),
    (change("set_list", 0, "tune_id", "0" * 32), r"set_list\[0\].tune_id: no such row in tunes"),
    (drop("mistaps"), "the document has no mistaps"),
    (drop("player", "zone"), "player has no zone"),
]


def test_a_broken_document_is_refused_whole_with_what_and_where(played: Store, other: Store, clock: Clock) -> None:
    whole = export(played, 1, clock())
    for break_it, says in BROKEN:
        document = copy.deepcopy(whole)
        break_it(document)
        with pytest.raises(ArchiveError, match=says):
            take_in(other, 1, json.dumps(document))
    assert export(other, 1, clock())["sessions"] == []
    assert take_in(other, 1, json.dumps(whole)) == 6, "nothing was left behind"


def test_an_import_that_is_broken_off_leaves_nothing(
    played: Store, other: Store, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    document = json.dumps(export(played, 1, clock()))

    def broken_off(*_: object) -> int:
        raise KeyboardInterrupt

    with monkeypatch.context() as at_the_end:
        at_the_end.setattr("drill.export.document.relearn_within", broken_off)
        with pytest.raises(KeyboardInterrupt):
            take_in(other, 1, document)
    assert take_in(other, 1, document) > 0


def test_reviews_come_as_csv(store: Store) -> None:
    log = write(store, [*lines("place:Ab:4.7:box1", "ml", NOW), *lines("name:Bb:2", "c", NOW + timedelta(days=1))])
    with store.writing(1) as (db, _):
        db.add(Mistap(review_id=log[0].id, player_id=1, received_at=NOW))
    first, second, third = csv.DictReader(io.StringIO("".join(export_csv(store, 1))))
    assert (first["key"], first["number"], first["box"], first["mistap"]) == ("A♭", "4 seventh", "1", "true")
    assert (second["outcome"], second["right"], second["seconds"], second["mistap"]) == ("late", "true", "3.0", "false")
    assert (third["card"], third["ask"], third["box"]) == ("name:Bb:2", "name", "")
    assert third["answered_at"] == (NOW + timedelta(days=1)).isoformat()


def test_the_page_takes_away_and_brings_back(played: Store, client: FlaskClient) -> None:
    reply = client.get("/api/export")
    assert reply.headers["Content-Disposition"] == "attachment; filename=anchor-drill-2026-05-01.json"
    assert reply.json["format"] == "anchor-drill"
    listed = client.get("/api/export.csv")
    assert listed.content_type == "text/csv; charset=utf-8"
    assert len(listed.text.splitlines()) == 8
    headers = {"Content-Type": "application/json"}
    refused = client.post("/api/import", data=reply.data, headers=headers)
    assert (refused.status_code, "empty installation" in refused.json["error"]) == (422, True)
    assert "not JSON" in client.post("/api/import", data=b"{", headers=headers).json["error"]
    assert "byte 0" in client.post("/api/import", data=b"\xff\xfe", headers=headers).json["error"]
    other_page = {**headers, "Origin": "http://elsewhere.example"}
    assert client.post("/api/import", data=reply.data, headers=other_page).status_code == 403


def test_an_export_larger_than_other_requests_is_taken_in(client: FlaskClient) -> None:
    padded = b" " * 200_000 + b"{}"
    reply = client.post("/api/import", data=padded, headers={"Content-Type": "application/json"})
    assert "no export" in reply.json["error"]


def test_the_commands_take_away_and_bring_back(played: Store, tmp_path: Path) -> None:
    run = CliRunner().invoke
    file = tmp_path / "mine.json"
    assert run(main, ["export", "--data", str(tmp_path), "-o", str(file)]).exit_code == 0
    assert json.loads(file.read_text())["player"]["tempo"] == 96
    said = run(main, ["export", "--csv", "--data", str(tmp_path)])
    assert said.output.startswith("answered_at,card,")
    said = run(main, ["import", str(file), "--data", str(tmp_path / "new")])
    assert said.output == "Taken in: 6 reviews.\n"
    again = run(main, ["import", str(file), "--data", str(tmp_path / "new")])
    assert again.exit_code == 1
    assert "empty installation" in again.output
    file.write_text("{")
    assert "line 1, column 2: not JSON" in run(main, ["import", str(file), "--data", str(tmp_path / "third")]).output
    assert "cannot be written" in run(main, ["export", "--data", str(tmp_path), "-o", str(tmp_path)]).output
