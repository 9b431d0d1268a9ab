"""One pass through a player's log: fluency at the end of each week, seconds, and all predictions.

Conventions. The pass reads the log in canonical order, without mis-taps. A prediction is made with what was known
before its answer, so predictions are compared strictly forward in time. Answers that the clock did not measure, and
answers given with the region marked, do not test a prediction. Weeks begin on Monday at the hour when the player's
day begins. A week's fluencies are those of all cards answered until then, at the player's present tempo and
parameters, so that weeks can be compared. A week without answers has figures too, because what is known fades.

A pass continues where it stopped if answers were added at the end of the log. After any other change (a late arrival,
a mis-tap, another tempo) it begins anew. So the result does not depend on the order of events. The process keeps it,
and now and then stores it (:mod:`drill.progress.kept_passes`).
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
#: The version of a stored pass: it changes when its form changes, or the way a pass is made.
_FORM: Final = 2


@dataclass(frozen=True)
class PassBasis:
    """What a pass depends on beside the log: the tempo of its fluencies, the start of days, the parameters."""

    tempo: int
    zone: str
    day_start: int
    parameters: Parameters = START

    @classmethod
    def of(cls, db: Session, player: Player) -> PassBasis:
        """Return the basis of a player's pass."""
        return cls(player.tempo, player.zone, player.day_start, parameters_of(db, player))

    def written(self) -> dict[str, Any]:
        """Return the basis as plain data."""
        return {"form": _FORM, **asdict(self)}

    def week_of(self, instant: datetime) -> date:
        """Return the Monday of the player's week that contains an instant."""
        day = clock.day_of(instant, self.zone, self.day_start)
        return day - timedelta(days=day.weekday())

    def end_of(self, week: date) -> datetime:
        """Return when a week ends."""
        return clock.day_begin(week + _WEEK, self.zone, self.day_start)


@dataclass(frozen=True)
class Week:
    """The figures at the end of a week.

    ``whole`` is the fluency of all cards met so far, ``keys`` that of each key by its slug. ``answers`` are those of
    the week, ``seconds`` is the median of the right ones, None if there are none.
    """

    monday: date
    cards: int
    whole: float
    keys: Mapping[str, float]
    answers: int
    seconds: float | None


@dataclass
class History:
    """A pass through a player's log, as far as it has come.

    It has read ``reviews`` reviews, the last at ``place``; ``taken_back`` of them were mis-taps.
    """

    basis: PassBasis
    weeks: list[Week] = field(default_factory=list)
    predictions: list[tuple[float, bool]] = field(default_factory=list)
    reviews: int = 0
    taken_back: int = 0
    place: LogPlace = FIRST
    last_at: datetime | None = None
    written_at: int = 0
    """How many reviews it had read when it was last stored."""
    _rows: dict[str, Row] = field(default_factory=dict)
    _met: MetCards = field(default_factory=MetCards)
    _monday: date | None = None
    _ends: datetime = FIRST[0]
    _answers: int = 0
    _seconds: list[float] = field(default_factory=list)

    def take(self, review: Review, taken_back: bool = False) -> None:
        """Read one more answer."""
        self.reviews += 1
        self.taken_back += taken_back
        self.place = review.answered_at, review.id
        if taken_back:
            return
        if review.answered_at >= self._ends:
            self._close_weeks_before(self.basis.week_of(review.answered_at))
        self._learn(review)
        self._answers += 1
        if review.right and review.seconds is not None:
            self._seconds.append(review.seconds)
        self.last_at = review.answered_at

    def _learn(self, review: Review) -> None:
        """Record the prediction for an answer if it can be tested, then learn from the answer."""
        features, outcome, parameters = (
            self._met.add(read_card(review.card)),
            outcome_to_learn(review),
            self.basis.parameters,
        )
        if review.seconds is None or review.given.get("hinted"):
            self._rows.update(learn(self._rows, features, outcome, parameters))
            return
        prediction, learnt = predict_and_learn(self._rows, features, outcome, allowed_seconds_for(review), parameters)
        self.predictions.append((prediction.p, review.outcome == "clean"))
        self._rows.update(learnt)

    def until(self, now: datetime) -> list[Week]:
        """Return the weeks that ended before ``now``, and the current one as it stands.

        There are none before the first answer.
        """
        if self._monday is None:
            return []
        # No week is closed here: an answer of an earlier week may still arrive.
        weeks, monday, this_week = list(self.weeks), self._monday, self.basis.week_of(now)
        open_week = (self._answers, tuple(self._seconds))
        while monday < this_week:
            weeks.append(self._figures(monday, self.basis.end_of(monday), *open_week))
            monday, open_week = monday + _WEEK, (0, ())
        return [*weeks, self._figures(monday, now, *open_week)]

    def _close_weeks_before(self, monday: date) -> None:
        """Close every week before this one."""
        while self._monday is not None and self._monday < monday:
            end = self.basis.end_of(self._monday)
            self.weeks.append(self._figures(self._monday, end, self._answers, self._seconds))
            self._monday += _WEEK
            self._answers, self._seconds = 0, []
        self._monday = self._monday or monday
        self._ends = self.basis.end_of(self._monday)

    def _figures(self, monday: date, at: datetime, answers: int, seconds: Sequence[float]) -> Week:
        """Return the figures of a week at an instant."""
        fluencies = self._met.fluencies(self._rows, at, self.basis.tempo, self.basis.parameters)
        by_key: dict[str, list[float]] = {}
        for card_id, p in zip(self._met, fluencies, strict=True):
            by_key.setdefault(read_card(card_id).key.slug, []).append(p)
        return Week(
            monday,
            cards=len(fluencies),
            whole=fmean(fluencies),
            keys={slug: fmean(by_key[slug]) for slug in sorted(by_key)},
            answers=answers,
            seconds=median(seconds) if seconds else None,
        )

    def written(self) -> dict[str, Any]:
        """Return the pass as plain data, without its basis; instants and days stay as they are."""
        return {
            "weeks": [asdict(week) for week in self.weeks],
            "said": [prediction for prediction, _ in self.predictions],
            "clean": [int(clean) for _, clean in self.predictions],
            "counts": (self.reviews, self.taken_back),
            "place": self.place,
            "last_at": self.last_at,
            "rows": list(self._rows.values()),
            "cards": list(self._met),
            "week": (self._monday, self._answers, self._seconds),
        }

    @classmethod
    def read(cls, basis: PassBasis, stored: Any) -> History:
        """Return the pass that was stored as JSON."""
        weeks = [Week(**{**week, "monday": date.fromisoformat(week["monday"])}) for week in stored["weeks"]]
        predictions = [
            (prediction, clean == 1) for prediction, clean in zip(stored["said"], stored["clean"], strict=True)
        ]
        history = cls(basis, weeks, predictions, *stored["counts"])
        history.written_at = history.reviews
        history.place = _instant(stored["place"][0]), stored["place"][1]
        history.last_at = stored["last_at"] and _instant(stored["last_at"])
        history._rows = {name: Row(name, _instant(at), *rest) for name, at, *rest in stored["rows"]}
        history._met = MetCards(read_card(card_id) for card_id in stored["cards"])
        monday, history._answers, history._seconds = stored["week"]
        if monday:
            history._monday = date.fromisoformat(monday)
            history._ends = basis.end_of(history._monday)
        return history


def _instant(text: str) -> datetime:
    return datetime.fromisoformat(text).astimezone(UTC)
