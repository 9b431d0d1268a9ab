"""The Neck page: any key and box with its seven chords, without drilling."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, render_template, request

from cards.asks import Card, Setting, answer
from cards.drawings.region import draw_region
from cards.drawings.voicing import describe
from cards.keys import DEGREES, Key, KeyNameError
from cards.regions import RegionError, anchor_region
from drill.players import preferences
from drill.web.guard import ApiError
from drill.web.service import service

blueprint = Blueprint("neck", __name__)


@blueprint.get("/neck")
def page() -> str:
    """The page; what it shows comes by ``GET /api/neck``."""
    return render_template("neck.html")


@blueprint.get("/api/neck")
def neck() -> dict[str, Any]:
    """The region of ``?key=`` and ``?box=`` with its triads and sevenths, for the player's hand."""
    here = service()
    hand = preferences(here.store, here.player_id)
    try:
        key = Key.read(request.args.get("key", "C")).practical
        region = anchor_region(key, _box(request.args.get("box", "1")))
    except (KeyNameError, RegionError) as error:
        raise ApiError(422, str(error)) from error
    setting = Setting(hand=hand.hand, left_handed=hand.left_handed)
    return {
        "key": str(key),
        "minor": str(key.relative_minor),
        "box": region.box,
        "low": region.low,
        "high": region.high,
        "drawing": draw_region(region, hand.left_handed),
        "chords": [_chord(Card("place", key, degree, False, region.box), setting) for degree in DEGREES],
        "sevenths": [_chord(Card("place", key, degree, True, region.box), setting) for degree in DEGREES],
    }


def _box(text: str) -> int:
    if not text.isdecimal():
        raise ApiError(422, f'no box "{text}": a box is a number from 1 to 5')
    return int(text)


def _chord(card: Card, setting: Setting) -> dict[str, Any]:
    main = card.voicings(setting)[0]
    return {
        "number": str(card.degree),
        "numeral": card.key.numeral(card.degree, card.seventh),
        "chord": str(card.chord),
        "drawing": answer(card, setting).drawing,
        "description": describe(main.frets, card.chord),
        "shapes": [shape.name for shape in main.shapes],
    }
