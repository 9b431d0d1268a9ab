"""How practice went, week by week, as figures: words, a drawing, and the table behind it.

Conventions. Days without practice are no debt and are not counted; after an absence the page says what
the next session begins with. Drawings go from the first week to the one that runs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from cards.asks import KEYS, Message
from cards.messages import message
from cards.theory.keys import Key
from drill.progress import calibration
from drill.progress.graphs import Point, draw_amounts, draw_calibration, draw_course, draw_stacks
from drill.progress.kept_passes import Passes, Underway
from drill.progress.log_pass import PassBasis, Week
from drill.store import Store
from drill.store.models import Player
from drill.store.sittings import SessionFigures, all_sittings
from drill.words import gettext as _
from drill.words import say, say_day, say_number

#: After so many days without practice the page says how the plan takes it.
BREAK_TOLD: Final = timedelta(days=4)
#: The most sessions that are drawn.
MOST_SESSIONS: Final = 60

Table = tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class CaptionedGraph:
    """One thing to see: what it is, in words, drawn (an empty text where there is too little), and the
    table behind it, its heads first."""

    title: str
    words: tuple[Message, ...]
    drawing: str
    table: Table


@dataclass(frozen=True)
class Course:
    """How practice went: a word on the whole, the figures, one per key, and the model against the log."""

    words: tuple[Message, ...]
    figures: tuple[CaptionedGraph, ...]
    keys: tuple[CaptionedGraph, ...]
    honest: CaptionedGraph


def course(store: Store, player_id: int, passes: Passes, now: datetime) -> Course | Underway:
    """A player's course until ``now``, or how far the way through the log has come."""
    found = passes.look(store, player_id, now)
    if isinstance(found, Underway):
        return found
    weeks = found.weeks
    with store.reading() as db:
        sittings = all_sittings(db, player_id)
        frame = PassBasis.of(db, db.get_one(Player, player_id))
    honest = honesty(found.predictions)
    if not weeks or found.last_at is None:
        return Course((message("course-none"),), (), (), honest)
    figures = (known(weeks), whole(weeks), seconds(weeks), minutes(weeks, sittings, frame), outcomes(sittings))
    return Course(standing_words(weeks, now - found.last_at), figures, by_key(weeks), honest)


def standing_words(weeks: Sequence[Week], away: timedelta) -> tuple[Message, ...]:
    """How much would be clean now; and, after an absence, what comes first."""
    last = weeks[-1]
    said = message("course-whole", clean=round(last.whole * last.cards), cards=last.cards)
    return (said, message("course-away", count=away.days)) if away >= BREAK_TOLD else (said,)


def known(weeks: Sequence[Week]) -> CaptionedGraph:
    """How many of the cards met so far would be clean: it grows also while new ones come in."""
    values = [week.whole * week.cards for week in weeks]
    rows = (
        (_("Week from"), _("Would be clean")),
        *((say_day(week.monday), f"{value:.0f}") for week, value in zip(weeks, values, strict=True)),
    )
    title = _("Cards that would be clean")
    if len(values) < 2 or not max(values):
        return CaptionedGraph(title, (), "", rows)
    words = message("course-known", first=round(values[0]), last=round(values[-1]), count=len(values))
    return CaptionedGraph(title, (words,), draw_amounts(title, say(words), _spread(values), _ends(weeks), ""), rows)


def whole(weeks: Sequence[Week]) -> CaptionedGraph:
    """The fluency of all cards met so far."""
    rows = (
        (_("Week from"), _("Of 100 clean"), _("Cards met"), _("Answers")),
        *((say_day(week.monday), _percent(week.whole), str(week.cards), str(week.answers)) for week in weeks),
    )
    return _line(_("Fluency of all cards met"), [week.whole for week in weeks], weeks, rows)


def by_key(weeks: Sequence[Week]) -> tuple[CaptionedGraph, ...]:
    """The fluency of each key, in the order of keys."""
    found = []
    for key in KEYS:
        ours = [week for week in weeks if key.slug in week.keys]
        if ours:
            found.append(_key_figure(key, ours))
    return tuple(found)


def seconds(weeks: Sequence[Week]) -> CaptionedGraph:
    """Seconds to a right answer."""
    timed = [(place, week.seconds) for place, week in enumerate(weeks) if week.seconds is not None]
    rows = (
        (_("Week from"), _("Seconds, median")),
        *((say_day(week.monday), "–" if week.seconds is None else say_number(week.seconds, 1)) for week in weeks),
    )
    title = _("Seconds to a right answer")
    if len(timed) < 2:
        return CaptionedGraph(title, (), "", rows)
    words = message("course-seconds", first=say_number(timed[0][1], 1), last=say_number(timed[-1][1], 1))
    points = [(place / (len(weeks) - 1), value) for place, value in timed]
    return CaptionedGraph(title, (words,), draw_amounts(title, say(words), points, _ends(weeks), _("s")), rows)


def minutes(weeks: Sequence[Week], sittings: Sequence[SessionFigures], frame: PassBasis) -> CaptionedGraph:
    """Minutes drilled in each week."""
    drilled = {week.monday: 0.0 for week in weeks}
    for each in sittings:
        monday = frame.week_of(each.started_at)
        drilled[monday] = drilled.get(monday, 0.0) + each.seconds / 60
    rows = (
        (_("Week from"), _("Minutes")),
        *((say_day(monday), f"{drilled[monday]:.0f}") for monday in sorted(drilled)),
    )
    title, amounts = _("Minutes drilled"), [drilled[monday] for monday in sorted(drilled)]
    most = max(amounts)
    if len(amounts) < 2 or not most:
        return CaptionedGraph(title, (), "", rows)
    words = message("course-minutes", total=round(sum(amounts)), count=len(amounts), most=round(most))
    return CaptionedGraph(
        title, (words,), draw_amounts(title, say(words), _spread(amounts), _ends(weeks), _("min")), rows
    )


def outcomes(sittings: Sequence[SessionFigures]) -> CaptionedGraph:
    """Clean, late and missed answers of each session."""
    shown = sittings[-MOST_SESSIONS:]
    rows = (
        (_("Session"), _("Clean"), _("Late"), _("Missed")),
        *((say_day(each.started_at.date()), str(each.clean), str(each.late), str(each.missed)) for each in shown),
    )
    stacks = [(each.clean, each.late, each.missed) for each in shown]
    clean, late, missed = (sum(column) for column in zip(*stacks, strict=True)) if stacks else (0, 0, 0)
    words = message("course-outcomes", count=len(shown), clean=clean, late=late, missed=missed)
    title = _("Outcomes of each session")
    if not stacks:
        return CaptionedGraph(title, (), "", rows)
    ends = say_day(shown[0].started_at.date()), say_day(shown[-1].started_at.date())
    return CaptionedGraph(title, (words,), draw_stacks(title, say(words), stacks, ends), rows)


def honesty(predictions: calibration.Predictions) -> CaptionedGraph:
    """What the model said against what came of it."""
    found = calibration.groups(predictions)
    words = calibration.words(found, len(predictions))
    rows = (
        (_("Predicted"), _("Actually clean"), _("Answers"), _("By chance within")),
        *((_percent(each.said), _percent(each.seen), str(each.count), f"± {_percent(each.margin)}") for each in found),
    )
    title = _("Predicted and actual")
    points = [(each.said, each.seen, each.margin) for each in found]
    drawing = draw_calibration(title, " ".join(map(say, words)), points) if found else ""
    return CaptionedGraph(title, words, drawing, rows if found else ())


def _key_figure(key: Key, weeks: Sequence[Week]) -> CaptionedGraph:
    values = [week.keys[key.slug] for week in weeks]
    rows = (
        (_("Week from"), _("Of 100 clean")),
        *((say_day(week.monday), _percent(week.keys[key.slug])) for week in weeks),
    )
    return _line(str(key), values, weeks, rows)


def _line(title: str, values: Sequence[float], weeks: Sequence[Week], rows: Table) -> CaptionedGraph:
    if len(values) < 2:
        return CaptionedGraph(title, (), "", rows)
    words = message("course-line", first=_percent(values[0]), last=_percent(values[-1]), count=len(values))
    return CaptionedGraph(title, (words,), draw_course(title, say(words), _spread(values), _ends(weeks)), rows)


def _spread(values: Sequence[float]) -> list[Point]:
    return [(place / (len(values) - 1), value) for place, value in enumerate(values)]


def _ends(weeks: Sequence[Week]) -> tuple[str, str]:
    return say_day(weeks[0].monday), say_day(weeks[-1].monday)


def _percent(share: float) -> str:
    return str(round(100 * share))
