"""What a jam's page is told of its readiness, and the first page of the next jam."""

from __future__ import annotations

from datetime import timedelta

import pytest
from flask.testing import FlaskClient

from cards.theory.keys import Key
from cards.theory.numerals import own_numeral
from drill.store import Store
from drill.words import say_place
from tests.conftest import EVENING, Clock
from tests.drill.logs import lines, write
from tests.drill.nights import a_chart, blues, put_jam

IN_A_WEEK = EVENING + timedelta(days=7)
TUNES = (
    ("Slow blues", blues("Bb"), 60),
    ("Two-chord vamp", a_chart("[Verse]\n| 1 | 4 |\n[Bridge]\n| 1 | b7 |", "E"), 96),
)
KNOWN = ("Bb-blues:1", "Bb-blues:4", "Bb-blues:5", "E:1", "E:4")


def known(store: Store) -> None:
    """All but the borrowed chord was drilled well."""
    log = [line for card in KNOWN for line in lines(f"hands-on:{card}:box1", "cccccc", EVENING - timedelta(days=3))]
    write(store, sorted(log, key=lambda line: line[3]))


@pytest.mark.both_databases
def test_the_night_and_every_tune_are_told_in_words_and_figures(store: Store, client: FlaskClient) -> None:
    known(store)
    jam = put_jam(store, *TUNES, at=IN_A_WEEK)
    reply = client.get(f"/api/jams/{jam}/readiness")
    assert reply.status_code == 200
    night, tunes = reply.json["night"], reply.json["tunes"]
    assert (night["changes"], [tune["share"]["changes"] for tune in tunes]) == (11, [7, 4])
    assert 0 <= night["low"] < night["percent"] < night["high"] <= 100
    figures = f"{night['percent']} of 100 changes"
    assert reply.json["words"] == [
        f"If nothing more is drilled: {figures} clean on the night ({night['low']} to {night['high']})."
    ]
    assert reply.json["line"] == f"Ready for {figures} ({night['low']} to {night['high']})."
    assert [(tune["title"], tune["key"], tune["tempo"]) for tune in tunes] == [
        ("Slow blues", "B♭ blues", 60), ("Two-chord vamp", "E", 96),
    ]  # fmt: skip


def test_the_shakiest_is_named_with_its_place(store: Store, client: FlaskClient) -> None:
    known(store)
    jam = put_jam(store, *TUNES, at=IN_A_WEEK)
    shakiest = client.get(f"/api/jams/{jam}/readiness").json["shakiest"]
    assert shakiest[0]["words"] == "♭VII (D) in bar 2 of the bridge of Two-chord vamp"
    assert shakiest[0]["card"] == "hands-on:E:b7_major:box1"
    assert len(shakiest) == 3
    assert [each["percent"] for each in shakiest] == sorted(each["percent"] for each in shakiest)


def test_with_several_boxes_the_box_is_named_too(store: Store, client: FlaskClient) -> None:
    known(store)
    jam = put_jam(store, *TUNES, at=IN_A_WEEK, boxes=(1, 2))
    found = client.get(f"/api/jams/{jam}/readiness").json
    assert found["night"]["changes"] == 22
    assert all(each["words"].endswith((", box 1", ", box 2", " times)")) for each in found["shakiest"])


@pytest.mark.both_databases
def test_practice_ahead_is_told_with_the_minutes_that_it_takes(store: Store, client: FlaskClient) -> None:
    known(store)
    jam = put_jam(store, *TUNES, at=IN_A_WEEK + timedelta(hours=1))
    now = client.get(f"/api/jams/{jam}/readiness").json["night"]
    reply = client.get(f"/api/jams/{jam}/readiness/ahead")
    assert reply.status_code == 200
    night = reply.json["night"]
    assert night["percent"] > now["percent"]
    said, needed = reply.json["words"]
    clean = f"{night['percent']} of 100 clean ({night['low']} to {night['high']})."
    assert said == f"With 5 minutes on each of the 8 days left: {clean}"
    assert "90 of 100" in needed
    assert [tune["changes"] for tune in reply.json["tunes"]] == [7, 4]
    assert client.get(f"/api/jams/{jam}/readiness/ahead").json == reply.json


def test_of_a_night_far_off_only_the_last_weeks_are_played_ahead(store: Store, client: FlaskClient) -> None:
    known(store)
    jam = put_jam(store, *TUNES, at=EVENING + timedelta(days=400))
    said, needed = client.get(f"/api/jams/{jam}/readiness/ahead").json["words"]
    assert said.startswith("With 5 minutes on each of the 28 days of the last four weeks before it: ")
    assert said.endswith("What you drill before then comes on top.")
    assert "date is too near" not in needed


def test_an_answer_given_meanwhile_counts_at_once(store: Store, client: FlaskClient) -> None:
    jam = put_jam(store, *TUNES, at=IN_A_WEEK)
    before = client.get(f"/api/jams/{jam}/readiness").json["night"]["percent"]
    known(store)
    assert client.get(f"/api/jams/{jam}/readiness").json["night"]["percent"] > before


def test_a_jam_without_tunes_says_what_will_be_here(store: Store, client: FlaskClient) -> None:
    jam = put_jam(store, at=IN_A_WEEK)
    found = client.get(f"/api/jams/{jam}/readiness").json
    assert (found["night"], found["tunes"], found["line"]) == (None, [], None)
    assert found["words"] == ["No tune is on the set list yet: readiness shows here once there is one."]
    assert client.get(f"/api/jams/{jam}/readiness/ahead").json["words"] == []


def test_a_jam_that_is_over_tells_no_readiness(store: Store, client: FlaskClient) -> None:
    jam = put_jam(store, *TUNES, at=EVENING - timedelta(days=1))
    found = client.get(f"/api/jams/{jam}/readiness").json
    assert (found["over"], found["words"]) == (True, ["This jam is over: readiness is shown for jams to come."])


def test_chords_without_room_are_named_and_not_counted(store: Store, client: FlaskClient) -> None:
    client.put("/api/settings", json={"highest": 5})
    jam = put_jam(store, ("High", a_chart("| Ab | Db |", "Ab"), 60), at=IN_A_WEEK, boxes=(1, 4))
    found = client.get(f"/api/jams/{jam}/readiness").json
    assert found["night"]["changes"] == 2
    assert found["words"][1] == (
        "No room on your guitar, so not counted: I (A♭) in bar 1 of High, box 4, IV (D♭) in bar 2 of High, box 4."
    )
    jam = put_jam(store, ("High", a_chart("| Ab | Db |", "Ab"), 60), at=IN_A_WEEK, boxes=(4,))
    found = client.get(f"/api/jams/{jam}/readiness").json
    assert (found["night"], found["words"]) == (
        None, ["None of its chords has room on your guitar in the chosen box."],
    )  # fmt: skip


def test_without_a_day_of_practice_left_that_is_said(store: Store, client: FlaskClient) -> None:
    client.put("/api/settings", json={"days": ["wed"]})
    jam = put_jam(store, *TUNES, at=EVENING + timedelta(days=2))
    assert client.get(f"/api/jams/{jam}/readiness/ahead").json["words"] == ["No day of practice is left before it."]


@pytest.mark.parametrize("jam", ["f" * 32, "x", "F" * 32, "1e9"])
def test_no_such_jam_is_a_sentence(client: FlaskClient, jam: str) -> None:
    for part in ("readiness", "readiness/ahead"):
        reply = client.get(f"/api/jams/{jam}/{part}")
        assert (reply.status_code, reply.json["error"]) == (404, "there is no such jam")


@pytest.mark.both_databases
def test_the_first_page_names_the_next_jam(store: Store, client: FlaskClient, clock: Clock) -> None:
    assert client.get("/api/player").json["jam"] is None
    jam = put_jam(store, *TUNES, at=EVENING + timedelta(days=2, hours=2))
    said = []
    for _ in range(3):
        found = client.get("/api/player").json["jam"]
        assert found["id"] == jam
        said.append((found["days"], found["words"]))
        clock.go_on(days=1)
    assert said == [(2, "Open jam is in 2 days."), (1, "Open jam is tomorrow."), (0, "Open jam is today.")]
    assert client.get("/api/player").json["jam"] is None


def test_a_jam_after_midnight_belongs_to_the_evening(store: Store, client: FlaskClient) -> None:
    put_jam(store, *TUNES, at=EVENING + timedelta(hours=7))
    assert client.get("/api/player").json["jam"]["days"] == 0


@pytest.mark.parametrize(
    ("section", "said"),
    [("Chorus", " of the chorus"), ("Verse 2", " of Verse 2"), ("A", " of section A"), ("", "")],
)
def test_sections_are_said_as_players_do(section: str, said: str) -> None:
    key = Key.read("E")
    assert say_place(own_numeral(key, 4), key, section, 2, "Slow vamp") == f"IV (A) in bar 2{said} of Slow vamp"
    assert say_place(own_numeral(key, 4), key, section, 2) == f"IV (A) in bar 2{said}"
