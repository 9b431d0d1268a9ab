"""Tunes: the list, the editor that reads along, and files that are imported."""

from __future__ import annotations

import base64
import secrets
import uuid
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any, Final

from flask import Blueprint, Response, jsonify, make_response, render_template, request

from cards.charts import MOST_BYTES, ChartError, decode
from cards.charts.forms import FEELS, FORMS, form
from cards.charts.writing import AS_WRITTEN, write
from drill.incoming.reading import HEX_ID
from drill.store.models import Tune
from drill.tunes import library
from drill.tunes.uploads import ARCHIVE_BYTES, Upload, read_file
from drill.web.charts import chart_json
from drill.web.editing import chart_of_text, options_json, read_key, reading_json
from drill.web.guard import ApiError, json_body
from drill.web.service import current_service
from drill.words import capital, say_error, say_name, say_refusal
from drill.words import gettext as _

blueprint = Blueprint("tunes", __name__)

TEXT_BYTES: Final = 2 * MOST_BYTES
"""The largest request with a text, in bytes: some characters are longer in JSON."""
FILE_BYTES: Final = 4 * ARCHIVE_BYTES // 3 + 4096
"""The largest request with a file, in bytes; files travel in Base64."""
TIMES: Final = ("4/4", "3/4", "2/4", "6/8", "12/8", "5/4")
"""The metres that the page offers; a text can name others."""


@blueprint.get("/tunes")
def page() -> str:
    """Show the player's tunes; they come from ``GET /api/tunes``."""
    return render_template("tunes.html")


@blueprint.get("/tunes/new")
def new() -> str:
    """Show the empty editor."""
    return render_template("tune.html", tune_id="", forms=FORMS, feels=FEELS, times=TIMES)


@blueprint.get("/tunes/<tune_id>")
def edit(tune_id: str) -> str:
    """Show the editor with a tune."""
    return render_template("tune.html", tune_id=tune_id, forms=FORMS, feels=FEELS, times=TIMES)


@blueprint.post("/api/charts/read")
def read() -> dict[str, Any]:
    """Return a text as a chart, with everything that was guessed; nothing is stored."""
    request.max_content_length = TEXT_BYTES
    return reading_json(chart_of_text(json_body()))


@blueprint.post("/api/charts/file")
def open_file() -> dict[str, Any]:
    """Return the text of a file for the editor; nothing is stored."""
    request.max_content_length = FILE_BYTES
    try:
        return {"text": decode(_read_content(json_body()))}
    except ChartError as error:
        raise ApiError(422, say_error(error), field="text") from error


@blueprint.post("/api/charts/form")
def start_from_form() -> dict[str, Any]:
    """Return a ready-made form in a key and feel, as text to start from."""
    body = json_body()
    name, feel = body.get("form"), body.get("feel")
    try:
        chart = form(str(name), read_key(body.get("key")), None if feel is None else str(feel))
    except ChartError as error:
        raise ApiError(422, say_error(error), field="form") from error
    chart = chart.in_key(chart.key.practical)
    title = _("{form} in {key}").format(form=capital(say_name(chart.title or "")), key=chart.key.tonic)
    return {"title": title, "text": write(replace(chart, title=None))}


@blueprint.get("/api/tunes")
def listed() -> dict[str, Any]:
    """Return the player's tunes by title."""
    service = current_service()
    played = library.played_at(service.store, service.player_id)
    return {
        "tunes": [
            {**_short_json(tune), "jams": [{"id": jam.id, "name": jam.name} for jam in played.get(tune.id, ())]}
            for tune in library.tunes(service.store, service.player_id)
        ]
    }


@blueprint.post("/api/tunes")
def add() -> Response:
    """Store a new tune under the id that the device made for it. A tune that is sent twice is stored once."""
    request.max_content_length = TEXT_BYTES
    body, service = json_body(), current_service()
    new, chart = _read_new_id(body), chart_of_text(body)
    try:
        tune_id = library.keep(service.store, service.player_id, body.get("title"), chart, service.now(), new)
    except library.ChangedElsewhereError as error:
        raise ApiError(409, say_error(error), tune=_whole_json(str(new))) from error
    return make_response(jsonify(_whole_json(tune_id)), 201)


@blueprint.get("/api/tunes/<tune_id>")
def look(tune_id: str) -> dict[str, Any]:
    """Return a tune, as text to edit and as a chart."""
    return _whole_json(tune_id)


@blueprint.put("/api/tunes/<tune_id>")
def change(tune_id: str) -> dict[str, Any]:
    """Store a tune as it is in the editor; 409 if it was changed elsewhere since ``changed_at``."""
    request.max_content_length = TEXT_BYTES
    body, service = json_body(), current_service()
    since = _read_instant(body.get("changed_at"))
    try:
        library.keep(
            service.store, service.player_id, body.get("title"), chart_of_text(body), service.now(), tune_id, since
        )
    except library.ChangedElsewhereError as error:
        raise ApiError(409, say_error(error), tune=_whole_json(tune_id)) from error
    return _whole_json(tune_id)


@blueprint.delete("/api/tunes/<tune_id>")
def delete(tune_id: str) -> dict[str, Any]:
    """Delete a tune."""
    service = current_service()
    library.delete(service.store, service.player_id, tune_id, service.now())
    return {"deleted": tune_id}


@blueprint.post("/api/tunes/<tune_id>/back")
def restore(tune_id: str) -> dict[str, Any]:
    """Restore a deleted tune."""
    service = current_service()
    library.restore(service.store, service.player_id, tune_id)
    return _short_json(library.tune(service.store, service.player_id, tune_id))


@blueprint.post("/api/tunes/files")
def import_file() -> dict[str, Any]:
    """Import a file with a song, or an archive of songs: store what can be read, and say why the rest was refused.

    The device makes an id for the file. A file that is sent twice is imported once.
    """
    request.max_content_length = FILE_BYTES
    body, service = json_body(), current_service()
    name, content, sent_as = (
        body.get("name"),
        _read_content(body),
        uuid.UUID(_read_new_id(body) or secrets.token_hex(16)),
    )
    if not isinstance(name, str):
        raise ApiError(422, _("a file has a name"), field="name")
    uploads = enumerate(read_file(name[:200], content))
    return {
        "files": [_file_json(upload, uuid.uuid5(sent_as, str(number)).hex, service.now()) for number, upload in uploads]
    }


def _read_new_id(body: Mapping[str, Any]) -> str | None:
    """Return the id that the device made for what it sends, or None. Raises ApiError."""
    new = body.get("id")
    if new is not None and not (isinstance(new, str) and HEX_ID.match(new)):
        raise ApiError(422, _("an id is made on the device: 32 digits from 0 to f"), field="id")
    return new


def _read_content(body: Mapping[str, Any]) -> bytes:
    """Return a file's bytes. Raises ApiError."""
    data = body.get("data")
    try:
        return base64.b64decode(data if isinstance(data, str) else "?", validate=True)
    except ValueError as error:
        raise ApiError(422, _("the data of a file is Base64"), field="data") from error


def _file_json(upload: Upload, tune_id: str, now: datetime) -> dict[str, Any]:
    service, chart = current_service(), upload.chart
    if chart is None:
        return {"name": upload.name, "refused": say_refusal(upload.refused) if upload.refused else None}
    library.keep(service.store, service.player_id, upload.title, chart, now, tune_id)
    return {
        "name": upload.name,
        "tune": _short_json(library.tune(service.store, service.player_id, tune_id)),
        "tokens": chart.tokens,
        "unread": len(chart.unread),
        "key_given": chart.key_given,
        "key_found": bool(chart.keys),
    }


def _read_instant(value: object) -> datetime | None:
    try:
        instant = datetime.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        instant = None
    if instant is None or instant.tzinfo is None:
        raise ApiError(422, _("changed_at is when the tune was last changed, as the service said"), field="changed_at")
    return instant


def _short_json(tune: Tune) -> dict[str, Any]:
    """Return a tune without its text."""
    chart = library.chart_of(tune)
    return {
        "id": tune.id,
        "title": tune.title,
        "key": str(chart.key),
        "capo": chart.capo,
        "tempo": chart.tempo,
        "feel": chart.feel,
        "bars": chart.length,
        "chords": [str(chord) for chord in chart.chords],
        "changed_at": tune.changed_at.isoformat(),
        "deleted": tune.deleted_at is not None,
    }


def _whole_json(tune_id: str) -> dict[str, Any]:
    """Return a tune with its text, and how the text is read."""
    service = current_service()
    tune = library.tune(service.store, service.player_id, tune_id)
    chart = library.chart_of(tune)
    kept = {} if chart.options.minor_from is None else {"minor_from": chart.options.minor_from}
    return {
        **_short_json(tune),
        "text": write(replace(chart, title=None)),
        "options": {**options_json(AS_WRITTEN), **kept},
        "chart": chart_json(chart),
    }
