"""``drill chart``: a file as bars of degrees."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NoReturn

import click

from cards.charts import Change, Chart, ChartError, Options, Section, decode, read_chart
from cards.charts.notation.numbers import number_name
from cards.theory.chords import Chord
from cards.theory.keys import Key, KeyNameError
from drill.words import NO_CHORD, say

_BARS_A_LINE = 4
NOTHING_READ, REFUSED = 1, 2


def register(main: click.Group) -> None:
    """Add the command to the ``drill`` command."""
    main.add_command(chart)


@click.command()
@click.argument("file", type=click.Path(path_type=Path, allow_dash=True))
@click.option("--key", help="The key that the song sounds in, like Eb or F#m, instead of the one given or found.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def chart(file: Path, key: str | None, as_json: bool) -> None:
    """Read FILE as a chart: numbers, Roman numerals, chord names or ChordPro; - is standard input."""
    try:
        options = Options(key=Key.read(key) if key else None)
        song = read_chart(decode(_bytes(file)), options)
    except (KeyNameError, ChartError) as error:
        _refuse(f"{file}: {error}" if isinstance(error, ChartError) else str(error), REFUSED)
    except OSError as error:
        _refuse(f"cannot read {file}: {error.strerror}; name a file with a chart in it", REFUSED)
    if not song.sections:
        _refuse(f"{file}: {NO_CHORD}", NOTHING_READ)
    click.echo(json.dumps(song.as_json(), ensure_ascii=False, indent=2) if as_json else "\n".join(_describe(song)))


def _bytes(file: Path) -> bytes:
    return sys.stdin.buffer.read() if str(file) == "-" else file.read_bytes()


def _refuse(sentence: str, code: int) -> NoReturn:
    click.echo(sentence, err=True)
    sys.exit(code)


def _describe(song: Chart) -> Iterator[str]:
    """A chart that was read, and how."""
    yield from describe_chart(song)
    yield f"\nRead {song.tokens - len(song.unread)} of {song.tokens} chords as written."
    for unread in song.unread:
        yield f'Not read: line {unread.place.line}, column {unread.place.column}: "{unread.text}"'
    for guess in song.guesses:
        where = f"Line {guess.place.line}, column {guess.place.column}: " if guess.place else ""
        yield where + say(guess.message)
    yield from map(say, song.assumptions)


def describe_chart(song: Chart) -> Iterator[str]:
    """The chart for the terminal."""
    if song.title:
        yield song.title
    yield _key(song)
    for said, value in (("Tempo", song.tempo), ("Time", song.time), ("Feel", song.feel)):
        if value:
            yield f"{said} {value:g}" if isinstance(value, float) else f"{said} {value}"
    for section in song.sections:
        moved = "" if section.key == song.key else f" (in {section.key})"
        yield f"\n{section.name}{moved}".rstrip()
        yield from _rows(song, section)


def _key(song: Chart) -> str:
    """The key, how sure it is, and what else it could be."""
    shares = ", ".join(f"{fit.key} explains {fit.share:.0%}" for fit in song.keys)
    if song.key_given or not song.keys:
        said = f"Key {song.key}" + ("" if song.key_given else " (none given)")
    else:
        said = f"Key {song.key} (found, {song.keys[0].confidence:.0%} sure)"
    capo = f"\nCapo {song.capo}: shapes of {song.shape_key}, then sounding chords" if song.capo else ""
    return said + (f": {shares}" if shares else "") + capo


def _rows(song: Chart, section: Section) -> Iterator[str]:
    """Bars four to a line: degrees, the shapes if there is a capo, the sounding chords."""
    numbered = song.options.minor_from
    layers: list[Callable[[Section, Change], str]] = [
        lambda section, change: "N.C." if change.numeral is None else number_name(change.numeral, section.key, numbered)
    ]
    if song.capo:
        layers.append(lambda section, change: _name(song.shape(section, change)))
    layers.append(lambda section, change: _name(song.sounding(section, change)))
    for start in range(0, len(section.bars), _BARS_A_LINE):
        bars = section.bars[start : start + _BARS_A_LINE]
        cells = [[" ".join(layer(section, change) for change in bar) for bar in bars] for layer in layers]
        widths = [max(len(row[column]) for row in cells) for column in range(len(bars))]
        for row in cells:
            yield "  | " + " | ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)) + " |"


def _name(chord: Chord | None) -> str:
    return "N.C." if chord is None else str(chord)
