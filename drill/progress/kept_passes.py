"""Keep passes through players' logs, so that a long log is read only once.

Conventions. A pass (:class:`drill.progress.log_pass.History`) is valid while the part of the log that it has read is
unchanged: as many reviews up to its place, and as many of them taken back. Both numbers only ever grow. A pass is
looked up in the process, then in the store. It equals a pass from the beginning. It reads a limited number of reviews
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

#: How many players' passes a process keeps.
KEPT: Final = 8
#: How many reviews are read at once.
AT_ONCE: Final = 5000


@dataclass(frozen=True)
class PassResult:
    """The result of a pass: the weeks until now, the predictions, and the time of the last answer."""

    weeks: Sequence[Week]
    predictions: Predictions
    last_at: datetime | None


@dataclass(frozen=True)
class Underway:
    """A pass that has not reached the end: how many reviews it has read, and of how many."""

    reviews: int
    of: int


class Passes:
    """The passes that a process keeps, for the players who looked last.

    It reads ``at_once`` reviews at a time, and stores a pass after every ``every`` reviews.
    """

    def __init__(self, at_once: int = AT_ONCE, every: int = EVERY) -> None:
        self._at_once, self._every = at_once, every
        self._kept: OrderedDict[int, History] = OrderedDict()
        self._lock = Lock()

    def look(self, store: Store, player_id: int, now: datetime) -> PassResult | Underway:
        """Return the result of a player's pass at ``now``, or how far it is if there is more to read."""
        with self._lock:
            with store.reading() as db:
                history = self._find(db, player_id, PassBasis.of(db, db.get_one(Player, player_id)))
                for review, taken_back in log_with_mistaps(db, player_id, history.place, self._at_once):
                    history.take(review, taken_back)
                count = reviews_count(db, player_id)
            self._kept[player_id] = history
            if len(self._kept) > KEPT:
                self._kept.popitem(last=False)
            if history.reviews < count:
                return Underway(history.reviews, count)
            if history.reviews >= history.written_at + self._every:
                self._write(store, player_id, history)
            return PassResult(history.until(now), tuple(history.predictions), history.last_at)

    def _write(self, store: Store, player_id: int, history: History) -> None:
        # A stored pass only saves time: if nothing can be written, reading goes on.
        """Store a pass."""
        with suppress(OperationalError), store.writing(player_id) as (db, _):
            keep_pass(db, player_id, history.basis.written(), history.written())
            history.written_at = history.reviews

    def _find(self, db: Session, player_id: int, basis: PassBasis) -> History:
        """Return the valid pass of a player from the process or the store, or a new one."""
        history = self._kept.pop(player_id, None)
        if history and history.basis == basis and _is_valid(db, player_id, history):
            return history
        written = load_pass(db, player_id, basis.written())
        history = History.read(basis, written) if written else None
        return history if history and _is_valid(db, player_id, history) else History(basis)


def _is_valid(db: Session, player_id: int, history: History) -> bool:
    """Return whether the log is unchanged up to the place of a pass."""
    return counts_up_to(db, player_id, history.place) == (history.reviews, history.taken_back)
