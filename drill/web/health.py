"""Whether the service is there and its database answers."""

from __future__ import annotations

from typing import Any

from flask import Blueprint
from sqlalchemy import text

from drill.web.service import service

blueprint = Blueprint("health", __name__)


@blueprint.get("/healthz")
def healthz() -> dict[str, Any]:
    """For whoever watches the service."""
    with service().store.reading() as db:
        db.execute(text("SELECT 1"))
    return {"ok": True}
