"""Draw a player's figures: a course, marks over time, stacks, intervals, predicted against actual shares.

Conventions. Every graph has a title and says in words what it shows; the figures are in a table beside it. There is
one colour: marks differ in form (filled, tinted, outlined), not in hue. Lengths are in units of the drawing; a graph
is ``WIDTH`` wide.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cards.drawings.canvas import Canvas
from drill.words import gettext as _

WIDTH = 340.0
_LEFT, _RIGHT, _TOP, _FOOT = 46.0, 10.0, 12.0, 26.0
_HEIGHT = 150.0
_ROW = 26.0
_MARK = 4.0


@dataclass(frozen=True)
class Axes:
    """The axes of a graph: values from 0 to ``top`` upwards, places from 0 to 1 to the right."""

    top: float
    height: float = _HEIGHT

    def x(self, share: float) -> float:
        """Return the x of a share of the width."""
        return _LEFT + share * (WIDTH - _LEFT - _RIGHT)

    def y(self, value: float) -> float:
        """Return the y of a value."""
        return _TOP + (1.0 - value / self.top) * self.height

    def canvas(self, title: str, words: str, ticks: Sequence[tuple[float, str]], ends: tuple[str, str]) -> Canvas:
        """Return a canvas with these ticks on the vertical axis, and a label under each end of the other."""
        canvas = Canvas(WIDTH, _TOP + self.height + _FOOT, title, words)
        for value, label in ticks:
            canvas.path("faint" if value else "neck-fret", f"M{self.x(0):g} {self.y(value):.1f}H{self.x(1):g}")
            canvas.text("caption", self.x(0) - 5, self.y(value) + 4, label, 13, "end")
        canvas.text("caption", self.x(0), self.y(0) + 17, ends[0], 13, "start")
        canvas.text("caption", self.x(1), self.y(0) + 17, ends[1], 13, "end")
        return canvas


Point = tuple[float, float]
"""A place from 0 to 1, and a value."""

PERCENT_TICKS = ((0.0, "0"), (0.5, "50"), (1.0, "100 %"))


def draw_course(title: str, words: str, points: Sequence[Point], ends: tuple[str, str]) -> str:
    """Draw shares (0 to 1) over time, joined by a line."""
    frame = Axes(1.0)
    canvas = frame.canvas(title, words, PERCENT_TICKS, ends)
    _join(canvas, frame, points)
    return canvas.svg()


def draw_amounts(title: str, words: str, points: Sequence[Point], ends: tuple[str, str], unit: str) -> str:
    """Draw amounts (0 and up) over time, joined by a line."""
    frame = Axes(_round_up(max(value for _, value in points)))
    canvas = frame.canvas(title, words, _ticks(frame.top, unit), ends)
    _join(canvas, frame, points)
    return canvas.svg()


def draw_answers(title: str, words: str, marks: Sequence[tuple[float, float, str]], ends: tuple[str, str]) -> str:
    """Draw the seconds of single answers over time: filled if clean, half-tinted if late, open if missed."""
    frame = Axes(_round_up(max(seconds for _, seconds, _ in marks)))
    canvas = frame.canvas(title, words, _ticks(frame.top, "s"), ends)
    for share, seconds, outcome in marks:
        canvas.circle(_FORMS[outcome], frame.x(share), frame.y(seconds), _MARK)
    return canvas.svg()


def draw_stacks(title: str, words: str, stacks: Sequence[tuple[int, int, int]], ends: tuple[str, str]) -> str:
    """Draw the clean, late and missed answers of each session, clean at the bottom."""
    frame = Axes(_round_up(max(map(sum, stacks))))
    canvas = frame.canvas(title, words, _ticks(frame.top, ""), ends)
    step = 1.0 / len(stacks)
    width = (frame.x(step) - frame.x(0)) * 0.8
    for place, stack in enumerate(stacks):
        base = 0
        for outcome, amount in zip(_FORMS, stack, strict=True):
            if amount:
                y = frame.y(base + amount)
                canvas.rect(_FORMS[outcome], frame.x((place + 0.1) * step), y, width, frame.y(base) - y)
            base += amount
    return canvas.svg()


def draw_intervals(title: str, words: str, rows: Sequence[tuple[str, float, float, float]]) -> str:
    """Draw gains with their low and high ends (shares; below 0 they are losses), one row for each name."""
    reach = max(0.05, *(abs(value) for _, _, low, high in rows for value in (low, high)))
    half = (WIDTH - 150) / 2
    middle = 140 + half

    def place(value: float) -> float:
        return middle + value / reach * half

    canvas = Canvas(WIDTH, _ROW * len(rows) + 30, title, words)
    canvas.path("neck-fret", f"M{middle:g} 4V{_ROW * len(rows) + 8:g}")
    for number, (name, gain, low, high) in enumerate(rows):
        y = _ROW * number + 18
        canvas.text("label", 130, y + 4, name, 13, "end")
        canvas.path("trace", f"M{place(low):.1f} {y:g}H{place(high):.1f}")
        canvas.circle("root" if low > 0 or high < 0 else "tone", place(gain), y, _MARK)
    foot = _ROW * len(rows) + 24
    canvas.text("caption", 140, foot, _("costs"), 13, "start")
    canvas.text("caption", middle, foot, _("like the others"), 13)
    canvas.text("caption", WIDTH - 10, foot, _("brings"), 13, "end")
    return canvas.svg()


def draw_calibration(title: str, words: str, groups: Sequence[tuple[float, float, float]]) -> str:
    """Draw the predicted against the actual shares, with the margin of the latter; on the slope they agree."""
    frame = Axes(1.0, WIDTH - _LEFT - _RIGHT)
    canvas = frame.canvas(title, words, PERCENT_TICKS, (_("predicted 0 %"), _("predicted 100 %")))
    canvas.path("faint", f"M{frame.x(0):g} {frame.y(0):g}L{frame.x(1):g} {frame.y(1):g}")
    for predicted, actual, margin in groups:
        low, high = frame.y(max(actual - margin, 0.0)), frame.y(min(actual + margin, 1.0))
        canvas.path("trace", f"M{frame.x(predicted):.1f} {low:.1f}V{high:.1f}")
        canvas.circle("root", frame.x(predicted), frame.y(actual), _MARK)
    return canvas.svg()


_FORMS = {"clean": "root", "late": "region", "missed": "tone"}


def _join(canvas: Canvas, frame: Axes, points: Sequence[Point]) -> None:
    places = [f"{frame.x(share):.1f} {frame.y(value):.1f}" for share, value in points]
    canvas.path("trace", "M" + "L".join(places))
    for share, value in points:
        canvas.circle("root", frame.x(share), frame.y(value), _MARK - 1)


def _ticks(top: float, unit: str) -> list[tuple[float, str]]:
    return [(value, f"{value:g} {unit}".rstrip()) for value in (0.0, top / 2, top)]


def _round_up(value: float) -> float:
    """Return the next value that makes readable ticks.

    >>> [_round_up(value) for value in (0.3, 7, 23, 140)]
    [1.0, 10.0, 50.0, 200.0]
    """
    step = 1.0
    while True:
        for times in (1.0, 2.0, 5.0):
            if value <= step * times:
                return step * times
        step *= 10.0
