"""Commands about music only: no player, no data, no server."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, NoReturn

import click

from cards.drawings.text import text_diagram
from cards.guitar.fingering import HAND_SCALE, Hand
from cards.guitar.neck import STANDARD, STANDARD_TUNING, Neck, NeckError, read_tuning
from cards.guitar.regions import RegionError, anchor_region
from cards.theory.keys import Key, KeyNameError
from cards.theory.numerals import Numeral, check_case, own_numeral, read_numeral
from cards.voicings.listing import ChordListing, list_chord, list_small
from cards.voicings.routes import Route, RouteError, smoothest
from cards.voicings.voicing import Voicing
from drill.words import gettext as _
from drill.words import ngettext, say_called, say_choice, say_error, say_name, say_number

_ERRORS = (KeyNameError, RegionError, NeckError, RouteError)


def register(main: click.Group) -> None:
    """Add the commands to the ``drill`` command."""
    main.add_command(chord)
    main.add_command(sheet)
    main.add_command(route)


def _guitar(command: Callable[..., None]) -> Callable[..., None]:
    """Add the options that describe the guitar and the hand."""
    for option in (
        click.option("--hand", type=click.Choice(list(HAND_SCALE)), default="medium", show_default=True),
        click.option("--thumb", is_flag=True, help="The thumb may hold string 6."),
        click.option("--capo", default=0, show_default=True, help="Fret of the capo; frets count from it."),
        click.option("--tuning", default="standard", show_default=True, help="A name, or six notes low to high."),
        click.option("--box", default=1, show_default=True, help="Box 1 to 5 of the key's minor pentatonic."),
    ):
        command = option(command)
    return command


@click.command()
@click.argument("key")
@click.argument("degree")
@_guitar
@click.option("--seventh", is_flag=True, help="The key's own seventh chord instead of its triad.")
@click.option("--all", "everything", is_flag=True, help="Every playable voicing, not only the best.")
@click.option("--small", is_flag=True, help="Small voicings: triads on three strings, shells, without the root.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def chord(
    key: str,
    degree: str,
    box: int,
    tuning: str,
    capo: int,
    thumb: bool,
    hand: str,
    seventh: bool,
    everything: bool,
    small: bool,
    as_json: bool,
) -> None:
    """Show the voicings of a chord in a region.

    KEY is Ab, A♭, F#m or "A blues"; DEGREE is 4, IV, ii, V7, b7, 4/5, V/vi, 2:m7b5 …
    """
    try:
        neck = _read_neck(tuning, capo)
        in_key = _read_key(key)
        region = anchor_region(in_key, box, neck)
        numeral = _read_numeral(degree, in_key, seventh)
        if small:
            listing = list_small(in_key, numeral, region, Hand(hand, thumb), neck)
        else:
            listing = list_chord(in_key, numeral, region, everything, Hand(hand, thumb), neck)
    except _ERRORS as error:
        _refuse(error)
    click.echo(_json(listing.as_json()) if as_json else _describe(listing))


@click.command()
@click.argument("progression")
@click.option("--key", required=True, help="The key, like Eb or F#m.")
@_guitar
@click.option("--strings", default=3, show_default=True, type=click.IntRange(3, 6), help="Fewest strings to sound.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def route(
    progression: str,
    key: str,
    box: int,
    tuning: str,
    capo: int,
    thumb: bool,
    hand: str,
    strings: int,
    as_json: bool,
) -> None:
    """Find the smoothest way through PROGRESSION, like "1 6- 2-7 5", inside a region."""
    try:
        neck = _read_neck(tuning, capo)
        in_key = _read_key(key)
        region = anchor_region(in_key, box, neck)
        numerals = [read_numeral(token, in_key) for token in progression.replace("|", " ").split()]
        chords = tuple(numeral.chord(in_key) for numeral in numerals)
        way = smoothest(chords, region, Hand(hand, thumb), neck, strings)
    except _ERRORS as error:
        _refuse(error)
    if not numerals:
        _refuse(_('no chords: write numbers or numerals with spaces between, like "1 6- 2-7 5"'))
    click.echo(_json(_route_json(numerals, in_key, way)) if as_json else _describe_route(numerals, way))


@click.command()
@click.argument("key")
@click.option("--box", default=1, show_default=True, help="Box 1 to 5 of the key's minor pentatonic.")
@click.option("-o", "--output", type=click.Path(path_type=Path), metavar="FILE.svg")
def sheet(key: str, box: int, output: Path | None) -> None:
    """Draw the region of KEY on one page (SVG): the box, its tonics, the seven chords."""
    from cards.drawings.sheet import draw_sheet

    try:
        drawing = draw_sheet(anchor_region(_read_key(key), box))
    except _ERRORS as error:
        _refuse(error)
    if output is None:
        click.echo(drawing)
        return
    try:
        output.write_text(drawing, encoding="utf-8")
    except OSError as error:
        sentence = _("cannot write {file}: {reason}; name a file in a folder you may write to")
        _refuse(sentence.format(file=output, reason=error.strerror))
    click.echo(_("Wrote {file}.").format(file=output))


def _refuse(error: Exception | str) -> NoReturn:
    """Print in one line what is wrong, and exit with 2."""
    click.echo(say_error(error) if isinstance(error, Exception) else error, err=True)
    sys.exit(2)


def _json(data: dict[str, Any]) -> str:
    return json.dumps(data, ensure_ascii=False, indent=2)


def _read_neck(tuning: str, capo: int) -> Neck:
    pitches = read_tuning(tuning)
    return STANDARD if (pitches, capo) == (STANDARD_TUNING, 0) else Neck(pitches, capo=capo)


def _read_key(text: str) -> Key:
    """Read a key; if it is theoretical, name the key that players use."""
    key = Key.read(text)
    if key.practical != key:
        sentence = _("{key} is usually written {usual}.")
        click.echo(sentence.format(key=key.long_name, usual=key.practical), err=True)
    return key


def _read_numeral(text: str, key: Key, seventh: bool) -> Numeral:
    check_case(text, key)
    numeral = read_numeral(text, key)
    if not seventh:
        return numeral
    own = numeral.own(key)
    if own is None:
        raise KeyNameError(
            "--seventh is for the key's own chords: write the quality, like {text}:7, instead", text=text
        )
    return own_numeral(key, own[0], seventh=True)


def _describe(listing: ChordListing) -> str:
    """Describe a listing for the terminal."""
    data = listing.as_json()
    region = listing.region
    chord = _("{chord}: {called} of {key} ({numeral}), box {box}, frets {low}–{high}").format(
        chord=data["chord"],
        called=say_called(listing.numeral, listing.key),
        key=listing.key,
        numeral=data["numeral"],
        box=region.box,
        low=region.low,
        high=region.high,
    )
    head = [chord, " ".join(data["tones"])]
    if listing.neck.capo:
        fretted = data["fretted"]
        sentence = _(
            "capo {capo}: sounding {chord} in {key}, fretted as {shape} in {shape_key}; frets count from the capo"
        )
        values = {"capo": listing.neck.capo, "chord": data["chord"], "key": listing.key}
        head.append(sentence.format(**values, shape=fretted["chord"], shape_key=fretted["key"]))
    if not listing.voicings:
        head.append(_("No voicing here for this hand: try another box, or --hand large."))
    return "\n\n".join(["\n".join(head), *(_describe_voicing(listing, voicing) for voicing in listing.voicings)])


def _describe_voicing(listing: ChordListing, voicing: Voicing) -> str:
    parts = []
    if listing.neck.standard_from == 6:
        shapes = [_("{name} shape").format(name=shape.name) for shape in voicing.shapes]
        parts.append(say_choice(shapes) if shapes else _("between two shapes"))
    parts.append(_("{tone} in the bass").format(tone=say_name(voicing.bass.name)))
    whole = listing.part_of(voicing)
    if whole is not None:
        parts.append(_("part of voicing {number}").format(number=whole + 1))
    parts += [_("without the {tone}").format(tone=say_name(tone.name)) for tone in voicing.left_out]
    becomes = listing.becomes(voicing)
    if becomes:
        parts.append(_("which makes it {chords}").format(chords=say_choice([str(chord) for chord in becomes])))
    if voicing.outside:
        parts.append(_("one fret outside the region"))
    stretch = _("stretch {mm} mm (wide)") if voicing.wide else _("stretch {mm} mm")
    parts.append(stretch.format(mm=say_number(voicing.grip.stretch_mm)))
    parts.append(_("effort {effort}").format(effort=say_number(voicing.effort.total, 1)))
    number = listing.voicings.index(voicing) + 1
    return f"{number}. {', '.join(parts)}\n{text_diagram(voicing)}"


def _route_json(numerals: list[Numeral], key: Key, way: Route) -> dict[str, Any]:
    """Return the route with one voicing per chord, in the fields of ``drill chord --json``."""
    steps = []
    for index, (numeral, voicing) in enumerate(zip(numerals, way.voicings, strict=True)):
        listing = ChordListing(key, numeral, voicing.region, (voicing,), voicing.neck).as_json()
        step = {name: listing[name] for name in ("degree", "numeral", "chord", "tones")}
        step["voicing"] = listing["voicings"][0]
        if index:
            moved = way.changes[index - 1]
            step["change"] = {
                "travel_mm": round(moved.travel_mm, 1),
                "held": moved.held,
                "new_fingers": moved.new_fingers,
                "shape": moved.shape,
                "cost": round(moved.cost, 3),
            }
        steps.append(step)
    region = way.voicings[0].region
    return {
        "key": str(key),
        "region": {"box": region.box, "low": region.low, "high": region.high},
        "steps": steps,
        "travel_mm": way.travel_mm,
        "cost": way.cost,
    }


def _describe_route(numerals: list[Numeral], way: Route) -> str:
    region = way.voicings[0].region
    head = _("Box {box}, frets {low}–{high}: fingers travel {mm} mm in all.")
    mm = say_number(way.travel_mm)
    parts = [head.format(box=region.box, low=region.low, high=region.high, mm=mm)]
    for index, (numeral, voicing) in enumerate(zip(numerals, way.voicings, strict=True)):
        step = f"{numeral} {voicing.chord}"
        if index:
            moved = way.changes[index - 1]
            step += ": " + _("{mm} mm").format(mm=say_number(moved.travel_mm))
            if moved.held:
                step += ", " + ngettext("{count} held", "{count} held", moved.held).format(count=moved.held)
        parts.append(f"{step}\n{text_diagram(voicing)}")
    return "\n\n".join(parts)
