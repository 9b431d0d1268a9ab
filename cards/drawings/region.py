"""The anchor region: the box's notes with both tonics marked."""

from __future__ import annotations

from cards.drawings.canvas import Canvas
from cards.drawings.diagram import CAPTION, MARK, Grid, grid_for, in_rows
from cards.drawings.voicing import describe_string
from cards.guitar.neck import STANDARD, STRINGS, Neck
from cards.guitar.regions import Region
from cards.messages import phrase
from cards.theory.chords import ROOT, Chord
from cards.theory.keys import Mode
from cards.theory.pitch import Interval, Note

GUIDES = (3, 7)
"""The numbers of the tones that say what a chord is."""

_Places = dict[tuple[int, int], Interval]


def region_title(region: Region) -> str:
    """The region in a few words: ``B♭ major (G minor), box 1, frets 3–6``; a minor key and a blues
    say first which tonic the box belongs to."""
    key = region.key
    place = {"box": region.box, "low": region.low, "high": region.high}
    if key.mode == Mode.MAJOR:
        return phrase(
            "{key} major ({minor} minor), box {box}, frets {low}–{high}", key=key, minor=key.relative_minor, **place
        )
    if key.is_minor:
        return phrase(
            "{key} minor ({major} major), box {box}, frets {low}–{high}", key=key.tonic, major=key.relative, **place
        )
    return phrase("{key} ({tonic} minor box), box {box}, frets {low}–{high}", key=key, tonic=key.tonic, **place)


def describe_region(region: Region) -> str:
    """The box's notes in words, string by string."""
    strings: dict[int, list[str]] = {}
    for each in region.notes:
        if each.fret == 0:
            note = phrase("open {note}", note=each.note)
        else:
            note = phrase("fret {fret} {note}", fret=each.fret, note=each.note)
        strings.setdefault(each.string, []).append(note)
    return "; ".join(
        phrase("string {string}: {notes}", string=string, notes=", ".join(notes)) for string, notes in strings.items()
    )


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


def draw_tones(region: Region, chord: Chord, neck: Neck = STANDARD, left_handed: bool = False) -> str:
    """Every place of a chord's tones inside the region."""
    title = phrase("{chords} in {region}", chords=chord, region=region_title(region))
    return _draw_places(region, [("", _places(region, chord, neck))], title, left_handed)


def draw_guides(region: Region, chords: tuple[Chord, ...], neck: Neck = STANDARD, left_handed: bool = False) -> str:
    """For each chord the places of its third and seventh inside the region, two chords a row."""
    panels = [(str(chord), _places(region, chord, neck, GUIDES)) for chord in chords]
    title = phrase("{chords} in {region}", chords=" ".join(map(str, chords)), region=region_title(region))
    return _draw_places(region, panels, title, left_handed)


def _places(region: Region, chord: Chord, neck: Neck, numbers: tuple[int, ...] = ()) -> _Places:
    """The chord's tones by string and fret; with ``numbers`` only those."""
    return {
        (string, fret): tone
        for string in STRINGS
        for fret in range(region.low, region.high + 1)
        if (tone := chord.tone_at(neck.pitch(string, fret) % 12)) is not None
        and (not numbers or tone.number in numbers)
    }


def _draw_places(region: Region, panels: list[tuple[str, _Places]], title: str, left_handed: bool) -> str:
    size = grid_for(list(range(region.low, region.high + 1)), region, left_handed)
    grids, width, height = in_rows([size] * len(panels), CAPTION if any(caption for caption, _ in panels) else 0)
    words = "; ".join(_describe_places(caption, places) for caption, places in panels)
    canvas = Canvas(width, height, title, words)
    for grid, (caption, places) in zip(grids, panels, strict=True):
        if caption:
            canvas.text("caption", (grid.x(6) + grid.x(1)) / 2, grid.top - 2, caption, 14)
        grid.draw(canvas, region)
        for (string, fret), tone in places.items():
            _mark_tone(canvas, grid.x(string), grid.y(fret), tone)
    return canvas.svg()


def _describe_places(caption: str, places: _Places) -> str:
    words = ", ".join(describe_string(string, fret, tone.name) for (string, fret), tone in places.items())
    return f"{caption}: {words}" if caption else words


def _mark_tone(canvas: Canvas, x: float, y: float, tone: Interval) -> None:
    if tone == ROOT:
        canvas.rect("root", x - 10.5, y - 10.5, 21, 21)
        canvas.text("on-root", x, y + 4.5, str(tone), 13)
    else:
        canvas.circle("tone", x, y, MARK)
        canvas.text("on-tone", x, y + 4.5, str(tone), 12)
