"""A player today: preferences, practice of the day, and what is known so far."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from cards.asks import Message
from drill import clock
from drill.players.preferences import DAYS, Preferences
from drill.sessions.lifecycle import Summary, running
from drill.store import Store
from drill.store.log import count_between, last_answered_at
from drill.store.memory import count_cards_seen
from drill.store.models import Player
from drill.store.sittings import visible_between

DAYS_MISSED: Final = 3
"""An absence begins when so many days were missed, of those on which the player means to practise."""


@dataclass(frozen=True)
class Today:
    """A player's situation at an instant.

    first_visit    whether the four questions of the first visit are still open
    minutes, seen  practice and reviews in the player's day
    known          number of cards seen at least once
    running        the session that can be resumed
    away           the message to a player who returns after an absence
    """

    preferences: Preferences
    first_visit: bool
    minutes: float
    seen: int
    known: int
    running: Summary | None
    away: Message | None


def today(store: Store, player_id: int, now: datetime) -> Today:
    """Return the player's situation at ``now``."""
    with store.reading() as db:
        player = db.get_one(Player, player_id)
        begin, end = clock.day_bounds(now, player.zone, player.day_start)
        return Today(
            preferences=Preferences.of(player),
            first_visit=not player.settled,
            minutes=visible_between(db, player_id, begin, end) / 60,
            seen=count_between(db, player_id, begin, end),
            known=count_cards_seen(db, player_id),
            running=running(db, player_id, now),
            away=_absence_message(player, last_answered_at(db, player_id), now),
        )


def _absence_message(player: Player, last: datetime | None, now: datetime) -> Message | None:
    """Return the message to a player who missed days on which the player means to practise, or None."""
    if last is None:
        return None
    before = clock.day_of(last, player.zone, player.day_start)
    days = (clock.day_of(now, player.zone, player.day_start) - before).days
    missed = [before + timedelta(days=n) for n in range(1, days)]
    if sum(DAYS[day.weekday()] in player.days for day in missed) < DAYS_MISSED:
        return None
    return Message("away", (("count", str(days)),))
