"""What passes the guard, under which policy answers leave, and what the pages get."""

from __future__ import annotations

import gzip
import json
import re
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy.exc import OperationalError

from drill.app import create_app
from drill.config import BODY_BYTES, Config
from drill.store import StoreError
from tests.conftest import Guitarist

PAGES = ("/", "/session", "/neck", "/settings", "/session/" + "0" * 32 + "/closing")


@pytest.mark.parametrize("address", [*PAGES, "/healthz", "/api/player", "/nowhere", "/api/nowhere"])
def test_every_answer_carries_the_policy(client: FlaskClient, address: str) -> None:
    headers = client.get(address).headers
    policy = headers["Content-Security-Policy"]
    assert policy.startswith("default-src 'none'; script-src 'self'; style-src 'self'")
    assert "unsafe" not in policy
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["X-Frame-Options"] == "DENY"
    assert headers["Referrer-Policy"] == "same-origin"


@pytest.mark.parametrize("address", PAGES)
def test_pages_have_no_inline_script_or_style(client: FlaskClient, address: str) -> None:
    reply = client.get(address)
    assert (reply.status_code, reply.mimetype) == (200, "text/html")
    page = reply.text
    assert "<style" not in page
    assert " style=" not in page
    assert " onclick=" not in page
    assert page.count("<script") == page.count("<script src=") + page.count('<script type="module" src=')
    assert "http://" not in page
    assert "https://" not in page


def test_drawings_have_no_inline_style(guitarist: Guitarist, client: FlaskClient) -> None:
    guitarist.start()
    told = client.get(guitarist.address).text + client.get("/api/neck?key=Bb&box=1").text
    assert "<svg" in told
    assert "style=" not in told
    assert "<style" not in told


@pytest.mark.parametrize("host", ["drill.example", "127.0.0.1.drill.example", "192.168.1.20"])
def test_another_name_for_this_machine_is_refused(client: FlaskClient, host: str) -> None:
    page, api = (client.get(address, headers={"Host": host}) for address in ("/", "/api/player"))
    assert (page.status_code, api.status_code) == (403, 403)
    assert host in api.json["error"]


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://other.example"},
        {"Origin": "null"},
        {"Origin": "http://localhost:9999"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
)
def test_another_sites_page_can_change_nothing(client: FlaskClient, headers: dict[str, str]) -> None:
    for send, address in ((client.put, "/api/settings"), (client.post, "/api/sessions")):
        reply = send(address, json={"tempo": 200, "tab": "tab"}, headers=headers)
        assert (reply.status_code, reply.json["error"]) == (403, "Only the drill's own pages may send this.")
    assert client.get("/api/player").json["settings"]["tempo"] == 80


def test_its_own_pages_can(client: FlaskClient) -> None:
    headers = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}
    assert client.put("/api/settings", json={"tempo": 96}, headers=headers).json["tempo"] == 96


@pytest.mark.parametrize(
    ("body", "kind", "status"),
    [
        (b'{"tempo": 96}', "text/plain", 415),
        (b"tempo=96", "application/x-www-form-urlencoded", 415),
        (b'{"tempo": 96', "application/json", 400),
        (b"[]", "application/json", 400),
        (b"", "application/json", 400),
        (b"\xff\xfe", "application/json", 400),
        (b"[" * 50_000, "application/json", 400),
        (b'{"zone": "' + b"x" * BODY_BYTES + b'"}', "application/json", 413),
    ],
)
def test_anything_but_a_small_json_object_is_refused(client: FlaskClient, body: bytes, kind: str, status: int) -> None:
    reply = client.put("/api/settings", data=body, content_type=kind)
    assert reply.status_code == status
    assert reply.json["error"].endswith(".")


def test_errors_are_sentences_where_they_happened(client: FlaskClient) -> None:
    assert client.get("/api/nowhere").json == {"error": "There is nothing at this address."}
    assert client.delete("/api/settings", json={}).status_code == 405
    page = client.get("/nowhere")
    assert page.status_code == 404
    assert "There is nothing at this address." in page.text
    reply = client.put("/api/settings", json={"tempo": 96, "keys": ["X"]})
    assert (reply.status_code, reply.json["field"]) == (422, "keys")
    assert client.get("/api/player").json["settings"]["tempo"] == 80, "then none is changed"


def test_a_busy_database_asks_to_try_again(app: Flask, client: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    def busy(*_: object) -> None:
        raise OperationalError("BEGIN IMMEDIATE", {}, Exception("database is locked"))

    monkeypatch.setattr("drill.sessions.today.today", busy)
    reply = client.get("/api/player")
    assert (reply.status_code, reply.json["error"]) == (
        503,
        "The drill is busy. Nothing is lost; please try again.",
    )


def test_something_wrong_on_our_side_is_said_without_the_details(
    app: Flask, client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("secret")

    app.testing = False
    monkeypatch.setattr("drill.sessions.today.today", broken)
    reply = client.get("/api/player")
    assert reply.status_code == 500
    assert reply.json["error"].startswith("Something went wrong on our side.")
    assert "secret" not in reply.text


@pytest.mark.parametrize("accepted", ["gzip, deflate", "gzip, deflate, br, zstd"])
def test_static_files_are_compressed_and_asked_for_again(client: FlaskClient, accepted: str) -> None:
    address, headers = "/static/css/base.css", {"Accept-Encoding": accepted}
    first = client.get(address, headers=headers)
    assert first.headers["Content-Encoding"] in accepted
    assert first.headers["Cache-Control"] == "no-cache"
    assert len(first.data) < len(client.get(address).data) / 2
    again = client.get(address, headers={**headers, "If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")


def test_a_sessions_cards_are_compressed(guitarist: Guitarist, client: FlaskClient) -> None:
    guitarist.start()
    packed = client.get(guitarist.address, headers={"Accept-Encoding": "gzip, deflate"})
    assert packed.headers["Content-Encoding"] == "gzip"
    assert json.loads(gzip.decompress(packed.data)) == client.get(guitarist.address).json
    assert len(packed.data) < 60_000


@pytest.mark.parametrize("address", ["/static/../drill/app.py", "/static/%2e%2e/pyproject.toml", "/static/nothing.js"])
def test_nothing_but_static_files_is_served(client: FlaskClient, address: str) -> None:
    assert client.get(address).status_code == 404


def test_what_the_api_says_is_never_kept_by_the_browser(client: FlaskClient) -> None:
    assert client.get("/api/player").headers["Cache-Control"] == "no-store"


def test_the_neck_of_b_flat_shows_its_seven_chords(client: FlaskClient) -> None:
    neck = client.get("/api/neck?key=bb&box=1").json
    assert (neck["key"], neck["minor"], neck["low"], neck["high"]) == ("B♭", "G", 3, 6)
    assert [each["chord"] for each in neck["chords"]] == ["B♭", "Cm", "Dm", "E♭", "F", "Gm", "A°"]
    assert [each["numeral"] for each in neck["sevenths"]] == ["Imaj7", "ii7", "iii7", "IVmaj7", "V7", "vi7", "viiø7"]
    assert all(each["drawing"].startswith("<svg") and each["shapes"] for each in neck["chords"])


@pytest.mark.parametrize(
    ("query", "sentence"),
    [("key=X&box=1", 'no key "X"'), ("key=C&box=6", "no box"), ("key=C&box=two", 'no box "two"')],
)
def test_a_neck_that_there_is_not(client: FlaskClient, query: str, sentence: str) -> None:
    reply = client.get(f"/api/neck?{query}")
    assert reply.status_code == 422
    assert reply.json["error"].startswith(sentence)


def test_a_way_through_a_progression_says_why_it_is_good(client: FlaskClient) -> None:
    asked = "/api/neck?key=Eb&box=1&manner=small&progression=1-5-6-4"
    hand, top = (client.get(f"{asked}&lead={lead}").json for lead in ("hand", "top"))
    assert [step["chord"] for step in hand["route"]] == ["E♭", "B♭", "Cm", "A♭"]
    assert hand["way"]["called"] == "Hand stays."
    assert top["way"]["called"].startswith("Top voice")
    assert any(reason.startswith("Top voice") for reason in hand["way"]["why"])
    assert not hand["route"][0]["why"]
    assert all(step["why"] for step in hand["route"][1:])
    kept = client.get(f"{asked}&keep=Eb").json["way"]
    assert kept["why"][0].startswith("E♭ on top in ")
    assert client.get("/api/neck?key=Eb&box=1&manner=small").json["way"] is None


def test_a_slash_is_shown_with_its_other_reading(client: FlaskClient) -> None:
    asked = "/api/neck?key=C&box=2&progression=1+V7/IV"
    target, bass = client.get(asked).json, client.get(f"{asked}&slash=bass").json
    assert [(neck["route"][1]["chord"], neck["taken"][0]["slash"]) for neck in (target, bass)] == [
        ("C7", "bass"),
        ("G7/F", "target"),
    ]
    borrowed = client.get("/api/neck?key=C&box=2&progression=1+iv").json["taken"]
    assert [reading["slash"] for reading in borrowed] == [None]


def test_where_the_full_grip_moves_the_index_the_one_that_stays_is_beside_it(client: FlaskClient) -> None:
    for box in range(1, 6):
        neck = client.get(f"/api/neck?key=C&box={box}").json
        for chord in (*neck["chords"], *neck["sevenths"]):
            moved = re.search(r"moves \w+ (\d)", chord["told"][-1])
            if chord["staying"] is None:
                assert "full" not in chord["told"]
                continue
            assert moved
            assert int(moved[1]) > 1, "the main voicing moves the hand"
            assert chord["told"][0] == "full"
            assert chord["staying"]["told"][0] == "hand stays"
            stays = re.search(r"moves \w+ (\d)", chord["staying"]["told"][-1])
            assert stays is None or stays[1] == "1"


@pytest.mark.parametrize(
    ("query", "sentence"),
    [
        ("manner=rock", 'no manner "rock": it is smooth, strum, comp or small'),
        ("lead=foot", 'no lead "foot": it is both, hand or top'),
        ("keep=Q", 'no note "Q"'),
        ("slash=half", 'no slash "half": it is target or bass'),
    ],
)
def test_a_way_that_cannot_be_asked_for(client: FlaskClient, query: str, sentence: str) -> None:
    reply = client.get(f"/api/neck?key=C&box=1&progression=1+4&{query}")
    assert reply.status_code == 422
    assert reply.json["error"].startswith(sentence)


def test_the_app_does_not_start_on_an_empty_folder(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="the database is empty"):
        create_app(Config(data=tmp_path))


def test_it_says_that_it_is_there(client: FlaskClient) -> None:
    assert client.get("/healthz").json == {"ok": True}


def test_a_session_carries_what_a_page_needs_to_go_on_offline(guitarist: Guitarist) -> None:
    questions: list[dict[str, Any]] = guitarist.start()["questions"]
    for question in questions:
        assert set(question["allowed"]) == {"touch", "mouse", "keyboard", "hands-on"}
        assert question["prompt"]["sentence"].endswith((".", "?"))
        assert question["answer"]["description"]


def test_the_neck_shows_the_open_position_where_it_is_a_place_of_its_own(client: FlaskClient) -> None:
    neck = client.get("/api/neck?key=D&box=open").json
    assert (neck["box"], neck["low"], neck["high"], neck["has_open"]) == (0, 0, 3, True)
    assert "G, open position" in neck["chords"][3]["drawing"]
    assert client.get("/api/neck?key=G&box=1").json["has_open"] is False
    assert client.get("/api/neck?key=G&box=open").json["box"] == 1, "that box is it"
    reply = client.get("/api/neck?key=B♭&box=open")
    assert reply.status_code == 422
    assert "B♭ has no open position on this guitar: choose a box from 1 to 5" in reply.json["error"]
