"""Sheets of tunes and nights: what is asked for, what is shown, and that no tune is changed by it."""

from __future__ import annotations

import json
import re
import secrets
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from urllib.parse import quote

import pytest
from click.testing import CliRunner, Result
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cards.asks import code
from cards.charts import Options, read_chart
from cards.charts.forms import form
from cards.theory.keys import Key
from drill.cli.command import main
from drill.cli.jams import SHEET_STYLES
from drill.jams import sheets
from drill.jams.sheets import SheetError, read_wanted
from drill.store import Store
from drill.store.models import Jam, SetListEntry
from drill.store.sittings import only_player
from drill.tunes import library
from tests.conftest import EVENING, Clock

THURSDAY = datetime(2026, 5, 7, 18, 30, tzinfo=UTC)
BLUES = replace(form("12-bar blues", Key.read("Bb")), tempo=66.0)
VAMP = read_chart("Key: E\n" + "1 b7 " * 8)
WALTZ = read_chart("{key: A}\n{capo: 2}\n{time: 3/4}\n| G | C | D7 | Em |", Options(capo_key="sounding"))


class House:
    """A house band's tunes and its night."""

    def __init__(self, store: Store) -> None:
        with store.reading() as db:
            self.player = only_player(db)
        self.store = store
        self.tunes = {
            title: library.keep(store, self.player, title, chart, EVENING)
            for title, chart in (("Slow blues", BLUES), ("Two-chord vamp", VAMP), ("Capo waltz", WALTZ))
        }
        self.jam = self.night("Open jam", ("Slow blues", None, None), ("Two-chord vamp", "G", 104), boxes=[2])

    def night(self, name: str, *entries: tuple[str, str | None, int | None], boxes: list[int]) -> str:
        """A jam with these tunes, in these keys and tempos."""
        jam = secrets.token_hex(16)
        kept = {"player_id": self.player, "jam_id": jam}
        with self.store.writing(self.player) as (db, _):
            values = {"name": name, "at": THURSDAY, "place": "the back room", "boxes": boxes}
            db.add(Jam(id=jam, player_id=self.player, made_at=EVENING, deleted_at=None, **values))
            db.flush()
            for position, (title, key, tempo) in enumerate(entries):
                played = {"tune_id": self.tunes[title], "key": key, "tempo": tempo}
                db.add(SetListEntry(id=secrets.token_hex(16), position=position, **kept, **played))
        return jam


@pytest.fixture
def house(app: Flask) -> House:
    return House(app.extensions["drill"].store)


def text_of(client: FlaskClient, address: str, status: int = 200) -> str:
    """The page as a reader has it, without its marks."""
    page = client.get(address)
    assert page.status_code == status, address
    return re.sub(r"\s+", " ", re.sub(r"<(style|title|desc)>.*?</\1>|<[^>]+>", " ", page.text))


@pytest.mark.both_databases
def test_a_night_has_its_tunes_in_the_keys_called_and_in_its_box(store: Store) -> None:
    house = House(store)
    night = sheets.sheet_of_jam(store, house.player, house.jam, {}, EVENING)
    assert (night.title, night.place, night.box, night.paper) == ("Open jam", "the back room", 2, "a4")
    assert [(page.title, str(page.chart.key), page.tempo, page.after) for page in night.pages] == [
        ("Slow blues", "B♭ blues", 66, "Two-chord vamp"),
        ("Two-chord vamp", "G", 104, None),
    ]
    assert [str(grip.sounds) for grip in night.pages[1].sheet.places[0].grips] == ["G", "F"]


def test_a_sheet_in_another_key_leaves_the_tune_as_it_is(house: House) -> None:
    tune = house.tunes["Slow blues"]
    before = library.tune(house.store, house.player, tune).chart
    moved = sheets.sheet_of_tune(house.store, house.player, tune, {"up": "5"})
    assert str(moved.pages[0].chart.key) == "E♭ blues"
    assert {str(grip.sounds) for grip in moved.pages[0].sheet.places[0].grips} == {"E♭7", "A♭7", "B♭7"}
    assert library.tune(house.store, house.player, tune).chart == before


@pytest.mark.parametrize(
    ("asked", "key", "up"),
    [
        ({}, "A", 0),
        ({"up": "5"}, "D", 5),
        ({"up": "-1"}, "A♭", -1),
        ({"up": " 7"}, "E", -5),
        ({"key": "Eb"}, "E♭", 6),
        ({"key": "ebm"}, "E♭", 6),
        ({"key": "C", "up": "2"}, "D", 5),
        ({"key": "G#"}, "A♭", -1),
    ],
)
def test_where_a_tune_is_put(house: House, asked: dict[str, str], key: str, up: int) -> None:
    (page,) = sheets.sheet_of_tune(house.store, house.player, house.tunes["Capo waltz"], asked).pages
    assert (str(page.chart.key), page.up) == (key, up)
    assert dict(page.keys_around)[0] == Key.read("A")
    assert str(dict(page.keys_around)[5]) == "D"


def test_the_capo_can_be_moved_and_the_shapes_follow(house: House) -> None:
    (page,) = sheets.sheet_of_tune(house.store, house.player, house.tunes["Capo waltz"], {"capo": "5"}).pages
    assert (str(page.chart.key), str(page.chart.shape_key)) == ("A", "E")
    assert [str(cell.shape) for cell in page.sheet.cells] == ["E", "A", "B7", "C♯m"]
    assert [str(cell.chord) for cell in page.sheet.cells] == ["A", "D", "E7", "F♯m"]


def test_one_tune_of_a_night_is_called_elsewhere() -> None:
    both = read_wanted({"up": "2", "up-2": "5", "capo": "1"}, 3, 1)
    assert [(move.up, move.capo) for move in both.moves] == [(2, 1), (5, 1), (2, 1)]


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"box": "6"}, 'no box "6": a box is a number from 1 to 5'),
        ({"box": "two"}, 'no box "two"'),
        ({"paper": "a3"}, 'no paper "a3": write a4 or letter'),
        ({"up": "12"}, 'not "12" semitones up'),
        ({"up": "1.5"}, 'not "1.5" semitones up'),
        ({"key": "X"}, 'no key "X"'),
        ({"capo": "12"}, 'no capo on "12"'),
        ({"capo": "-1"}, 'no capo on "-1"'),
        ({"up-3": "1"}, "no tune 3, as .up-3. says: they are numbered 1 to 2"),
    ],
)
def test_what_there_is_not_is_said(asked: dict[str, str], says: str) -> None:
    with pytest.raises(SheetError, match=says):
        read_wanted(asked, 2, 1)


# ---- the pages


def test_a_nights_page(client: FlaskClient, house: House) -> None:
    text = text_of(client, f"/jams/{house.jam}/sheet")
    assert "Open jam" in text
    assert "Thursday 7 May 2026, 18:30, the back room" in text
    assert "Key G Tempo 104 bpm" in text
    assert "tune 1 of 2, then Two-chord vamp" in text
    assert "8 times" in text


def test_a_tunes_page_with_a_capo_has_shapes_beside_what_sounds(client: FlaskClient, house: House) -> None:
    text = text_of(client, f"/tunes/{house.tunes['Capo waltz']}/sheet")
    assert "Capo 2, shapes of G" in text
    assert "1 G A" in text
    assert "5 7 D7 E7" in text
    assert "their frets count from the capo" in text
    moved = text_of(client, f"/tunes/{house.tunes['Capo waltz']}/sheet?capo=5")
    assert "Capo 5, shapes of E (its own: 2)" in moved
    assert "1 E A" in moved


def test_what_a_hand_cannot_play_there_is_said(client: FlaskClient, house: House) -> None:
    busy = library.keep(house.store, house.player, "Busy", read_chart("Key: Eb\n1 vi11/5"), EVENING)
    assert "stands in for Cm11/B♭, which has no voicing here" in text_of(client, f"/tunes/{busy}/sheet")
    client.put("/api/settings", json={"highest": 5})
    text = text_of(client, f"/tunes/{busy}/sheet")
    assert "box 1 of E♭ lies beyond the highest fret set in Settings" in text
    assert "There is room in box" in text


def test_a_night_without_tunes_says_what_will_be_there(client: FlaskClient, house: House) -> None:
    empty = house.night("Next week", boxes=[1])
    assert "The set list is empty" in text_of(client, f"/jams/{empty}/sheet")


def test_a_sheet_in_open_position_draws_the_grips_at_the_nut(client: FlaskClient, house: House) -> None:
    address = f"/tunes/{house.tunes['Two-chord vamp']}/sheet?key=D&box=open"
    assert 'href="?key=D&amp;box=open" aria-current="true">open' in client.get(address).text
    words = text_of(client, address)
    assert "Where the hand is: D major (B minor), open position, frets 0–3" in words
    night = sheets.sheet_of_tune(house.store, house.player, house.tunes["Two-chord vamp"], {"key": "D", "box": "Open"})
    grips = night.pages[0].sheet.places[0].grips
    assert [(str(grip.sounds), code(grip.voicing.frets)) for grip in grips] == [("D", "xx0232"), ("C", "x32010")]
    assert "D, open position" in grips[0].drawing(False)


def test_links_keep_what_else_is_asked(client: FlaskClient, house: House) -> None:
    page = client.get(f"/jams/{house.jam}/sheet?paper=letter&up-1=2").text
    assert 'href="?paper=letter&amp;up-1=-5#tune-1">up a 4th' in page
    assert 'href="?paper=letter&amp;up-1=0#tune-1">back to B♭ blues' in page
    assert 'href="?paper=letter&amp;up-1=2&amp;box=3">3' in page
    one = client.get(f"/tunes/{house.tunes['Slow blues']}/sheet?key=Eb").text
    assert 'href="?up=-2">up a 4th' in one
    assert 'href="?">back to B♭ blues' in one


def test_it_is_drawn_for_the_players_hand(client: FlaskClient, house: House) -> None:
    address = f"/tunes/{house.tunes['Slow blues']}/sheet"
    right = client.get(address).text
    client.put("/api/settings", json={"left_handed": True})
    assert client.get(address).text != right
    client.put("/api/settings", json={"left_handed": False, "tuning": "drop D"})
    assert "Tuning drop D" in text_of(client, address)


@pytest.mark.parametrize("where", ["jams/{jam}", "tunes/{tune}"])
@pytest.mark.parametrize("query", ["box=9", "up=x", "key=X", "capo=40", "paper=a5", "manner=rock", "up-7=1", "box="])
def test_a_wrong_value_gets_a_sentence(client: FlaskClient, house: House, where: str, query: str) -> None:
    address = f"/{where.format(jam=house.jam, tune=house.tunes['Slow blues'])}/sheet"
    text = text_of(client, f"{address}?{query}", 422)
    assert re.search(r"no (box|key|capo|paper|manner|tune)|semitones up", text)
    assert f'href="{address}"' in client.get(f"{address}?{query}").text


@pytest.mark.parametrize("address", ["/jams/1/sheet", f"/tunes/{'0' * 32}/sheet", f"/jams/{'f' * 32}/sheet"])
def test_there_is_no_such_sheet(client: FlaskClient, address: str) -> None:
    assert "there is no such" in text_of(client, address, 404)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.dictionaries(
        st.sampled_from(["box", "up", "key", "capo", "paper", "up-1", "key-2", "capo-1", "up-0", "up-99999999999"]),
        st.one_of(st.text(max_size=6), st.integers(-13, 13).map(str), st.sampled_from(["Eb", "G#m", "Fb", "B##"])),
        max_size=3,
    )
)
def test_no_query_is_too_much(client: FlaskClient, house: House, asked: dict[str, str]) -> None:
    query = "&".join(f"{name}={quote(text)}" for name, text in asked.items())
    assert client.get(f"/jams/{house.jam}/sheet?{query}").status_code in (200, 422)


def test_a_sheet_is_in_the_manner_asked_for(client: FlaskClient, house: House, data: Path) -> None:
    tune = house.tunes["Slow blues"]
    strings = {}
    for manner in ("smooth", "comp", "small"):
        made = sheets.sheet_of_tune(house.store, house.player, tune, {"manner": manner})
        strings[manner] = {grip.voicing.strings for grip in made.pages[0].sheet.places[0].grips}
    assert (strings["comp"], strings["small"]) == ({4}, {3})
    plain = sheets.sheet_of_tune(house.store, house.player, tune, {})
    assert plain == sheets.sheet_of_tune(house.store, house.player, tune, {"manner": "smooth"})
    page = client.get(f"/tunes/{tune}/sheet?manner=comp&box=2").text
    assert 'href="?box=2&amp;manner=comp" aria-current="true">comp' in page
    assert 'href="?box=2">smooth' in page
    done = drill("sheet", "--tune", "slow blues", "--manner", "comp", data=data)
    assert done.exit_code == 0
    assert done.stdout != drill("sheet", "--tune", "slow blues", data=data).stdout


def test_a_title_is_text_and_nothing_else(client: FlaskClient, house: House, tmp_path: Path) -> None:
    title = "<script>alert(1)</script> & more"
    tune = library.keep(house.store, house.player, title, VAMP, EVENING)
    page = client.get(f"/tunes/{tune}/sheet").text
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)" in page


# ---- the command


def drill(*arguments: str, data: Path) -> Result:
    return CliRunner().invoke(main, ["jam", *arguments, "--data", str(data)])


@pytest.fixture
def data(house: House, tmp_path: Path) -> Path:
    return tmp_path


def test_the_list_of_jams(house: House, data: Path) -> None:
    told = drill("list", data=data)
    assert told.exit_code == 0
    assert told.output == (
        f"2026-05-07 Open jam: Thursday 7 May 2026, 18:30, the back room, 2 tunes (id {house.jam})\n"
    )


@pytest.mark.parametrize("which", ["Open jam", "open", "2026-05-07", "id"])
def test_a_nights_sheet_as_a_file_of_its_own(house: House, data: Path, which: str) -> None:
    file = data / "night.html"
    done = drill("sheet", house.jam if which == "id" else which, "--out", str(file), "--paper", "letter", data=data)
    assert (done.exit_code, done.output) == (0, f"Wrote {file}.\n")
    text = file.read_text(encoding="utf-8")
    assert 'class="page sheet paper-letter"' in text
    assert "@page letter" in text
    assert text.count("<svg") == 5
    assert not re.search(r"<script|<link|(?:src|href)=\"(?!#)", text), "nothing is to be fetched"


def test_a_file_has_the_style_sheets_that_the_page_links(house: House, client: FlaskClient) -> None:
    page = client.get(f"/jams/{house.jam}/sheet").text
    assert re.findall(r'href="/static/css/([^"]+)"', page) == list(SHEET_STYLES)


def test_one_tunes_sheet_in_another_key(data: Path, house: House) -> None:
    done = drill("sheet", "--tune", "slow blues", "--up", "5", "--box", "2", data=data)
    assert done.exit_code == 0
    assert "E♭7" in done.output
    assert "box 2" in done.output


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (["Friday"], 1, 'no jam "Friday": there are Open jam'),
        (["2026-05-08"], 1, "no jam is on 2026-05-08"),
        (["next"], 1, "no jam is to come"),
        (["--tune", "Polka"], 1, 'no tune "Polka": there are Capo waltz, Slow blues, Two-chord vamp'),
        ([], 2, "name a jam"),
        (["open", "--tune", "Slow blues"], 2, "name a jam"),
        (["open", "--box", "7"], 2, 'no box "7"'),
        (["open", "--up", "far"], 2, 'not "far" semitones up'),
        (["open", "--out", "nowhere/at/all.html"], 2, "cannot write nowhere/at/all.html"),
    ],
)
def test_the_command_says_what_there_is_not(
    house: House, data: Path, arguments: list[str], code: int, says: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("drill.clock.now", Clock(datetime(2026, 6, 1, tzinfo=UTC)))
    told = drill("sheet", *arguments, data=data)
    assert told.exit_code == code
    assert says in told.output


def test_the_next_jam(house: House, data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("drill.clock.now", Clock(EVENING))
    assert "Open jam" in drill("sheet", "next", data=data).output


def test_two_jams_of_a_name_are_told_apart(house: House, data: Path) -> None:
    other = house.night("Open jam", boxes=[1])
    told = drill("sheet", "Open jam", data=data)
    assert told.exit_code == 1
    assert house.jam in told.output
    assert other in told.output
    assert json.dumps(told.output).count("several jams") == 1
    assert "several jams are on 2026-05-07" in drill("sheet", "2026-05-07", data=data).output
