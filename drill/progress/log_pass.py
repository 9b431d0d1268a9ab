"""How a player came here: fluency at the end of each week, seconds, and what was said before each answer.

Conventions. One pass through the log in canonical order, without mis-taps. A prediction is made with what
was known before its answer, so what is compared later is strictly forward in time; answers that the clock
did not see, or given under a marked region, are no test of it. Weeks begin on Monday at the player's own
hour. Fluencies are those of all cards answered until then, at the tempo and by the parameters that the player has
now, so that weeks can be compared. A week without answers has its figures too: what is known fades.

A pass goes on where it stopped when answers were added at its end; anything else (a late arrival, a
mis-tap, another tempo) begins it anew, so that it comes out the same whatever came when. It is kept by
the process, and now and then in the store (:mod:`drill.progress.kept_passes`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from datetime import UTC, date, datetime, timedelta
from statistics import fmean, median
from typing import Any, Final

from sqlalchemy.orm import Session

from cards.asks import read_card
from drill import clock
from drill.learning.fluencies import MetCards
from drill.learning.learn import outcome_to_learn
from drill.learning.parameter_versions import parameters_of
from drill.learning.reviews import allowed_seconds_for
from drill.memory.parameters import START, Parameters
from drill.memory.recall import learn, predict_and_learn
from drill.memory.replay import FIRST, LogPlace
from drill.memory.rows import Row
from drill.store.models import Player, Review

_WEEK: Final = timedelta(days=7)
#: Of what is written down of a pass: another number where that, or how a pass is made, has changed.
_FORM: Final = 2


@dataclass(frozen=True)
class PassBasis:
    """What a pass depends on beside the log: the tempo of its fluencies, when days begin, the parameters."""

    tempo: int
    zone: str
    day_start: int
    parameters: Parameters = START

    @classmethod
    def of(cls, db: Session, player: Player) -> PassBasis:
        """The frame of a player's pass."""
        return cls(player.tempo, player.zone, player.day_start, parameters_of(db, player))

    def written(self) -> dict[str, Any]:
        """It as plain data."""
        return {"form": _FORM, **asdict(self)}

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
    """A pass through a player's log, as far as it has come: ``reviews`` of it, the last at ``place``;
    ``taken_back`` of them were mis-taps."""

    frame: PassBasis
    weeks: list[Week] = field(default_factory=list)
    predictions: list[tuple[float, bool]] = field(default_factory=list)
    reviews: int = 0
    taken_back: int = 0
    place: LogPlace = FIRST
    last_at: datetime | None = None
    written_at: int = 0
    """How many reviews it had gone through when it was written down last."""
    _rows: dict[str, Row] = field(default_factory=dict)
    _met: MetCards = field(default_factory=MetCards)
    _monday: date | None = None
    _ends: datetime = FIRST[0]
    _answers: int = 0
    _seconds: list[float] = field(default_factory=list)

    def take(self, review: Review, taken_back: bool = False) -> None:
        """Go one answer further."""
        self.reviews += 1
        self.taken_back += taken_back
        self.place = review.answered_at, review.id
        if taken_back:
            return
        if review.answered_at >= self._ends:
            self._turn_to(self.frame.week_of(review.answered_at))
        self._learn(review)
        self._answers += 1
        if review.right and review.seconds is not None:
            self._seconds.append(review.seconds)
        self.last_at = review.answered_at

    def _learn(self, review: Review) -> None:
        features, came, by = self._met.add(read_card(review.card)), outcome_to_learn(review), self.frame.parameters
        if review.seconds is None or review.given.get("hinted"):
            self._rows.update(learn(self._rows, features, came, by))
            return
        said, learnt = predict_and_learn(self._rows, features, came, allowed_seconds_for(review), by)
        self.predictions.append((said.p, review.outcome == "clean"))
        self._rows.update(learnt)

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
        self._ends = self.frame.end_of(self._monday)

    def _week(self, monday: date, at: datetime, answers: int, seconds: Sequence[float]) -> Week:
        told = self._met.fluencies(self._rows, at, self.frame.tempo, self.frame.parameters)
        by_key: dict[str, list[float]] = {}
        for card_id, p in zip(self._met, told, strict=True):
            by_key.setdefault(read_card(card_id).key.slug, []).append(p)
        return Week(
            monday,
            cards=len(told),
            whole=fmean(told),
            keys={slug: fmean(by_key[slug]) for slug in sorted(by_key)},
            answers=answers,
            seconds=median(seconds) if seconds else None,
        )

    def written(self) -> dict[str, Any]:
        """It as plain data, but for the frame; instants and days are themselves."""
        return {
            "weeks": [asdict(week) for week in self.weeks],
            "said": [said for said, _ in self.predictions],
            "clean": [int(clean) for _, clean in self.predictions],
            "counts": (self.reviews, self.taken_back),
            "place": self.place,
            "last_at": self.last_at,
            "rows": list(self._rows.values()),
            "cards": list(self._met),
            "week": (self._monday, self._answers, self._seconds),
        }

    @classmethod
    def read(cls, frame: PassBasis, found: Any) -> History:
        """The pass that was written down, from JSON."""
        weeks = [Week(**{**each, "monday": date.fromisoformat(each["monday"])}) for each in found["weeks"]]
        predictions = [(said, clean == 1) for said, clean in zip(found["said"], found["clean"], strict=True)]
        history = cls(frame, weeks, predictions, *found["counts"])
        history.written_at = history.reviews
        history.place = _instant(found["place"][0]), found["place"][1]
        history.last_at = found["last_at"] and _instant(found["last_at"])
        history._rows = {name: Row(name, _instant(at), *rest) for name, at, *rest in found["rows"]}
        history._met = MetCards(read_card(card_id) for card_id in found["cards"])
        monday, history._answers, history._seconds = found["week"]
        if monday:
            history._monday = date.fromisoformat(monday)
            history._ends = frame.end_of(history._monday)
        return history


def _instant(text: str) -> datetime:
    return datetime.fromisoformat(text).astimezone(UTC)
