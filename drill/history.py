"""How a player came here: fluency at the end of each week, seconds, and what was said before each answer.

Conventions. One pass through the log in canonical order, without mis-taps. A prediction is made with what
was known before its answer, so what is compared later is strictly forward in time; answers that the clock
did not see, or given under a marked region, are no test of it. Weeks begin on Monday at the player's own
hour. Fluencies are those of all cards answered until then, at the tempo and by the parameters that the player has
now, so that weeks can be compared. A week without answers has its figures too: what is known fades.

A pass is kept and goes on where it stopped when answers were added at its end; anything else (a late
arrival, a mis-tap, another tempo) begins it anew, so that it comes out the same whatever came when.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from statistics import fmean, median
from threading import Lock
from typing import Final

from sqlalchemy.orm import Session

from cards.asks import Card, read_card
from drill import clock
from drill.answers import allowed_for
from drill.fits import parameters_of
from drill.learning import outcome
from drill.memory import START, Parameters, Row, fluency, learn
from drill.repertoire import features
from drill.replay import FIRST, Place
from drill.standing import standings
from drill.store import Store
from drill.store.log import log_after, log_size
from drill.store.models import Player, Review

_WEEK: Final = timedelta(days=7)
#: How many players' passes one process keeps.
KEPT: Final = 8


@dataclass(frozen=True)
class Frame:
    """What a pass depends on beside the log: the tempo of its fluencies, when days begin, and the version of
    the parameters with these."""

    tempo: int
    zone: str
    day_start: int
    fit: int = 0
    parameters: Parameters = field(default=START, compare=False)

    @classmethod
    def of(cls, db: Session, player: Player) -> Frame:
        """The frame of a player's pass."""
        return cls(player.tempo, player.zone, player.day_start, player.fit, parameters_of(db, player))

    def week_of(self, instant: datetime) -> date:
        """The Monday of the player's week that an instant belongs to."""
        day = clock.day_of(instant, self.zone, self.day_start)
        return day - timedelta(days=day.weekday())

    def end_of(self, week: date) -> datetime:
        """When a week ends."""
        return clock.day_begin(week + _WEEK, self.zone, self.day_start)


@dataclass(frozen=True)
class Week:
    """A week at its end: the fluency of all cards met so far, whole and by key (slug); the answers of
    the week, and the median seconds of the right ones (None without any)."""

    monday: date
    cards: int
    whole: float
    keys: Mapping[str, float]
    answers: int
    seconds: float | None


@dataclass
class History:
    """A pass through a player's log, as far as it has come."""

    frame: Frame
    weeks: list[Week] = field(default_factory=list)
    predictions: list[tuple[float, bool]] = field(default_factory=list)
    count: int = 0
    position: Place | None = None
    last_at: datetime | None = None
    _rows: dict[str, Row] = field(default_factory=dict)
    _cards: dict[str, Card] = field(default_factory=dict)
    _monday: date | None = None
    _answers: int = 0
    _seconds: list[float] = field(default_factory=list)

    def take(self, review: Review) -> None:
        """Go one answer further."""
        self._turn_to(self.frame.week_of(review.answered_at))
        card = self._cards.setdefault(review.card, read_card(review.card))
        told = features(card)
        if review.seconds is not None and not review.given.get("hinted"):
            said = fluency(self._rows, told, review.answered_at, allowed_for(review), self.frame.parameters)
            self.predictions.append((said.p, review.outcome == "clean"))
        self._rows |= learn(self._rows, told, outcome(review), self.frame.parameters)
        self._answers += 1
        if review.right and review.seconds is not None:
            self._seconds.append(review.seconds)
        self.count += 1
        self.position = (review.answered_at, review.id)
        self.last_at = review.answered_at

    def until(self, now: datetime) -> list[Week]:
        """The weeks that ended before ``now``, and the running one as it stands; none before the
        first answer."""
        if self._monday is None:
            return []
        # Nothing is ended for good: an answer of an earlier week may still come in.
        found, monday, this_week = list(self.weeks), self._monday, self.frame.week_of(now)
        open_week = (self._answers, tuple(self._seconds))
        while monday < this_week:
            found.append(self._week(monday, self.frame.end_of(monday), *open_week))
            monday, open_week = monday + _WEEK, (0, ())
        return [*found, self._week(monday, now, *open_week)]

    def _turn_to(self, monday: date) -> None:
        """End every week before this one."""
        while self._monday is not None and self._monday < monday:
            end = self.frame.end_of(self._monday)
            self.weeks.append(self._week(self._monday, end, self._answers, self._seconds))
            self._monday += _WEEK
            self._answers, self._seconds = 0, []
        self._monday = self._monday or monday

    def _week(self, monday: date, at: datetime, answers: int, seconds: Sequence[float]) -> Week:
        found = standings(self._rows, self._cards.values(), at, self.frame.tempo, self.frame.parameters)
        by_key: dict[str, list[float]] = {}
        for card_id, each in found.items():
            by_key.setdefault(self._cards[card_id].key.slug, []).append(each.p)
        return Week(
            monday,
            cards=len(found),
            whole=fmean(each.p for each in found.values()),
            keys={slug: fmean(by_key[slug]) for slug in sorted(by_key)},
            answers=answers,
            seconds=median(seconds) if seconds else None,
        )


def _still_holds(db: Session, player_id: int, history: History) -> bool:
    """Whether the log up to where a pass has come is still the one it went through."""
    return history.position is None or log_size(db, player_id, history.position) == history.count


class Histories:
    """The passes that a process keeps, those of the players who looked last."""

    def __init__(self) -> None:
        self._kept: OrderedDict[int, History] = OrderedDict()
        self._lock = Lock()

    def weeks(self, store: Store, player_id: int, now: datetime) -> tuple[list[Week], History]:
        """A player's weeks until ``now``, and the pass that they come from."""
        with self._lock:
            history = self._brought_up(store, player_id)
            return history.until(now), history

    def _brought_up(self, store: Store, player_id: int) -> History:
        with store.reading() as db:
            player = db.get_one(Player, player_id)
            frame = Frame.of(db, player)
            history = self._kept.pop(player_id, None)
            if history is None or history.frame != frame or not _still_holds(db, player_id, history):
                history = History(frame)
            for review in log_after(db, player_id, history.position or FIRST):
                history.take(review)
        self._kept[player_id] = history
        if len(self._kept) > KEPT:
            self._kept.popitem(last=False)
        return history
