"""The Keys page: the key map, one cell in detail, reasons, and the course by week."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from flask import Blueprint, render_template, request

from cards.asks import ASKS
from cards.guitar.regions import RegionError, read_box
from cards.messages import echo
from cards.theory.keys import Key, KeyNameError, Mode
from drill.progress import cell_detail, key_map
from drill.progress.by_week import CaptionedGraph
from drill.progress.by_week import course as work_out_course
from drill.progress.graphs import draw_intervals
from drill.progress.kept_passes import Underway
from drill.progress.key_map import Cell, View
from drill.progress.weakest import estimate_json
from drill.progress.why import ends, kind_of, why
from drill.store.log import AnswerSummary
from drill.web.guard import ApiError
from drill.web.service import current_service
from drill.words import ASK_WORDS, capital, say, say_ask, say_error, say_name, say_skill, say_skills
from drill.words import gettext as _

blueprint = Blueprint("keys", __name__)

#: How many skills are drawn: those with the largest gain or loss.
MOST_SKILLS = 14

_KINDS = {"": None, "triads": False, "sevenths": True}


@blueprint.get("/keys")
def page() -> str:
    """Show the page; its data comes from ``GET /api/keys``."""
    return render_template("keys.html", asks={ask: say_ask(ask) for ask in ASK_WORDS})


@blueprint.get("/api/keys")
def whole_map() -> dict[str, Any]:
    """Return the map of the cards that ``?mode= ask= box= chords=`` select."""
    service, view = current_service(), _view()
    drawn = key_map.key_map(service.store, service.player_id, view, service.now())
    return {
        "keys": [
            {"key": str(key), "slug": key.slug, "cells": [cell_json(cell) for cell in drawn.row(key)]}
            for key in view.keys
        ],
        "weakest": [{"key": cell.key.slug, "degree": cell.degree} for cell in drawn.weakest],
        "words": [say(message) for message in drawn.words()],
    }


@blueprint.get("/api/keys/why")
def reasons() -> dict[str, Any]:
    """Return what each skill brings, what is weak, and what a repair would bring."""
    service = current_service()
    explained = why(service.store, service.player_id, service.now())
    standing_out = sorted(explained.estimates, key=lambda estimate: -abs(estimate.gain))[:MOST_SKILLS]
    standing_out.sort(key=lambda estimate: estimate.gain)
    rows = [(say_skill(estimate.skill), estimate.gain, *ends(estimate)) for estimate in standing_out]
    words = [say(message) for message in explained.words()]
    return {
        "words": words,
        "repairs": [{"skill": repair.skill, "says": say_skill(repair.skill)} for repair in explained.repairs],
        "drawing": draw_intervals(_("What skills bring and cost"), " ".join(words), rows) if rows else "",
        "skills": [
            {"kind": say_name(kind_of(estimate.skill)), "says": say_skill(estimate.skill), **estimate_json(estimate)}
            for estimate in explained.estimates
        ],
    }


@blueprint.get("/api/keys/course")
def course() -> dict[str, Any] | tuple[dict[str, Any], int]:
    """Return how practice went by week, and predictions compared with the log.

    Both come from a pass through the log, which is kept. If there is more of a long log to read, the status is 202
    with how far the pass has come; the page then asks again.
    """
    service = current_service()
    progress = work_out_course(service.store, service.player_id, service.passes, service.now())
    if isinstance(progress, Underway):
        return {"reviews": progress.reviews, "of": progress.of}, 202
    return {
        "words": [say(message) for message in progress.words],
        "figures": [_figure_json(figure) for figure in progress.figures],
        "keys": [_figure_json(figure) for figure in progress.keys],
        "honest": _figure_json(progress.honest),
    }


@blueprint.get("/api/keys/<slug>/<int:degree>")
def look_close(slug: str, degree: int) -> dict[str, Any]:
    """Return one cell of the map in detail."""
    service, view = current_service(), _view()
    try:
        key = Key.from_slug(slug)
    except KeyNameError as error:
        raise ApiError(404, say_error(error)) from error
    if key not in view.keys or degree not in key.degrees:
        raise ApiError(404, _("there is no such cell on the map"))
    now = service.now()
    close = cell_detail.look_close(service.store, service.player_id, view, key, degree, now)
    return {
        **cell_json(close.cell),
        "key": str(key),
        "title": f"{capital(say_skills(close.focus))}: {close.cell.chord}",
        "words": say(close.cell.message(f"cell-{close.cell.state}")),
        "drawing": close.drawing,
        "course": close.course,
        "focus": close.focus,
        "cards": [_card_json(known) for known in close.cards],
        "answers": [_answer_json(summary, now) for summary in close.answers],
    }


def cell_json(cell: Cell) -> dict[str, Any]:
    """Return a cell as pages show it."""
    low, high = cell.interval
    return {
        "degree": cell.degree,
        "called": cell.called,
        "chord": cell.chord,
        "state": cell.state,
        "p": None if cell.p is None else round(cell.p, 4),
        "low": None if cell.p is None else round(low, 4),
        "high": None if cell.p is None else round(high, 4),
        "answers": cell.answers,
        "cards": len(cell.cards),
        "last_at": cell.last_at.isoformat() if cell.last_at else None,
    }


def _figure_json(figure: CaptionedGraph) -> dict[str, Any]:
    heads, *rows = figure.table or ((),)
    words = [say(message) for message in figure.words]
    return {"title": figure.title, "words": words, "drawing": figure.drawing, "heads": heads, "rows": rows}


def _card_json(known: cell_detail.CellCard) -> dict[str, Any]:
    card = known.placed.card
    return {
        "card": card.id,
        "ask": say_ask(card.ask),
        "chord": str(card.chord),
        "box": card.box,
        "detail": say_name(card.detail),
        "p": round(known.fluency.p, 4),
        "seconds": round(known.fluency.seconds, 2),
        "answers": known.seen.reviews,
        "outcome": known.seen.outcome,
        "answered_at": known.seen.answered_at.isoformat(),
    }


def _answer_json(summary: AnswerSummary, now: datetime) -> dict[str, Any]:
    placed = key_map.place_of(summary.card)
    return {
        "card": summary.card,
        "ask": say_ask(placed.card.ask) if placed else summary.card,
        "box": placed.card.box if placed else None,
        "outcome": summary.outcome,
        "seconds": summary.seconds,
        "answered_at": summary.answered_at.isoformat(),
        "days": (now - summary.answered_at).days,
    }


def _view() -> View:
    """Read the view that the address asks for. Raises ApiError."""
    mode, ask, box, kind = (request.args.get(name, "") for name in ("mode", "ask", "box", "chords"))
    if mode not in ("", Mode.MAJOR, Mode.MINOR):
        raise ApiError(422, _('no map of {mode} keys: "major" or "minor"').format(mode=mode), field="mode")
    if ask and ask not in ASKS:
        raise ApiError(
            422, _('no ask "{ask}": there are {asks}').format(ask=echo(ask), asks=", ".join(ASKS)), field="ask"
        )
    try:
        place = read_box(box) if box else None
    except RegionError as error:
        raise ApiError(422, say_error(error), field="box") from error
    if kind not in _KINDS:
        raise ApiError(422, _('no chords "{kind}": "triads" or "sevenths"').format(kind=echo(kind)), field="chords")
    return View(Mode(mode or "major"), ask or None, place, _KINDS[kind])
