"""A jam's readiness as pages show it: without further practice, and with the planned minutes.

Conventions. Everything is read in one transaction. The practice is played ahead after that, because it takes time;
nothing is locked meanwhile.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy.orm import Session

from drill import clock
from drill.jams.aim import goal_for_changes, next_jam
from drill.jams.changes import ChordChange
from drill.jams.nights import Night, night_of
from drill.jams.practice_ahead import Needed, Start, minutes_needed, runs
from drill.jams.readiness import NightKnowledge, Outlook, known_of
from drill.planning.offered import gather_candidates
from drill.planning.repertoire import starting_keys
from drill.players.preferences import DAYS, read_setting
from drill.store import Store
from drill.store.memory import memory_rows
from drill.store.models import Player
from drill.store.sittings import visible_between

AHEAD: Final = timedelta(days=28)
"""The days before a night that are played ahead: each day costs time, and earlier practice only adds."""


@dataclass(frozen=True)
class Prospect:
    """A night and its outlook without further practice."""

    night: Night
    known: NightKnowledge
    undrilled: Outlook

    @property
    def left_out(self) -> tuple[ChordChange, ...]:
        """The changes that the player's guitar has no room for: each chord once for each box and tune."""
        without = (change for change in self.known.changes if not change.cards)
        return tuple(
            {(change.entry, change.box, str(change.numeral), change.key): change for change in without}.values()
        )


@dataclass(frozen=True)
class Ahead:
    """What the planned minutes bring: one outlook for each run, after ``days`` sessions of ``minutes`` minutes.

    ``needed`` is None if no day is left or if there is nothing to measure. If the night is ``far``, only the last
    days before it are played ahead (:data:`AHEAD`).
    """

    night: Night
    days: int
    minutes: int
    ways: Sequence[Outlook]
    needed: Needed | None
    far: bool


def coming(store: Store, player_id: int, now: datetime) -> Night | None:
    """Return the jam to prepare for, or None if none is near."""
    with store.reading() as db:
        jam = next_jam(db, player_id, now)
        return None if jam is None else night_of(db, db.get_one(Player, player_id), jam.id, now)


def prospect(store: Store, player_id: int, jam_id: str, now: datetime) -> Prospect:
    """Return a jam and its outlook at ``now``. Raises NoJamError."""
    with store.reading() as db:
        return _prospect(db, db.get_one(Player, player_id), jam_id, now)


def ahead(store: Store, player_id: int, jam_id: str, now: datetime) -> Ahead:
    """Return what practice from ``now`` until a jam would bring. Raises NoJamError."""
    with store.reading() as db:
        player = db.get_one(Player, player_id)
        standing = _prospect(db, player, jam_id, now)
        left, minutes = sessions_left(db, player, standing.night.jam.at, now), player.minutes
        sessions = [session for session in left if standing.night.jam.at - session <= AHEAD]
        far = len(sessions) < len(left)
        start = start_of(db, player, standing)
    if not sessions or standing.undrilled.share is None:
        return Ahead(standing.night, len(sessions), minutes, (), None, far)
    ways, needed = runs(start, sessions, minutes), minutes_needed(start, sessions)
    return Ahead(standing.night, len(sessions), minutes, ways, needed, far)


def sessions_left(db: Session, player: Player, at: datetime, now: datetime) -> list[datetime]:
    """Return when the player will practise until ``at``: on practice days, at the present hour.

    Today is left out if today's minutes are done.
    """
    begin, end = clock.day_bounds(now, player.zone, player.day_start)
    done = visible_between(db, player.id, begin, end) >= 60.0 * player.minutes - 20.0
    ahead = (now + timedelta(days=n) for n in range(max((at - now).days, -1) + 1))
    return [
        session
        for session in ahead
        if session < at
        and not (done and session < end)
        and DAYS[clock.day_of(session, player.zone, player.day_start).weekday()] in player.days
    ]


def _prospect(db: Session, player: Player, jam_id: str, now: datetime) -> Prospect:
    night = night_of(db, player, jam_id, now)
    known = known_of(db, player, night, read_setting(player))
    return Prospect(night, known, known.outlook(max(night.jam.at, now)))


def start_of(db: Session, player: Player, standing: Prospect) -> Start:
    """Return the start of all runs for a night."""
    goal = goal_for_changes(standing.known.changes, standing.undrilled)
    return Start(
        standing.known,
        memory_rows(db, player.id),
        gather_candidates(db, player, read_setting(player), goal),
        goal.prepend_keys(starting_keys(player.keys)),
        player.tempo,
        goal,
        standing.night.jam.at,
    )
