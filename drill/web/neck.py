"""The Neck page: any key and box with its chords, and the way through a progression."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

from flask import Blueprint, render_template, request

from cards.asks import Card, Setting
from cards.charts.progressions import Progression, read_progression
from cards.drawings.region import draw_region, region_title
from cards.drawings.voicing import describe, draw_voicings, panel
from cards.guitar.fingering import Frets
from cards.guitar.regions import OPEN, Region, RegionError, has_open_position, read_place
from cards.messages import Message, Refusal, echo
from cards.theory.chords import Chord
from cards.theory.keys import Key, KeyNameError, Mode
from cards.theory.numerals import BASS, SLASHES, TARGET, Numeral, own_numeral
from cards.theory.pitch import Note, PitchError
from cards.voicings.listing import list_small, mend_chord, mend_small
from cards.voicings.routes import MANNERS, SMOOTH, Lead, Manner, Route, RouteError, change_reasons, smoothest, way_name
from cards.voicings.voicing import Voicing, hand_stays_beside, pinned_first, voicings, worth_knowing
from drill.players.pins import PinError, name_pin, read_pin
from drill.players.preferences import PreferenceError, pin, preferences, read_setting, unpin
from drill.web.guard import ApiError, json_body
from drill.web.service import current_service
from drill.words import gettext as _
from drill.words import say, say_error, say_name, say_position, say_refusal, say_small

blueprint = Blueprint("neck", __name__)

LONGEST_PROGRESSION: Final = 64
MOST_OTHERS: Final = 5
"""The most grips of a chord that the page shows beside the first."""


@blueprint.get("/neck")
def page() -> str:
    """Show the page; its data comes from ``GET /api/neck``."""
    return render_template("neck.html")


@blueprint.get("/api/neck")
def neck() -> dict[str, Any]:
    """Return the region of ``?key=`` and ``?box=`` (``open`` for the open position) with its triads and sevenths.

    Voicings are for the player's hand and guitar. ``?chords=small`` adds the small voicings of each chord.
    ``?progression=`` adds the way through the progression in a ``manner`` (smooth, strum, comp or small); ``lead``
    says what it follows (both, hand or top), ``keep`` which note is held on top, and ``slash`` what a Roman numeral
    behind a slash is (target or bass).
    """
    service = current_service()
    kept = preferences(service.store, service.player_id)
    setting = read_setting(kept)
    try:
        key = Key.read(request.args.get("key", "C")).practical
        region = read_place(request.args.get("box", "1"), key, setting.neck)
        progression = _read_progression(request.args.get("progression", ""), key)
        route = _find_way(progression, key, region, setting)
    except (KeyNameError, PitchError, RegionError, RouteError) as error:
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
        "route": _steps_json(progression, route, key, region, setting),
        "way": _way_json(route),
        "taken": [_taken_json(reading) for reading in progression.taken],
    }


@blueprint.put("/api/pins")
def pin_grip() -> dict[str, Any]:
    """Show a grip first for its chord and box."""
    service = current_service()
    try:
        kept = pin(service.store, service.player_id, _read_grip())
    except PreferenceError as error:
        raise ApiError(422, say_error(error), field="pin") from error
    return {"pins": kept.pins}


@blueprint.delete("/api/pins")
def unpin_grip() -> dict[str, Any]:
    """Show the grip first that was so before one was pinned."""
    service = current_service()
    return {"pins": unpin(service.store, service.player_id, _read_grip()).pins}


def _read_grip() -> str:
    grip = json_body().get("pin")
    try:
        read_pin(grip)
    except PinError as error:
        raise ApiError(422, say_error(error), field="pin") from error
    return str(grip)


def _chord_json(numeral: Numeral, key: Key, region: Region, setting: Setting) -> dict[str, Any]:
    chord = numeral.chord(key)
    hand = setting.fingers
    playable = voicings(chord, region, hand, setting.neck)
    if not playable:
        hand = setting.largest_hand
        playable = voicings(chord, region, hand, setting.neck)
    named = {
        "number": numeral.number,
        "numeral": str(numeral),
        "chord": str(chord),
        "fretted": str(numeral.chord(key.moved(-setting.capo))),
    }
    if not playable:
        nothing = _say_nothing(mend_chord(key, numeral, region, setting.fingers, setting.neck))
        return {
            **named,
            "drawing": None,
            "description": nothing,
            "shapes": [],
            "told": [],
            "wide": False,
            "staying": None,
            "others": [],
        }
    card = Card("place", key, (numeral,), region.box)
    first = pinned_first(playable, card.pinned(setting))[0]
    # A pinned grip is the player's choice, so no other one is named beside it.
    staying = hand_stays_beside(chord, region, hand, setting.neck) if first == playable[0] else None
    known = {voicing.frets: voicing for voicing in (playable[0], *worth_knowing(playable)[:MOST_OTHERS])}
    shown = {first.frets, staying.frets if staying else first.frets}
    others = [voicing for frets, voicing in known.items() if frets not in shown]
    return {
        **named,
        **_grip_json(card, first, region, setting, "" if staying is None else "full"),
        "staying": None if staying is None else _grip_json(card, staying, region, setting, "hand stays"),
        "others": [_grip_json(card, voicing, region, setting) for voicing in others],
    }


def _grip_json(card: Card, voicing: Voicing, region: Region, setting: Setting, called: str = "") -> dict[str, Any]:
    """Return a voicing with what it is called, the text that pins it, and whether it is pinned."""
    # Pins belong to boxes: in open position there is little to choose from.
    boxed = region.box != OPEN
    return {
        **_drawing_json(voicing, region, setting, called),
        "pin": name_pin(card.key, card.numeral.slug(card.key), region.box, voicing.frets) if boxed else None,
        "pinned": voicing.frets == card.pinned(setting),
    }


def _small_json(numeral: Numeral, key: Key, region: Region, setting: Setting) -> dict[str, Any]:
    """Return the small voicings of a chord; [] if this hand and guitar have none."""
    hand = setting.fingers
    listing = list_small(key, numeral, region, hand, setting.neck)
    return {
        "number": numeral.number,
        "numeral": str(numeral),
        "chord": str(numeral.chord(key)),
        "description": "" if listing.voicings else _say_nothing(mend_small(key, numeral, region, hand, setting.neck)),
        "voicings": [
            {
                "said": say_small(voicing.sounding, voicing.bass, voicing.left_out, listing.becomes(voicing)),
                **_drawing_json(voicing, region, setting),
            }
            for voicing in listing.voicings
        ],
    }


def _say_nothing(mend: Refusal | None) -> str:
    """Say that nothing can be played, and what helps."""
    if mend is None:
        return _("no voicing on this guitar, in any box")
    return _("no voicing here for this hand: {mend}").format(mend=say_refusal(mend))


def _drawing_json(voicing: Voicing, region: Region, setting: Setting, called: str = "") -> dict[str, Any]:
    """Return a voicing as a drawing and in words. ``told`` says what it is called and where the index finger is."""
    words = [say_name(called)] if called else []
    words += [_("drop {strings}").format(strings=voicing.drop)] if voicing.drop else []
    words += [say_position(voicing.position, voicing.moves)] if voicing.fingered.position is not None else []
    if region.box == OPEN:
        title = _("{chord}, open position").format(chord=voicing.chord)
    else:
        title = _("{chord}, box {box}").format(chord=voicing.chord, box=region.box)
    return {
        "drawing": draw_voicings([panel(voicing)], title, setting.left_handed),
        "description": describe(voicing.frets, voicing.chord, voicing.neck),
        "shapes": [shape.name for shape in voicing.shapes],
        "told": words,
        "wide": voicing.wide,
    }


def _read_progression(text: str, key: Key) -> Progression:
    """Read the progression of the address as ``drill route`` reads one. Raises ApiError, KeyNameError."""
    slash = request.args.get("slash") or None
    if slash is not None and slash not in SLASHES:
        raise ApiError(422, _('no slash "{slash}": it is target or bass').format(slash=echo(slash)))
    progression = read_progression(text, key, slash)
    if len(progression.numerals) > LONGEST_PROGRESSION:
        raise ApiError(422, _("a progression here has at most {most} chords").format(most=LONGEST_PROGRESSION))
    return progression


def _read_manner() -> Manner:
    """Read the manner of the address, with what leads and the note to hold on top. Raises ApiError, PitchError."""
    named = request.args.get("manner") or SMOOTH.name
    if named not in MANNERS:
        sentence = _('no manner "{manner}": it is smooth, strum, comp or small')
        raise ApiError(422, sentence.format(manner=echo(named)))
    manner = MANNERS[named]
    lead, keep = request.args.get("lead") or manner.lead.value, request.args.get("keep", "").strip()
    if lead not in list(Lead):
        raise ApiError(422, _('no lead "{lead}": it is both, hand or top').format(lead=echo(lead)))
    return replace(manner, lead=Lead(lead), keep=Note.read(keep) if keep else None)


def _find_way(progression: Progression, key: Key, region: Region, setting: Setting) -> Route:
    """Find the way through a progression in the manner of the address; no steps if it is empty."""
    if not progression.numerals:
        return Route((), ())
    chords = tuple(numeral.chord(key) for numeral in progression.numerals)
    pins = _pins_there(key, region, setting)
    return smoothest(chords, region, setting.fingers, setting.neck, manner=_read_manner(), pins=pins)


def _pins_there(key: Key, region: Region, setting: Setting) -> dict[Chord, Frets]:
    """Return the grips that the player has pinned in a region, by chord."""
    return {pin.chord: pin.frets for pin in setting.pins if (pin.key, pin.box) == (key, region.box)}


def _steps_json(
    progression: Progression, route: Route, key: Key, region: Region, setting: Setting
) -> list[dict[str, Any]]:
    """Return a way step by step, each with what a player should know of the change to it."""
    pins = _pins_there(key, region, setting)
    return [
        {
            "numeral": str(numeral),
            "chord": str(voicing.chord),
            "travel_mm": round(route.changes[index - 1].travel_mm) if index else 0,
            "pinned": voicing.frets == pins.get(voicing.chord),
            "why": [say(reason) for reason in change_reasons(route.changes[index - 1], voicing)] if index else [],
            **_drawing_json(voicing, voicing.region, setting),
        }
        for index, (numeral, voicing) in enumerate(zip(progression.numerals, route.voicings, strict=True))
    ]


def _way_json(route: Route) -> dict[str, Any] | None:
    """Return what a way is called and why it is good; None if it has no steps."""
    if not route.voicings:
        return None
    called, *reasons = dict.fromkeys(map(say, (way_name(route), *route.reasons)))
    return {
        "called": called,
        "why": reasons,
        "travel": _("The fingers travel {mm} mm in all.").format(mm=round(route.travel_mm)),
    }


def _taken_json(reading: Message) -> dict[str, Any]:
    """Return what was taken for what; for a slash also the other reading, and the word for it in the address."""
    offers = {
        "numeral.target": (BASS, _("Take it as a bass")),
        "numeral.bass": (TARGET, _("Take it as leading there")),
    }
    slash, offer = offers.get(reading.key, (None, None))
    return {"says": say(reading), "slash": slash, "offer": offer}
