"""Tunes: the list, the editor that reads along, files brought in."""

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
from drill.web.service import service
from drill.words import capital, say_error, say_name, say_refusal
from drill.words import gettext as _

blueprint = Blueprint("tunes", __name__)

TEXT_BYTES: Final = 2 * MOST_BYTES
"""The largest request with a text in it: JSON writes some characters longer."""
FILE_BYTES: Final = 4 * ARCHIVE_BYTES // 3 + 4096
"""The largest request with a file in it, which travels in Base64."""
TIMES: Final = ("4/4", "3/4", "2/4", "6/8", "12/8", "5/4")
"""The metres to choose from; a text can say any."""


@blueprint.get("/tunes")
def page() -> str:
    """The player's tunes, which come by ``GET /api/tunes``."""
    return render_template("tunes.html")


@blueprint.get("/tunes/new")
def new() -> str:
    """The editor with nothing in it."""
    return render_template("tune.html", tune_id="", forms=FORMS, feels=FEELS, times=TIMES)


@blueprint.get("/tunes/<tune_id>")
def edit(tune_id: str) -> str:
    """The editor with a tune."""
    return render_template("tune.html", tune_id=tune_id, forms=FORMS, feels=FEELS, times=TIMES)


@blueprint.post("/api/charts/read")
def read() -> dict[str, Any]:
    """A text as a chart, with everything that was guessed; nothing is kept."""
    request.max_content_length = TEXT_BYTES
    return reading_json(chart_of_text(json_body()))


@blueprint.post("/api/charts/file")
def open_file() -> dict[str, Any]:
    """The text of a file, for the editor; nothing is kept."""
    request.max_content_length = FILE_BYTES
    try:
        return {"text": decode(_content(json_body()))}
    except ChartError as error:
        raise ApiError(422, say_error(error), field="text") from error


@blueprint.post("/api/charts/form")
def start_from_form() -> dict[str, Any]:
    """A ready-made form in a key and feel, as text to start from."""
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
    """The player's tunes by title."""
    here = service()
    played = library.played_at(here.store, here.player_id)
    return {
        "tunes": [
            {**_short_json(each), "jams": [{"id": jam.id, "name": jam.name} for jam in played.get(each.id, ())]}
            for each in library.tunes(here.store, here.player_id)
        ]
    }


@blueprint.post("/api/tunes")
def add() -> Response:
    """Keep a new tune, under the id that the device made for it: sent twice it is one tune."""
    request.max_content_length = TEXT_BYTES
    body, here = json_body(), service()
    new, chart = _new_id(body), chart_of_text(body)
    try:
        tune_id = library.keep(here.store, here.player_id, body.get("title"), chart, here.now(), new)
    except library.ChangedElsewhereError as error:
        raise ApiError(409, say_error(error), tune=_whole_json(str(new))) from error
    return make_response(jsonify(_whole_json(tune_id)), 201)


@blueprint.get("/api/tunes/<tune_id>")
def look(tune_id: str) -> dict[str, Any]:
    """A tune, as text to edit and as a chart."""
    return _whole_json(tune_id)


@blueprint.put("/api/tunes/<tune_id>")
def change(tune_id: str) -> dict[str, Any]:
    """Keep a tune as it is now in the editor; 409 if it was changed elsewhere since ``changed_at``."""
    request.max_content_length = TEXT_BYTES
    body, here = json_body(), service()
    since = _instant(body.get("changed_at"))
    try:
        library.keep(here.store, here.player_id, body.get("title"), chart_of_text(body), here.now(), tune_id, since)
    except library.ChangedElsewhereError as error:
        raise ApiError(409, say_error(error), tune=_whole_json(tune_id)) from error
    return _whole_json(tune_id)


@blueprint.delete("/api/tunes/<tune_id>")
def delete(tune_id: str) -> dict[str, Any]:
    """Put a tune out of sight."""
    here = service()
    library.delete(here.store, here.player_id, tune_id, here.now())
    return {"deleted": tune_id}


@blueprint.post("/api/tunes/<tune_id>/back")
def have_back(tune_id: str) -> dict[str, Any]:
    """Have a deleted tune back."""
    here = service()
    library.restore(here.store, here.player_id, tune_id)
    return _short_json(library.tune(here.store, here.player_id, tune_id))


@blueprint.post("/api/tunes/files")
def bring() -> dict[str, Any]:
    """A file with a song, or an archive of them: what was read is kept, the rest is told.

    It comes under an id that the device made for it: sent twice, its songs are brought in once.
    """
    request.max_content_length = FILE_BYTES
    body, here = json_body(), service()
    name, content, sent_as = body.get("name"), _content(body), uuid.UUID(_new_id(body) or secrets.token_hex(16))
    if not isinstance(name, str):
        raise ApiError(422, _("a file has a name"), field="name")
    uploads = enumerate(read_file(name[:200], content))
    return {"files": [_file_json(each, uuid.uuid5(sent_as, str(number)).hex, here.now()) for number, each in uploads]}


def _new_id(body: Mapping[str, Any]) -> str | None:
    """The id that the device made for what it sends, if it did. Raises ApiError."""
    new = body.get("id")
    if new is not None and not (isinstance(new, str) and HEX_ID.match(new)):
        raise ApiError(422, _("an id is made on the device: 32 digits from 0 to f"), field="id")
    return new


def _content(body: Mapping[str, Any]) -> bytes:
    """A file's bytes. Raises ApiError."""
    data = body.get("data")
    try:
        return base64.b64decode(data if isinstance(data, str) else "?", validate=True)
    except ValueError as error:
        raise ApiError(422, _("the data of a file is Base64"), field="data") from error


def _file_json(upload: Upload, tune_id: str, now: datetime) -> dict[str, Any]:
    here, chart = service(), upload.chart
    if chart is None:
        return {"name": upload.name, "refused": say_refusal(upload.refused) if upload.refused else None}
    library.keep(here.store, here.player_id, upload.title, chart, now, tune_id)
    return {
        "name": upload.name,
        "tune": _short_json(library.tune(here.store, here.player_id, tune_id)),
        "tokens": chart.tokens,
        "unread": len(chart.unread),
        "key_given": chart.key_given,
        "key_found": bool(chart.keys),
    }


def _instant(value: object) -> datetime | None:
    try:
        found = datetime.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        found = None
    if found is None or found.tzinfo is None:
        raise ApiError(422, _("changed_at is when the tune was last changed, as the service said"), field="changed_at")
    return found


def _short_json(tune: Tune) -> dict[str, Any]:
    """A tune in a line."""
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
    """A tune with its text, and how that is read."""
    here = service()
    tune = library.tune(here.store, here.player_id, tune_id)
    chart = library.chart_of(tune)
    kept = {} if chart.options.minor_from is None else {"minor_from": chart.options.minor_from}
    return {
        **_short_json(tune),
        "text": write(replace(chart, title=None)),
        "options": {**options_json(AS_WRITTEN), **kept},
        "chart": chart_json(chart),
    }
