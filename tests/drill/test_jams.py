"""Jams: made, copied, put in order, called in other keys, had back; as a calendar file."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest
from flask.testing import FlaskClient
from icalendar import Calendar

from drill.jams import JamError, night, read_local
from drill.store import Store
from tests.conftest import Clock
from tests.drill.test_web_tunes import add


def jam(client: FlaskClient, **more: Any) -> Any:
    reply = client.post("/api/jams", json={"name": "Open jam", "at": "2026-05-08T20:00", **more})
    assert reply.status_code == 201, reply.json
    return reply.json


def arrange(client: FlaskClient, found: Any, entries: list[dict[str, Any]]) -> Any:
    body = {"was": [each["id"] for each in found["entries"]], "entries": entries}
    return client.put(f"/api/jams/{found['id']}/set-list", json=body)


@pytest.fixture
def filled(client: FlaskClient) -> Any:
    """A jam with a slow blues, a vamp and a minor blues."""
    made = jam(client, place="the back room", boxes=[2, 1, 2])
    tunes = [
        add(client, "Slow blues", "| Bb7 | Eb7 | Bb7 | F7 |", tempo=66),
        add(client, "Vamp", "Key: A\n1 b7"),
        add(client, "Minor blues", "| F#m7 | Bm7 | C#7 |"),
    ]
    return arrange(client, made, [{"tune": tune["id"], "key": None, "tempo": None} for tune in tunes]).json


@pytest.mark.both_databases
def test_a_tune_is_played_in_the_key_called_and_stays_as_it_is(
    client: FlaskClient, store: Store, filled: Any, clock: Clock
) -> None:
    entries = filled["entries"]
    entries[0] |= {"key": "Eb blues", "tempo": 80}
    entries[2] |= {"key": "Gm"}
    reply = arrange(client, filled, entries).json
    assert [each["plays_in"] for each in reply["entries"]] == ["E♭ blues", "A", "Gm"]
    assert [each["plays_at"] for each in reply["entries"]] == [80, 80, 80]
    assert reply["entries"][0]["chords"] == ["E♭7", "A♭7", "B♭7"]
    found = night(store, 1, filled["id"], clock())
    assert [str(each.own_key) for each in found.entries] == ["B♭ blues", "A", "F♯m"]
    assert client.get(f"/api/tunes/{entries[0]['tune']}").json["key"] == "B♭ blues"
    assert (found.local.isoformat()[:16], found.jam.boxes, found.days) == ("2026-05-08T20:00", [1, 2], 7)


def test_the_order_changes_entries_come_and_go(client: FlaskClient, filled: Any) -> None:
    one, two, three = filled["entries"]
    turned = arrange(client, filled, [three, one]).json
    assert [each["title"] for each in turned["entries"]] == ["Minor blues", "Slow blues"]
    back = arrange(client, turned, [turned["entries"][0], {**two, "id": None}, turned["entries"][1]]).json
    assert [each["title"] for each in back["entries"]] == ["Minor blues", "Vamp", "Slow blues"]
    twice = arrange(client, back, [*back["entries"], {**one, "id": None}]).json
    assert len(twice["entries"]) == 4, "a tune may be played twice"


def test_an_order_that_was_changed_elsewhere_is_not_overwritten(client: FlaskClient, filled: Any) -> None:
    one, two, three = filled["entries"]
    arrange(client, filled, [two, one, three])
    refused = arrange(client, filled, [three, two, one])
    assert refused.status_code == 409
    assert [each["title"] for each in refused.json["jam"]["entries"]] == ["Vamp", "Slow blues", "Minor blues"]


@pytest.mark.parametrize(
    ("entry", "field"),
    [
        ({"tune": "0" * 32}, "entries"),
        ({"tune": 4}, "entries"),
        (4, "entries"),
        ({"key": "H"}, "key"),
        ({"tempo": 500}, "tempo"),
        ({"tempo": True}, "tempo"),
    ],
)
def test_a_wrong_entry_changes_nothing(client: FlaskClient, filled: Any, entry: Any, field: str) -> None:
    wrong = {**filled["entries"][0], "id": None, **entry} if isinstance(entry, dict) else entry
    reply = arrange(client, filled, [wrong])
    assert (reply.status_code, reply.json["field"]) == (422, field)
    assert client.get(f"/api/jams/{filled['id']}").json["entries"] == filled["entries"]


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"name": " "}, "name"),
        ({"name": "x" * 121}, "name"),
        ({"at": ""}, "at"),
        ({"at": "2026-05-08T20:00+02:00"}, "at"),
        ({"at": "tomorrow"}, "at"),
        ({"place": 5}, "place"),
        ({"boxes": []}, "boxes"),
        ({"boxes": [6]}, "boxes"),
        ({"boxes": [True]}, "boxes"),
    ],
)
def test_a_wrong_value_is_said_with_its_field(client: FlaskClient, more: dict[str, Any], field: str) -> None:
    made = jam(client)
    for reply in (
        client.post("/api/jams", json={"name": "Jam", "at": "2026-05-08T20:00", **more}),
        client.put(f"/api/jams/{made['id']}", json=more),
    ):
        assert (reply.status_code, reply.json["field"]) == (422, field)


def test_a_jam_needs_a_name_and_a_time(client: FlaskClient) -> None:
    assert client.post("/api/jams", json={"at": "2026-05-08T20:00"}).json["field"] == "name"
    assert client.post("/api/jams", json={"name": "Open jam"}).json["field"] == "at"


def test_times_around_a_change_of_the_clocks() -> None:
    with pytest.raises(JamError, match=r"no 02:30 on that day.*03:30"):
        read_local("2026-03-29T02:30", "Europe/Rome")
    assert read_local("2026-10-25T02:30", "Europe/Rome") == datetime(2026, 10, 25, 0, 30, tzinfo=UTC), "the first"


def test_a_copy_has_the_same_set_list_on_another_date(client: FlaskClient, filled: Any) -> None:
    entries = filled["entries"]
    entries[1]["key"] = "G"
    arrange(client, filled, entries)
    copy = client.post(f"/api/jams/{filled['id']}/copies", json={"at": "2026-05-15T20:00"}).json
    assert copy["id"] != filled["id"]
    assert [(each["title"], each["plays_in"]) for each in copy["entries"]][1] == ("Vamp", "G")
    assert (copy["name"], copy["place"], copy["local"]) == ("Open jam", "the back room", "2026-05-15T20:00")
    assert client.post(f"/api/jams/{filled['id']}/copies", json={}).json["field"] == "at"


def test_past_jams_stay_and_a_deleted_one_can_be_had_back(client: FlaskClient, clock: Clock) -> None:
    made = jam(client)
    clock.go_on(days=8)
    assert [(each["id"], each["past"]) for each in client.get("/api/jams").json["jams"]] == [(made["id"], True)]
    client.delete(f"/api/jams/{made['id']}", json={})
    assert client.get("/api/jams").json["jams"] == []
    assert client.post(f"/api/jams/{made['id']}/back", json={}).json["deleted"] is False
    assert len(client.get("/api/jams").json["jams"]) == 1


def test_a_deleted_tune_is_still_played_that_night(client: FlaskClient, filled: Any) -> None:
    client.delete(f"/api/tunes/{filled['entries'][0]['tune']}", json={})
    assert client.get(f"/api/jams/{filled['id']}").json["entries"][0]["title"] == "Slow blues"


def test_there_is_no_other_jam(client: FlaskClient) -> None:
    for address in (f"/api/jams/{'0' * 32}", "/api/jams/nothing", f"/api/jams/{'0' * 32}/calendar.ics"):
        assert client.get(address).status_code == 404


def events(client: FlaskClient, jam_id: str) -> tuple[Calendar, list[Any]]:
    reply = client.get(f"/api/jams/{jam_id}/calendar.ics")
    assert reply.content_type == "text/calendar; charset=utf-8"
    found = Calendar.from_ical(reply.data)
    return found, list(found.walk("VEVENT"))


def test_a_calendar_gets_the_jam_and_the_drill_until_then(client: FlaskClient, filled: Any, clock: Clock) -> None:
    client.put("/api/settings", json={"zone": "Europe/Rome", "minutes": 7, "days": ["mon", "wed", "fri"]})
    client.put(f"/api/jams/{filled['id']}", json={"at": "2026-05-08T20:00"})
    found, (evening, drill) = events(client, filled["id"])
    assert (evening["SUMMARY"], evening["LOCATION"]) == ("Open jam", "the back room")
    assert evening["DTSTART"].dt.isoformat() == "2026-05-08T20:00:00+02:00"
    assert evening["DTEND"].dt.isoformat() == "2026-05-08T22:00:00+02:00"
    assert "1. Slow blues, B♭ blues" in evening["DESCRIPTION"]
    assert [zone["TZID"] for zone in found.walk("VTIMEZONE")] == ["Europe/Rome"]
    assert drill["DTSTART"].dt.isoformat() == "2026-05-04T18:00:00+02:00", "Friday at six had passed: Monday"
    assert drill["DURATION"].dt.total_seconds() == 7 * 60
    assert drill["RRULE"]["BYDAY"] == ["MO", "WE", "FR"]
    assert drill["RRULE"]["UNTIL"] == [datetime(2026, 5, 8, 16, 0, tzinfo=UTC)], "the evening itself, before the jam"
    before = {event["UID"]: event["SEQUENCE"] for event in (evening, drill)}
    clock.go_on(minutes=5)
    after = {event["UID"]: event["SEQUENCE"] for event in events(client, filled["id"])[1]}
    assert after.keys() == before.keys(), "brought in again, it changes the same entries"
    assert all(after[uid] > before[uid] for uid in before)


def test_a_past_jam_has_no_drill_in_its_calendar(client: FlaskClient, clock: Clock) -> None:
    made = jam(client)
    clock.go_on(days=9)
    assert len(events(client, made["id"])[1]) == 1
