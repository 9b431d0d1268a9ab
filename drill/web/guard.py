"""The checks that every request passes, and the headers of every answer.

The service has no sign-in yet and listens on the player's own machine. So other people's pages could reach it through
the player's browser. Three checks keep them out: the name they ask for (``Host``), the page they come from
(``Origin``, ``Sec-Fetch-Site``), and the content type: only JSON is taken, which a form of another origin cannot send
without asking first.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final
from urllib.parse import urlsplit

from flask import Flask, Response, jsonify, make_response, render_template, request
from sqlalchemy.exc import OperationalError
from werkzeug.exceptions import HTTPException

from drill.config import Config
from drill.incoming.refusals import FieldError, NotThereError
from drill.words import gettext as _
from drill.words import mark, say_error

POLICY: Final = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "connect-src 'self'",
        "font-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
    )
)

HEADERS: Final = {
    "Content-Security-Policy": POLICY,
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
}

_SENTENCES: Final = {
    404: mark("There is nothing at this address."),
    405: mark("This address does not take that kind of request."),
    500: mark("Something went wrong on our side. What was acknowledged is kept; please try again."),
}


class ApiError(Exception):
    """An answer that is an error: a status, a sentence in the player's language, and more values for the page."""

    def __init__(self, status: int, sentence: str, **more: object) -> None:
        super().__init__(sentence)
        self.status = status
        self.body = {"error": sentence, **more}


def json_body() -> Mapping[str, Any]:
    """Return the request's JSON object. Raises ApiError."""
    try:
        body = request.get_json(silent=True)
    except RecursionError:  # Thousands of nested brackets.
        body = None
    if not isinstance(body, dict):
        raise ApiError(400, _("The request's body must be one JSON object."))
    return body


def register(app: Flask, config: Config) -> None:
    """Add the checks before every request, the headers to every answer, and a sentence to every error."""

    @app.before_request
    def refuse() -> Response | None:
        if not config.answers_to(request.host):
            sentence = _('This drill does not answer to the name "{name}": name it in DRILL_NAMES if it is yours.')
            return _error(403, sentence.format(name=request.host))
        if request.method in ("GET", "HEAD", "OPTIONS"):
            return None
        if not _from_own_page():
            return _error(403, _("Only the drill's own pages may send this."))
        if request.mimetype != "application/json":
            return _error(415, _("The request's body must be JSON (Content-Type: application/json)."))
        return None

    @app.after_request
    def protect(response: Response) -> Response:
        response.headers.update(HEADERS)
        if request.path.startswith("/api/"):
            response.headers["Cache-Control"] = "no-store"
        elif "Cache-Control" not in response.headers:
            response.headers["Cache-Control"] = "no-cache"
        return response

    @app.errorhandler(ApiError)
    def refused(error: ApiError) -> Response:
        return make_response(jsonify(error.body), error.status)

    @app.errorhandler(FieldError)
    def not_taken(error: FieldError) -> Response:
        return make_response(jsonify(error=say_error(error), field=error.field), 422)

    @app.errorhandler(NotThereError)
    def not_there(error: NotThereError) -> Response:
        return make_response(jsonify(error=say_error(error)), 404)

    @app.errorhandler(OperationalError)
    def busy(error: OperationalError) -> Response:
        app.logger.error("the database did not answer: %s", error.orig)
        return _error(503, _("The drill is busy. Nothing is lost; please try again."))

    @app.errorhandler(HTTPException)
    def failed(error: HTTPException) -> Response:
        status = error.code or 500
        if status == 413:
            most = (request.max_content_length or 0) // 1024
            return _error(413, _("That is more than {most} kB: send it in smaller parts.").format(most=most))
        known = _SENTENCES.get(status)
        return _error(status, _(known) if known else error.description or error.name)


def _from_own_page() -> bool:
    """Return whether the browser says that one of our pages sends this, or whether it is no browser."""
    if request.headers.get("Sec-Fetch-Site", "same-origin") not in ("same-origin", "none"):
        return False
    origin = request.headers.get("Origin")
    return origin is None or urlsplit(origin).netloc == request.host


def _error(status: int, sentence: str) -> Response:
    if request.path.startswith("/api/"):
        return make_response(jsonify(error=sentence), status)
    return make_response(render_template("error.html", sentence=sentence), status)
