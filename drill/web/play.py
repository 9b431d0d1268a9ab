"""The page that plays along with a tune, and "Lost", with their requests."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from flask import Blueprint, render_template, request

from cards.asks import HANDS_ON, Card, Given, Setting, allowance, answer
from cards.guitar.regions import RegionError, read_box
from drill.jams.nights import NightTune
from drill.play_along import score, sitting
from drill.play_along.score import Score
from drill.sessions.answers import Reply
from drill.web.charts import chart_json
from drill.web.guard import ApiError, json_body
from drill.web.service import current_service
from drill.web.sessions import refused_json
from drill.words import say, say_error, spoken

blueprint = Blueprint("play", __name__)


@blueprint.get("/tunes/<tune_id>/play")
def page(tune_id: str) -> str:
    """Show the page; the tune comes from ``GET /api/play/<tune_id>``."""
    return render_template("play.html", tune_id=tune_id)


@blueprint.get("/api/play/<tune_id>")
def tune(tune_id: str) -> dict[str, Any]:
    """Return a tune to play, as called at ``?jam=`` (``&entry=``), with the cards of its chords in ``&box=``.

    The box is a number or ``open``.
    """
    service = current_service()
    wanted = request.args.get("box")
    try:
        box = None if wanted is None else read_box(wanted)
    except RegionError as error:
        raise ApiError(422, say_error(error), field="box") from error
    part = score.read_score(
        service.store,
        service.player_id,
        tune_id,
        service.now(),
        request.args.get("jam"),
        request.args.get("entry"),
        box,
    )
    return _part_json(part)


@blueprint.post("/api/play/<tune_id>")
def take(tune_id: str) -> dict[str, Any]:
    """Store what came of playing a tune."""
    service = current_service()
    kept = sitting.take(
        service.store, service.player_id, tune_id, sitting.SubmittedSitting.read(json_body()), service.now()
    )
    return {"session": kept.session, "items": [_reply_json(reply) for reply in kept.replies]}


def _reply_json(reply: Reply) -> dict[str, Any]:
    if reply.review is None:
        return refused_json(reply)
    return {"id": reply.id, "status": reply.status, "card": reply.review.card, "outcome": reply.review.outcome}


def _part_json(part: Score) -> dict[str, Any]:
    chart = chart_json(part.chart)
    for number, move in enumerate(part.moves):
        for section, bar, place in move.places:
            chart["sections"][section]["bars"][bar][place]["move"] = number
    jam = part.night.jam if part.night else None
    return {
        "tune": part.tune_id,
        "title": part.title,
        "tempo": part.tempo,
        "box": part.box,
        "chart": chart,
        "moves": [
            {"at": move.at, "beats": move.beats, "card": card.id if card else None}
            for move, card in zip(part.moves, part.cards, strict=True)
        ],
        "cards": {card.id: _card_json(card, part.setting, spoken()) for card in part.cards if card},
        "jam": {"id": jam.id, "name": jam.name} if jam else None,
        "entry": part.entry.id if part.entry else None,
        "before": _entry_json(part.before),
        "after": _entry_json(part.after),
        "settings": part.preferences.as_json(),
    }


@lru_cache(maxsize=512)
def _card_json(card: Card, setting: Setting, language: str) -> dict[str, Any]:
    """Return the answer of a card in a language, and the seconds allowed for saying that it was played."""
    right = answer(card, setting)
    return {
        "chord": right.chord,
        "drawing": right.drawing,
        "description": say(right.words),
        "granted": allowance(card, Given(), HANDS_ON),
    }


def _entry_json(entry: NightTune | None) -> dict[str, Any] | None:
    return None if entry is None else {"entry": entry.id, "tune": entry.tune_id, "title": entry.title}
