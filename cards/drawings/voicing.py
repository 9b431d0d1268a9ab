"""Chord diagrams: one voicing, or the right voicing and the player's own side by side."""

from __future__ import annotations

from dataclasses import dataclass

from cards.drawings.canvas import Canvas
from cards.drawings.diagram import CAPTION, MARK, TOP, Grid, grid_for, in_rows
from cards.guitar.fingering import Barre, Frets
from cards.guitar.neck import STANDARD, STRINGS, Neck
from cards.guitar.regions import Region
from cards.guitar.shapes import full_form, root_fret
from cards.messages import phrase
from cards.theory.chords import ROOT, Chord
from cards.voicings.voicing import Voicing, tones_of


@dataclass(frozen=True)
class Panel:
    """One diagram of a drawing: the frets of a chord in a region.

    ``fingers`` and ``barres`` are empty for an answer that no hand can hold. ``faint`` holds the frets of the whole
    shape, which are drawn on strings that do not sound.
    """

    chord: Chord
    frets: Frets
    region: Region
    fingers: tuple[int | None, ...] = ()
    barres: tuple[Barre, ...] = ()
    faint: Frets = ()
    caption: str = ""
    neck: Neck = STANDARD


def panel(voicing: Voicing, caption: str = "") -> Panel:
    """Return the diagram of a voicing, with the rest of its shape drawn faintly."""
    return Panel(
        voicing.chord,
        voicing.frets,
        voicing.region,
        voicing.grip.fingers,
        voicing.grip.barres,
        whole_shape(voicing),
        caption,
        voicing.neck,
    )


def whole_shape(voicing: Voicing) -> Frets:
    """Return the frets of the full form of the shape that the voicing fits best, or () if it fits none."""
    if not voicing.shapes:
        return ()
    shape = voicing.shapes[0]
    root = root_fret(shape, voicing.chord, voicing.frets, voicing.neck)
    frets = full_form(shape, voicing.chord.quality, root, voicing.region.low, voicing.neck)
    lowest = 0 if voicing.region.reach[0] == 0 else 1
    return tuple(fret if fret is not None and fret >= lowest else None for fret in frets)


def describe(frets: Frets, chord: Chord | None = None, neck: Neck = STANDARD) -> str:
    """Return the voicing in words, string 6 first. If the chord is given, each sounding string has its tone.

    >>> describe((None, 3, 2, 0, 1, None))
    'string 6 muted, string 5 fret 3, string 4 fret 2, string 3 open, string 2 fret 1, string 1 muted'
    """
    tones = (None,) * 6 if chord is None else tones_of(chord, frets, neck)
    parts = []
    for string, fret, tone in zip(STRINGS, frets, tones, strict=True):
        parts.append(describe_string(string, fret, None if tone is None else tone.name))
    return ", ".join(parts)


def describe_string(string: int, fret: int | None, sounding: str | None = None) -> str:
    """A string in words: muted, open or at a fret, and what sounds there.

    >>> describe_string(4, 2, "third")
    'string 4 fret 2 third'
    """
    if fret is None:
        return phrase("string {string} muted", string=string)
    if sounding is None and fret == 0:
        return phrase("string {string} open", string=string)
    if sounding is None:
        return phrase("string {string} fret {fret}", string=string, fret=fret)
    if fret == 0:
        return phrase("string {string} open {sounding}", string=string, sounding=phrase(sounding))
    return phrase("string {string} fret {fret} {sounding}", string=string, fret=fret, sounding=phrase(sounding))


def draw_voicings(panels: list[Panel], title: str, left_handed: bool = False) -> str:
    """Draw diagrams as one SVG, two a row."""
    frets_of_each = ([fret for fret in (*diagram.frets, *diagram.faint) if fret is not None] for diagram in panels)
    sizes = [grid_for(frets, diagram.region, left_handed) for frets, diagram in zip(frets_of_each, panels, strict=True)]
    grids, width, height = in_rows(sizes, CAPTION if any(diagram.caption for diagram in panels) else 0)
    description = "; ".join(
        (f"{diagram.caption}: " if diagram.caption else "") + describe(diagram.frets, diagram.chord, diagram.neck)
        for diagram in panels
    )
    canvas = Canvas(width, height, title, description)
    for grid, diagram in zip(grids, panels, strict=True):
        paint(canvas, grid, diagram)
    return canvas.svg()


def draw_question(frets: Frets, region: Region | None, title: str, left_handed: bool) -> str:
    """Draw a diagram that does not give the answer away: it has dots, but no root, degrees, fingers or shape."""
    sounding = [fret for fret in frets if fret is not None]
    grid = grid_for(sounding, region, left_handed)
    canvas = Canvas(grid.width, grid.height, title, describe(frets))
    grid.draw(canvas, region)
    for string, fret in zip(STRINGS, frets, strict=True):
        if fret is None:
            canvas.text("muted", grid.x(string), grid.y(0) + 5, "×", 16)
        elif fret == 0:
            canvas.circle("open", grid.x(string), grid.y(0), 6)
        else:
            canvas.circle("dot", grid.x(string), grid.y(fret), MARK)
    return canvas.svg()


def paint(canvas: Canvas, grid: Grid, diagram: Panel) -> None:
    """Draw one diagram on a grid of the canvas."""
    if diagram.caption:
        middle = (grid.x(6) + grid.x(1)) / 2
        canvas.text("caption", middle, grid.top - 2, diagram.caption, 14)
    grid.draw(canvas, diagram.region)
    for barre in diagram.barres:
        y = grid.y(barre.fret)
        canvas.path("barre", f"M{grid.x(barre.low):g} {y:g}H{grid.x(barre.high):g}")
    faint = diagram.faint or (None,) * 6
    tones = tones_of(diagram.chord, diagram.frets, diagram.neck)
    for string, fret, ghost, tone in zip(STRINGS, diagram.frets, faint, tones, strict=True):
        if ghost is not None and fret is None and grid.first <= max(ghost, 1) <= grid.last:
            canvas.circle("faint", grid.x(string), grid.y(ghost), MARK - 2)
        if fret is None:
            canvas.text("muted", grid.x(string), grid.top + TOP - 8, "×", 16)
            continue
        label = str(tone) if tone else _name_foreign_note(diagram, string, fret)
        _mark_note(canvas, grid.x(string), grid.y(fret), tone == ROOT, tone is not None, label)
    _paint_fingers(canvas, grid, diagram)


def _name_foreign_note(diagram: Panel, string: int, fret: int) -> str:
    """Return the name in the key of a note that is no chord tone and so has no degree."""
    return str(diagram.region.key.spell(diagram.neck.pitch(string, fret) % 12))


def _mark_note(canvas: Canvas, x: float, y: float, root: bool, own: bool, text: str) -> None:
    size = 13 if len(text) < 2 else 11
    if root:
        canvas.rect("root", x - 10.5, y - 10.5, 21, 21)
        canvas.text("on-root", x, y + 4.5, text, size)
    elif own:
        canvas.circle("tone", x, y, MARK)
        canvas.text("on-tone", x, y + 4.5, text, size)
    else:
        canvas.circle("foreign", x, y, MARK)
        canvas.text("on-foreign", x, y + 4.5, text, size)


def _paint_fingers(canvas: Canvas, grid: Grid, diagram: Panel) -> None:
    y = grid.top + grid.height - 10
    for string, finger in zip(STRINGS, diagram.fingers, strict=False):
        if finger is not None:
            canvas.text("finger", grid.x(string), y, str(finger) if finger else "T", 13)
