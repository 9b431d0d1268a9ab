"""The key map as a picture for the music stand: a row for each key, a column for each degree.

Conventions. The figure of a cell is a share from 0 to 1, printed as a whole percentage without its sign. A band
at the foot of the cell is as high as the share. An uncertain figure has a dashed outline and a question mark. A
cell without a figure shows a dash.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cards.drawings.canvas import Canvas
from cards.theory.keys import Key

_HEAD, _LABEL, _CELL, _HEIGHT, _GAP = 30.0, 44.0, 44.0, 30.0, 3.0


@dataclass(frozen=True)
class CellFigure:
    """The figure of a cell: a share from 0 to 1, or None, and whether it is certain."""

    share: float | None
    sure: bool = True

    @property
    def text(self) -> str:
        """The figure as it is printed: ``62``, ``40?``, ``–``."""
        return "–" if self.share is None else f"{100 * self.share:.0f}{'' if self.sure else '?'}"


def draw_key_map(title: str, rows: Sequence[tuple[Key, Sequence[CellFigure]]]) -> str:
    """Draw the key map as one SVG, keys from top to bottom and degrees from left to right."""
    columns = max(len(figures) for _, figures in rows)
    description = "; ".join(f"{key}: {', '.join(figure.text for figure in figures)}" for key, figures in rows)
    canvas = Canvas(_LABEL + columns * _CELL, _HEAD + len(rows) * _HEIGHT, title, description)
    for column in range(columns):
        canvas.text("label", _LABEL + (column + 0.5) * _CELL, _HEAD - 10, str(column + 1))
    for number, (key, figures) in enumerate(rows):
        top = _HEAD + number * _HEIGHT
        canvas.text("label", _LABEL / 2, top + 19, str(key))
        for column, figure in enumerate(figures):
            _draw_cell(canvas, _LABEL + column * _CELL, top, figure)
    return canvas.svg()


def _draw_cell(canvas: Canvas, left: float, top: float, figure: CellFigure) -> None:
    width, height = _CELL - _GAP, _HEIGHT - _GAP
    if figure.share is not None:
        filled = height * figure.share
        if filled:
            canvas.rect("region", left, top + height - filled, width, filled)
        canvas.rect("neck-fret" if figure.sure else "faint", left, top, width, height)
    canvas.text("caption" if figure.share is None else "label", left + width / 2, top + 18, figure.text)
