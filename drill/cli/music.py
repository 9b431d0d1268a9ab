"""The commands that ask for music only: no player, no data, no server."""

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
from drill.words import say_called

_ERRORS = (KeyNameError, RegionError, NeckError, RouteError)


def register(main: click.Group) -> None:
    """Add the commands to the ``drill`` command."""
    main.add_command(chord)
    main.add_command(sheet)
    main.add_command(route)


def _guitar(command: Callable[..., None]) -> Callable[..., None]:
    """The options that say which guitar and which hand."""
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
        neck = _neck(tuning, capo)
        in_key = _key(key)
        region = anchor_region(in_key, box, neck)
        numeral = _numeral(degree, in_key, seventh)
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
        neck = _neck(tuning, capo)
        in_key = _key(key)
        region = anchor_region(in_key, box, neck)
        numerals = [read_numeral(each, in_key) for each in progression.replace("|", " ").split()]
        chords = tuple(numeral.chord(in_key) for numeral in numerals)
        way = smoothest(chords, region, Hand(hand, thumb), neck, strings)
    except _ERRORS as error:
        _refuse(error)
    if not numerals:
        _refuse('no chords: write numbers or numerals with spaces between, like "1 6- 2-7 5"')
    click.echo(_json(_route_json(numerals, in_key, way)) if as_json else _describe_route(numerals, way))


@click.command()
@click.argument("key")
@click.option("--box", default=1, show_default=True, help="Box 1 to 5 of the key's minor pentatonic.")
@click.option("-o", "--output", type=click.Path(path_type=Path), metavar="FILE.svg")
def sheet(key: str, box: int, output: Path | None) -> None:
    """Draw the region of KEY on one page (SVG): the box, its tonics, the seven chords."""
    from cards.drawings.sheet import draw_sheet

    try:
        drawing = draw_sheet(anchor_region(_key(key), box))
    except _ERRORS as error:
        _refuse(error)
    if output is None:
        click.echo(drawing)
        return
    try:
        output.write_text(drawing, encoding="utf-8")
    except OSError as error:
        _refuse(f"cannot write {output}: {error.strerror}; name a file in a folder you may write to")
    click.echo(f"Wrote {output}.")


def _refuse(error: Exception | str) -> NoReturn:
    """Say in one line what is wrong and end with 2."""
    click.echo(str(error), err=True)
    sys.exit(2)


def _json(data: dict[str, Any]) -> str:
    return json.dumps(data, ensure_ascii=False, indent=2)


def _neck(tuning: str, capo: int) -> Neck:
    pitches = read_tuning(tuning)
    return STANDARD if (pitches, capo) == (STANDARD_TUNING, 0) else Neck(pitches, capo=capo)


def _key(text: str) -> Key:
    """Read a key; for a theoretical one, hint at the name players use."""
    key = Key.read(text)
    if key.practical != key:
        click.echo(f"{key.long_name} is usually written {key.practical}.", err=True)
    return key


def _numeral(text: str, key: Key, seventh: bool) -> Numeral:
    check_case(text, key)
    numeral = read_numeral(text, key)
    if not seventh:
        return numeral
    own = numeral.own(key)
    if own is None:
        raise KeyNameError(f"--seventh is for the key's own chords: write the quality, like {text}:7, instead")
    return own_numeral(key, own[0], seventh=True)


def _describe(listing: ChordListing) -> str:
    """The listing for the terminal."""
    data = listing.as_json()
    region = listing.region
    head = [
        f"{data['chord']}: {say_called(listing.numeral, listing.key)} of {listing.key} ({data['numeral']}), "
        f"box {region.box}, frets {region.low}–{region.high}",
        " ".join(data["tones"]),
    ]
    if listing.neck.capo:
        fretted = data["fretted"]
        head.append(
            f"capo {listing.neck.capo}: sounding {data['chord']} in {listing.key}, fretted as "
            f"{fretted['chord']} in {fretted['key']}; frets count from the capo"
        )
    if not listing.voicings:
        head.append("No voicing here for this hand: try another box, or --hand large.")
    return "\n\n".join(["\n".join(head), *(_describe_voicing(listing, each) for each in listing.voicings)])


def _describe_voicing(listing: ChordListing, voicing: Voicing) -> str:
    said = []
    if listing.neck.standard_from == 6:
        said.append(" or ".join(f"{shape.name} shape" for shape in voicing.shapes) or "between two shapes")
    said.append(f"{voicing.bass.name} in the bass")
    whole = listing.part_of(voicing)
    if whole is not None:
        said.append(f"part of voicing {whole + 1}")
    said += [f"without the {tone.name}" for tone in voicing.left_out]
    becomes = listing.becomes(voicing)
    if becomes:
        said.append(f"which makes it {' or '.join(map(str, becomes))}")
    if voicing.outside:
        said.append("one fret outside the region")
    said.append(f"stretch {voicing.grip.stretch_mm:.0f} mm{' (wide)' if voicing.wide else ''}")
    said.append(f"effort {voicing.effort.total:.1f}")
    number = listing.voicings.index(voicing) + 1
    return f"{number}. {', '.join(said)}\n{text_diagram(voicing)}"


def _route_json(numerals: list[Numeral], key: Key, way: Route) -> dict[str, Any]:
    """The route with one voicing per chord, in the fields of ``drill chord --json``."""
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
    parts = [f"Box {region.box}, frets {region.low}–{region.high}: fingers travel {way.travel_mm:.0f} mm in all."]
    for index, (numeral, voicing) in enumerate(zip(numerals, way.voicings, strict=True)):
        said = f"{numeral} {voicing.chord}"
        if index:
            moved = way.changes[index - 1]
            held = f", {moved.held} held" if moved.held else ""
            said += f": {moved.travel_mm:.0f} mm{held}"
        parts.append(f"{said}\n{text_diagram(voicing)}")
    return "\n\n".join(parts)
