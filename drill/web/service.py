"""What a view needs of the process that it runs in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property

from flask import current_app

from drill.config import Config
from drill.progress.kept_passes import Passes
from drill.store import Store
from drill.store.models import Player
from drill.store.sittings import is_demo, only_player


@dataclass
class Service:
    """The store, the settings and the clock of one process."""

    store: Store
    config: Config
    now: Callable[[], datetime]
    passes: Passes = field(default_factory=Passes)

    @cached_property
    def player_id(self) -> int:
        """The player of all requests: the only one, as long as there is no sign-in."""
        with self.store.reading() as db:
            return only_player(db)

    @property
    def language(self) -> str:
        """The player's language, or the first one offered if the player's is not offered."""
        languages = self.config.languages
        if len(languages) == 1:
            return languages[0]
        with self.store.reading() as db:
            language = db.get_one(Player, self.player_id).language
        return language if language in languages else languages[0]

    @property
    def demo(self) -> bool:
        """Whether the pages show demo data."""
        with self.store.reading() as db:
            return is_demo(db, self.player_id)


def current_service() -> Service:
    """Return the service behind the running request."""
    service = current_app.extensions["drill"]
    assert isinstance(service, Service)
    return service
