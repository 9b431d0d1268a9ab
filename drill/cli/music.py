"""Commands about music only: no player, no data, no server."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, NoReturn

import click

from cards.charts.progressions import read_progression
from cards.drawings.text import text_diagram
from cards.guitar.fingering import HAND_SCALE, Frets, Hand
from cards.guitar.neck import STANDARD, STANDARD_TUNING, Neck, NeckError, read_tuning
from cards.guitar.regions import OPEN, Region, RegionError, read_place
from cards.messages import Message, Refusal, echo
from cards.theory.keys import Key, KeyNameError, key_reading
from cards.theory.numerals import SLASHES, Numeral, borrowed_reading, own_numeral, read_numeral, slash_reading
from cards.theory.pitch import Note, PitchError
from cards.voicings.listing import ChordListing, list_chord, list_small, mend_chord, mend_small
from cards.voicings.routes import MANNERS, Lead, Route, RouteError, change_reasons, named_ways, way_name
from cards.voicings.voicing import Voicing
from drill.words import capital, say, say_called, say_choice, say_error, say_name, say_number, say_position, say_refusal
from drill.words import gettext as _

_ERRORS = (KeyNameError, RegionError, NeckError, RouteError, PitchError)


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
        click.option(
            "--box", default="1", show_default=True, help="Box 1 to 5 of the key's minor pentatonic, or open."
        ),
    ):
        command = option(command)
    return command


_slash = click.option(
    "--slash", type=click.Choice(SLASHES), help="What a numeral behind a slash is: what leads there, or a bass."
)


@click.command()
@click.argument("key")
@click.argument("degree")
@_guitar
@_slash
@click.option("--seventh", is_flag=True, help="The key's own seventh chord instead of its triad.")
@click.option("--all", "everything", is_flag=True, help="Every playable voicing, not only the best.")
@click.option("--small", is_flag=True, help="Small voicings: triads on three strings, shells, without the root.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def chord(
    key: str,
    degree: str,
    box: str,
    tuning: str,
    capo: int,
    thumb: bool,
    hand: str,
    slash: str | None,
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
        region = read_place(box, in_key, neck)
        numeral = _read_numeral(degree, in_key, seventh, slash)
        fingers = Hand(hand, thumb)
        if small:
            listing = list_small(in_key, numeral, region, fingers, neck)
        else:
            listing = list_chord(in_key, numeral, region, everything, fingers, neck)
    except _ERRORS as error:
        _refuse(error)
    if as_json:
        click.echo(_json(listing.as_json()))
        return
    find = mend_small if small else mend_chord
    mend = None if listing.voicings else find(in_key, numeral, region, fingers, neck)
    click.echo(_describe(listing, mend))


@click.command()
@click.argument("progression")
@click.option("--key", required=True, help="The key, like Eb or F#m.")
@_guitar
@_slash
@click.option("--strings", default=3, show_default=True, type=click.IntRange(3, 6), help="Fewest strings to sound.")
@click.option(
    "--manner",
    type=click.Choice(list(MANNERS)),
    default="smooth",
    show_default=True,
    help="strum: root in the bass, full grips; comp: four strings, the top voice leads; small: three strings.",
)
@click.option("--hand-stays", is_flag=True, help="The index finger stays within one fret of the place.")
@click.option("--top-voice", is_flag=True, help="The top voice moves as little as it can.")
@click.option("--keep", metavar="NOTE", help="A note to hold on top, like B.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def route(
    progression: str,
    key: str,
    box: str,
    tuning: str,
    capo: int,
    thumb: bool,
    hand: str,
    slash: str | None,
    strings: int,
    manner: str,
    hand_stays: bool,
    top_voice: bool,
    keep: str | None,
    as_json: bool,
) -> None:
    """Find the way through PROGRESSION, like "1 6- 2-7 5", inside a region."""
    if hand_stays and top_voice:
        _refuse("--hand-stays and --top-voice are two ways: ask for one of them")
    try:
        neck = _read_neck(tuning, capo)
        in_key = _read_key(key)
        region = read_place(box, in_key, neck)
        read = read_progression(progression, in_key, slash)
        numerals = list(read.numerals)
        chords = tuple(numeral.chord(in_key) for numeral in numerals)
        asked = replace(MANNERS[manner], keep=None if keep is None else Note.read(keep))
        lead = Lead.HAND if hand_stays else Lead.TOP if top_voice else asked.lead
        ways = named_ways(chords, region, Hand(hand, thumb), neck, strings, asked)
    except _ERRORS as error:
        _refuse(error)
    if not numerals:
        _refuse(_('no chords: write numbers or numerals with spaces between, like "1 6- 2-7 5"'))
    _say_taken(*read.taken)
    way, others = ways[lead], _others(ways, lead)
    click.echo(_json(_route_json(numerals, in_key, way, others)) if as_json else _describe_route(numerals, way, others))


def _others(ways: dict[Lead, Route], lead: Lead) -> list[Route]:
    """The ways under another lead that are not the same as the one that is shown or as each other."""
    different = {ways[lead].voicings: ways[lead]}
    for way in ways.values():
        different.setdefault(way.voicings, way)
    return list(different.values())[1:]


@click.command()
@click.argument("key")
@click.option("--box", default="1", show_default=True, help="Box 1 to 5 of the key's minor pentatonic, or open.")
@click.option("-o", "--output", type=click.Path(path_type=Path), metavar="FILE.svg")
def sheet(key: str, box: str, output: Path | None) -> None:
    """Draw the region of KEY on one page (SVG): the box, its tonics, the seven chords."""
    from cards.drawings.sheet import draw_sheet

    try:
        drawing = draw_sheet(read_place(box, _read_key(key)))
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
    """Read a key; say what German letters were taken for, and hint at the name players use for a theoretical one."""
    key = Key.read(text)
    _say_taken(key_reading(text))
    if key.practical != key:
        sentence = _("{key} is usually written {usual}.")
        click.echo(sentence.format(key=key.long_name, usual=key.practical), err=True)
    return key


def _say_taken(*taken: Message | None) -> None:
    """Say beside the answer what was taken for what."""
    for reading in taken:
        if reading is not None:
            click.echo(say(reading), err=True)


def _read_numeral(text: str, key: Key, seventh: bool, slash: str | None) -> Numeral:
    """Read a degree; say what it was taken for where there was a choice."""
    numeral = read_numeral(text, key, slash)
    if seventh:
        own = numeral.own(key)
        if own is None:
            raise KeyNameError(
                "--seventh is for the key's own chords: write the quality, like {text}:7, instead", text=echo(text)
            )
        numeral = own_numeral(key, own[0], seventh=True)
    _say_taken(slash_reading(text, key, slash), borrowed_reading(text, key))
    return numeral


def _say_place(region: Region) -> str:
    """Say which place a region is: a box, the open position, or a box that is the open position too."""
    if region.box == OPEN:
        return _("open position")
    return (_("box {box} (open position)") if region.is_open else _("box {box}")).format(box=region.box)


def _describe(listing: ChordListing, mend: Refusal | None) -> str:
    """Describe a listing for the terminal; ``mend`` is what helps where it has no voicing."""
    data = listing.as_json()
    region = listing.region
    chord = _("{chord}: {called} of {key} ({numeral}), {place}, frets {low}–{high}").format(
        chord=data["chord"],
        called=say_called(listing.numeral, listing.key),
        key=listing.key,
        numeral=data["numeral"],
        place=_say_place(region),
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
        none = _("No voicing for this hand here or in another box, and none for a larger hand.")
        head.append(
            none if mend is None else _("No voicing here for this hand: {mend}.").format(mend=say_refusal(mend))
        )
    return "\n\n".join(["\n".join(head), *(_describe_voicing(listing, voicing) for voicing in listing.voicings)])


def _describe_voicing(listing: ChordListing, voicing: Voicing) -> str:
    called = listing.called(voicing)
    parts = [say_name(called)] if called else []
    if voicing.drop:
        parts.append(_("drop {strings}").format(strings=voicing.drop))
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
    if voicing.moves:
        parts.append(say_position(voicing.position, voicing.moves))
    stretch = _("stretch {mm} mm (wide)") if voicing.wide else _("stretch {mm} mm")
    parts.append(stretch.format(mm=say_number(voicing.grip.stretch_mm)))
    parts.append(_("effort {effort}").format(effort=say_number(voicing.effort.total, 1)))
    number = listing.voicings.index(voicing) + 1
    return f"{number}. {', '.join(parts)}\n{text_diagram(voicing)}"


def _route_json(numerals: list[Numeral], key: Key, way: Route, others: list[Route]) -> dict[str, Any]:
    """Return the route with one voicing per chord, in the fields of ``drill chord --json``.

    ``others`` are given by name and frets, string 6 first.
    """
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
                "lifted": moved.lifted,
                "index": moved.index,
                "top": moved.top,
                "bass": moved.bass,
                "ringing": moved.ringing,
                "why": [say(reason) for reason in change_reasons(moved, voicing)],
            }
        steps.append(step)
    region = way.voicings[0].region
    return {
        "key": str(key),
        "region": {"box": region.box, "low": region.low, "high": region.high},
        "steps": steps,
        "travel_mm": way.travel_mm,
        "cost": way.cost,
        "manner": way.manner.name,
        "name": say(way_name(way)),
        "why": [say(reason) for reason in way.reasons],
        "others": [
            {"name": say(way_name(other)), "frets": [voicing.frets for voicing in other.voicings]} for other in others
        ],
    }


def _describe_route(numerals: list[Numeral], way: Route, others: list[Route]) -> str:
    region = way.voicings[0].region
    head = _("{place}, frets {low}–{high}: fingers travel {mm} mm in all.")
    mm = say_number(way.travel_mm)
    travel = head.format(place=capital(_say_place(region)), low=region.low, high=region.high, mm=mm)
    parts = [travel + "\n" + " ".join(dict.fromkeys(map(say, (way_name(way), *way.reasons))))]
    for index, (numeral, voicing) in enumerate(zip(numerals, way.voicings, strict=True)):
        step = f"{numeral} {voicing.chord}"
        if index:
            moved = way.changes[index - 1]
            step += ": " + _("{mm} mm").format(mm=say_number(moved.travel_mm)) + ". "
            step += " ".join(map(say, change_reasons(moved, voicing)))
        parts.append(f"{step}\n{text_diagram(voicing)}")
    parts += ["\n".join(_describe_other(other) for other in others)] if others else []
    return "\n\n".join(parts)


def _describe_other(way: Route) -> str:
    frets = " ".join(_frets(voicing.frets) for voicing in way.voicings)
    return _("Another way: {frets}.").format(frets=frets) + " " + say(way_name(way))


def _frets(frets: Frets) -> str:
    """Frets as guitarists write them, string 6 first: ``x32010``; two figures stand in parentheses."""
    return "".join("x" if fret is None else str(fret) if fret < 10 else f"({fret})" for fret in frets)
