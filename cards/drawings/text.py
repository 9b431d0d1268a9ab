"""A chord diagram in plain text, for the terminal."""

from __future__ import annotations

from cards.guitar.neck import STRINGS
from cards.voicings.voicing import Voicing

_CELL = 3
_FEWEST_FRETS = 4


def text_diagram(voicing: Voicing) -> str:
    """Strings as columns, string 6 left; tones where they sound, fingers under the strings."""
    pressed = [fret for fret in voicing.frets if fret]
    first = min(pressed, default=1)
    if max(pressed, default=1) <= _FEWEST_FRETS:
        first = 1
    last = max(max(pressed, default=1), first + _FEWEST_FRETS - 1)
    rows = [_row("", [str(string) for string in STRINGS])]
    rows.append(_row("", [_above(fret, tone) for fret, tone in _notes(voicing)]))
    for fret in range(first, last + 1):
        cells = [tone if at == fret else "│" for at, tone in _notes(voicing)]
        rows.append(_row(str(fret), cells))
    fingers = [str(finger) if finger else "" for finger in voicing.grip.fingers]
    rows.append(_row("", fingers) + " fingers")
    return "\n".join(row.rstrip() for row in rows)


def _notes(voicing: Voicing) -> list[tuple[int | None, str]]:
    tones = [str(tone) if tone else "" for tone in voicing.tones]
    return list(zip(voicing.frets, tones, strict=True))


def _above(fret: int | None, tone: str) -> str:
    if fret is None:
        return "×"
    return tone if fret == 0 else ""


def _row(label: str, cells: list[str]) -> str:
    return f"{label:>3} " + "".join(f"{cell:<{_CELL}}" for cell in cells)
