"""Chord diagrams: one voicing, or the right one and the player's own side by side."""

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
    """One diagram of a drawing: what is stopped, for which chord, where.

    ``fingers`` and ``barres`` may be empty (an answer that no hand can hold has none); ``faint`` are
    the frets of the whole shape, drawn where nothing sounds.
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
    """The diagram of a voicing, with the whole of its shape faintly behind it."""
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
    """The usual full form of the shape it lies in best; () for a mixed one."""
    if not voicing.shapes:
        return ()
    shape = voicing.shapes[0]
    root = root_fret(shape, voicing.chord, voicing.frets, voicing.neck)
    frets, _ = full_form(shape, voicing.chord.quality, root, voicing.region.low, voicing.neck)
    return tuple(fret if fret is not None and fret >= 0 else None for fret in frets)


def describe(frets: Frets, chord: Chord | None = None, neck: Neck = STANDARD) -> str:
    """The voicing in words, string 6 first; with its tones if the chord is given.

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
    """Diagrams as one SVG, two a row."""
    each_frets = ([fret for fret in (*each.frets, *each.faint) if fret is not None] for each in panels)
    sizes = [grid_for(frets, each.region, left_handed) for frets, each in zip(each_frets, panels, strict=True)]
    grids, width, height = in_rows(sizes, CAPTION if any(each.caption for each in panels) else 0)
    words = "; ".join(
        (f"{each.caption}: " if each.caption else "") + describe(each.frets, each.chord, each.neck) for each in panels
    )
    canvas = Canvas(width, height, title, words)
    for grid, each in zip(grids, panels, strict=True):
        paint(canvas, grid, each)
    return canvas.svg()


def draw_question(frets: Frets, region: Region | None, title: str, left_handed: bool) -> str:
    """A diagram that gives nothing away: dots alone, no root, degrees, fingers or shape."""
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


def paint(canvas: Canvas, grid: Grid, each: Panel) -> None:
    """Draw one diagram at its grid's place."""
    if each.caption:
        middle = (grid.x(6) + grid.x(1)) / 2
        canvas.text("caption", middle, grid.top - 2, each.caption, 14)
    grid.draw(canvas, each.region)
    for barre in each.barres:
        y = grid.y(barre.fret)
        canvas.path("barre", f"M{grid.x(barre.low):g} {y:g}H{grid.x(barre.high):g}")
    faint = each.faint or (None,) * 6
    tones = tones_of(each.chord, each.frets, each.neck)
    for string, fret, ghost, tone in zip(STRINGS, each.frets, faint, tones, strict=True):
        if ghost is not None and fret is None and grid.first <= max(ghost, 1) <= grid.last:
            canvas.circle("faint", grid.x(string), grid.y(ghost), MARK - 2)
        if fret is None:
            canvas.text("muted", grid.x(string), grid.top + TOP - 8, "×", 16)
            continue
        label = str(tone) if tone else _note(each, string, fret)
        _mark(canvas, grid.x(string), grid.y(fret), tone == ROOT, tone is not None, label)
    _paint_fingers(canvas, grid, each)


def _note(each: Panel, string: int, fret: int) -> str:
    """A foreign note has no degree: it is marked by its name in the key."""
    return str(each.region.key.spell(each.neck.pitch(string, fret) % 12))


def _mark(canvas: Canvas, x: float, y: float, root: bool, own: bool, text: str) -> None:
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


def _paint_fingers(canvas: Canvas, grid: Grid, each: Panel) -> None:
    y = grid.top + grid.height - 10
    for string, finger in zip(STRINGS, each.fingers, strict=False):
        if finger is not None:
            canvas.text("finger", grid.x(string), y, str(finger) if finger else "T", 13)
