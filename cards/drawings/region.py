"""The anchor region: the box's notes with both tonics marked."""

from __future__ import annotations

from cards.drawings.canvas import Canvas
from cards.drawings.diagram import MARK, Grid, grid_for
from cards.regions import Region


def region_title(region: Region) -> str:
    """The region in a few words: ``B♭ major (G minor), box 1, frets 3–6``."""
    return f"{region.key} major ({region.key.relative_minor} minor), box {region.box}, frets {region.low}–{region.high}"


def describe_region(region: Region) -> str:
    """The box's notes in words, string by string."""
    strings: dict[int, list[str]] = {}
    for each in region.notes:
        place = "open" if each.fret == 0 else f"fret {each.fret}"
        strings.setdefault(each.string, []).append(f"{place} {each.note}")
    return "; ".join(f"string {string}: {', '.join(notes)}" for string, notes in strings.items())


def region_grid(region: Region, left_handed: bool = False) -> Grid:
    """The grid that shows the whole region."""
    return grid_for([note.fret for note in region.notes], region, left_handed)


def draw_region(region: Region, left_handed: bool = False) -> str:
    """The box as one SVG: the key's tonic a filled square, its relative minor's an outlined one."""
    grid = region_grid(region, left_handed)
    canvas = Canvas(grid.width, grid.height, region_title(region), describe_region(region))
    paint_region(canvas, grid, region)
    return canvas.svg()


def paint_region(canvas: Canvas, grid: Grid, region: Region) -> None:
    """Draw the box at its grid's place."""
    grid.draw(canvas, region)
    for each in region.notes:
        x, y = grid.x(each.string), grid.y(each.fret)
        if each.note == region.key.tonic:
            canvas.rect("root", x - 10.5, y - 10.5, 21, 21)
            canvas.text("on-root", x, y + 4.5, str(each.note), 12)
        elif each.note == region.key.relative_minor:
            canvas.rect("tonic", x - 10.5, y - 10.5, 21, 21)
            canvas.text("on-tone", x, y + 4.5, str(each.note), 12)
        else:
            canvas.circle("tone", x, y, MARK)
            canvas.text("on-tone", x, y + 4.5, str(each.note), 12)
