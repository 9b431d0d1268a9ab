"""The first page: start, go on, how the player stands."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, current_app, render_template

from cards.messages import message
from drill.jams.nights import Night
from drill.jams.prospect import coming
from drill.planning.repertoire import group_sizes
from drill.sessions import today
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
    return current_app.send_static_file("js/device/offline.js")


@blueprint.get("/api/player")
def player() -> dict[str, Any]:
    """The player's settings, today's practice, the session that can be resumed, the jam that comes next."""
    here = service()
    now = here.now()
    standing = today.today(here.store, here.player_id, now)
    jam = coming(here.store, here.player_id, now)
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
