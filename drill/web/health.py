"""Whether the service runs and its database answers."""

from __future__ import annotations

from typing import Any

from flask import Blueprint
from sqlalchemy import text

from drill.web.service import current_service

blueprint = Blueprint("health", __name__)


@blueprint.get("/healthz")
def healthz() -> dict[str, Any]:
    """Answer whoever monitors the service."""
    with current_service().store.reading() as db:
        db.execute(text("SELECT 1"))
    return {"ok": True}
