"""The Neck page: any key and box with its chords, and the way through a progression."""

from __future__ import annotations

from typing import Any, Final

from flask import Blueprint, render_template, request

from cards.asks import Setting
from cards.drawings.region import draw_region, region_title
from cards.drawings.voicing import describe, draw_voicings, panel
from cards.guitar.regions import OPEN, Region, RegionError, anchor_region, has_open_position, open_position
from cards.messages import echo
from cards.theory.keys import Key, KeyNameError, Mode
from cards.theory.numerals import Numeral, own_numeral, read_numeral
from cards.voicings.listing import list_small
from cards.voicings.routes import RouteError, smoothest
from cards.voicings.voicing import Voicing, voicings
from drill.players.preferences import preferences, read_setting
from drill.web.guard import ApiError
from drill.web.service import current_service
from drill.words import gettext as _
from drill.words import say_error, say_small

blueprint = Blueprint("neck", __name__)

LONGEST_PROGRESSION: Final = 64


@blueprint.get("/neck")
def page() -> str:
    """Show the page; its data comes from ``GET /api/neck``."""
    return render_template("neck.html")


@blueprint.get("/api/neck")
def neck() -> dict[str, Any]:
    """Return the region of ``?key=`` and ``?box=`` (``open`` for the open position) with its triads and sevenths.

    Voicings are for the player's hand and guitar. ``?progression=`` adds the smoothest way through the progression,
    ``?chords=small`` the small voicings of each chord.
    """
    service = current_service()
    kept = preferences(service.store, service.player_id)
    setting = read_setting(kept)
    try:
        key = Key.read(request.args.get("key", "C")).practical
        region = _read_place(request.args.get("box", "1"), key, setting)
        way = _way_json(request.args.get("progression", ""), key, region, setting)
    except (KeyNameError, RegionError, RouteError) as error:
        raise ApiError(422, say_error(error)) from error
    triads = [own_numeral(key, degree) for degree in key.degrees]
    sevenths = [own_numeral(key, degree, seventh=True) for degree in key.degrees]
    fretted = key.moved(-setting.capo)
    return {
        "key": str(key),
        "minor": str(key.relative_minor),
        "title": region_title(region),
        "box": region.box,
        "has_open": has_open_position(key, setting.neck),
        "low": region.low,
        "high": region.high,
        "tuning": kept.tuning,
        "capo": setting.capo,
        "fretted": str(fretted),
        "drawing": draw_region(region, setting.left_handed),
        "chords": [_chord_json(numeral, key, region, setting) for numeral in triads if key.mode != Mode.BLUES],
        "sevenths": [_chord_json(numeral, key, region, setting) for numeral in sevenths],
        "small": [
            _small_json(numeral, key, region, setting)
            for numeral in dict.fromkeys((*triads, *sevenths))
            if request.args.get("chords") == "small"
        ],
        "route": way,
    }


def _read_place(text: str, key: Key, setting: Setting) -> Region:
    """Return the region of a box, or the open position where it is a place of its own."""
    if text != "open":
        return anchor_region(key, _read_box(text), setting.neck)
    if not has_open_position(key, setting.neck):
        raise ApiError(422, _("no open position in {key} apart from the boxes: choose a box").format(key=key))
    return open_position(key, setting.neck)


def _read_box(text: str) -> int:
    if not text.isdecimal():
        raise ApiError(422, _('no box "{box}": a box is a number from 1 to 5').format(box=echo(text)))
    return int(text)


def _chord_json(numeral: Numeral, key: Key, region: Region, setting: Setting) -> dict[str, Any]:
    chord = numeral.chord(key)
    playable = voicings(chord, region, setting.fingers, setting.neck)
    playable = playable or voicings(chord, region, setting.largest_hand, setting.neck)
    named = {
        "number": numeral.number,
        "numeral": str(numeral),
        "chord": str(chord),
        "fretted": str(numeral.chord(key.moved(-setting.capo))),
    }
    if not playable:
        nothing = _("no voicing here on this guitar")
        return {**named, "drawing": None, "description": nothing, "shapes": [], "wide": False}
    return {**named, **_drawing_json(playable[0], region, setting)}


def _small_json(numeral: Numeral, key: Key, region: Region, setting: Setting) -> dict[str, Any]:
    """Return the small voicings of a chord; [] if this hand and guitar have none."""
    listing = list_small(key, numeral, region, setting.fingers, setting.neck)
    return {
        "number": numeral.number,
        "numeral": str(numeral),
        "chord": str(numeral.chord(key)),
        "voicings": [
            {
                "said": say_small(voicing.sounding, voicing.bass, voicing.left_out, listing.becomes(voicing)),
                **_drawing_json(voicing, region, setting),
            }
            for voicing in listing.voicings
        ],
    }


def _drawing_json(voicing: Voicing, region: Region, setting: Setting) -> dict[str, Any]:
    if region.box == OPEN:
        title = _("{chord}, open position").format(chord=voicing.chord)
    else:
        title = _("{chord}, box {box}").format(chord=voicing.chord, box=region.box)
    return {
        "drawing": draw_voicings([panel(voicing)], title, setting.left_handed),
        "description": describe(voicing.frets, voicing.chord, voicing.neck),
        "shapes": [shape.name for shape in voicing.shapes],
        "wide": voicing.wide,
    }


def _way_json(text: str, key: Key, region: Region, setting: Setting) -> list[dict[str, Any]]:
    """Return the smoothest way through a progression, step by step; [] if it is empty."""
    tokens = text.replace("|", " ").split()
    if len(tokens) > LONGEST_PROGRESSION:
        raise ApiError(422, _("a progression here has at most {most} chords").format(most=LONGEST_PROGRESSION))
    numerals = [read_numeral(token, key) for token in tokens]
    chords = tuple(numeral.chord(key) for numeral in numerals)
    route = smoothest(chords, region, setting.fingers, setting.neck)
    moves = [0.0, *(change.travel_mm for change in route.changes)]
    return [
        {
            "numeral": str(numeral),
            "chord": str(voicing.chord),
            "travel_mm": round(travel),
            **_drawing_json(voicing, region, setting),
        }
        for numeral, voicing, travel in zip(numerals, route.voicings, moves, strict=False)
    ]
