"""The player's own data: take it away as a file, and bring it back."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from flask import Blueprint, Response, request

from drill.config import IMPORT_BYTES
from drill.export.checks import ArchiveError
from drill.export.document import export, export_csv, take_in
from drill.web.guard import ApiError
from drill.web.service import current_service
from drill.words import gettext as _
from drill.words import say_error

blueprint = Blueprint("yours", __name__)


@blueprint.get("/api/export")
def everything() -> Response:
    """Return everything of the player as a JSON file."""
    service = current_service()
    document = export(service.store, service.player_id, service.now())
    return _file(iter([json.dumps(document, ensure_ascii=False)]), "application/json", "json")


@blueprint.get("/api/export.csv")
def reviews() -> Response:
    """Return the player's reviews as a CSV file."""
    service = current_service()
    return _file(export_csv(service.store, service.player_id), "text/csv; charset=utf-8", "csv")


@blueprint.post("/api/import")
def bring_back() -> dict[str, Any]:
    """Take an export into an empty installation."""
    service = current_service()
    request.max_content_length = IMPORT_BYTES
    try:
        text = request.get_data().decode()
        return {"reviews": take_in(service.store, service.player_id, text)}
    except UnicodeDecodeError as error:
        raise ApiError(422, _("byte {number}: this is no text in UTF-8").format(number=error.start)) from error
    except ArchiveError as error:
        raise ApiError(422, say_error(error)) from error


def _file(lines: Iterator[str], kind: str, ending: str) -> Response:
    name = f"anchor-drill-{current_service().now():%Y-%m-%d}.{ending}"
    return Response(lines, content_type=kind, headers={"Content-Disposition": f"attachment; filename={name}"})
