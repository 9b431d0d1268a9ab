"""The Settings page, and taking what a player changes there."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, render_template

from drill.players import preferences
from drill.web.guard import ApiError, json_body
from drill.web.service import service
from drill.words import gettext as _

blueprint = Blueprint("settings", __name__)


@blueprint.get("/settings")
def page() -> str:
    """The page; its values come by ``GET /api/player``."""
    return render_template("settings.html")


@blueprint.put("/api/settings")
def change() -> dict[str, Any]:
    """Change any of the player's settings."""
    here, body = service(), json_body()
    languages = here.config.languages
    if body.get("language", languages[0]) not in languages:
        sentence = _("choose one of the languages {languages}")
        raise ApiError(422, sentence.format(languages=", ".join(languages)), field="language")
    return preferences.change(here.store, here.player_id, body).as_json()
