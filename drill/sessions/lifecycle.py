"""A session from its first card to its end: the stored plan, the tab that holds it, and how far it has come.

Conventions. A session's questions are numbered as they were planned. A question that comes back after a miss,
or that was planned when the first ones ran out (:mod:`drill.sessions.pacing`), has the next free number, and
``after`` says where it belongs. Only visible time counts, as the page reports it. A session runs until it is
ended, its time is up, its questions are answered, or the player's day is over. A player has one session at a
time. What it is drawn and judged by (hand, tempo, …) is fixed when it starts. A session may have a focus:
skills that the cards it is weighted to have in common (:mod:`drill.planning.focus`). Any other session is aimed
at the next jam (:mod:`drill.jams.aim`), unless the player wants another jam, or none.
"""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy.orm import Session

from cards.messages import RefusalError
from drill import clock
from drill.incoming.reading import HEX_ID
from drill.incoming.refusals import NotThereError
from drill.jams.aim import AimError, next_jam, night_ahead
from drill.planning.entry import HORIZON
from drill.planning.focus import FocusError
from drill.players.preferences import Preferences, kept_setting
from drill.sessions.last_look import LAST_LOOK_MINUTES
from drill.sessions.questions import ASKED_FOR, add_questions, in_order_of_play
from drill.store import Store
from drill.store.log import mistaps_of, reviews_of
from drill.store.models import DRILL, LAST_LOOK, DrillSession, Jam, Player, Question, Review
from drill.store.sittings import Progress, open_session, progress, questions_of, session_of

NEXT_JAM: Final = "next"
"""In place of a jam's id: the next jam, if there is one soon."""


class NoSessionError(NotThereError):
    """The player has no such session."""


class NothingToAskError(RefusalError):
    """No card that the player has switched on fits this guitar."""


class AlreadyRunningError(RefusalError):
    """The player already has a running session."""

    def __init__(self, running: Summary) -> None:
        super().__init__("a session is running already: go on with it, or end it first")
        self.running = running


@dataclass(frozen=True)
class Summary:
    """A session in short."""

    id: str
    minutes: int
    started_at: datetime
    visible_seconds: float
    answered: int
    tab: str


@dataclass(frozen=True)
class SessionView:
    """A session with everything that belongs to it.

    ``preferences`` are the player's, with the settings that the session fixed when it started. ``questions``
    are in the order of play, without those that were dropped before they were answered.
    """

    session: DrillSession
    preferences: Preferences
    questions: Sequence[Question]
    reviews: dict[int, Review]
    mistaps: frozenset[str]


def start(
    store: Store,
    player_id: int,
    minutes: int | None,
    tab: str,
    now: datetime,
    *,
    jam: str | None = NEXT_JAM,
    horizon: timedelta = HORIZON,
    session_id: str | None = None,
) -> str:
    """Start a session of ``minutes`` (None: the player's own length) in a tab, and return its id.

    ``jam`` is the id of the jam that it is aimed at. :data:`NEXT_JAM` takes the next one if there is one soon,
    and None aims at no jam. Without a jam the cards should be known by ``now + horizon``. The id is random
    unless a simulation gives one.

    Raises AlreadyRunningError, NoJamError, AimError, NothingToAskError.
    """
    with store.writing(player_id) as (db, player):
        session = _open_new(db, player, minutes or player.minutes, tab, now, session_id)
        ahead = _find_jam(db, player, jam, now)
        if not _plan_first(db, player, session, now, jam=ahead, horizon=_time_until(ahead, now, horizon)):
            raise NothingToAskError(
                "no card is left to ask: Settings leave none that your guitar has room for, so switch something on"
            )
        return session.id


def start_with_focus(
    store: Store,
    player_id: int,
    minutes: int | None,
    tab: str,
    now: datetime,
    *,
    focus: Sequence[str],
    horizon: timedelta = HORIZON,
) -> str:
    """Start a session that is weighted to the cards with all skills of ``focus``, and return its id.

    Raises AlreadyRunningError, FocusError.
    """
    with store.writing(player_id) as (db, player):
        session = _open_new(db, player, minutes or player.minutes, tab, now)
        session.focus = list(focus)
        questions = _plan_first(db, player, session, now, jam=None, horizon=horizon)
        if not any(question.reason == ASKED_FOR for question in questions):
            raise FocusError("nothing of it is open yet: first come the one, the four and the five of its key")
        return session.id


def start_last_look(store: Store, player_id: int, tab: str, now: datetime, *, jam: str | None = NEXT_JAM) -> str:
    """Start the last look at a jam, five minutes before going on stage, and return its id.

    Raises AlreadyRunningError, NoJamError, AimError.
    """
    with store.writing(player_id) as (db, player):
        session = _open_new(db, player, LAST_LOOK_MINUTES, tab, now)
        session.kind = LAST_LOOK
        ahead = _find_jam(db, player, jam, now)
        if not _plan_first(db, player, session, now, jam=ahead, horizon=_time_until(ahead, now, HORIZON)):
            raise AimError("none of its chords has room on your guitar: there is nothing to look at")
        return session.id


def _open_new(
    db: Session, player: Player, minutes: int, tab: str, now: datetime, session_id: str | None = None
) -> DrillSession:
    """Return a new session of the player's, after ending the one before it.

    Raises AlreadyRunningError if that one is still running.
    """
    before = open_session(db, player.id)
    if before is not None:
        if not _is_over(before, progress(db, before.id), now):
            raise AlreadyRunningError(_summary(db, before))
        before.ended_at = now
        db.flush()  # Only one session per player may be open, so this one has to end before the next is inserted.
    player.settled = True
    session = new_session(player, minutes, tab, now, session_id)
    session.kind = DRILL
    return session


def _plan_first(
    db: Session, player: Player, session: DrillSession, now: datetime, *, jam: Jam | None, horizon: timedelta
) -> list[Question]:
    """Store a session that is aimed at ``jam`` with its first questions, and return these."""
    session.jam_id = jam.id if jam else None
    session.horizon_days = horizon / timedelta(days=1)
    db.add(session)
    db.flush()
    return add_questions(db, player, session, session.minutes, now, first=0)


def _time_until(jam: Jam | None, now: datetime, horizon: timedelta) -> timedelta:
    """Return how long from now the cards should be known: until the jam, or ``horizon`` if there is none."""
    return max(jam.at, now) - now if jam else horizon


def _find_jam(db: Session, player: Player, wanted: str | None, now: datetime) -> Jam | None:
    """Return the jam that a session is aimed at. Raises NoJamError, AimError."""
    if wanted == NEXT_JAM:
        return next_jam(db, player.id, now)
    return None if wanted is None else night_ahead(db, player, wanted, now).jam


def running(db: Session, player_id: int, now: datetime) -> Summary | None:
    """Return the session that can be resumed, or None."""
    session = open_session(db, player_id)
    if session is None or _is_over(session, progress(db, session.id), now):
        return None
    return _summary(db, session)


def session_view(store: Store, player_id: int, session_id: str) -> SessionView:
    """Return a session with its questions and reviews. Raises NoSessionError."""
    with store.reading() as db:
        session = find_session(db, player_id, session_id)
        reviews = reviews_of(db, session_id)
        order = in_order_of_play(questions_of(db, session_id))
        return SessionView(
            session,
            _with_fixed_settings(Preferences.of(db.get_one(Player, player_id)), session),
            tuple(question for question in order if not question.dropped or question.question in reviews),
            reviews,
            mistaps_of(db, session_id),
        )


def move_to_tab(store: Store, player_id: int, session_id: str, tab: str) -> None:
    """Let this tab hold the session. The tab before learns of it with its next answer.

    Raises NoSessionError.
    """
    with store.writing(player_id) as (db, _):
        find_session(db, player_id, session_id).tab = tab


def end(store: Store, player_id: int, session_id: str, visible_seconds: float, now: datetime) -> None:
    """End a session. One that has ended stays as it is. Raises NoSessionError."""
    with store.writing(player_id) as (db, _):
        session = find_session(db, player_id, session_id)
        if session.ended_at is None:
            session.visible_seconds = max(session.visible_seconds, visible_seconds)
            session.ended_at = now


def find_session(db: Session, player_id: int, session_id: str) -> DrillSession:
    """Return the player's session with this id. Raises NoSessionError."""
    session = session_of(db, player_id, session_id) if HEX_ID.match(session_id) else None
    if session is None:
        raise NoSessionError("there is no such session: start one from the first page")
    return session


def time_is_up(session: DrillSession, now: datetime) -> bool:
    """Whether no further question may be asked. The card under way may be finished."""
    return session.ended_at is not None or now >= session.until or session.visible_seconds >= session.minutes * 60


def _is_over(session: DrillSession, so_far: Progress, now: datetime) -> bool:
    return time_is_up(session, now) or so_far.answered == so_far.questions


def _summary(db: Session, session: DrillSession) -> Summary:
    answered = progress(db, session.id).answered
    return Summary(session.id, session.minutes, session.started_at, session.visible_seconds, answered, session.tab)


def _with_fixed_settings(preferences: Preferences, session: DrillSession) -> Preferences:
    return replace(preferences, tempo=session.tempo, **kept_setting(session))


def new_session(player: Player, minutes: int, tab: str, now: datetime, session_id: str | None = None) -> DrillSession:
    """Return a session with the player's present settings. It is not stored."""
    _, until = clock.day_bounds(now, player.zone, player.day_start)
    return DrillSession(
        id=session_id or secrets.token_hex(16),
        player_id=player.id,
        minutes=minutes,
        tempo=player.tempo,
        **kept_setting(player),
        started_at=now,
        until=until,
        visible_seconds=0.0,
        tab=tab,
        ended_at=None,
    )
