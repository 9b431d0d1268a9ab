"""The commands that ask for music only: no player, no data, no server."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import NoReturn

import click

from cards.drawings.text import text_diagram
from cards.keys import Key, KeyNameError, number_word, read_degree
from cards.listing import ChordListing, list_chord
from cards.regions import RegionError, anchor_region
from cards.voicings import Voicing


def register(main: click.Group) -> None:
    """Add the commands to the ``drill`` command."""
    main.add_command(chord)
    main.add_command(sheet)


@click.command()
@click.argument("key")
@click.argument("degree")
@click.option("--box", default=1, show_default=True, help="Box 1 to 5 of the key's minor pentatonic.")
@click.option("--seventh", is_flag=True, help="The seventh chord instead of the triad.")
@click.option("--all", "everything", is_flag=True, help="Every playable voicing, not only the best.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def chord(key: str, degree: str, box: int, seventh: bool, everything: bool, as_json: bool) -> None:
    """Show the voicings of a chord in a region: DEGREE (4, IV, ii) of KEY (Ab, A♭)."""
    try:
        in_key = _key(key)
        region = anchor_region(in_key, box)
        listing = list_chord(in_key, read_degree(degree, in_key), region, seventh, everything)
    except (KeyNameError, RegionError) as error:
        _refuse(error)
    if as_json:
        click.echo(json.dumps(listing.as_json(), ensure_ascii=False, indent=2))
    else:
        click.echo(_describe(listing))


@click.command()
@click.argument("key")
@click.option("--box", default=1, show_default=True, help="Box 1 to 5 of the key's minor pentatonic.")
@click.option("-o", "--output", type=click.Path(path_type=Path), metavar="FILE.svg")
def sheet(key: str, box: int, output: Path | None) -> None:
    """Draw the region of KEY on one page (SVG): the box, its tonics, the seven chords."""
    from cards.drawings.sheet import draw_sheet

    try:
        drawing = draw_sheet(anchor_region(_key(key), box))
    except (KeyNameError, RegionError) as error:
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


def _key(text: str) -> Key:
    """Read a key; for a theoretical one, hint at the name players use."""
    key = Key.read(text)
    if key.practical != key:
        click.echo(f"{key} major is usually written {key.practical}.", err=True)
    return key


def _describe(listing: ChordListing) -> str:
    """The listing for the terminal."""
    data = listing.as_json()
    region = listing.region
    number = number_word(listing.degree) + (" seventh" if listing.seventh else "")
    head = (
        f"{data['chord']}: the {number} of {listing.key} ({data['numeral']}), "
        f"box {region.box}, frets {region.low}–{region.high}\n{' '.join(data['tones'])}"
    )
    return "\n\n".join([head, *(_describe_voicing(listing, each) for each in listing.voicings)])


def _describe_voicing(listing: ChordListing, voicing: Voicing) -> str:
    shapes = " or ".join(f"{shape.name} shape" for shape in voicing.shapes) or "between two shapes"
    said = [shapes, f"{voicing.bass.name} in the bass"]
    if listing.part_of(voicing) is not None:
        said.append(f"part of voicing {(listing.part_of(voicing) or 0) + 1}")
    said += [f"without the {tone.name}" for tone in voicing.left_out]
    if voicing.outside:
        said.append("one fret outside the region")
    said += [f"stretch {voicing.grip.stretch_mm:.0f} mm", f"effort {voicing.effort.total:.1f}"]
    number = listing.voicings.index(voicing) + 1
    return f"{number}. {', '.join(said)}\n{text_diagram(voicing)}"
