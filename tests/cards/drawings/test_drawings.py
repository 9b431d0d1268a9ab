"""Drawings: well-formed, safe on a page, readable in words, nothing outside the frame."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cards.asks import Given, Setting, answer, judge, question, read_card
from cards.drawings.region import describe_region, draw_region
from cards.drawings.sheet import draw_sheet
from cards.drawings.text import text_diagram
from cards.drawings.voicing import describe, draw_voicings, panel
from cards.guitar.fingering import Frets
from cards.guitar.regions import BOXES, anchor_region
from cards.theory.keys import BLUES_KEYS, DEGREES, MAJOR_KEYS, MINOR_KEYS, Key
from cards.voicings.voicing import Voicing, voicings
from tests.cards import oracle

KNOWN = {
    *("drawing", "neck-string", "neck-fret", "neck-nut", "region", "root", "tone", "dot", "tonic", "foreign"),
    *("faint", "barre", "open", "on-root", "on-tone", "on-foreign", "muted", "finger", "fret-number", "label"),
    "caption",
}
"""Classes that a page's stylesheet must know."""


def frets_of(grip: str) -> Frets:
    return tuple(None if sign == "x" else int(sign, 36) for sign in grip)


def main(key: str, degree: int, box: int = 1, seventh: bool = False) -> Voicing:
    in_key = Key.read(key)
    return voicings(in_key.chord(degree, seventh), anchor_region(in_key, box))[0]


def drawn(voicing: Voicing, left_handed: bool = False) -> str:
    return draw_voicings([panel(voicing)], f"{voicing.chord} in {voicing.region.key}", left_handed)


def marks(svg: str) -> list[tuple[str, str, dict[str, str], str]]:
    """(tag, class, attributes, text) of everything drawn."""
    return [
        (element.tag.rpartition("}")[2], element.get("class") or "", dict(element.attrib), element.text or "")
        for element in ElementTree.fromstring(svg).iter()
    ]


def of_class(svg: str, kind: str) -> list[tuple[str, str, dict[str, str], str]]:
    return [mark for mark in marks(svg) if mark[1] == kind]


def _path_points(data: str) -> list[tuple[float, float]]:
    """End points of a path of M, V and H."""
    x = y = 0.0
    points = []
    for part in data.replace("M", " M").replace("V", " V").replace("H", " H").split():
        if part[0] == "M":
            x = float(part[1:])
        elif part[0] == "V":
            y = float(part[1:])
        elif part[0] == "H":
            x = float(part[1:])
        else:
            y = float(part)
            points.append((x, y))
            continue
        if part[0] != "M":
            points.append((x, y))
    return points


def sound(svg: str, limit: int | None = 4096) -> None:
    """What holds for every drawing."""
    if limit is not None:
        assert len(svg.encode()) <= limit
    root = ElementTree.fromstring(svg)
    assert root.get("role") == "img"
    _, _, width, height = map(float, (root.get("viewBox") or "").split())
    assert (root.get("width"), root.get("height")) == (f"{width:g}", f"{height:g}")
    tags = [element.tag.rpartition("}")[2] for element in root]
    assert tags[:2] == ["title", "desc"]
    assert all(len(element.text or "") > 5 for element in root[:2])
    for tag, kind, attributes, text in marks(svg):
        assert tag in {"svg", "title", "desc", "path", "rect", "circle", "text", "defs"}
        assert not {"id", "style", "href"} & set(attributes)
        assert not any(name.startswith("on") for name in attributes)
        if tag not in {"title", "desc", "defs"}:
            assert kind in KNOWN
        _inside(tag, attributes, text, width, height)


def _inside(tag: str, at: dict[str, str], text: str, width: float, height: float) -> None:
    if tag == "rect":
        x, y, w, h = (float(at[name]) for name in ("x", "y", "width", "height"))
        corners = [(x, y), (x + w, y + h)]
    elif tag == "circle":
        x, y, r = (float(at[name]) for name in ("cx", "cy", "r"))
        corners = [(x - r, y - r), (x + r, y + r)]
    elif tag == "text":
        x, y, size = float(at["x"]), float(at["y"]), float(at["font-size"])
        half = 0.31 * size * len(text)
        corners = [(x - half, y - 0.8 * size), (x + half, y + 0.25 * size)]
    elif tag == "path":
        corners = _path_points(at["d"])
        assert corners
    else:
        corners = []
    for x, y in corners:
        assert 0 <= x <= width, (tag, at, text)
        assert 0 <= y <= height, (tag, at, text)


@pytest.mark.parametrize("key", MAJOR_KEYS, ids=str)
def test_every_main_voicing_is_soundly_drawn(key: Key) -> None:
    for box in BOXES:
        for degree in DEGREES:
            for seventh in (False, True):
                sound(drawn(main(key.tonic.ascii, degree, box, seventh)))


@pytest.mark.parametrize("key", MAJOR_KEYS, ids=str)
def test_every_region_is_soundly_drawn(key: Key) -> None:
    for box in BOXES:
        for left_handed in (False, True):
            sound(draw_region(anchor_region(key, box), left_handed))


@pytest.mark.parametrize("key", MAJOR_KEYS, ids=str)
def test_every_sheet_is_soundly_drawn(key: Key) -> None:
    for box in BOXES:
        svg = draw_sheet(anchor_region(key, box))
        sound(svg, limit=None)
        labels = [text for _, _, _, text in of_class(svg, "label")]
        for degree in DEGREES:
            assert f"{degree} · {key.numeral(degree)} · {key.chord(degree)}" in labels


@pytest.mark.parametrize(
    ("key", "title", "legend"),
    [
        ("Ab", "A♭ major (F minor), box 1, frets 1–4", "filled square: major tonic; outlined: minor tonic"),
        ("Am", "A minor (C major), box 1, frets 5–8", "filled square: minor tonic; outlined: major tonic"),
        ("A blues", "A blues (A minor box), box 1, frets 5–8", "filled square: tonic"),
    ],
)
def test_a_sheet_says_which_tonic_its_box_belongs_to(key: str, title: str, legend: str) -> None:
    region = anchor_region(Key.read(key), 1)
    svg = draw_sheet(region)
    assert [text for tag, _, _, text in marks(svg) if tag == "title"] == [title]
    assert [text for _, _, _, text in of_class(svg, "caption")] == [legend]
    tonics = [text for _, _, _, text in of_class(draw_region(region), "on-root")]
    assert set(tonics) == {str(region.key.tonic)}


@pytest.mark.parametrize("key", [*MINOR_KEYS[::3], *BLUES_KEYS[::3]], ids=str)
def test_sheets_of_minor_keys_and_blues_are_sound(key: Key) -> None:
    for box in BOXES:
        svg = draw_sheet(anchor_region(key, box), left_handed=box == 2)
        sound(svg, limit=None)
        labels = [text for _, _, _, text in of_class(svg, "label")]
        for degree in key.degrees:
            assert f"{degree} · {key.numeral(degree)} · {key.chord(degree)}" in labels


def test_every_questions_drawing_is_sound() -> None:
    for key in MAJOR_KEYS[::3]:
        for box in BOXES:
            for degree in DEGREES:
                card = read_card(f"number:{key.slug}:{degree}:box{box}")
                sound(question(card, Setting()).drawing or "")


def test_the_answer_beside_the_players_own() -> None:
    card = read_card("place:Ab:4:box1")
    svg = judge(card, Given(frets=frets_of("x4412x")), Setting()).drawing or ""
    sound(svg, limit=None)
    assert [text for _, _, _, text in of_class(svg, "caption")] == ["main voicing (wide)", "yours"]
    assert [text for _, _, _, text in of_class(svg, "on-foreign")] == ["G♭"]
    desc = next(text for tag, _, _, text in marks(svg) if tag == "desc")
    assert desc.startswith("main voicing (wide): string 6 muted, string 5 fret 4 root")
    assert "; yours: string 6 muted, string 5 fret 4 root, string 4 fret 4, string 3" in desc


def test_the_main_voicing_answered_is_drawn_once() -> None:
    card = read_card("place:Ab:4:box1")
    svg = judge(card, Given(frets=card.voicings(Setting())[0].frets), Setting()).drawing or ""
    assert [text for *_, text in of_class(svg, "caption")] == ["wide stretch"]


def test_the_grip_with_which_the_hand_stays_is_drawn_beside_the_full_one() -> None:
    card = read_card("place:C:2.7:box2")
    stays = (10, 8, 10, 7, None, None)
    for frets, captions in (
        (stays, ["full, drop 3", "hand stays"]),
        (card.voicings(Setting())[0].frets, ["full, drop 3", "hand stays"]),
        ((10, 8, 10, 10, 10, None), ["full, drop 3", "hand stays", "yours"]),
    ):
        svg = judge(card, Given(frets=frets), Setting()).drawing or ""
        sound(svg, limit=None)
        assert [text for *_, text in of_class(svg, "caption")] == captions


any_frets = st.tuples(*[st.one_of(st.none(), st.integers(0, 24))] * 6)


@settings(max_examples=150, deadline=None)
@given(
    any_frets,
    st.sampled_from(
        ["place:Ab:4:box1", "place:G:1:box1", "place:E:7.7:box3", "place:Am:5_major:box1", "place:A-blues:1:box1"]
    ),
    st.booleans(),
)
def test_whatever_the_player_put_down_is_soundly_drawn(frets: Frets, card_id: str, left_handed: bool) -> None:
    verdict = judge(read_card(card_id), Given(frets=frets), Setting(left_handed=left_handed))
    sound(verdict.drawing or "", limit=None)


def test_tones_stand_where_they_are_stopped() -> None:
    svg = drawn(main("Ab", 4))
    assert [text for _, _, _, text in of_class(svg, "on-root")] == ["R", "R"]
    assert [text for _, _, _, text in of_class(svg, "on-tone")] == ["3", "5"]
    assert [text for _, _, _, text in of_class(svg, "finger")] == ["4", "3", "1", "2"]
    assert [text for _, _, _, text in of_class(svg, "muted")] == ["×", "×"]
    assert len(of_class(svg, "neck-nut")) == 1


def test_a_barre_runs_through_its_notes_from_string_to_string() -> None:
    svg = drawn(main("Ab", 6))
    lines = [_path_points(at["d"]) for _, _, at, _ in of_class(svg, "barre")]
    heights = {float(at["cy"]) for _, _, at, _ in of_class(svg, "tone")}
    assert len(lines) == 1
    (left, y), (right, _) = lines[0]
    assert (left, right) == (34, 34 + 5 * 28)
    assert y in heights


def test_flats_and_the_root_look_like_the_trades() -> None:
    texts = {text for _, kind, _, text in marks(drawn(main("Ab", 7, seventh=True))) if kind in ("on-root", "on-tone")}
    assert texts == {"R", "♭3", "♭5", "♭7"}


def test_roots_are_squares_and_other_tones_circles() -> None:
    svg = drawn(main("Bb", 6))
    assert {tag for tag, _, _, _ in of_class(svg, "root")} == {"rect"}
    assert {tag for tag, _, _, _ in of_class(svg, "tone")} == {"circle"}


def test_open_strings_stand_above_the_nut() -> None:
    voicing = main("G", 1)
    svg = drawn(voicing)
    nut = float(of_class(svg, "neck-nut")[0][2]["d"].split()[1].split("H")[0])
    tones = of_class(svg, "tone")
    roots = of_class(svg, "root")
    heights = [float(at["cy"]) for _, _, at, _ in tones] + [float(at["y"]) for _, _, at, _ in roots]
    assert sum(height < nut for height in heights) == voicing.frets.count(0) == 3


def test_what_of_the_shape_is_not_played_is_faint() -> None:
    """The big G shape of A♭: 4311xx sounds, string 2 fret 1 and string 1 fret 4 belong to the shape."""
    voicing = main("Ab", 1)
    assert voicing.frets == frets_of("4311xx")
    assert len(of_class(drawn(voicing), "faint")) == 2


def test_no_open_string_is_faint_where_the_region_does_not_reach_it() -> None:
    """The usual C shape of Cmaj7 has open strings; in frets 2 to 5 it is not drawn."""
    for voicing in voicings(Key.read("C").chord(1, seventh=True), anchor_region(Key.read("C"), 5)):
        assert 0 not in panel(voicing).faint


@pytest.mark.parametrize("key", ["Ab", "E", "G"])
def test_left_handed_is_the_mirror_image(key: str) -> None:
    for degree in DEGREES:
        voicing = main(key, degree)
        right, left = drawn(voicing), drawn(voicing, left_handed=True)
        sound(left)
        string_6, string_1 = 34.0, 34.0 + 5 * 28

        def spots(svg: str) -> set[tuple[str, float, float]]:
            found = set()
            for tag, kind, at, text in marks(svg):
                if kind in ("root", "tone", "finger", "muted", "on-root", "on-tone", "faint"):
                    x = float(at.get("cx") or at["x"]) + (float(at["width"]) / 2 if tag == "rect" else 0)
                    y = float(at.get("cy") or at["y"])
                    found.add((kind + text, round(x, 1), y))
            return found

        mirrored = {(kind, round(string_6 + string_1 - x, 1), y) for kind, x, y in spots(right)}
        assert spots(left) == mirrored


def test_a_voicing_in_words() -> None:
    voicing = main("Ab", 4)
    assert describe(voicing.frets, voicing.chord) == (
        "string 6 muted, string 5 fret 4 root, string 4 fret 3 third, string 3 fret 1 fifth, "
        "string 2 fret 2 root, string 1 muted"
    )


@pytest.mark.parametrize("name", oracle.KEYS)
def test_every_drawing_says_in_words_what_it_shows(name: str) -> None:
    for degree in DEGREES:
        voicing = main(name, degree)
        desc = next(text for tag, _, _, text in marks(drawn(voicing)) if tag == "desc")
        for string, fret, tone in zip(range(6, 0, -1), voicing.frets, voicing.tones, strict=True):
            place = "muted" if fret is None else "open" if fret == 0 else f"fret {fret}"
            assert f"string {string} {place}" + (f" {tone.name}" if tone else "") in desc


def test_a_region_in_words() -> None:
    assert describe_region(anchor_region(Key.read("Ab"), 1)) == (
        "string 6: fret 1 F, fret 4 A♭; string 5: fret 1 B♭, fret 3 C; string 4: fret 1 E♭, fret 3 F; "
        "string 3: fret 1 A♭, fret 3 B♭; string 2: fret 1 C, fret 4 E♭; string 1: fret 1 F, fret 4 A♭"
    )


def test_a_region_marks_both_tonics() -> None:
    svg = draw_region(anchor_region(Key.read("Ab"), 1))
    assert [text for _, _, _, text in of_class(svg, "on-root")] == ["A♭"] * 3
    assert len(of_class(svg, "tonic")) == 3


def test_a_diagram_in_the_terminal() -> None:
    assert text_diagram(main("Ab", 4)).splitlines() == [
        "    6  5  4  3  2  1",
        "    ×              ×",
        "  1 │  │  │  5  │  │",
        "  2 │  │  │  │  R  │",
        "  3 │  │  3  │  │  │",
        "  4 │  R  │  │  │  │",
        "       4  3  1  2      fingers",
    ]


def test_open_strings_stand_above_the_frets_in_the_terminal() -> None:
    assert text_diagram(main("G", 1)).splitlines()[:2] == ["    6  5  4  3  2  1", "          5  R  3"]


def test_an_answer_marks_a_wide_stretch_with_the_word() -> None:
    for card in (read_card("place:Ab:4:box1"), read_card("place:Ab:6:box1")):
        main = card.voicings(Setting())[0]
        assert ("wide stretch" in str(answer(card, Setting()).drawing)) == main.wide
    assert read_card("place:Ab:4:box1").voicings(Setting())[0].wide
    assert not read_card("place:Ab:6:box1").voicings(Setting())[0].wide
