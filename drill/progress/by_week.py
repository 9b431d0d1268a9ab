"""How practice went, week by week: words, a drawing, and the table behind the drawing.

Conventions. Days without practice are not counted. After an absence the page says what the next session begins with.
Drawings go from the first week to the current one.
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

#: The shortest absence that the page mentions.
BREAK_TOLD: Final = timedelta(days=4)
#: The most sessions that are drawn.
MOST_SESSIONS: Final = 60

Table = tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class CaptionedGraph:
    """One graph: its title, its words, its drawing, and its table with the heads first.

    ``drawing`` is empty if there is too little to draw.
    """

    title: str
    words: tuple[Message, ...]
    drawing: str
    table: Table


@dataclass(frozen=True)
class Course:
    """How practice went: words on the whole, the figures, one figure for each key, and the model against the log."""

    words: tuple[Message, ...]
    figures: tuple[CaptionedGraph, ...]
    keys: tuple[CaptionedGraph, ...]
    honest: CaptionedGraph


def course(store: Store, player_id: int, passes: Passes, now: datetime) -> Course | Underway:
    """Return a player's course until ``now``, or how far the pass through the log has come."""
    passed = passes.look(store, player_id, now)
    if isinstance(passed, Underway):
        return passed
    weeks = passed.weeks
    with store.reading() as db:
        sittings = all_sittings(db, player_id)
        basis = PassBasis.of(db, db.get_one(Player, player_id))
    honest = honesty(passed.predictions)
    if not weeks or passed.last_at is None:
        return Course((message("course-none"),), (), (), honest)
    figures = (known(weeks), whole(weeks), seconds(weeks), minutes(weeks, sittings, basis), outcomes(sittings))
    return Course(standing_words(weeks, now - passed.last_at), figures, by_key(weeks), honest)


def standing_words(weeks: Sequence[Week], away: timedelta) -> tuple[Message, ...]:
    """Say how many cards would be clean now and, after an absence, what comes first."""
    last = weeks[-1]
    standing = message("course-whole", clean=round(last.whole * last.cards), cards=last.cards)
    return (standing, message("course-away", count=away.days)) if away >= BREAK_TOLD else (standing,)


def known(weeks: Sequence[Week]) -> CaptionedGraph:
    """Return the graph of how many cards would be clean; it also grows when new cards come in."""
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
    """Return the graph of the fluency of all cards met so far."""
    rows = (
        (_("Week from"), _("Of 100 clean"), _("Cards met"), _("Answers")),
        *((say_day(week.monday), _percent(week.whole), str(week.cards), str(week.answers)) for week in weeks),
    )
    return _line(_("Fluency of all cards met"), [week.whole for week in weeks], weeks, rows)


def by_key(weeks: Sequence[Week]) -> tuple[CaptionedGraph, ...]:
    """Return one graph of fluency for each key, in the order of keys."""
    graphs = []
    for key in KEYS:
        weeks_of_key = [week for week in weeks if key.slug in week.keys]
        if weeks_of_key:
            graphs.append(_key_figure(key, weeks_of_key))
    return tuple(graphs)


def seconds(weeks: Sequence[Week]) -> CaptionedGraph:
    """Return the graph of the seconds to a right answer."""
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


def minutes(weeks: Sequence[Week], sittings: Sequence[SessionFigures], basis: PassBasis) -> CaptionedGraph:
    """Return the graph of the minutes drilled in each week."""
    drilled = {week.monday: 0.0 for week in weeks}
    for sitting in sittings:
        monday = basis.week_of(sitting.started_at)
        drilled[monday] = drilled.get(monday, 0.0) + sitting.seconds / 60
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
    """Return the graph of clean, late and missed answers in each session."""
    shown = sittings[-MOST_SESSIONS:]
    rows = (
        (_("Session"), _("Clean"), _("Late"), _("Missed")),
        *(
            (say_day(sitting.started_at.date()), str(sitting.clean), str(sitting.late), str(sitting.missed))
            for sitting in shown
        ),
    )
    stacks = [(sitting.clean, sitting.late, sitting.missed) for sitting in shown]
    clean, late, missed = (sum(column) for column in zip(*stacks, strict=True)) if stacks else (0, 0, 0)
    words = message("course-outcomes", count=len(shown), clean=clean, late=late, missed=missed)
    title = _("Outcomes of each session")
    if not stacks:
        return CaptionedGraph(title, (), "", rows)
    ends = say_day(shown[0].started_at.date()), say_day(shown[-1].started_at.date())
    return CaptionedGraph(title, (words,), draw_stacks(title, say(words), stacks, ends), rows)


def honesty(predictions: calibration.Predictions) -> CaptionedGraph:
    """Return the graph of predicted and actual shares."""
    groups = calibration.groups(predictions)
    words = calibration.words(groups, len(predictions))
    rows = (
        (_("Predicted"), _("Actually clean"), _("Answers"), _("By chance within")),
        *(
            (_percent(group.predicted), _percent(group.actual), str(group.count), f"± {_percent(group.margin)}")
            for group in groups
        ),
    )
    title = _("Predicted and actual")
    points = [(group.predicted, group.actual, group.margin) for group in groups]
    drawing = draw_calibration(title, " ".join(map(say, words)), points) if groups else ""
    return CaptionedGraph(title, words, drawing, rows if groups else ())


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
