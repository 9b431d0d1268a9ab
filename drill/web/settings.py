"""The Settings page, and taking what a player changes there."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, render_template

from drill.players import preferences
from drill.web.guard import json_body
from drill.web.service import service

blueprint = Blueprint("settings", __name__)


@blueprint.get("/settings")
def page() -> str:
    """The page; its values come by ``GET /api/player``."""
    return render_template("settings.html")


@blueprint.put("/api/settings")
def change() -> dict[str, Any]:
    """Change any of the player's settings."""
    here = service()
    return preferences.change(here.store, here.player_id, json_body()).as_json()
