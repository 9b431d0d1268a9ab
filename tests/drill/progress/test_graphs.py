"""Graphs of figures: sound SVG, in words too, nothing outside the frame."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner

from cards.drawings.key_map import CellFigure, draw_key_map
from cards.theory.keys import MAJOR_KEYS
from drill.cli.command import main
from drill.progress import graphs
from drill.store import Store
from tests.drill.logs import lines, write
from tests.drill.rows import NOW

SVG = "{http://www.w3.org/2000/svg}"
ENDS = ("1 Apr", "1 May")

DRAWN = {
    "course": graphs.draw_course("Title", "Words.", [(0.0, 0.2), (0.5, 0.4), (1.0, 1.0)], ENDS),
    "amounts": graphs.draw_amounts("Title", "Words.", [(0.0, 0.0), (1.0, 47.0)], ENDS, "min"),
    "answers": graphs.draw_answers("Title", "Words.", [(0.0, 3.0, "clean"), (1.0, 29.0, "missed")], ENDS),
    "stacks": graphs.draw_stacks("Title", "Words.", [(12, 3, 0), (0, 0, 1)], ENDS),
    "intervals": graphs.draw_intervals("Title", "Words.", [("the four", -0.2, -0.3, -0.1), ("E♭", 0.0, -0.1, 0.1)]),
    "calibration": graphs.draw_calibration("Title", "Words.", [(0.2, 0.1, 0.2), (0.9, 0.98, 0.1)]),
}


@pytest.mark.parametrize("name", DRAWN)
def test_a_graph_says_in_words_what_it_shows_and_stays_in_its_frame(name: str) -> None:
    root = ElementTree.fromstring(DRAWN[name])
    assert root.findtext(f"{SVG}title") == "Title"
    assert root.findtext(f"{SVG}desc") == "Words."
    width, height = map(float, root.attrib["viewBox"].split()[2:])
    for circle in root.iter(f"{SVG}circle"):
        assert 0 <= float(circle.attrib["cx"]) <= width
        assert 0 <= float(circle.attrib["cy"]) <= height
    for box in root.iter(f"{SVG}rect"):
        assert float(box.attrib["x"]) + float(box.attrib["width"]) <= width
        assert float(box.attrib["y"]) >= 0
    assert "nan" not in DRAWN[name]
    assert "style=" not in DRAWN[name]


def test_the_higher_figure_is_drawn_higher() -> None:
    root = ElementTree.fromstring(DRAWN["course"])
    heights = [float(circle.attrib["cy"]) for circle in root.iter(f"{SVG}circle")]
    assert heights == sorted(heights, reverse=True)


def test_an_interval_that_holds_nothing_is_filled_and_another_open() -> None:
    root = ElementTree.fromstring(DRAWN["intervals"])
    assert [circle.attrib["class"] for circle in root.iter(f"{SVG}circle")] == ["root", "tone"]


def test_outcomes_differ_in_form_and_not_in_hue() -> None:
    fills = set(re.findall(r'class="(root|region|tone)"', graphs.draw_stacks("", "", [(1, 1, 1)], ENDS)))
    assert fills == {"root", "region", "tone"}


def test_the_key_map_as_a_picture_has_every_figure_in_print_and_in_words() -> None:
    figures = [CellFigure(0.62), CellFigure(0.4, sure=False), *[CellFigure(None)] * 5]
    drawn = ElementTree.fromstring(draw_key_map("Key map", [(key, figures) for key in MAJOR_KEYS]))
    printed = [text.text for text in drawn.iter(f"{SVG}text")]
    assert printed.count("62") == printed.count("40?") == 13
    assert (drawn.findtext(f"{SVG}desc") or "").startswith("G♭: 62, 40?, –, –")
    bands = [float(box.attrib["height"]) for box in drawn.iter(f"{SVG}rect") if box.attrib["class"] == "region"]
    assert bands[0] > bands[1], "the shade says the same as the figure"


def test_the_map_is_drawn_from_the_terminal(store: Store, tmp_path: object) -> None:
    write(store, lines("name:Ab:4", "ccccc", NOW))
    file = f"{tmp_path}/map.svg"
    assert CliRunner().invoke(main, ["weak", "--data", str(tmp_path), "--map", file]).exit_code == 0
    assert "A♭: –, –, –, " in ElementTree.parse(file).getroot().findtext(f"{SVG}desc", "")
