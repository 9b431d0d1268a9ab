"""The Settings page, and the changes that a player makes there."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, render_template

from drill.players import preferences
from drill.web.guard import ApiError, json_body
from drill.web.service import current_service
from drill.words import gettext as _

blueprint = Blueprint("settings", __name__)


@blueprint.get("/settings")
def page() -> str:
    """Show the page; its values come from ``GET /api/player``."""
    return render_template("settings.html")


@blueprint.put("/api/settings")
def change() -> dict[str, Any]:
    """Change any of the player's settings."""
    service, body = current_service(), json_body()
    languages = service.config.languages
    if body.get("language", languages[0]) not in languages:
        sentence = _("choose one of the languages {languages}")
        raise ApiError(422, sentence.format(languages=", ".join(languages)), field="language")
    return preferences.change(service.store, service.player_id, body).as_json()
