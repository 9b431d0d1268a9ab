"""Jobs: what runs when, and in which process.

Conventions. Jobs are declared here, in :data:`JOBS`. For each player and job there is a row that says when the
job is due, who holds it and when it last ran. ``drill serve`` ticks every minute and claims the jobs that are
due. A claim is a lease, so that only one of several processes does the job. A process that dies in the middle
loses its lease after :data:`LEASE`, and the job is done again; it commits all of its work or none. APScheduler
only ticks. The work is done in a thread that ends with the process.
"""

from __future__ import annotations

import logging
import secrets
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime, timedelta
from typing import Final

from drill import clock
from drill.learning.nightly_refit import has_enough_new_answers, refit_player
from drill.store import Store
from drill.store import jobs as rows
from drill.store.models import Player
from drill.store.sittings import all_players
from drill.words import speaking

TICK: Final = timedelta(minutes=1)
LEASE: Final = timedelta(hours=1)

_log = logging.getLogger(__name__)

Work = Callable[[Store, int, datetime], object]


def refit(store: Store, player_id: int, now: datetime) -> None:
    """Fit the player's parameters again, if there are enough new answers since the last fit."""
    if has_enough_new_answers(store, player_id, now):
        refit_player(store, player_id, now)


JOBS: Final[Mapping[str, Work]] = {"refit": refit}
"""What is done for every player once a night, when the player's day begins."""


def run_due(store: Store, now: Callable[[], datetime], jobs: Mapping[str, Work] = JOBS) -> int:
    """Do the jobs that are due and that nobody else holds. Return how many were done.

    A job that fails is logged and is due again the next night.
    """
    _declare(store, now(), jobs)
    with store.reading() as db:
        due = rows.jobs_due(db, now())
    holder, count = secrets.token_hex(16), 0
    for player_id, name in due:
        if name not in jobs:
            continue
        with store.writing(player_id) as (db, _):
            if not rows.claim(db, player_id, name, holder, now(), LEASE):
                continue
        with store.reading() as db:
            language = db.get_one(Player, player_id).language
        try:
            with speaking(language):
                jobs[name](store, player_id, now())
        except Exception:
            _log.exception("the job %s failed for player %s", name, player_id)
        with store.writing(player_id) as (db, player):
            rows.reschedule(db, player_id, name, holder, now(), _next_night(player, now()))
        count += 1
    return count


@contextmanager
def ticking(store: Store, now: Callable[[], datetime] = clock.now) -> Iterator[None]:
    """Do the jobs that are due every minute, until the block ends."""
    from apscheduler.schedulers.background import BackgroundScheduler

    working = threading.Lock()

    def work() -> None:
        with working:
            run_due(store, now)

    def tick() -> None:
        if not working.locked():
            threading.Thread(target=work, name="jobs", daemon=True).start()

    logging.getLogger("apscheduler").setLevel(logging.WARNING)
    scheduler = BackgroundScheduler(timezone="UTC")
    scheduler.add_job(tick, "interval", seconds=TICK.total_seconds(), coalesce=True, max_instances=1)
    scheduler.start()
    try:
        yield
    finally:
        scheduler.shutdown()


def _declare(store: Store, now: datetime, jobs: Mapping[str, Work]) -> None:
    """Add the missing rows, so that every player has a row for every job."""
    with store.reading() as db:
        missing = {(player_id, name) for player_id in all_players(db) for name in jobs}
        missing -= {(player_id, name) for name in jobs for player_id in rows.players_with(db, name)}
    for player_id, name in sorted(missing):
        with store.writing(player_id) as (db, player):
            rows.add_if_missing(db, player_id, name, _next_night(player, now))


def _next_night(player: Player, now: datetime) -> datetime:
    """Return when the player's next day begins."""
    return clock.day_bounds(now, player.zone, player.day_start)[1]
