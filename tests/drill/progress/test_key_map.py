"""The key map on logs written by hand: what counts where, how sure it is, what is called weak."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from flask.testing import FlaskClient

from cards.asks import ASKS, read_card, universe
from cards.guitar.regions import OPEN
from cards.theory.keys import Key, Mode
from drill.learning.learn import rebuild
from drill.learning.parameter_versions import keep_fit
from drill.memory.parameters import START
from drill.memory.recall import fluency
from drill.planning.repertoire import allowed_seconds_at, features
from drill.progress.key_map import Cell, KeyMap, View, key_map, place_of
from drill.store import Store
from drill.store.memory import memory_rows
from tests.drill.logs import lines, write
from tests.drill.rows import NOW

LATER = NOW + timedelta(days=5)


def cell(found: KeyMap, key: str, degree: int) -> Cell:
    return next(each for each in found.row(Key.read(key)) if each.degree == degree)


def test_an_empty_map_has_every_key_and_degree_and_calls_none_weak(store: Store) -> None:
    for mode in (Mode.MAJOR, Mode.MINOR):
        found = key_map(store, 1, View(mode), NOW)
        assert len(found.cells) == 13 * 7
        assert {each.state for each in found.cells} == {"new"}
        assert found.weakest == ()
        said = "map-empty" if mode == Mode.MAJOR else "map-empty-here"
        assert [message.key for message in found.words()] == [said]


def test_keys_stand_in_fifths(store: Store) -> None:
    assert " ".join(map(str, View().keys)) == "G♭ D♭ A♭ E♭ B♭ F C G D A E B F♯"
    assert " ".join(map(str, View(Mode.MINOR).keys)) == "E♭m B♭m Fm Cm Gm Dm Am Em Bm F♯m C♯m G♯m D♯m"


def test_a_cell_is_the_mean_of_its_cards_as_memory_has_them(store: Store) -> None:
    write(store, [*lines("name:Ab:4", "cccmc", NOW), *lines("place:Ab:4:box1", "mmlcc", NOW + timedelta(minutes=5))])
    found = cell(key_map(store, 1, View(), LATER), "A♭", 4)
    with store.reading() as db:
        rows = memory_rows(db, 1)
    allowed = allowed_seconds_at(80)
    said = [fluency(rows, features(read_card(card)), LATER, allowed(card)) for card in ("name:Ab:4", "place:Ab:4:box1")]
    assert found.p == pytest.approx(sum(each.p for each in said) / 2)
    assert (found.answers, len(found.cards), found.chord, found.called) == (10, 2, "D♭", "4")
    assert found.last_at == NOW + timedelta(hours=24, minutes=5)
    # Two cards, a quarter of whose variance is common: √(¼ + ¾ / 2).
    assert found.sd == pytest.approx(sum(each.sd for each in said) / 2 * 0.625**0.5)


def test_few_answers_are_unsure_and_not_weak(store: Store) -> None:
    write(store, lines("name:Eb:4", "mm", NOW))
    found = key_map(store, 1, View(), LATER)
    assert cell(found, "E♭", 4).state == "unsure"
    assert found.weakest == ()
    assert [message.key for message in found.words()] == ["map-met", "map-unsure"]


def test_the_weakest_are_named_the_weakest_first(store: Store) -> None:
    log = [*lines("name:Eb:4", "mmmmmmmmmm", NOW), *lines("name:G:1", "cccccccccc", NOW + timedelta(minutes=1), 1.5)]
    log += lines("name:C:5", "lllcllllll", NOW + timedelta(minutes=2), 7.5)
    write(store, sorted(log, key=lambda line: line[3]))
    found = key_map(store, 1, View(), LATER)
    assert [(str(each.key), each.degree) for each in found.weakest] == [("E♭", 4), ("C", 5), ("G", 1)]
    assert [message.key for message in found.words()][1:] == ["map-weak"] * 3


def test_filters_leave_in_what_they_say(store: Store) -> None:
    cards = ["name:Ab:4", "name:Ab:4.7", "place:Ab:4:box1", "place:Ab:4:box2", "name:Fm:6"]
    for number, card in enumerate(cards, start=1):
        write(store, lines(card, "c", NOW + timedelta(minutes=number)), number)

    def seen(**how: object) -> set[str]:
        return set(cell(key_map(store, 1, View(**how), LATER), "A♭", 4).cards)  # type: ignore[arg-type]

    assert seen() == set(cards[:4])
    assert seen(ask="name") == {"name:Ab:4", "name:Ab:4.7"}
    assert seen(box=2) == {"place:Ab:4:box2"}
    assert seen(sevenths=True) == {"name:Ab:4.7"}
    assert seen(sevenths=False, ask="name") == {"name:Ab:4"}
    assert cell(key_map(store, 1, View(Mode.MINOR), LATER), "Fm", 6).cards == ("name:Fm:6",)


def test_open_shows_the_open_position_also_where_a_box_is_that_place(store: Store, client: FlaskClient) -> None:
    cards = ["place:D:1:open", "place:D:1:box1", "place:G:1:box1", "place:G:1:box2", "place:Ab:1:box1"]
    for number, card in enumerate(cards, start=1):
        write(store, lines(card, "c", NOW + timedelta(minutes=number)), number)
    found = key_map(store, 1, View(box=OPEN), LATER)
    assert [cell(found, key, 1).cards for key in ("D", "G", "A♭")] == [(cards[0],), (cards[2],), ()]
    assert client.get("/api/keys/D/1?box=open").json["focus"] == ["key:D", "degree:1", "box:open"]
    assert client.get("/api/keys/G/1?box=open").json["focus"] == ["key:G", "degree:1", "box:1"]
    assert "open position" in client.get("/api/keys/D/1?box=open").json["drawing"]


def test_what_is_about_no_single_chord_of_the_key_has_no_cell() -> None:
    assert place_of("nothing:like:it") is None
    without = {card.ask for card in universe() if place_of(card.id) is None and card.key.mode == Mode.MAJOR}
    assert without == {"whose-key", "box-notes", "change", "run", "guide-tones", "borrowed"}
    placed = {card.ask for card in universe() if place_of(card.id)}
    assert placed <= set(ASKS) - {"whose-key", "change", "run", "guide-tones", "borrowed"}


def test_the_map_is_the_same_after_a_rebuild(store: Store) -> None:
    write(store, [*lines("name:Eb:4", "mclcm", NOW), *lines("place:G:1:box1", "ccmlc", NOW + timedelta(hours=1))])
    live = key_map(store, 1, View(), LATER)
    rebuild(store)
    assert key_map(store, 1, View(), LATER) == live


@pytest.mark.both_databases
def test_the_page_gets_the_map_and_a_cell_from_near(store: Store, client: FlaskClient) -> None:
    write(store, [*lines("place:Ab:4:box1", "mclcm", NOW - timedelta(days=3), 7.0)])
    body = client.get("/api/keys").json
    assert [each["key"] for each in body["keys"]][2] == "A♭"
    four = body["keys"][2]["cells"][3]
    assert (four["chord"], four["answers"], four["cards"]) == ("D♭", 5, 1)
    assert 0 <= four["low"] <= four["p"] <= four["high"] <= 1
    close = client.get("/api/keys/Ab/4").json
    assert close["title"] == "The four of A♭: D♭"
    assert [each["outcome"] for each in close["answers"]] == ["missed", "clean", "late", "clean", "missed"]
    assert close["drawing"].startswith("<svg")
    assert "5 answers; the first took 7.0 seconds, the last 7.0." in close["course"]
    assert close["focus"] == ["key:Ab", "degree:4"]
    assert client.get("/api/keys/Ab/4?ask=name&box=2").json["focus"][2:] == ["ask:name", "box:2"]
    assert client.get("/api/keys/Fm/6?mode=minor").json["focus"] == ["key:Fm", "degree:b6"]


@pytest.mark.parametrize("query", ["mode=lydian", "ask=guess", "box=6", "chords=ninths"])
def test_a_view_that_is_none_is_said(client: FlaskClient, query: str) -> None:
    reply = client.get(f"/api/keys?{query}")
    assert reply.status_code == 422
    assert reply.json["field"] == query.partition("=")[0]


@pytest.mark.parametrize("path", ["X/1", "Ab/8", "Fm/1", "A-blues/1"])
def test_a_cell_that_is_none_is_not_found(client: FlaskClient, path: str) -> None:
    assert client.get(f"/api/keys/{path}").status_code == 404


@pytest.mark.both_databases
def test_the_map_is_told_by_the_parameters_that_were_fitted_to_the_player(store: Store) -> None:
    write(store, lines("place:Ab:4:box1", "cmcccmcc", NOW))
    view, later = View(), NOW + timedelta(days=9)
    before = key_map(store, 1, view, later)
    with store.writing(1) as (db, player):
        player.fit = keep_fit(db, 1, replace(START, base=START.base - 1.0), (0.6, 0.5), True, later)
    after = key_map(store, 1, view, later)
    assert [cell.p < was.p for cell, was in zip(after.cells, before.cells, strict=True) if cell.p and was.p] == [True]
