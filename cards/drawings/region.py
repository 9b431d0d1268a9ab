"""Drawings of the anchor region: the notes of its box with both tonics marked, or the tones of chords in it."""

from __future__ import annotations

from cards.drawings.canvas import Canvas
from cards.drawings.diagram import CAPTION, MARK, Grid, grid_for, in_rows
from cards.drawings.voicing import describe_string
from cards.guitar.neck import STANDARD, STRINGS, Neck
from cards.guitar.regions import OPEN, Region
from cards.messages import phrase
from cards.theory.chords import ROOT, Chord
from cards.theory.keys import Mode
from cards.theory.pitch import Interval, Note

GUIDES = (3, 7)
"""The guide tones, by number: the third and the seventh, which show the quality of a chord."""

_Places = dict[tuple[int, int], Interval]


def region_title(region: Region) -> str:
    """Return the region in a few words: ``B♭ major (G minor), box 1, frets 3–6``.

    In a minor key and in a blues the tonic of the box comes first: ``G minor (B♭ major)``, ``A blues (A minor box)``.
    A box that is the open position is called so as well: ``G major (E minor), box 1, frets 0–3, open position``.
    """
    if region.box == OPEN:
        return phrase(
            "{key} major ({minor} minor), open position, frets {low}–{high}",
            key=region.key,
            minor=region.key.relative_minor,
            low=region.low,
            high=region.high,
        )
    title = _box_title(region)
    return phrase("{box}, open position", box=title) if region.is_open else title


def _box_title(region: Region) -> str:
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
    """Return the notes of the box in words, string by string."""
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
    """Return the grid that shows the whole region."""
    return grid_for([note.fret for note in region.notes], region, left_handed)


def draw_region(region: Region, left_handed: bool = False) -> str:
    """Draw the box as one SVG. The tonic is a filled square, the tonic of the relative key an outlined one."""
    grid = region_grid(region, left_handed)
    canvas = Canvas(grid.width, grid.height, region_title(region), describe_region(region))
    paint_region(canvas, grid, region)
    return canvas.svg()


def paint_region(canvas: Canvas, grid: Grid, region: Region) -> None:
    """Draw the box on a grid of the canvas."""
    grid.draw(canvas, region)
    for note in region.notes:
        x, y = grid.x(note.string), grid.y(note.fret)
        if note.note == region.key.tonic:
            canvas.rect("root", x - 10.5, y - 10.5, 21, 21)
            canvas.text("on-root", x, y + 4.5, str(note.note), 12)
        elif note.note in (region.key.relative_minor, _relative_major_tonic(region)):
            canvas.rect("tonic", x - 10.5, y - 10.5, 21, 21)
            canvas.text("on-tone", x, y + 4.5, str(note.note), 12)
        else:
            canvas.circle("tone", x, y, MARK)
            canvas.text("on-tone", x, y + 4.5, str(note.note), 12)


def _relative_major_tonic(region: Region) -> Note | None:
    """Return the tonic of the relative major if the key is minor, else None."""
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
    """Return the chord's tones inside the region by (string, fret). ``numbers`` limits them to tones with one of these
    numbers."""
    return {
        (string, fret): tone
        for string in STRINGS
        for fret in range(region.low, region.high + 1)
        if (tone := chord.tone_at(neck.pitch(string, fret) % 12)) is not None
        and (not numbers or tone.number in numbers)
    }


def _draw_places(region: Region, panels: list[tuple[str, _Places]], title: str, left_handed: bool) -> str:
    grid_size = grid_for(list(range(region.low, region.high + 1)), region, left_handed)
    grids, width, height = in_rows([grid_size] * len(panels), CAPTION if any(caption for caption, _ in panels) else 0)
    description = "; ".join(_describe_places(caption, places) for caption, places in panels)
    canvas = Canvas(width, height, title, description)
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
