"""The anchor region: the box's notes with both tonics marked."""

from __future__ import annotations

from cards.chords import ROOT, Chord
from cards.drawings.canvas import Canvas
from cards.drawings.diagram import MARK, Grid, grid_for
from cards.keys import Mode
from cards.neck import STANDARD, STRINGS, Neck
from cards.pitch import Note
from cards.regions import Region


def region_title(region: Region) -> str:
    """The region in a few words: ``B♭ major (G minor), box 1, frets 3–6``; a minor key and a blues
    say first which tonic the box belongs to."""
    key = region.key
    if key.mode == Mode.MAJOR:
        name = f"{key} major ({key.relative_minor} minor)"
    else:
        name = f"{key.tonic} minor ({key.relative} major)" if key.is_minor else f"{key} ({key.tonic} minor box)"
    return f"{name}, box {region.box}, frets {region.low}–{region.high}"


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
        elif each.note in (region.key.relative_minor, _other_tonic(region)):
            canvas.rect("tonic", x - 10.5, y - 10.5, 21, 21)
            canvas.text("on-tone", x, y + 4.5, str(each.note), 12)
        else:
            canvas.circle("tone", x, y, MARK)
            canvas.text("on-tone", x, y + 4.5, str(each.note), 12)


def _other_tonic(region: Region) -> Note | None:
    """The relative major's tonic of a minor key; the tonic of its own is drawn filled."""
    return region.key.relative.tonic if region.key.is_minor else None


def draw_tones(
    region: Region,
    chord: Chord,
    neck: Neck = STANDARD,
    left_handed: bool = False,
    numbers: tuple[int, ...] = (),
) -> str:
    """Every place of a chord's tones inside the region; with ``numbers`` only those tones (3, 7 …)."""
    frets = range(region.low, region.high + 1)
    places = {
        (string, fret): tone
        for string in STRINGS
        for fret in frets
        if (tone := chord.tone_at(neck.pitch(string, fret) % 12)) is not None
        and (not numbers or tone.number in numbers)
    }
    words = ", ".join(f"string {string} fret {fret} {tone.name}" for (string, fret), tone in places.items())
    grid = grid_for(list(frets), region, left_handed)
    canvas = Canvas(grid.width, grid.height, f"{chord} in {region_title(region)}", words)
    grid.draw(canvas, region)
    for (string, fret), tone in places.items():
        x, y = grid.x(string), grid.y(fret)
        if tone == ROOT:
            canvas.rect("root", x - 10.5, y - 10.5, 21, 21)
            canvas.text("on-root", x, y + 4.5, str(tone), 13)
        else:
            canvas.circle("tone", x, y, MARK)
            canvas.text("on-tone", x, y + 4.5, str(tone), 12)
    return canvas.svg()
