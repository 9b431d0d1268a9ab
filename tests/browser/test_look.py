"""Contrasts are measured: every token, as the browser has it, in both themes."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from tests.browser.stage import DESKTOP, ROOT, Drill, Stage

Open = Callable[..., Stage]

TEXT = 4.5
SHAPE = 3.0

# What stands on what, and how far it must stand out.
PAIRS = [
    *((ink, ground, TEXT) for ink in ("ink", "quiet", "work", "late", "miss", "clean") for ground in ("paper", "band")),
    ("paper", "work", TEXT),
    ("paper", "ink", TEXT),
    ("band-edge", "band", SHAPE),
    ("band-edge", "paper", SHAPE),
    ("edge", "paper", SHAPE),
]


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it, of ``#RRGGBB``."""
    channels = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_is_measured_as_wcag_says() -> None:
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    assert contrast("#777777", "#FFFFFF") == pytest.approx(4.48, abs=0.01)


@pytest.fixture
def tokens(drill: Drill, stage: Open, request: pytest.FixtureRequest) -> dict[str, str]:
    at = stage(drill, dark=request.param, screen=DESKTOP)
    at.go("/nowhere")
    names = {name for pair in PAIRS for name in pair[:2]}
    # A token is one colour for light and one for dark: the browser says which it takes when something has that colour.
    read = """(name) => {
      document.body.style.setProperty("color", `var(--${name})`);
      const channels = getComputedStyle(document.body).color.match(/\\d+/g);
      return `#${channels.map((one) => Number(one).toString(16).padStart(2, "0")).join("")}`.toUpperCase();
    }"""
    return {name: at.page.evaluate(read, name) for name in names}


@pytest.mark.parametrize("tokens", [False, True], ids=["light", "dark"], indirect=True)
def test_every_token_stands_out_from_what_it_stands_on(tokens: dict[str, str]) -> None:
    assert all(re.fullmatch(r"#[0-9A-F]{6}", value) for value in tokens.values()), tokens
    weak = {
        f"{ink} on {ground}": round(contrast(tokens[ink], tokens[ground]), 2)
        for ink, ground, least in PAIRS
        if contrast(tokens[ink], tokens[ground]) < least
    }
    assert weak == {}


def test_a_chosen_theme_goes_before_the_devices_own(drill: Drill, stage: Open) -> None:
    paper = {"light": "rgb(250, 247, 241)", "dark": "rgb(21, 24, 27)"}
    for dark in (False, True):
        at = stage(drill, dark=dark, screen=DESKTOP)
        at.go("/nowhere")
        background = "getComputedStyle(document.body).backgroundColor"
        assert at.page.evaluate(background) == paper["dark" if dark else "light"]
        for chosen, colour in paper.items():
            at.page.evaluate("(theme) => document.documentElement.dataset.theme = theme", chosen)
            assert at.page.evaluate(background) == colour


def test_every_colour_is_a_token() -> None:
    """A colour written in another style sheet would not follow the theme. Paper, in print, is always white."""
    for path in sorted((ROOT / "static" / "css").glob("*.css")):
        text = path.read_text().partition("@media print")[0]
        if path.name != "tokens.css":
            assert re.findall(r"#[0-9A-Fa-f]{3,8}\b(?=[^{}]*[;}])", text) == [], path.name


def test_every_page_links_style_sheets_that_are_there_and_none_is_left_over() -> None:
    """The base sheets come first and no sheet imports another, so that a browser asks for all of them at once."""
    texts = {path.name: path.read_text() for path in (ROOT / "templates").glob("*.html")}
    base = re.search(r"for name in \[([^]]*)\] \+ \(styles or \[\]\)", texts["base.html"])
    assert base
    lists = [base[1], *(found for text in texts.values() for found in re.findall(r"set styles = \[([^]]*)\]", text))]
    linked = {name for found in lists for name in re.findall(r'"([^"]+)"', found)}
    sheets = {path.name: path.read_text() for path in (ROOT / "static" / "css").iterdir()}
    assert linked == set(sheets)
    assert not any("@import" in text for text in sheets.values())


def test_no_drawing_has_a_class_that_the_style_sheet_does_not_colour(drill: Drill, stage: Open) -> None:
    at = stage(drill, dark=True, screen=DESKTOP)
    at.go("/neck?key=E♭&box=2")
    at.page.locator(".card svg").first.wait_for()
    light = "rgb(31, 28, 25)"  # The drawings' own ink, which would vanish on dark paper.
    unseen = at.page.evaluate(
        """(ink) => [...document.querySelectorAll("svg [class]")]
          .filter((mark) => [getComputedStyle(mark).fill, getComputedStyle(mark).stroke].includes(ink))
          .map((mark) => mark.getAttribute("class"))""",
        light,
    )
    assert unseen == []


def test_the_signs_of_music_have_glyphs(drill: Drill, stage: Open) -> None:
    """A sign without a glyph is drawn as the same empty box as any other without one."""
    at = stage(drill, screen=DESKTOP)
    at.go("/nowhere")
    drawn = at.page.evaluate(
        """() => ["♯", "♭", "°", "ø", "×", "○", "\\u{10FFFD}"].map((sign) => {
          const canvas = new OffscreenCanvas(48, 48).getContext("2d");
          canvas.font = `32px ${getComputedStyle(document.body).fontFamily}`;
          canvas.fillText(sign, 8, 36);
          return canvas.getImageData(0, 0, 48, 48).data.join();
        })"""
    )
    assert len(set(drawn)) == len(drawn)
