"""The key map as a picture for the music stand: every key by degree, a figure in each cell.

Conventions. A cell's figure is a share from 0 to 1, printed as so many of 100; a band of that height
stands at its foot, so the shade says the same again. What is not sure is outlined by dashes and
printed with a question mark; what has no figure is a dash.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cards.drawings.canvas import Canvas
from cards.theory.keys import Key

_HEAD, _LABEL, _CELL, _HEIGHT, _GAP = 30.0, 44.0, 44.0, 30.0, 3.0


@dataclass(frozen=True)
class CellFigure:
    """What stands in a cell."""

    share: float | None
    sure: bool = True

    @property
    def text(self) -> str:
        """It in print: ``62``, ``40?``, ``–``."""
        return "–" if self.share is None else f"{100 * self.share:.0f}{'' if self.sure else '?'}"


def draw_key_map(title: str, rows: Sequence[tuple[Key, Sequence[CellFigure]]]) -> str:
    """Keys from top to bottom, degrees from left to right, as one SVG."""
    columns = max(len(figures) for _, figures in rows)
    words = "; ".join(f"{key}: {', '.join(figure.text for figure in figures)}" for key, figures in rows)
    canvas = Canvas(_LABEL + columns * _CELL, _HEAD + len(rows) * _HEIGHT, title, words)
    for column in range(columns):
        canvas.text("label", _LABEL + (column + 0.5) * _CELL, _HEAD - 10, str(column + 1))
    for number, (key, figures) in enumerate(rows):
        top = _HEAD + number * _HEIGHT
        canvas.text("label", _LABEL / 2, top + 19, str(key))
        for column, figure in enumerate(figures):
            _draw(canvas, _LABEL + column * _CELL, top, figure)
    return canvas.svg()


def _draw(canvas: Canvas, left: float, top: float, figure: CellFigure) -> None:
    width, height = _CELL - _GAP, _HEIGHT - _GAP
    if figure.share is not None:
        filled = height * figure.share
        if filled:
            canvas.rect("region", left, top + height - filled, width, filled)
        canvas.rect("neck-fret" if figure.sure else "faint", left, top, width, height)
    canvas.text("caption" if figure.share is None else "label", left + width / 2, top + 18, figure.text)
