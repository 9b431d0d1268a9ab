"""The first page: start or resume a session, and how the player stands."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, current_app, render_template

from cards.messages import message
from drill.jams.nights import Night
from drill.jams.prospect import coming
from drill.planning.repertoire import group_sizes
from drill.sessions import today
from drill.web.service import current_service
from drill.web.sessions import summary_json
from drill.words import say

blueprint = Blueprint("home", __name__)


@blueprint.get("/")
def page() -> str:
    """Show the page; its data comes from ``GET /api/player``."""
    return render_template("home.html")


@blueprint.get("/offline.js")
def offline() -> Response:
    """Return the service worker. Its address is at the top, because a worker only sees the addresses below it."""
    return current_app.send_static_file("js/device/offline.js")


@blueprint.get("/api/player")
def player() -> dict[str, Any]:
    """Return the settings, today's practice, the session that can be resumed, and the next jam."""
    service = current_service()
    now = service.now()
    standing = today.today(service.store, service.player_id, now)
    jam = coming(service.store, service.player_id, now)
    return {
        "settings": standing.preferences.as_json(),
        "first_visit": standing.first_visit,
        "running": summary_json(standing.running) if standing.running else None,
        "today": {"minutes": standing.minutes, "seen": standing.seen},
        "known": standing.known,
        "away": say(standing.away) if standing.away else None,
        "jam": _jam_json(jam) if jam else None,
        "groups": [{"name": name, "cards": size} for name, size in group_sizes().items()],
    }


def _jam_json(night: Night) -> dict[str, Any]:
    key = f"jam-{night.days}" if night.days < 2 else "jam-more"
    words = say(message(key, name=night.jam.name, days=night.days))
    return {"id": night.jam.id, "days": night.days, "words": words}
