"""Jams: the list, one jam with its set list, its calendar file."""

from __future__ import annotations

from typing import Any, Final

from flask import Blueprint, Response, jsonify, make_response, render_template, request

from cards.theory.keys import BLUES_KEYS, MAJOR_KEYS, MINOR_KEYS
from drill.jams import nights, set_list
from drill.jams.calendar import calendar
from drill.jams.nights import Night, NightTune
from drill.players.preferences import preferences
from drill.web.guard import ApiError, json_body
from drill.web.service import current_service
from drill.words import CALLS, say_call, say_error, say_when

blueprint = Blueprint("jams", __name__)

KEYS_JSON: Final = {
    keys[0].mode: [str(key) for key in sorted(keys, key=lambda key: (key.tonic.pitch_class, key.tonic.fifths))]
    for keys in (MAJOR_KEYS, MINOR_KEYS, BLUES_KEYS)
}
"""Every key that can be called, by the mode of the tune."""


@blueprint.get("/jams")
def page() -> str:
    """Show the player's jams; they come from ``GET /api/jams``."""
    return render_template("jams.html")


@blueprint.get("/jams/<jam_id>")
def one(jam_id: str) -> str:
    """Show one jam."""
    return render_template("jam.html", jam_id=jam_id)


@blueprint.errorhandler(nights.ClosedError)
def closed(error: nights.ClosedError) -> Response:
    """Refuse to change a jam that is past or deleted; the answer has the jam as it is."""
    jam_id = (request.view_args or {})["jam_id"]
    return make_response(jsonify(error=say_error(error), jam=_whole_json(jam_id)), 409)


@blueprint.get("/api/jams")
def listed() -> dict[str, Any]:
    """Return the player's jams by date, and the zone of their times."""
    service = current_service()
    jams = nights.nights(service.store, service.player_id, service.now())
    return {"jams": [jam_json(jam) for jam in jams], "zone": _zone()}


@blueprint.post("/api/jams")
def make() -> Response:
    """Make a jam."""
    service = current_service()
    jam_id = nights.make(service.store, service.player_id, json_body(), service.now())
    return make_response(jsonify(_whole_json(jam_id)), 201)


@blueprint.get("/api/jams/<jam_id>")
def look(jam_id: str) -> dict[str, Any]:
    """Return a jam with its set list."""
    return _whole_json(jam_id)


@blueprint.put("/api/jams/<jam_id>")
def change(jam_id: str) -> dict[str, Any]:
    """Change any of a jam's values; 409 with the newer values if they are no longer what ``was`` says."""
    service = current_service()
    try:
        nights.change(service.store, service.player_id, jam_id, json_body(), service.now())
    except nights.JamChangedError as error:
        raise ApiError(409, say_error(error), field=error.field, jam=_whole_json(jam_id)) from error
    return _whole_json(jam_id)


@blueprint.put("/api/jams/<jam_id>/set-list")
def arrange(jam_id: str) -> dict[str, Any]:
    """Put the set list in an order; 409 with the newer one if it was changed elsewhere."""
    body, service = json_body(), current_service()
    try:
        set_list.arrange(service.store, service.player_id, jam_id, body.get("was"), body.get("entries"), service.now())
    except set_list.OrderChangedError as error:
        raise ApiError(409, say_error(error), jam=_whole_json(jam_id)) from error
    return _whole_json(jam_id)


@blueprint.post("/api/jams/<jam_id>/copies")
def duplicate(jam_id: str) -> Response:
    """Copy a jam with its set list to another date."""
    service = current_service()
    copy = nights.duplicate(service.store, service.player_id, jam_id, json_body(), service.now())
    return make_response(jsonify(_whole_json(copy)), 201)


@blueprint.delete("/api/jams/<jam_id>")
def delete(jam_id: str) -> dict[str, Any]:
    """Delete a jam."""
    service = current_service()
    nights.delete(service.store, service.player_id, jam_id, service.now())
    return {"deleted": jam_id}


@blueprint.post("/api/jams/<jam_id>/back")
def restore(jam_id: str) -> dict[str, Any]:
    """Restore a deleted jam."""
    service = current_service()
    nights.restore(service.store, service.player_id, jam_id)
    return _whole_json(jam_id)


@blueprint.get("/api/jams/<jam_id>/calendar.ics")
def calendar_file(jam_id: str) -> Response:
    """Return the calendar file of the jam and the daily drill until then."""
    service = current_service()
    night = nights.night(service.store, service.player_id, jam_id, service.now())
    settings = preferences(service.store, service.player_id)
    content = calendar(night, settings, f"{request.host_url}jams/{jam_id}", service.now())
    name = f"jam-{night.local:%Y-%m-%d}.ics"
    headers = {"Content-Disposition": f"attachment; filename={name}"}
    return Response(content, content_type="text/calendar; charset=utf-8", headers=headers)


def _zone() -> str:
    service = current_service()
    return preferences(service.store, service.player_id).zone


def _whole_json(jam_id: str) -> dict[str, Any]:
    service = current_service()
    night = nights.night(service.store, service.player_id, jam_id, service.now())
    entries = [_entry_json(entry) for entry in night.entries]
    return {**jam_json(night), "zone": _zone(), "entries": entries, "keys": KEYS_JSON}


def jam_json(night: Night) -> dict[str, Any]:
    """Return a jam without its set list."""
    jam = night.jam
    return {
        "id": jam.id,
        "name": jam.name,
        "at": jam.at.isoformat(),
        "local": f"{night.local:%Y-%m-%dT%H:%M}",
        "when": say_when(night.local),
        "place": jam.place,
        "boxes": jam.boxes,
        "past": night.past,
        "days": night.days,
        "tunes": [entry.title for entry in night.entries],
        "deleted": jam.deleted_at is not None,
    }


def _entry_json(entry: NightTune) -> dict[str, Any]:
    chart = entry.chart
    return {
        "id": entry.id,
        "tune": entry.tune_id,
        "title": entry.title,
        "key": entry.called,
        "tempo": entry.set_tempo,
        "own_key": str(entry.own_key),
        "mode": entry.own_key.mode,
        "calls": [{"key": str(entry.own_key.moved(steps)), "says": say_call(steps)} for steps in CALLS],
        "plays_in": str(entry.key),
        "plays_at": entry.tempo,
        "capo": chart.capo,
        "bars": chart.length,
        "chords": [str(chord) for chord in chart.chords],
        "deleted": entry.deleted,
    }
