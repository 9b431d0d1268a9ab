"""Passes through players' logs, kept so that a long log is gone through once.

Conventions. A pass (:class:`drill.progress.log_pass.History`) holds as long as the part of the log that it went
through is the same: as many reviews up to its place, as many of them taken back, since both only ever grow. It
is looked for in the process, then in the store; it equals one from the beginning. It goes on by so many answers
at once, so that nobody waits long without being told how far it is.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from threading import Lock
from typing import Final

from sqlalchemy.exc import OperationalError
from sqlalchemy.orm import Session

from drill.memory.replay import EVERY
from drill.progress.calibration import Predictions
from drill.progress.log_pass import History, PassBasis, Week
from drill.store import Store
from drill.store.log import counts_up_to, log_with_mistaps, reviews_count
from drill.store.models import Player
from drill.store.passes import keep_pass, load_pass

#: How many players' passes one process keeps.
KEPT: Final = 8
#: Reviews that are gone through at once.
AT_ONCE: Final = 5000


@dataclass(frozen=True)
class Looked:
    """What a pass shows: the weeks until now, what was said before answers, the last of them."""

    weeks: Sequence[Week]
    predictions: Predictions
    last_at: datetime | None


@dataclass(frozen=True)
class Underway:
    """A pass that is not at the end yet: how many reviews it went through, and of how many."""

    reviews: int
    of: int


class Passes:
    """The passes that a process keeps, those of the players who looked last: ``at_once`` reviews are gone through in
    one go, and every so many go into the store."""

    def __init__(self, at_once: int = AT_ONCE, every: int = EVERY) -> None:
        self._at_once, self._every = at_once, every
        self._kept: OrderedDict[int, History] = OrderedDict()
        self._lock = Lock()

    def look(self, store: Store, player_id: int, now: datetime) -> Looked | Underway:
        """What a player's pass shows at ``now``; where it has further to go than that, how far it is."""
        with self._lock:
            with store.reading() as db:
                history = self._found(db, player_id, PassBasis.of(db, db.get_one(Player, player_id)))
                for review, taken_back in log_with_mistaps(db, player_id, history.place, self._at_once):
                    history.take(review, taken_back)
                there = reviews_count(db, player_id)
            self._kept[player_id] = history
            if len(self._kept) > KEPT:
                self._kept.popitem(last=False)
            if history.reviews < there:
                return Underway(history.reviews, there)
            if history.reviews >= history.written_at + self._every:
                self._write(store, player_id, history)
            return Looked(history.until(now), tuple(history.predictions), history.last_at)

    def _write(self, store: Store, player_id: int, history: History) -> None:
        # It only saves time: where nothing can be written, reading goes on.
        with suppress(OperationalError), store.writing(player_id) as (db, _):
            keep_pass(db, player_id, history.frame.written(), history.written())
            history.written_at = history.reviews

    def _found(self, db: Session, player_id: int, frame: PassBasis) -> History:
        history = self._kept.pop(player_id, None)
        if history and history.frame == frame and _holds(db, player_id, history):
            return history
        written = load_pass(db, player_id, frame.written())
        history = History.read(frame, written) if written else None
        return history if history and _holds(db, player_id, history) else History(frame)


def _holds(db: Session, player_id: int, history: History) -> bool:
    """Whether the log up to where a pass has come is still the one it went through."""
    return counts_up_to(db, player_id, history.place) == (history.reviews, history.taken_back)
