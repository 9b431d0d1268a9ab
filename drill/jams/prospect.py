"""A jam's readiness as pages tell it: if nothing more is drilled, and if the planned minutes are.

Conventions. What is read is read in one go; the playing ahead, which takes its time, is done after that and
keeps nothing locked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy.orm import Session

from drill import clock
from drill.jams.aim import aim_of, next_jam
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
"""How long before a night practice is played ahead: each day takes time, and what is drilled earlier only adds."""


@dataclass(frozen=True)
class Prospect:
    """A night and what is to be expected of it if nothing more is drilled."""

    night: Night
    known: NightKnowledge
    undrilled: Outlook

    @property
    def left_out(self) -> tuple[ChordChange, ...]:
        """The changes that the player's guitar has no room for, each chord once a box and tune."""
        without = (each for each in self.known.changes if not each.cards)
        return tuple({(each.entry, each.box, str(each.numeral), each.key): each for each in without}.values())


@dataclass(frozen=True)
class Ahead:
    """What the planned minutes bring, several ways that it may go: ``days`` of so many minutes. ``needed``
    is None where no day is left or there is nothing to measure. Of a night that is ``far`` only the last days
    before it are played ahead (:data:`AHEAD`)."""

    night: Night
    days: int
    minutes: int
    ways: Sequence[Outlook]
    needed: Needed | None
    far: bool


def coming(store: Store, player_id: int, now: datetime) -> Night | None:
    """The jam to get ready for, if one is near."""
    with store.reading() as db:
        jam = next_jam(db, player_id, now)
        return None if jam is None else night_of(db, db.get_one(Player, player_id), jam.id, now)


def prospect(store: Store, player_id: int, jam_id: str, now: datetime) -> Prospect:
    """How a jam stands at ``now``. Raises NoJamError."""
    with store.reading() as db:
        return _prospect(db, db.get_one(Player, player_id), jam_id, now)


def ahead(store: Store, player_id: int, jam_id: str, now: datetime) -> Ahead:
    """What practice from ``now`` until a jam would bring. Raises NoJamError."""
    with store.reading() as db:
        player = db.get_one(Player, player_id)
        found = _prospect(db, player, jam_id, now)
        left, minutes = sessions_left(db, player, found.night.jam.at, now), player.minutes
        sessions = [each for each in left if found.night.jam.at - each <= AHEAD]
        far = len(sessions) < len(left)
        start = start_of(db, player, found)
    if not sessions or found.undrilled.share is None:
        return Ahead(found.night, len(sessions), minutes, (), None, far)
    ways, needed = runs(start, sessions, minutes), minutes_needed(start, sessions)
    return Ahead(found.night, len(sessions), minutes, ways, needed, far)


def sessions_left(db: Session, player: Player, at: datetime, now: datetime) -> list[datetime]:
    """When the player will practise until ``at``: at the hour it is now, on the days meant for it; today no more
    if the day's minutes are done."""
    begin, end = clock.day_bounds(now, player.zone, player.day_start)
    done = visible_between(db, player.id, begin, end) >= 60.0 * player.minutes - 20.0
    ahead = (now + timedelta(days=n) for n in range(max((at - now).days, -1) + 1))
    return [
        each
        for each in ahead
        if each < at
        and not (done and each < end)
        and DAYS[clock.day_of(each, player.zone, player.day_start).weekday()] in player.days
    ]


def _prospect(db: Session, player: Player, jam_id: str, now: datetime) -> Prospect:
    night = night_of(db, player, jam_id, now)
    known = known_of(db, player, night, read_setting(player))
    return Prospect(night, known, known.outlook(max(night.jam.at, now)))


def start_of(db: Session, player: Player, found: Prospect) -> Start:
    """Where practice for a night begins."""
    aim = aim_of(found.known.changes, found.undrilled)
    return Start(
        found.known,
        memory_rows(db, player.id),
        gather_candidates(db, player, read_setting(player), aim),
        aim.prepend_keys(starting_keys(player.keys)),
        player.tempo,
        aim,
        found.night.jam.at,
    )
