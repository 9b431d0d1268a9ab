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
        """Whose requests these are: the only player, as long as there is no sign-in."""
        with self.store.reading() as db:
            return only_player(db)

    @property
    def language(self) -> str:
        """The language that the player reads; the first that can be chosen if the player's cannot."""
        languages = self.config.languages
        if len(languages) == 1:
            return languages[0]
        with self.store.reading() as db:
            language = db.get_one(Player, self.player_id).language
        return language if language in languages else languages[0]

    @property
    def demo(self) -> bool:
        """Whether what the pages show began as demo data."""
        with self.store.reading() as db:
            return is_demo(db, self.player_id)


def service() -> Service:
    """The service behind the running request."""
    found = current_app.extensions["drill"]
    assert isinstance(found, Service)
    return found
