"""Jams: made, copied, put in order, called in other keys, had back; as a calendar file."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest
from dateutil.rrule import rrulestr
from flask.testing import FlaskClient
from icalendar import Calendar

from drill.jams.nights import JamError, night, read_local
from drill.store import Store
from tests.conftest import Clock
from tests.drill.web.test_tunes import add


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
        ({"key": "X"}, "key"),
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
        ({"at": "2026-05-08"}, "at"),
        ({"at": 5}, "at"),
        ({"place": 5}, "place"),
        ({"boxes": []}, "boxes"),
        ({"boxes": [6]}, "boxes"),
        ({"boxes": ["open"]}, "boxes"),
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


def test_a_past_jam_stays_as_it_was(client: FlaskClient, filled: Any, clock: Clock) -> None:
    clock.go_on(days=7, hours=9)
    assert client.put(f"/api/jams/{filled['id']}", json={"place": "Cellar"}).status_code == 200, "at three that night"
    clock.go_on(hours=2)
    for refused in (client.put(f"/api/jams/{filled['id']}", json={"place": "Yard"}), arrange(client, filled, [])):
        assert (refused.status_code, refused.json["jam"]["place"]) == (409, "Cellar")
        assert "duplicate it" in refused.json["error"]
    copy = client.post(f"/api/jams/{filled['id']}/copies", json={"at": "2026-05-15T20:00"}).json
    assert [each["title"] for each in copy["entries"]] == [each["title"] for each in filled["entries"]]


def test_a_deleted_jam_is_not_changed(client: FlaskClient, filled: Any) -> None:
    client.delete(f"/api/jams/{filled['id']}", json={})
    assert "have it back first" in client.put(f"/api/jams/{filled['id']}", json={"name": "Band night"}).json["error"]
    assert arrange(client, filled, []).status_code == 409
    client.post(f"/api/jams/{filled['id']}/back", json={})
    assert client.get(f"/api/jams/{filled['id']}").json == filled


@pytest.mark.parametrize(("at", "says"), [("2026-04-30T20:00", "that day is over"), ("2028-06-01T20:00", "two years")])
def test_a_jam_is_still_to_come_and_not_too_far_away(client: FlaskClient, filled: Any, at: str, says: str) -> None:
    for reply in (
        client.post("/api/jams", json={"name": "Open jam", "at": at}),
        client.put(f"/api/jams/{filled['id']}", json={"at": at}),
        client.post(f"/api/jams/{filled['id']}/copies", json={"at": at}),
    ):
        assert (reply.status_code, reply.json["field"]) == (422, "at")
        assert says in reply.json["error"]


@pytest.mark.both_databases
def test_a_request_sent_twice_makes_one(client: FlaskClient, filled: Any) -> None:
    wanted = {"id": "ab" * 16, "name": "Open jam", "at": "2026-05-08T20:00"}
    assert [client.post("/api/jams", json=wanted).status_code for _ in range(2)] == [201, 201]
    named = client.post("/api/jams", json={**wanted, "name": "House jam"}).json
    assert (named["id"], named["name"]) == ("ab" * 16, "House jam"), "sent again with other values, these stand"
    copied = {"id": "cd" * 16, "at": "2026-05-15T20:00"}
    copies = [client.post(f"/api/jams/{filled['id']}/copies", json=copied).json for _ in range(2)]
    assert copies[0] == copies[1]
    assert len(client.get("/api/jams").json["jams"]) == 3
    entry = {"id": "ef" * 16, "tune": filled["entries"][0]["tune"]}
    found = arrange(client, filled, [entry]).json
    assert found["entries"][0]["id"] == "ef" * 16
    assert arrange(client, found, [{"id": "ef" * 16}, entry]).json["error"] == "an entry stands in one place only"
    assert arrange(client, jam(client), [entry]).status_code == 422, "that id is another jam's entry"
    assert client.post("/api/jams", json={**wanted, "id": "x"}).json["field"] == "id"


def test_values_changed_elsewhere_are_not_overwritten(client: FlaskClient, filled: Any) -> None:
    address = f"/api/jams/{filled['id']}"
    client.put(address, json={"name": "Band night", "was": {"name": "Open jam"}})
    refused = client.put(address, json={"name": "House jam", "was": {"name": "Open jam"}})
    assert (refused.status_code, refused.json["field"], refused.json["jam"]["name"]) == (409, "name", "Band night")
    both = client.put(address, json={"name": "Band night", "boxes": [3], "was": {"name": "Open jam", "boxes": [1, 2]}})
    assert both.json["boxes"] == [3], "two who want the same do not disagree"


def test_what_two_change_of_an_entry_comes_together(client: FlaskClient, filled: Any) -> None:
    one, two, three = ({"id": each["id"]} for each in filled["entries"])
    arrange(client, filled, [{**one, "tempo": 61}, two, three])
    found = arrange(client, filled, [{**one, "key": "C"}, two, three]).json
    assert (found["entries"][0]["plays_in"], found["entries"][0]["plays_at"]) == ("C blues", 61)
    assert found["entries"][0]["key"] == "C blues", "a key is called by its tonic and stays what the tune is"


def test_a_call_is_counted_from_the_tunes_own_key(client: FlaskClient, filled: Any) -> None:
    called = [{call["says"]: call["key"] for call in each["calls"]} for each in filled["entries"]]
    assert [each["up a fourth"] for each in called] == ["E♭ blues", "D", "Bm"]
    assert [each["down a half step"] for each in called] == ["A blues", "A♭", "Fm"]
    assert all(key in filled["keys"][each["mode"]] for each in filled["entries"] for key in [each["own_key"]])


def test_names_are_kept_on_one_line(client: FlaskClient) -> None:
    made = jam(client, name="Open\njam\0\x1b", place="\ud800the  yard")
    assert (made["name"], made["place"]) == ("Open jam", "the yard")


def test_a_deleted_tune_is_still_played_that_night(client: FlaskClient, filled: Any) -> None:
    client.delete(f"/api/tunes/{filled['entries'][0]['tune']}", json={})
    entries = client.get(f"/api/jams/{filled['id']}").json["entries"]
    assert (entries[0]["title"], entries[0]["deleted"]) == ("Slow blues", True)
    assert not any(each["deleted"] for each in entries[1:])


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


def test_the_drill_stands_at_six_on_every_day_of_practice_also_when_the_clocks_change(
    client: FlaskClient, filled: Any, clock: Clock
) -> None:
    client.put("/api/settings", json={"zone": "Europe/Rome", "days": ["mon", "sat", "sun"]})
    clock.instant = datetime(2026, 10, 17, 16, 30, tzinfo=UTC)
    made = jam(client, at="2026-10-31T17:00")
    found, (evening, drill) = events(client, made["id"])
    days = list(rrulestr(drill["RRULE"].to_ical().decode(), dtstart=drill["DTSTART"].dt))
    assert [f"{each:%d %H:%M %z}" for each in days] == [
        *("18 18:00 +0200", "19 18:00 +0200", "24 18:00 +0200"),
        *("25 18:00 +0100", "26 18:00 +0100"),
    ]
    assert evening["DTSTART"].dt.isoformat() == "2026-10-31T17:00:00+01:00"
    (zone,) = found.walk("VTIMEZONE")
    assert {each.name for each in zone.subcomponents} == {"STANDARD", "DAYLIGHT"}


def test_a_calendar_of_a_jam_in_utc_needs_no_zone(client: FlaskClient) -> None:
    found, (evening, drill) = events(client, jam(client)["id"])
    assert list(found.walk("VTIMEZONE")) == []
    assert evening["DTSTART"].to_ical() == b"20260508T200000Z"
    assert drill["DTSTART"].to_ical() == b"20260501T180000Z", "today at six, which it is just now"
