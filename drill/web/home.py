"""The first page: start, go on, how the player stands."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, current_app, render_template

from cards.messages import message
from drill import players
from drill.jams import Night
from drill.prospects import coming
from drill.repertoire import group_sizes
from drill.web.service import service
from drill.web.sessions import summary_json
from drill.words import say

blueprint = Blueprint("home", __name__)


@blueprint.get("/")
def page() -> str:
    """The page; what it shows comes by ``GET /api/player``."""
    return render_template("home.html")


@blueprint.get("/offline.js")
def offline() -> Response:
    """The service worker. It stands at the top because a worker sees only what lies below it."""
    return current_app.send_static_file("js/offline.js")


@blueprint.get("/api/player")
def player() -> dict[str, Any]:
    """The player's settings, today's practice, the session that can be resumed, the jam that comes next."""
    here = service()
    now = here.now()
    today = players.today(here.store, here.player_id, now)
    jam = coming(here.store, here.player_id, now)
    return {
        "settings": today.preferences.as_json(),
        "first_visit": today.first_visit,
        "running": summary_json(today.running) if today.running else None,
        "today": {"minutes": today.minutes, "seen": today.seen},
        "known": today.known,
        "away": say(today.away) if today.away else None,
        "jam": _jam_json(jam) if jam else None,
        "groups": [{"name": name, "cards": size} for name, size in group_sizes().items()],
    }


def _jam_json(night: Night) -> dict[str, Any]:
    key = f"jam-{night.days}" if night.days < 2 else "jam-more"
    words = say(message(key, name=night.jam.name, days=night.days))
    return {"id": night.jam.id, "days": night.days, "words": words}
