"""The sheet of a tune or of a whole night: to read on the stand, to print, to transpose."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final
from urllib.parse import urlencode

from flask import Blueprint, Response, make_response, render_template, request

from drill.incoming.refusals import NotThereError
from drill.jams.sheets import NightSheet, SheetError, nearest, sheet_of_jam, sheet_of_tune
from drill.web.service import current_service
from drill.words import gettext as _
from drill.words import say_error, say_when

blueprint = Blueprint("sheets", __name__)

CAPOS: Final = range(8)
"""The capo frets that the page offers; an address may name others."""


@blueprint.get("/tunes/<tune_id>/sheet")
def of_tune(tune_id: str) -> Response:
    """Show one tune's sheet: ``?up=5``, ``?key=Eb``, ``?capo=3``, ``?box=2``, ``?manner=comp``, ``?paper=letter``."""
    service = current_service()
    return _page(lambda asked: sheet_of_tune(service.store, service.player_id, tune_id, asked), tune_id)


@blueprint.get("/jams/<jam_id>/sheet")
def of_jam(jam_id: str) -> Response:
    """Show a night's sheet: ``?up=5`` for all tunes, or ``?up-3=5`` for the third one."""
    service = current_service()
    return _page(lambda asked: sheet_of_jam(service.store, service.player_id, jam_id, asked, service.now()), jam_id)


def _page(make: Callable[[dict[str, str]], NightSheet], of: str) -> Response:
    asked = request.args.to_dict()
    try:
        sheet = make(asked)
    except NotThereError as error:
        return make_response(
            render_template(
                "error.html", sentence=_("{reason}: it may have been deleted").format(reason=say_error(error))
            ),
            404,
        )
    except SheetError as error:
        return make_response(render_template("error.html", sentence=say_error(error), back=request.path), 422)
    night = sheet.at is not None

    def link(number: int = 0, **changes: object) -> str:
        """Return the address of the same sheet with changes; None removes a value. ``number`` is a tune of a night."""
        kept = dict(asked)
        for name, value in changes.items():
            named = f"{name}-{number}" if night and number else name
            kept.pop(named, None)
            if value is not None:
                kept[named] = str(value)
        return f"?{urlencode(kept)}"

    page = render_template("sheet.html", **shown(sheet), of=of, link=link, nearest=nearest, capos=CAPOS)
    return make_response(page)


def shown(sheet: NightSheet) -> dict[str, object]:
    """Return what the templates of a sheet need, on the page and in a file."""
    return {"sheet": sheet, "night": sheet.at is not None, "when": say_when(sheet.at) if sheet.at else ""}
