"""``drill chart``: read a file as bars of degrees."""

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
from drill.words import NO_CHORD, say, say_error, say_name, say_percent, say_refusal
from drill.words import gettext as _

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
        _refuse(f"{file}: {say_error(error)}" if isinstance(error, ChartError) else say_error(error), REFUSED)
    except OSError as error:
        sentence = _("cannot read {file}: {reason}; name a file with a chart in it")
        _refuse(sentence.format(file=file, reason=error.strerror), REFUSED)
    if not song.sections:
        _refuse(f"{file}: {say_refusal(NO_CHORD)}", NOTHING_READ)
    click.echo(json.dumps(song.as_json(), ensure_ascii=False, indent=2) if as_json else "\n".join(_describe(song)))


def _bytes(file: Path) -> bytes:
    return sys.stdin.buffer.read() if str(file) == "-" else file.read_bytes()


def _refuse(sentence: str, code: int) -> NoReturn:
    click.echo(sentence, err=True)
    sys.exit(code)


def _describe(song: Chart) -> Iterator[str]:
    """Describe a chart and how it was read, line by line."""
    yield from describe_chart(song)
    read = song.tokens - len(song.unread)
    yield "\n" + _("Read {read} of {count} chords as written.").format(read=read, count=song.tokens)
    for unread in song.unread:
        sentence = _('Not read: line {line}, column {column}: "{text}"')
        yield sentence.format(line=unread.place.line, column=unread.place.column, text=unread.text)
    for guess in song.guesses:
        if guess.place:
            sentence = _("Line {line}, column {column}: {guess}")
            yield sentence.format(line=guess.place.line, column=guess.place.column, guess=say(guess.message))
        else:
            yield say(guess.message)
    yield from map(say, song.assumptions)


def describe_chart(song: Chart) -> Iterator[str]:
    """Describe a chart for the terminal, line by line."""
    if song.title:
        yield song.title
    yield _key(song)
    if song.tempo:
        yield _("Tempo {tempo}").format(tempo=f"{song.tempo:g}")
    if song.time:
        yield _("Time {time}").format(time=song.time)
    if song.feel:
        yield _("Feel {feel}").format(feel=say_name(song.feel))
    for section in song.sections:
        moved = "" if section.key == song.key else _("(in {key})").format(key=section.key)
        yield f"\n{section.name} {moved}".rstrip()
        yield from _rows(song, section)


def _key(song: Chart) -> str:
    """Describe the key: how sure it is, and which other keys it could be."""
    explains = _("{key} explains {percent}")
    shares = ", ".join(explains.format(key=fit.key, percent=say_percent(fit.share)) for fit in song.keys)
    if song.key_given:
        line = _("Key {key}").format(key=song.key)
    elif not song.keys:
        line = _("Key {key} (none given)").format(key=song.key)
    else:
        percent = say_percent(song.keys[0].confidence)
        line = _("Key {key} (found, {percent} sure)").format(key=song.key, percent=percent)
    if shares:
        line = f"{line}: {shares}"
    if song.capo:
        sentence = _("Capo {capo}: shapes of {key}, then sounding chords")
        line += "\n" + sentence.format(capo=song.capo, key=song.shape_key)
    return line


def _rows(song: Chart, section: Section) -> Iterator[str]:
    """Write bars, four to a line: degrees, the shapes if there is a capo, the sounding chords."""
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
