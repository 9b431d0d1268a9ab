"""Tunes kept on both databases: what is kept of a chart, and what is told of one that is not."""

from __future__ import annotations

import logging
import re
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from flask import Flask
from sqlalchemy import text

from cards.charts import plain, read_chart
from cards.charts.forms import form
from cards.theory.keys import Key
from drill.store import Store
from drill.store.models import Base, Jam, SetListEntry
from drill.tunes import library
from drill.tunes.library import ChangedElsewhereError, NoTuneError, TuneError, chart_of, keep
from tests.conftest import EVENING
from tests.drill.tunes.test_uploads import encoded, zipped

BLUES = form("12-bar blues", Key.read("Bb"))
LATER = EVENING + timedelta(minutes=1)


@pytest.mark.both_databases
def test_a_tune_comes_back_as_it_was_kept(store: Store) -> None:
    song = read_chart("{capo: 2}\n{tempo: 88}\n{start_of_verse: Verse ♭}\n[G]la [(D/F#)]la [N.C.] [Em7]la")
    tune_id = keep(store, 1, "  Slow \n blues\0 ", song, EVENING)
    kept = library.tune(store, 1, tune_id)
    assert kept.title == "Slow blues"
    assert (kept.made_at, kept.changed_at) == (EVENING, EVENING)
    assert plain(chart_of(kept)) == {**plain(song), "title": "Slow blues"}


@pytest.mark.both_databases
def test_a_tune_read_elsewhere_is_not_overwritten_unseen(store: Store) -> None:
    tune_id = keep(store, 1, "Slow blues", BLUES, EVENING)
    keep(store, 1, "Slower blues", BLUES, LATER, tune_id, EVENING)
    with pytest.raises(ChangedElsewhereError, match="changed elsewhere"):
        keep(store, 1, "Slowest blues", BLUES, LATER, tune_id, EVENING)
    assert library.tune(store, 1, tune_id).title == "Slower blues"


@pytest.mark.both_databases
def test_a_deleted_tune_can_be_had_back(store: Store) -> None:
    tune_id = keep(store, 1, "Vamp", BLUES, EVENING)
    library.delete(store, 1, tune_id, LATER)
    assert list(library.tunes(store, 1)) == []
    library.restore(store, 1, tune_id)
    assert [each.title for each in library.tunes(store, 1)] == ["Vamp"]
    library.delete(store, 1, tune_id, LATER)
    keep(store, 1, "Vamp", BLUES, LATER, tune_id, EVENING)
    assert [each.title for each in library.tunes(store, 1)] == ["Vamp"]


def test_tunes_stand_by_title_whatever_its_capitals(store: Store) -> None:
    for title in ("vamp", "Blues", "Ärger", "blues 2"):
        keep(store, 1, title, BLUES, EVENING)
    assert [each.title for each in library.tunes(store, 1)] == ["Blues", "blues 2", "vamp", "Ärger"]


def test_which_jams_have_a_tune(store: Store) -> None:
    tune_id = keep(store, 1, "Vamp", BLUES, EVENING)
    with store.writing(1) as (db, _):
        for number, name in enumerate(("Later jam", "Open jam", "Deleted jam")):
            at = EVENING + timedelta(days=3 - number)
            deleted = EVENING if number == 2 else None
            jam = {"id": f"{number:032x}", "player_id": 1, "place": "", "boxes": [1], "made_at": EVENING}
            db.add(Jam(name=name, at=at, deleted_at=deleted, **jam))
            db.flush()
            entry = {"id": f"{number:032x}", "player_id": 1, "key": None, "tempo": None}
            db.add(SetListEntry(jam_id=f"{number:032x}", tune_id=tune_id, position=0, **entry))
    assert {each: [jam.name for jam in jams] for each, jams in library.played_at(store, 1).items()} == {
        tune_id: ["Open jam", "Later jam"]
    }


@pytest.mark.parametrize("title", [None, 7, "", " \n ", "\0", "\ud800", "x" * 121])
def test_a_title_that_is_none_is_told(store: Store, title: object) -> None:
    with pytest.raises(TuneError, match="title") as told:
        keep(store, 1, title, BLUES, EVENING)
    assert told.value.field == "title"


@pytest.mark.parametrize("chart", ["", "la la la", "| N.C. |"])
def test_a_chart_without_a_chord_is_told(store: Store, chart: str) -> None:
    with pytest.raises(TuneError, match="no chord in it yet") as told:
        keep(store, 1, "Silence", read_chart(chart), EVENING)
    assert told.value.field == "chart"


@pytest.mark.parametrize("tune_id", ["", "x", "0" * 32, "A" * 32, "\0" * 32])
def test_what_is_not_there(store: Store, tune_id: str) -> None:
    with pytest.raises(NoTuneError):
        library.tune(store, 1, tune_id)
    with pytest.raises(NoTuneError):
        library.delete(store, 1, tune_id, EVENING)
    with pytest.raises(NoTuneError):
        keep(store, 1, "Vamp", BLUES, EVENING, tune_id, EVENING)


WORD = "Marmalade"
SHEETS = (
    f"{{t: Two chords}}\n{{st: {WORD}}}\n{{artist: {WORD}}}\n"
    f"{{c: Verse 1 {WORD}}}\n{{key: {WORD}}}\n{{tempo: {WORD}}}\n"
    f"[G]{WORD} [{WORD}] [*{WORD}] [C {WORD} [D{WORD}]\n{WORD} {WORD}\n# {WORD}\n"
    f"{{sot: {WORD}}}\ne|--{WORD}--|\n{{eot}}\n{{define: {WORD} frets 1 2 3}}\n[G](({WORD})) [{WORD}](G)\n",
    f"{WORD} {WORD}\n\nG   {WORD}7   C  D\n{WORD} {WORD}\nC  D  Em  # {WORD}\n{WORD} (x2)\n",
    f"{WORD}\n\n| G | C {WORD} | D | ({WORD}) |\n{WORD}\n",
    f"1 4 5 {WORD} 1 4 # {WORD}\n{WORD} oh {WORD}\n1 4 5 1\n",
    f"{WORD}\n# Two chords\n{WORD}\n```\n[G]{WORD}\n[C]{WORD}\n```\n{WORD}\n",
)


def kept_texts(app: Flask, files: Path) -> Iterator[str]:
    """Everything in the database as text, and on SQLite the bytes of its files."""
    store = app.extensions["drill"].store
    with store.reading() as db:
        for table in Base.metadata.sorted_tables:
            yield from (str(tuple(row)) for row in db.execute(text(f'SELECT * FROM "{table.name}"')))
    yield from (path.read_bytes().decode("latin-1") for path in files.glob("*.sqlite*"))


@pytest.mark.both_databases
def test_no_word_of_a_song_is_kept_or_logged(app: Flask, tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.DEBUG)
    client = app.test_client()
    for number, sheet in enumerate(SHEETS):
        read = client.post("/api/charts/read", json={"text": sheet})
        assert read.status_code == 200
        made = client.post("/api/tunes", json={"title": f"Tune {number}", "text": sheet})
        assert made.status_code == 201
        assert WORD not in made.text
        changed = {"title": f"Tune {number}", "text": f"{sheet}\n{sheet}", "changed_at": made.json["changed_at"]}
        assert client.put(f"/api/tunes/{made.json['id']}", json=changed).status_code == 200
        for data in (sheet.encode(), sheet.encode("utf-16"), zipped({f"Song {number}.txt": sheet.encode()})):
            sent = client.post("/api/tunes/files", json={"name": f"File {number}", "data": encoded(data)})
            assert [each["tune"]["title"] for each in sent.json["files"]]
            assert WORD not in sent.text
    assert client.post("/api/tunes", json={"title": "", "text": SHEETS[0]}).status_code == 422
    assert client.post("/api/tunes", json={"title": 7, "text": WORD}).status_code == 422
    everything = "\n".join(kept_texts(app, tmp_path))
    assert everything.count("Two chords") > 1
    assert not re.search(WORD, everything, re.IGNORECASE)
    assert WORD not in caplog.text
