"""The grid of strings and frets that every diagram is drawn on, and its measures in SVG units."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cards.drawings.canvas import Canvas
from cards.guitar.neck import STRINGS
from cards.guitar.regions import Region

STRING_GAP = 28
FRET_GAP = 34
LEFT = 34
RIGHT = 22
TOP = 32
BOTTOM = 30
FEWEST_FRETS = 4
MARK = 11.5
CAPTION = 20
_PER_ROW = 2


@dataclass(frozen=True)
class Grid:
    """Six strings and the frets from ``first`` to ``last``. Fret 1 is beside the nut.

    ``left`` and ``top`` are the upper left corner on the canvas, in units. ``left_handed`` puts string 6 on the
    right.
    """

    first: int
    last: int
    left_handed: bool = False
    left: float = 0.0
    top: float = 0.0

    @property
    def width(self) -> float:
        """Its width with margins, in units."""
        return LEFT + 5 * STRING_GAP + RIGHT

    @property
    def height(self) -> float:
        """Its height with margins, in units."""
        return TOP + (self.last - self.first + 1) * FRET_GAP + BOTTOM

    def x(self, string: int) -> float:
        """Return the x coordinate of a string (6–1)."""
        column = string - 1 if self.left_handed else 6 - string
        return self.left + LEFT + column * STRING_GAP

    def y(self, fret: int) -> float:
        """Return the y coordinate at which a finger presses a fret. Fret 0, an open string, is above the nut."""
        if fret == 0:
            return self.top + TOP - 14
        return self.top + TOP + (fret - self.first + 0.5) * FRET_GAP

    def draw(self, canvas: Canvas, region: Region | None) -> None:
        """Draw the band of the region if there is one, the strings, the frets and the number of the first fret."""
        top, bottom = self.top + TOP, self.top + self.height - BOTTOM
        left, right = sorted((self.x(6), self.x(1)))
        if region is not None:
            self._draw_band(canvas, region, left, right)
        strings = "".join(f"M{self.x(string):g} {top:g}V{bottom:g}" for string in STRINGS)
        frets = "".join(f"M{left:g} {top + step * FRET_GAP:g}H{right:g}" for step in range(self.last - self.first + 2))
        canvas.path("neck-string", strings)
        canvas.path("neck-fret", frets)
        if self.first == 1:
            canvas.path("neck-nut", f"M{left:g} {top:g}H{right:g}")
        canvas.text("fret-number", left - 22, self.y(self.first) + 5, str(self.first), 14)

    def _draw_band(self, canvas: Canvas, region: Region, left: float, right: float) -> None:
        low, high = max(region.low, self.first), min(region.high, self.last)
        upper = self.top + TOP - 28 if region.low == 0 and self.first == 1 else self.y(low) - FRET_GAP / 2
        lower = self.y(high) + FRET_GAP / 2
        canvas.rect("region", left - 13, upper, right - left + 26, lower - upper)


def grid_for(frets: list[int], region: Region | None, left_handed: bool = False) -> Grid:
    """Return the smallest grid of at least four frets that shows these frets (0 = open) and the region."""
    shown = [fret for fret in frets if fret > 0]
    if region is not None:
        shown += [max(region.low, 1), region.high]
    first, last = min(shown, default=1), max(shown, default=1)
    if first <= 2:
        first = 1
    return Grid(first, max(last, first + FEWEST_FRETS - 1), left_handed)


def at(grid: Grid, left: float, top: float) -> Grid:
    """Return the same grid at another place on the canvas."""
    return Grid(grid.first, grid.last, grid.left_handed, left, top)


def in_rows(grids: Sequence[Grid], head: float) -> tuple[list[Grid], float, float]:
    """Place the grids in rows of two, so that they can be read on a phone.

    ``head`` units above each row stay free. Returns (placed grids, width, height) in units.
    """
    placed: list[Grid] = []
    width = top = 0.0
    for start in range(0, len(grids), _PER_ROW):
        row = grids[start : start + _PER_ROW]
        top += head
        left = 0.0
        for grid in row:
            placed.append(at(grid, left, top))
            left += grid.width
        width = max(width, left)
        top += max(grid.height for grid in row)
    return placed, width, top
