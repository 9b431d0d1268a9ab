"""The application factory. It opens the store and checks the revision of its schema. It never migrates."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from flask import Flask, request
from flask_compress import Compress

from cards.guitar.neck import TUNINGS
from cards.theory.keys import BLUES_KEYS, MAJOR_KEYS, MINOR_KEYS
from drill import clock
from drill.config import BODY_BYTES, Config, pages
from drill.players.preferences import MINUTES, REST_AFTER, TEMPO
from drill.store import Store, check
from drill.tunes.uploads import ARCHIVE_BYTES
from drill.web import (
    guard,
    health,
    home,
    jams,
    keys,
    neck,
    play,
    readiness,
    sessions,
    settings,
    sheets,
    tunes,
    yours,
)
from drill.web.service import Service, current_service
from drill.words.language import ENGLISH, LANGUAGES, speak
from drill.words.pages import give_words_to


def create_app(config: Config, now: Callable[[], datetime] = clock.now) -> Flask:
    """Return the service as a WSGI application. ``now`` tells the time.

    Raises StoreError if the database is not at this version's revision.
    """
    static, templates = pages()
    app = Flask("drill", static_folder=str(static), template_folder=str(templates))
    app.config.update(
        MAX_CONTENT_LENGTH=BODY_BYTES,
        # Browsers ask for static files each time and get 304 if nothing changed, so an upgrade shows at once.
        SEND_FILE_MAX_AGE_DEFAULT=None,
        COMPRESS_ALGORITHM=["br", "gzip"],
        # Browsers accept "br" over HTTPS and from localhost. A phone on the network gets files by deflate.
        COMPRESS_ALGORITHM_STREAMING=["br", "deflate"],
        COMPRESS_MIMETYPES=[
            "text/html",
            "text/css",
            "text/javascript",
            "image/svg+xml",
            "application/json",
        ],
    )
    app.jinja_env.globals.update(
        major_keys=MAJOR_KEYS,
        minor_keys=MINOR_KEYS,
        blues_keys=BLUES_KEYS,
        tunings=tuple(TUNINGS),
        limits={"tempo": TEMPO, "minutes": MINUTES, "rest": REST_AFTER, "file": ARCHIVE_BYTES},
    )
    app.json.sort_keys = False  # type: ignore[attr-defined]
    give_words_to(app.jinja_env)
    store = Store(config.url)
    check(store.engine)
    app.extensions["drill"] = Service(store, config, now)

    @app.context_processor
    def every_page() -> dict[str, object]:
        return {"demo": current_service().demo, "languages": {code: LANGUAGES[code] for code in config.languages}}

    @app.before_request
    def speak_to_player() -> None:
        if request.endpoint != "static":
            speak(current_service().language)

    @app.teardown_request
    def fall_silent(error: BaseException | None) -> None:
        speak(ENGLISH)

    guard.register(app, config)
    for page in (home, sessions, readiness, jams, tunes, sheets, play, neck, keys, yours, settings, health):
        app.register_blueprint(page.blueprint)
    Compress(app)
    return app
