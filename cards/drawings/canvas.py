"""A typed canvas of paths, rectangles, circles and text. No other module uses svgwrite.

Units are user units of the SVG (px at natural size). A class says what a mark stands for (root, tone, region …).
The attributes beside it are the light theme's values.
"""

from __future__ import annotations

from typing import Any

import svgwrite

INK = "#1F1C19"
PAPER = "#FAF7F1"
QUIET = "#6A645C"
BAND = "#DDE9E4"
EDGE = "#5E8A84"
WORK = "#0C5C5C"
MISS = "#9C2F24"

_LOOK: dict[str, dict[str, Any]] = {
    "neck-string": {"stroke": INK, "stroke_width": 1, "fill": "none"},
    "neck-fret": {"stroke": INK, "stroke_width": 1, "fill": "none"},
    "neck-nut": {"stroke": INK, "stroke_width": 4, "fill": "none"},
    "region": {"fill": BAND, "stroke": EDGE, "stroke_width": 1},
    "root": {"fill": WORK, "stroke": WORK, "stroke_width": 2},
    "tone": {"fill": PAPER, "stroke": INK, "stroke_width": 2},
    "dot": {"fill": INK, "stroke": INK, "stroke_width": 2},
    "tonic": {"fill": PAPER, "stroke": WORK, "stroke_width": 3},
    "foreign": {"fill": PAPER, "stroke": MISS, "stroke_width": 2, "stroke_dasharray": "3 2"},
    "faint": {"fill": "none", "stroke": QUIET, "stroke_width": 1, "stroke_dasharray": "2 2"},
    "barre": {"stroke": INK, "stroke_width": 6, "fill": "none"},
    "trace": {"stroke": WORK, "stroke_width": 2, "fill": "none"},
    "open": {"fill": PAPER, "stroke": INK, "stroke_width": 1.5},
    "on-root": {"fill": PAPER},
    "on-tone": {"fill": INK},
    "on-foreign": {"fill": MISS},
    "muted": {"fill": INK},
    "finger": {"fill": QUIET},
    "fret-number": {"fill": QUIET},
    "label": {"fill": INK},
    "caption": {"fill": QUIET},
}


class Canvas:
    """An SVG of ``width`` by ``height`` units while it is drawn.

    ``title`` and ``description`` say in words what it shows. The ``kind`` of a mark is its class.
    """

    def __init__(self, width: float, height: float, title: str, description: str) -> None:
        self._svg: Any = svgwrite.Drawing(debug=False, size=(f"{width:g}", f"{height:g}"))
        self._svg.attribs.update({"viewBox": f"0 0 {width:g} {height:g}", "role": "img", "class": "drawing"})
        self._svg.attribs["font-family"] = "system-ui, sans-serif"
        self._svg.attribs["text-anchor"] = "middle"
        self._svg.set_desc(title, description)

    def path(self, kind: str, data: str) -> None:
        """Add a path, given as SVG path data."""
        self._svg.add(self._svg.path(d=data, class_=kind, **_LOOK[kind]))

    def rect(self, kind: str, x: float, y: float, width: float, height: float) -> None:
        """Add a rectangle. ``x`` and ``y`` are its upper left corner."""
        size = (round(width, 1), round(height, 1))
        self._svg.add(self._svg.rect((round(x, 1), round(y, 1)), size, class_=kind, **_LOOK[kind]))

    def circle(self, kind: str, x: float, y: float, radius: float) -> None:
        """Add a circle. ``x`` and ``y`` are its centre."""
        self._svg.add(self._svg.circle((round(x, 1), round(y, 1)), radius, class_=kind, **_LOOK[kind]))

    def text(self, kind: str, x: float, y: float, words: str, size: float = 13, anchor: str | None = None) -> None:
        """Add text with its baseline at ``y``. It is centred at ``x``, or has its ``start`` or ``end`` there if
        ``anchor`` says so."""
        place = (round(x, 1), round(y, 1))
        anchored = {} if anchor is None else {"text_anchor": anchor}
        self._svg.add(self._svg.text(words, place, font_size=size, class_=kind, **_LOOK[kind], **anchored))

    def svg(self) -> str:
        """Return the drawing as one SVG element."""
        return str(self._svg.tostring())
