"""The pages of a session, and all requests of a running session."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from typing import Any, Final

from flask import Blueprint, Response, jsonify, make_response, render_template

from cards.asks import (
    MODES,
    Card,
    Given,
    Message,
    Prompt,
    Setting,
    Verdict,
    allowance,
    answer,
    beats,
    question,
    read_card,
)
from drill import clock
from drill.config import BATCH
from drill.incoming.reading import finite
from drill.jams.aim import AimError
from drill.jams.nights import NoJamError
from drill.planning.focus import FocusError, read_focus
from drill.players.preferences import read_minutes, read_setting
from drill.sessions import answers, closing, lifecycle, pacing
from drill.store.models import DRILL, LAST_LOOK, DrillSession, Question, Review
from drill.web.guard import ApiError, json_body
from drill.web.service import current_service
from drill.words import gettext as _
from drill.words import label, say, say_error, say_name, say_refusal, spoken

blueprint = Blueprint("sessions", __name__)

_TAB: Final = re.compile(r"[0-9A-Za-z-]{1,64}\Z")


@blueprint.get("/session")
def page() -> str:
    """Show the drill; the session comes by the API."""
    return render_template("session.html")


@blueprint.get("/session/<session_id>/closing")
def closing_page(session_id: str) -> str:
    """Show how a session went; the data comes from ``GET /api/sessions/<id>/closing``."""
    return render_template("closing.html")


@blueprint.post("/api/sessions")
def start() -> Response:
    """Start a session: with a focus if one is given, otherwise for the named jam or the next one."""
    body = json_body()
    try:
        session_id = _start(body)
    except lifecycle.NothingToAskError as error:
        raise ApiError(422, say_error(error)) from error
    except FocusError as error:
        raise ApiError(422, say_error(error), field="focus") from error
    except (AimError, NoJamError) as error:
        raise ApiError(422, say_error(error), field="jam") from error
    except lifecycle.AlreadyRunningError as error:
        raise ApiError(409, say_error(error), running=summary_json(error.running)) from error
    return make_response(jsonify(_session_json(session_id)), 201)


def _start(body: Mapping[str, Any]) -> str:
    """Start the kind of session that a request asks for; return its id. Raises ApiError."""
    service, tab = current_service(), _read_tab(body)
    store, player_id, now = service.store, service.player_id, service.now()
    minutes = read_minutes("minutes", body["minutes"]) if "minutes" in body else None
    kind, jam = _read_kind(body), _read_jam(body)
    if "focus" in body:
        focus = read_focus(body["focus"])
        return lifecycle.start_with_focus(store, player_id, minutes, tab, now, focus=focus)
    if kind == LAST_LOOK:
        return lifecycle.start_last_look(store, player_id, tab, now, jam=jam)
    return lifecycle.start(store, player_id, minutes, tab, now, jam=jam)


@blueprint.get("/api/sessions/<session_id>")
def look(session_id: str) -> dict[str, Any]:
    """Return a session as it stands."""
    return _session_json(session_id)


@blueprint.post("/api/sessions/<session_id>/here")
def hold(session_id: str) -> dict[str, Any]:
    """Resume a session in this tab."""
    lifecycle.move_to_tab(current_service().store, current_service().player_id, session_id, _read_tab(json_body()))
    return _session_json(session_id)


@blueprint.post("/api/sessions/<session_id>/reviews")
def take(session_id: str) -> dict[str, Any]:
    """Take a batch of answers."""
    body, service = json_body(), current_service()
    reviews = body.get("reviews")
    if not isinstance(reviews, list) or len(reviews) > BATCH:
        raise ApiError(422, _("reviews is a list of at most {most} answers").format(most=BATCH), field="reviews")
    batch = answers.Batch(_read_tab(body), _read_number(body, "sent_at"), _read_visible_seconds(body), reviews)
    taken = answers.take(service.store, service.player_id, session_id, batch, service.now())
    return {
        "items": [_reply_json(taken.session, reply) for reply in taken.replies],
        "here": taken.holds_session,
        "next": [_question_json(taken.session, added) for added in taken.adjustment.added],
        "order": list(taken.adjustment.order),
        "over": taken.adjustment.over,
    }


@blueprint.post("/api/sessions/<session_id>/tired")
def rest_hand(session_id: str) -> dict[str, Any]:
    """Go on with cards that need no hand."""
    service, seconds = current_service(), _read_visible_seconds(json_body())
    rested = pacing.rest_hand(service.store, service.player_id, session_id, seconds, service.now())
    return {
        "dropped": list(rested.dropped),
        "next": [_question_json(rested.session, question) for question in rested.open],
        "order": list(rested.order),
        "over": rested.over,
    }


@blueprint.post("/api/sessions/<session_id>/mistaps")
def take_back(session_id: str) -> dict[str, Any]:
    """Take the last answer back."""
    body, service = json_body(), current_service()
    reply = answers.take_back(service.store, service.player_id, session_id, body.get("review"), service.now())
    return {"status": reply.status, **({"reason": say_refusal(reply.reason)} if reply.reason else {})}


@blueprint.post("/api/sessions/<session_id>/end")
def end(session_id: str) -> dict[str, Any]:
    """End a session."""
    service = current_service()
    lifecycle.end(service.store, service.player_id, session_id, _read_visible_seconds(json_body()), service.now())
    return _closing_json(session_id)


@blueprint.get("/api/sessions/<session_id>/closing")
def how_it_went(session_id: str) -> dict[str, Any]:
    """Return how a session went, and what comes next."""
    return _closing_json(session_id)


def summary_json(summary: lifecycle.Summary) -> dict[str, Any]:
    """Return a running session in short."""
    return {
        "id": summary.id,
        "minutes": summary.minutes,
        "started_at": summary.started_at.isoformat(),
        "visible_seconds": summary.visible_seconds,
        "answered": summary.answered,
        "tab": summary.tab,
    }


def _session_json(session_id: str) -> dict[str, Any]:
    service = current_service()
    sheet = lifecycle.session_view(service.store, service.player_id, session_id)
    session = sheet.session
    return {
        "id": session.id,
        "kind": session.kind,
        "jam": session.jam_id,
        "minutes": session.minutes,
        "started_at": session.started_at.isoformat(),
        "visible_seconds": session.visible_seconds,
        "tab": session.tab,
        "ended": session.ended_at is not None,
        "beat_seconds": 60 / session.tempo,
        "tempo": session.tempo,
        "settings": sheet.preferences.as_json(),
        "questions": [
            _question_json(session, question, sheet.reviews.get(question.question), sheet.mistaps)
            for question in sheet.questions
        ],
    }


def _question_json(
    session: DrillSession,
    asked: Question,
    review: Review | None = None,
    mistaps: frozenset[str] = frozenset(),
) -> dict[str, Any]:
    card = read_card(asked.card)
    lasts = clock.beats_seconds(beats(card) if asked.beats is None else asked.beats, session.tempo)
    return {
        "question": asked.question,
        "card": asked.card,
        "after": asked.after,
        **_music_json(card, read_setting(session), spoken()),
        "allowed": {mode: lasts + allowance(card, Given(), mode) for mode in MODES},
        "reason": say(Message(asked.reason, tuple(asked.reason_values.items()))),
        "review": _review_json(session, review, mistaps) if review else None,
    }


@lru_cache(maxsize=1024)
def _music_json(card: Card, setting: Setting, language: str) -> dict[str, Any]:
    """Return what a card asks and what is right, with the drawings; the result is fixed for a language."""
    asked, right = question(card, setting), answer(card, setting)
    return {
        "prompt": {**asked.as_json(), "choices": _choices_json(asked), "sentence": say(asked.words)},
        "answer": {**right.as_json(), "description": say(right.words)},
    }


def _choices_json(asked: Prompt) -> list[dict[str, Any]]:
    """Return the groups to choose from, with their labels in words."""
    return [
        {"about": say_name(choice.about), "options": [[option, label(name)] for option, name in choice.options]}
        for choice in asked.choices
    ]


def _review_json(session: DrillSession, review: Review, mistaps: frozenset[str]) -> dict[str, Any]:
    verdict = answers.judge_again(session, review)
    return {
        "id": review.id,
        "outcome": review.outcome,
        **_verdict_json(verdict),
        "mistap": review.id in mistaps,
    }


def _reply_json(session: DrillSession, reply: answers.Reply) -> dict[str, Any]:
    if reply.review is None or reply.verdict is None:
        return refused_json(reply)
    review = reply.review
    return {
        "id": reply.id,
        "status": reply.status,
        "outcome": review.outcome,
        "right": review.right,
        "seconds": review.seconds,
        "allowed": reply.allowed,
        **_verdict_json(reply.verdict),
    }


def refused_json(reply: answers.Reply) -> dict[str, Any]:
    """Return an answer that was not taken, and why."""
    reason = None if reply.reason is None else say_refusal(reply.reason)
    return {"id": reply.id, "status": reply.status, "reason": reason}


def _verdict_json(verdict: Verdict) -> dict[str, Any]:
    return {"words": [say(message) for message in verdict.messages], "drawing": verdict.drawing}


def _closing_json(session_id: str) -> dict[str, Any]:
    service = current_service()
    sheet = lifecycle.session_view(service.store, service.player_id, session_id)
    played = closing.answered_cards(sheet)
    return {
        **{outcome: [_played_json(card) for card in played if card.outcome == outcome] for outcome in closing.OUTCOMES},
        "next": [say(message) for message in closing.what_comes_next(played)],
        "seconds": sheet.session.visible_seconds,
    }


def _played_json(played: closing.AnsweredCard) -> dict[str, Any]:
    return {
        "card": played.card.id,
        "number": played.number,
        "key": str(played.card.key),
        "box": played.card.box,
        "ask": played.card.ask,
        "outcome": played.outcome,
        "drawing": played.drawing,
        "sentence": say(played.answer.words),
    }


def _read_jam(body: Mapping[str, Any]) -> str | None:
    """Read the jam that a session prepares for, as :func:`drill.sessions.lifecycle.start` takes it. Raises ApiError."""
    jam = body.get("jam", lifecycle.NEXT_JAM)
    if jam is not None and not isinstance(jam, str):
        raise ApiError(422, _("jam is the id of one, or null for a session that is aimed at none"), field="jam")
    if jam not in (None, lifecycle.NEXT_JAM) and "focus" in body:
        raise ApiError(422, _("a session has a focus or a jam, not both"), field="jam")
    return jam


def _read_kind(body: Mapping[str, Any]) -> str:
    kind = body.get("kind", DRILL)
    if kind not in (DRILL, LAST_LOOK):
        kinds = _('kind is "{drill}" or "{last_look}"').format(drill=DRILL, last_look=LAST_LOOK)
        raise ApiError(422, kinds, field="kind")
    if kind == LAST_LOOK and not isinstance(body.get("jam"), str):
        raise ApiError(422, _("a last look is of a jam: name it"), field="jam")
    return str(kind)


def _read_tab(body: Mapping[str, Any]) -> str:
    tab = body.get("tab")
    if not isinstance(tab, str) or not _TAB.match(tab):
        raise ApiError(422, _("tab names the browser's tab, in up to 64 letters and digits"), field="tab")
    return tab


def _read_visible_seconds(body: Mapping[str, Any]) -> float:
    seconds = _read_number(body, "visible_seconds")
    if not 0 <= seconds <= answers.LONGEST_SECONDS:
        raise ApiError(422, _("visible_seconds is from 0 to a day"), field="visible_seconds")
    return seconds


def _read_number(body: Mapping[str, Any], name: str) -> float:
    value = finite(body.get(name))
    if value is None:
        raise ApiError(422, _("{name} must be a number").format(name=name), field=name)
    return value
