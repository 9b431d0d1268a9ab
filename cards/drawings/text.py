"""A chord diagram in plain text, for the terminal."""

from __future__ import annotations

from cards.guitar.neck import STRINGS
from cards.voicings.voicing import Voicing

_CELL = 3
_FEWEST_FRETS = 4


def text_diagram(voicing: Voicing) -> str:
    """Draw a voicing in plain text.

    Strings are columns, string 6 on the left. A tone stands where it sounds. Fingers stand under the strings.
    """
    pressed = [fret for fret in voicing.frets if fret]
    first = min(pressed, default=1)
    if max(pressed, default=1) <= _FEWEST_FRETS:
        first = 1
    last = max(max(pressed, default=1), first + _FEWEST_FRETS - 1)
    rows = [_print_row("", [str(string) for string in STRINGS])]
    rows.append(_print_row("", [_print_above_nut(fret, tone) for fret, tone in _pair_notes(voicing)]))
    for fret in range(first, last + 1):
        cells = [tone if pressed_fret == fret else "│" for pressed_fret, tone in _pair_notes(voicing)]
        rows.append(_print_row(str(fret), cells))
    fingers = [str(finger) if finger else "" for finger in voicing.grip.fingers]
    rows.append(_print_row("", fingers) + " fingers")
    return "\n".join(row.rstrip() for row in rows)


def _pair_notes(voicing: Voicing) -> list[tuple[int | None, str]]:
    """Return (fret, printed tone) for each string, string 6 first. A muted string has fret None and no tone."""
    tones = [str(tone) if tone else "" for tone in voicing.tones]
    return list(zip(voicing.frets, tones, strict=True))


def _print_above_nut(fret: int | None, tone: str) -> str:
    """Return what stands above the nut: × for a muted string, the tone of an open one."""
    if fret is None:
        return "×"
    return tone if fret == 0 else ""


def _print_row(label: str, cells: list[str]) -> str:
    return f"{label:>3} " + "".join(f"{cell:<{_CELL}}" for cell in cells)
