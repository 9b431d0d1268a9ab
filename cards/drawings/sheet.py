"""One page for a region: the box with its notes, and the key's diatonic chords with their main voicings."""

from __future__ import annotations

from cards.drawings.canvas import Canvas
from cards.drawings.diagram import at, grid_for
from cards.drawings.region import describe_region, paint_region, region_grid, region_title
from cards.drawings.voicing import describe, paint, panel
from cards.guitar.fingering import MEDIUM, Hand
from cards.guitar.regions import Region
from cards.messages import phrase
from cards.theory.keys import Mode
from cards.voicings.voicing import Voicing, voicings

_COLUMNS = 4
_CELL_WIDTH = 210
_CELL_HEIGHT = 300
_HEAD = 70
_MARGIN = 20


def draw_sheet(region: Region, hand: Hand = MEDIUM, left_handed: bool = False) -> str:
    """Draw the region and the main voicings of its diatonic chords as one SVG, four drawings a row."""
    mains = [voicings(region.key.chord(degree), region, hand)[0] for degree in region.key.degrees]
    height = _HEAD + 2 * _CELL_HEIGHT + _MARGIN
    width = _COLUMNS * _CELL_WIDTH + 2 * _MARGIN
    canvas = Canvas(width, height, region_title(region), _describe(region, mains))
    canvas.text("label", width / 2, 34, region_title(region), 22)
    canvas.text("caption", width / 2, 56, _legend(region.key.mode), 13)
    left, top = _cell(0)
    paint_region(canvas, at(region_grid(region, left_handed), left, top), region)
    canvas.text("label", left + 104, top, phrase("the box"), 16)
    for index, (degree, main) in enumerate(zip(region.key.degrees, mains, strict=True)):
        left, top = _cell(index + 1)
        numeral = region.key.numeral(degree)
        canvas.text("label", left + 104, top, f"{degree} · {numeral} · {main.chord}", 16)
        diagram = panel(main)
        frets = [fret for fret in (*diagram.frets, *diagram.faint) if fret is not None]
        paint(canvas, at(grid_for(frets, region, left_handed), left, top), diagram)
    return canvas.svg()


def _legend(mode: Mode) -> str:
    if mode == Mode.MAJOR:
        return phrase("filled square: major tonic; outlined: minor tonic")
    if mode == Mode.MINOR:
        return phrase("filled square: minor tonic; outlined: major tonic")
    return phrase("filled square: tonic")


def _cell(index: int) -> tuple[float, float]:
    """Upper left corner of the n-th drawing."""
    row, column = divmod(index, _COLUMNS)
    return _MARGIN + column * _CELL_WIDTH, _HEAD + 24 + row * _CELL_HEIGHT


def _describe(region: Region, mains: list[Voicing]) -> str:
    chords = "; ".join(f"{main.chord}: {describe(main.frets, main.chord)}" for main in mains)
    return f"{describe_region(region)}. {chords}"
