"""All voicings in a cold process, and one drawing.

    python -m tests.bench.voicings [--small]

All voicings: 13 keys × 7 degrees × 5 boxes, triads and sevenths. The baseline goes through
``itertools.product`` over the chord-tone frets of the reach and the mute of each string, and fingers
every survivor by the rules of ``cards.guitar.fingering``: anew each time, and, as a row of its own, with
what ``cards.guitar.fingering`` keeps between calls. Each runs in a process of its own and must find the
same. One drawing: svgwrite against the same SVG by string formatting. Times are of the processor,
so that what else the machine does counts for nothing.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from html import escape
from itertools import product
from typing import Any
from xml.etree import ElementTree

from cards.asks import code
from cards.drawings import canvas as canvases
from cards.drawings.canvas import Canvas
from cards.drawings.diagram import grid_for
from cards.drawings.voicing import Panel, describe, draw_voicings, paint, panel
from cards.guitar import fingering as hands
from cards.guitar.fingering import Frets, fingering
from cards.guitar.neck import STANDARD, STRINGS
from cards.guitar.regions import BOXES, Region, anchor_region
from cards.theory.chords import Chord
from cards.theory.keys import DEGREES, MAJOR_KEYS, Key
from cards.voicings.search import FEWEST_STRINGS
from cards.voicings.voicing import voicings
from tests.bench.machine import machine

DRAWINGS = 2000


def chords(keys: int) -> Iterator[tuple[Chord, Region]]:
    """Every chord in every box of the first keys."""
    for key, degree, box, seventh in product(MAJOR_KEYS[:keys], DEGREES, BOXES, (False, True)):
        yield key.chord(degree, seventh), anchor_region(key, box)


def by_search(chord: Chord, region: Region) -> set[Frets]:
    """What ``cards`` offers."""
    return {voicing.frets for voicing in voicings(chord, region)}


def by_product(chord: Chord, region: Region, anew: bool) -> set[Frets]:
    """The same by going through everything; ``anew`` forgets every fingering found before."""
    low, high = region.reach
    tones = {note.pitch_class for note in chord.notes}
    must = {chord.root.above(tone).pitch_class for tone in chord.quality.must_sound}
    rows = [
        [None, *(fret for fret in range(low, high + 1) if STANDARD.pitch(string, fret) % 12 in tones)]
        for string in STRINGS
    ]
    found = set()
    for frets in product(*rows):
        notes = [
            STANDARD.pitch(string, fret) % 12 for string, fret in zip(STRINGS, frets, strict=True) if fret is not None
        ]
        if len(notes) < FEWEST_STRINGS or not must <= set(notes):
            continue
        if (frets[0] is not None or frets[1] is not None) and notes[0] != chord.root.pitch_class:
            continue
        if anew:
            hands._holds.cache_clear()
            hands.ways_to_hold.cache_clear()
        if fingering(frets, region.low) is not None:
            found.add(frets)
    return found


WAYS: dict[str, Callable[[Chord, Region], set[Frets]]] = {
    "cards": by_search,
    "product": lambda chord, region: by_product(chord, region, anew=True),
    "product, fingerings kept": lambda chord, region: by_product(chord, region, anew=False),
}


def measure(way: str, keys: int) -> dict[str, Any]:
    """CPU seconds of the first pass of this process and of a second one, and what was found."""
    seconds = []
    for _ in range(2 if way == "cards" else 1):
        start = time.process_time()
        found = [WAYS[way](chord, region) for chord, region in chords(keys)]
        seconds.append(time.process_time() - start)
    return {"seconds": seconds, "found": [sorted(map(code, each)) for each in found]}


def in_own_process(way: str, keys: int) -> dict[str, Any]:
    """``measure`` in a process that has found nothing yet."""
    command = [sys.executable, "-m", "tests.bench.voicings", "--way", way, "--keys", str(keys)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    result: dict[str, Any] = json.loads(done.stdout)
    return result


class Formatted(Canvas):
    """The same canvas by string formatting alone."""

    def __init__(self, width: float, height: float, title: str, description: str) -> None:
        self._parts = [
            f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:ev="http://www.w3.org/2001/xml-events" '
            f'xmlns:xlink="http://www.w3.org/1999/xlink" baseProfile="full" version="1.1" class="drawing" '
            f'font-family="system-ui, sans-serif" width="{width:g}" height="{height:g}" role="img" '
            f'text-anchor="middle" viewBox="0 0 {width:g} {height:g}"><title>{escape(title)}</title>'
            f"<desc>{escape(description)}</desc><defs />"
        ]

    def _add(self, tag: str, kind: str, place: str, words: str = "") -> None:
        look = " ".join(f'{name.replace("_", "-")}="{value}"' for name, value in canvases._LOOK[kind].items())
        self._parts.append(f'<{tag} class="{kind}" {look} {place}>{escape(words)}</{tag}>')

    def path(self, kind: str, data: str) -> None:
        self._add("path", kind, f'd="{data}"')

    def rect(self, kind: str, x: float, y: float, width: float, height: float) -> None:
        size = f'width="{round(width, 1)}" height="{round(height, 1)}"'
        self._add("rect", kind, f'x="{round(x, 1)}" y="{round(y, 1)}" {size}')

    def circle(self, kind: str, x: float, y: float, radius: float) -> None:
        self._add("circle", kind, f'cx="{round(x, 1)}" cy="{round(y, 1)}" r="{radius}"')

    def text(self, kind: str, x: float, y: float, words: str, size: float = 13) -> None:
        self._add("text", kind, f'x="{round(x, 1)}" y="{round(y, 1)}" font-size="{size}"', words)

    def svg(self) -> str:
        return "".join(self._parts) + "</svg>"


def formatted(each: Panel, title: str) -> str:
    """The drawing of a panel by string formatting."""
    grid = grid_for([fret for fret in (*each.frets, *each.faint) if fret is not None], each.region)
    canvas = Formatted(grid.width, grid.height, title, describe(each.frets, each.chord))
    paint(canvas, grid, each)
    return canvas.svg()


def same(one: str, other: str) -> bool:
    """Whether two drawings have the same elements, attributes and texts (24 and 24.0 are one)."""

    def plain(value: str) -> str:
        return value.removesuffix(".0")

    def parts(svg: str) -> list[tuple[str, dict[str, str], str]]:
        return [
            (each.tag, {name: plain(value) for name, value in each.attrib.items()}, each.text or "")
            for each in ElementTree.fromstring(svg).iter()
        ]

    return parts(one) == parts(other)


def milliseconds(draw: Callable[[], str], times: int) -> float:
    """Mean CPU time of one drawing; the first is not counted."""
    draw()
    start = time.process_time()
    for _ in range(times):
        draw()
    return (time.process_time() - start) * 1000 / times


def drawings(times: int) -> str:
    """The row of one drawing."""
    key = Key.read("Ab")
    title = "D♭ in A♭, box 1, frets 1–4"
    each = panel(voicings(key.chord(4), anchor_region(key, 1))[0])
    svg = draw_voicings([each], title)
    assert same(svg, formatted(each, title)), "the two drawings differ"
    ours = milliseconds(lambda: draw_voicings([each], title), times)
    plain = milliseconds(lambda: formatted(each, title), times)
    return (
        f"| one voicing drawing | {plain:.3f} ms | {ours:.3f} ms, {len(svg.encode())} bytes | "
        f"{ours / plain:.1f}× the formatting | ≤ 0.5 ms, ≤ 4096 bytes |"
    )


def table(keys: int, times: int) -> str:
    """All rows, with the machine above them."""
    ours, product_anew, product_kept = (in_own_process(way, keys) for way in WAYS)
    assert ours["found"] == product_anew["found"] == product_kept["found"], "the answers differ"
    count = sum(map(len, ours["found"]))
    (cold, warm), [anew], [kept] = ours["seconds"], product_anew["seconds"], product_kept["seconds"]
    name = f"{count} voicings of {len(ours['found'])} chords in the boxes of {keys} key(s)"
    return "\n".join(
        [
            machine(),
            "| what | baseline | cards | ratio | to reach |",
            "| --- | --- | --- | --- | --- |",
            f"| {name}, cold, each survivor fingered anew | {anew:.2f} s | {cold:.2f} s | {anew / cold:.1f}× | ≥ 8× |",
            f"| the same, fingerings kept by the baseline too | {kept:.2f} s | {cold:.2f} s | {kept / cold:.1f}× | |",
            f"| the same, warm | | {warm * 1000:.1f} ms | | |",
            drawings(times),
        ]
    )


def main() -> None:
    """Print the table, or (``--way``) one measurement for it as JSON."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--small", action="store_true", help="one key and few drawings, to see that it runs")
    parser.add_argument("--way", choices=WAYS, help=argparse.SUPPRESS)
    parser.add_argument("--keys", type=int, default=len(MAJOR_KEYS), help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.way:
        print(json.dumps(measure(options.way, options.keys)))
    else:
        print(table(1, 20) if options.small else table(options.keys, DRAWINGS))


if __name__ == "__main__":
    main()
