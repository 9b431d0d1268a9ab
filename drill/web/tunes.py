"""Tunes: the list, the editor that reads along, files brought in."""

from __future__ import annotations

import base64
from collections.abc import Mapping
from dataclasses import fields, replace
from datetime import datetime
from typing import Any, Final

from flask import Blueprint, Response, jsonify, make_response, render_template, request

from cards.charts import CHOICES, MOST_BYTES, Chart, ChartError, Guess, Options, read_chart
from cards.charts.forms import FEELS, FORMS, form
from cards.charts.writing import AS_WRITTEN, write
from cards.keys import Key, KeyNameError, Mode
from drill import tunes
from drill.reading import finite
from drill.store.models import Tune
from drill.uploads import ARCHIVE_BYTES, Upload, read_file
from drill.web.charts import chart_json
from drill.web.guard import ApiError, json_body
from drill.web.service import service
from drill.words import say

blueprint = Blueprint("tunes", __name__)

TEXT_BYTES: Final = 2 * MOST_BYTES
"""The largest request with a text in it: JSON writes some characters longer."""
FILE_BYTES: Final = 4 * ARCHIVE_BYTES // 3 + 4096
"""The largest request with a file in it, which travels in Base64."""
SLOWEST, FASTEST, HIGHEST_CAPO = 30, 240, 11


@blueprint.get("/tunes")
def page() -> str:
    """The player's tunes, which come by ``GET /api/tunes``."""
    return render_template("tunes.html")


@blueprint.get("/tunes/new")
def new() -> str:
    """The editor with nothing in it."""
    return render_template("tune.html", tune_id="", forms=FORMS, feels=FEELS)


@blueprint.get("/tunes/<tune_id>")
def edit(tune_id: str) -> str:
    """The editor with a tune."""
    return render_template("tune.html", tune_id=tune_id, forms=FORMS, feels=FEELS)


@blueprint.errorhandler(tunes.NoTuneError)
def no_tune(error: tunes.NoTuneError) -> Response:
    """No such tune of this player's."""
    return make_response(jsonify(error=f"{error}: it may have been deleted"), 404)


@blueprint.errorhandler(tunes.TuneError)
def not_kept(error: tunes.TuneError) -> Response:
    """A tune that cannot be kept."""
    return make_response(jsonify(error=str(error), field=error.field), 422)


@blueprint.post("/api/charts/read")
def read() -> dict[str, Any]:
    """A text as a chart, with everything that was guessed; nothing is kept."""
    request.max_content_length = TEXT_BYTES
    return _reading_json(_chart(json_body()))


@blueprint.post("/api/charts/form")
def start_from_form() -> dict[str, Any]:
    """A ready-made form in a key and feel, as text to start from."""
    body = json_body()
    name, feel = body.get("form"), body.get("feel")
    try:
        chart = form(str(name), _key(body.get("key")), None if feel is None else str(feel))
    except ChartError as error:
        raise ApiError(422, str(error), field="form") from error
    return {"title": f"{_capital(chart.title or '')} in {chart.key.tonic}", "text": write(replace(chart, title=None))}


@blueprint.get("/api/tunes")
def listed() -> dict[str, Any]:
    """The player's tunes by title."""
    here = service()
    return {"tunes": [_short_json(each) for each in tunes.tunes(here.store, here.player_id)]}


@blueprint.post("/api/tunes")
def add() -> Response:
    """Keep a new tune."""
    request.max_content_length = TEXT_BYTES
    body, here = json_body(), service()
    tune_id = tunes.keep(here.store, here.player_id, body.get("title"), _chart(body), here.now())
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
        tunes.keep(here.store, here.player_id, body.get("title"), _chart(body), here.now(), tune_id, since)
    except tunes.ChangedElsewhereError as error:
        raise ApiError(409, str(error), tune=_whole_json(tune_id)) from error
    return _whole_json(tune_id)


@blueprint.delete("/api/tunes/<tune_id>")
def delete(tune_id: str) -> dict[str, Any]:
    """Put a tune out of sight."""
    here = service()
    tunes.delete(here.store, here.player_id, tune_id, here.now())
    return {"deleted": tune_id}


@blueprint.post("/api/tunes/<tune_id>/back")
def have_back(tune_id: str) -> dict[str, Any]:
    """Have a deleted tune back."""
    here = service()
    tunes.delete(here.store, here.player_id, tune_id, None)
    return _short_json(tunes.tune(here.store, here.player_id, tune_id))


@blueprint.post("/api/tunes/files")
def bring() -> dict[str, Any]:
    """A file with a song, or an archive of them: what was read is kept, the rest is told."""
    request.max_content_length = FILE_BYTES
    body, here = json_body(), service()
    name, data = body.get("name"), body.get("data")
    if not isinstance(name, str) or not isinstance(data, str):
        raise ApiError(422, "a file has a name and its data in Base64", field="data")
    try:
        content = base64.b64decode(data, validate=True)
    except ValueError as error:
        raise ApiError(422, "the data of a file is Base64", field="data") from error
    return {"files": [_file_json(each, here.now()) for each in read_file(name[:200], content)]}


def _file_json(upload: Upload, now: datetime) -> dict[str, Any]:
    here, chart = service(), upload.chart
    if chart is None:
        return {"name": upload.name, "refused": upload.refused}
    tune_id = tunes.keep(here.store, here.player_id, upload.title, chart, now)
    return {
        "name": upload.name,
        "tune": _short_json(tunes.tune(here.store, here.player_id, tune_id)),
        "tokens": chart.tokens,
        "unread": len(chart.unread),
        "key_given": chart.key_given,
    }


def _chart(body: Mapping[str, Any]) -> Chart:
    """The chart that the editor shows: its text read, and what the player chose beside it. Raises ApiError."""
    text = body.get("text")
    if not isinstance(text, str):
        raise ApiError(422, "text is the chart as it is written", field="text")
    if len(text.encode(errors="replace")) > MOST_BYTES:
        raise ApiError(422, f"a chart has at most {MOST_BYTES // 1000} kB: take one song at a time", field="text")
    chart = read_chart(text, _options(body.get("options", {})))
    tempo, feel, capo = (body.get(name) for name in ("tempo", "feel", "capo"))
    if tempo is not None:
        chart = replace(chart, tempo=_within(tempo, "tempo", "a tempo is from", SLOWEST, FASTEST))
    if feel is not None:
        if feel not in FEELS:
            raise ApiError(422, f'no feel "{feel}": write {" or ".join(FEELS)}', field="feel")
        chart = replace(chart, feel=feel)
    if capo is not None:
        chart = chart.with_capo(int(_within(capo, "capo", "a capo is at fret", 0, HIGHEST_CAPO)))
    return chart


def _within(value: object, field: str, says: str, low: int, high: int) -> float:
    number = finite(value)
    if number is None or not low <= number <= high:
        raise ApiError(422, f"{says} {low} to {high}", field=field)
    return number


def _options(given: object) -> Options:
    if not isinstance(given, Mapping):
        raise ApiError(422, "options are an object", field="options")
    options = Options()
    try:
        for name, value in given.items():
            if value is not None and name != "key":
                options = options.choose(str(name), str(value))
    except ChartError as error:
        raise ApiError(422, str(error), field="options") from error
    return options if given.get("key") is None else replace(options, key=_key(given["key"]))


def _key(text: object) -> Key:
    try:
        return Key.read(str(text))
    except KeyNameError as error:
        raise ApiError(422, str(error), field="key") from error


def _instant(value: object) -> datetime | None:
    try:
        found = datetime.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        found = None
    if found is None or found.tzinfo is None:
        raise ApiError(422, "changed_at is when the tune was last changed, as the service said", field="changed_at")
    return found


def _reading_json(chart: Chart) -> dict[str, Any]:
    """A chart with how it was read."""
    return {
        "chart": chart_json(chart),
        "title_given": chart.title_given,
        "key_given": chart.key_given,
        "keys": [
            {"key": str(fit.key), "share": round(fit.share, 3), "confidence": round(fit.confidence, 3)}
            for fit in chart.keys
        ],
        "tokens": chart.tokens,
        "unread": [{"line": each.place.line, "column": each.place.column, "text": each.text} for each in chart.unread],
        "guesses": [_guess_json(each) for each in chart.guesses],
        "assumptions": [say(each) for each in chart.assumptions],
        "options": options_json(chart.options),
    }


def options_json(options: Options) -> dict[str, str]:
    """What was chosen of :data:`cards.charts.CHOICES`, the key left out."""
    names = (each.name for each in fields(options) if each.name in CHOICES)
    return {name: value for name in names if (value := getattr(options, name)) is not None}


def _guess_json(guess: Guess) -> dict[str, Any]:
    """A guess, and what to send or write for the other reading."""
    place = guess.place
    return {
        "says": say(guess.message),
        "line": place.line if place else None,
        "column": place.column if place else None,
        "text": dict(guess.message.values).get("text"),
        "option": guess.option,
        "rewrite": guess.rewrite,
    }


def _short_json(tune: Tune) -> dict[str, Any]:
    """A tune in a line."""
    chart = tunes.chart_of(tune)
    chords = dict.fromkeys(str(chart.sounding(*step)) for step in chart.changes if step[1].numeral)
    return {
        "id": tune.id,
        "title": tune.title,
        "key": str(chart.key),
        "blues": chart.key.mode == Mode.BLUES,
        "capo": chart.capo,
        "tempo": chart.tempo,
        "feel": chart.feel,
        "bars": sum(len(section.bars) for section in chart.sections),
        "chords": list(chords),
        "changed_at": tune.changed_at.isoformat(),
        "deleted": tune.deleted_at is not None,
    }


def _whole_json(tune_id: str) -> dict[str, Any]:
    """A tune with its text, and how that is read."""
    here = service()
    tune = tunes.tune(here.store, here.player_id, tune_id)
    chart = tunes.chart_of(tune)
    kept = {} if chart.options.minor_from is None else {"minor_from": chart.options.minor_from}
    return {
        **_short_json(tune),
        "text": write(replace(chart, title=None)),
        "options": {**options_json(AS_WRITTEN), **kept},
        "chart": chart_json(chart),
    }


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
