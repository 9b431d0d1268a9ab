"""The tables, as SQLAlchemy models. Alembic owns the schema: see ``migrations``.

Conventions. Instants are UTC. ``player_id`` is in every table, so that whatever belongs to one player can be
found, locked and exported by it. Reviews and mis-taps are the log: rows are appended, and triggers refuse to
change or delete one. Everything else about a player's memory can be rebuilt from them
(:func:`drill.learning.learn.relearn`).
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any, Final

from sqlalchemy import (
    JSON,
    CheckConstraint,
    DateTime,
    Dialect,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    LargeBinary,
    MetaData,
    String,
    TypeDecorator,
    UniqueConstraint,
    false,
    text,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column


class Instant(TypeDecorator[datetime]):
    """An aware ``datetime`` in UTC, also on SQLite, which stores no zone."""

    impl = DateTime(timezone=True)
    cache_ok = True

    @property
    def python_type(self) -> type[datetime]:
        """The type of a value in Python."""
        return datetime

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Refuse an instant without a zone, and store the others in UTC. Raises ValueError."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"{value} has no zone: an instant is in UTC")
        return value.astimezone(UTC)

    def result_processor(self, dialect: Dialect, coltype: object) -> Callable[[Any], datetime | None] | None:
        """Return a function that gives the instant its zone back. On SQLite it parses the text here, since a
        plan reads thousands."""
        if dialect.name == "sqlite":
            return lambda text: None if text is None else datetime.fromisoformat(f"{text}+00:00")
        return lambda value: None if value is None else value.astimezone(UTC)


class PlainInstant(Instant):
    """An instant as numpy takes thousands of them at once: in UTC without its zone. On SQLite it is the stored
    text."""

    cache_ok = True

    def result_processor(self, dialect: Dialect, coltype: object) -> Callable[[Any], datetime | None] | None:
        """Return None on SQLite, which leaves the text as it is."""
        if dialect.name == "sqlite":
            return None
        return lambda value: None if value is None else value.astimezone(UTC).replace(tzinfo=None)


class Base(DeclarativeBase):
    """What the models share: constraint names that later migrations can rely on."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map = {datetime: Instant, dict[str, Any]: JSON, list[str]: JSON, list[int]: JSON}  # noqa: RUF012


KEYED: Final = {"sqlite_with_rowid": False}
"""The options of a table that SQLite keeps in the order of its primary key, so that an answer writes fewer
pages."""


DRILL: Final = "drill"
LAST_LOOK: Final = "last look"
PLAY_ALONG: Final = "play along"
KINDS: Final = (DRILL, LAST_LOOK, PLAY_ALONG)
"""The kinds of sessions. A last look is played right before going on stage."""

EVERY_DAY: Final = """'["mon", "tue", "wed", "thu", "fri", "sat", "sun"]'"""


class PlayedSetting:
    """What cards are drawn and judged by: the tempo, and the columns of :class:`cards.asks.Setting`.

    A player sets them. A session keeps those with which it began.
    """

    tempo: Mapped[int]
    hand: Mapped[str] = mapped_column(String(8))
    left_handed: Mapped[bool]
    richer: Mapped[bool]
    thumb: Mapped[bool]
    band: Mapped[bool]
    barre: Mapped[str] = mapped_column(String(8), server_default=text("'full'"))
    pins: Mapped[list[str]] = mapped_column(default=list, server_default=text("'[]'"))
    """The grips that the player wants to see first (:mod:`drill.players.pins`)."""
    tuning: Mapped[str] = mapped_column(String(64))
    capo: Mapped[int]
    frets: Mapped[int]
    scale_mm: Mapped[float]
    highest: Mapped[int]


class Player(PlayedSetting, Base):
    """A guitarist with the guitarist's settings (:class:`drill.players.preferences.Preferences`)."""

    __tablename__ = "players"

    id: Mapped[int] = mapped_column(primary_key=True)
    created_at: Mapped[datetime]
    settled: Mapped[bool]
    """Whether the questions of the first visit were answered or skipped."""
    keys: Mapped[list[str]]
    minutes: Mapped[int]
    switched_off: Mapped[list[str]]
    days: Mapped[list[str]] = mapped_column(server_default=text(EVERY_DAY))
    day_start: Mapped[int]
    zone: Mapped[str] = mapped_column(String(64))
    why: Mapped[bool] = mapped_column(server_default=false())
    language: Mapped[str] = mapped_column(String(35), server_default=text("'en'"))
    """The language that the player reads, as browsers name it."""
    fit: Mapped[int] = mapped_column(server_default=text("0"))
    """The version of the parameters that memory is computed with; 0 for those that everybody starts from."""


class DrillSession(PlayedSetting, Base):
    """One sitting: its length, what it was drawn and judged by, and the tab that holds it."""

    __tablename__ = "sessions"
    __table_args__ = (
        # One running session per player, also when two tabs start at once.
        Index(
            "ix_sessions_running",
            "player_id",
            unique=True,
            sqlite_where=text("ended_at IS NULL"),
            postgresql_where=text("ended_at IS NULL"),
        ),
        Index("ix_sessions_player_started", "player_id", "started_at"),
    )

    id: Mapped[str] = mapped_column(String(32), primary_key=True)
    player_id: Mapped[int] = mapped_column(ForeignKey("players.id"))
    minutes: Mapped[int]
    started_at: Mapped[datetime]
    until: Mapped[datetime]
    """The end of the player's day on which it was started. It can be resumed until then."""
    visible_seconds: Mapped[float]
    tab: Mapped[str] = mapped_column(String(64))
    ended_at: Mapped[datetime | None]
    focus: Mapped[list[str] | None] = mapped_column(JSON(none_as_null=True))
    """The skills that it is weighted to, or None."""
    tired: Mapped[bool] = mapped_column(default=False, server_default=false())
    """Whether the player's hand is tired, so that no further card needs it."""
    horizon_days: Mapped[float] = mapped_column(server_default=text("14"))
    """Days from its start until its cards should be known."""
    kind: Mapped[str] = mapped_column(String(16), server_default=text(f"'{DRILL}'"))
    """One of :data:`KINDS`."""
    jam_id: Mapped[str | None] = mapped_column(String(32))
    """The jam that it is aimed at or belongs to, or None."""


class Question(Base):
    """A card of a session's plan, and the reason that it was chosen."""

    __tablename__ = "questions"
    __table_args__ = KEYED

    session_id: Mapped[str] = mapped_column(ForeignKey("sessions.id"), primary_key=True)
    question: Mapped[int] = mapped_column(primary_key=True)
    player_id: Mapped[int] = mapped_column(ForeignKey("players.id"))
    card: Mapped[str] = mapped_column(String(64))
    after: Mapped[int | None]
    """The question that it comes after, or None if it comes in its turn. A missed card that comes back has one."""
    reason: Mapped[str] = mapped_column(String(32))
    reason_values: Mapped[dict[str, Any]]
    predicted_seconds: Mapped[float]
    beats: Mapped[float | None]
    """How long the chord lasts in its tune, in beats. None: as long as the card's own music."""
    dropped: Mapped[bool] = mapped_column(default=False, server_default=false())
    """Whether it is no longer asked, because the player's hand is tired. An answer on its way is still taken."""


class Review(Base):
    """One answer to one card, with everything that it was judged by. It is never changed and never deleted."""

    __tablename__ = "reviews"
    __table_args__ = (
        UniqueConstraint("session_id", "question"),
        ForeignKeyConstraint(["session_id", "question"], ["questions.session_id", "questions.question"]),
        CheckConstraint("outcome IN ('clean', 'late', 'missed')", name="outcome"),
        Index("ix_reviews_player_answered", "player_id", "answered_at", "id"),
    )

    id: Mapped[str] = mapped_column(String(32), primary_key=True)
    player_id: Mapped[int] = mapped_column(ForeignKey("players.id"))
    session_id: Mapped[str] = mapped_column(String(32))
    question: Mapped[int]
    card: Mapped[str] = mapped_column(String(64))
    outcome: Mapped[str] = mapped_column(String(8))
    right: Mapped[bool]
    seconds: Mapped[float | None]
    """From the question's first paint to the check. None if the page was hidden meanwhile, or if the click of a
    tune was the clock."""
    allowance: Mapped[float]
    """Seconds granted for tapping this answer, in addition to the length of the music."""
    tempo: Mapped[int]
    mode: Mapped[str] = mapped_column(String(16))
    given: Mapped[dict[str, Any]]
    drawn: Mapped[dict[str, Any]]
    answered_at: Mapped[datetime]
    received_at: Mapped[datetime]


class Mistap(Base):
    """A slip that the player took back. The review stays; memory leaves it out."""

    __tablename__ = "mistaps"

    review_id: Mapped[str] = mapped_column(ForeignKey("reviews.id"), primary_key=True)
    player_id: Mapped[int] = mapped_column(ForeignKey("players.id"), index=True)
    received_at: Mapped[datetime]


class MemoryRow(Base):
    """One offset of a player's memory. The columns are the fields of :class:`drill.memory.rows.Row`."""

    __tablename__ = "memory_rows"
    __table_args__ = KEYED

    player_id: Mapped[int] = mapped_column(ForeignKey("players.id"), primary_key=True)
    name: Mapped[str] = mapped_column(String(80), primary_key=True)
    at: Mapped[datetime]
    mean: Mapped[float]
    variance: Mapped[float]
    pace: Mapped[float]
    pace_variance: Mapped[float]
    successes: Mapped[float]
    failures: Mapped[float]
    recent_successes: Mapped[float]
    recent_failures: Mapped[float]
    last: Mapped[int]
    hold: Mapped[float] = mapped_column(server_default=text("0"))


class LastAnswer(Base):
    """The player's last review of a card, so that a plan need not read the whole log."""

    __tablename__ = "last_answers"
    __table_args__ = KEYED

    player_id: Mapped[int] = mapped_column(ForeignKey("players.id"), primary_key=True)
    card: Mapped[str] = mapped_column(String(64), primary_key=True)
    reviews: Mapped[int]
    answered_at: Mapped[datetime]
    outcome: Mapped[str] = mapped_column(String(8))


class KeptCheckpoint(Base):
    """A player's whole memory after so many answers, the last of them being ``review_id``."""

    __tablename__ = "checkpoints"

    player_id: Mapped[int] = mapped_column(ForeignKey("players.id"), primary_key=True)
    answers: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    answered_at: Mapped[datetime]
    review_id: Mapped[str] = mapped_column(String(32))
    memory: Mapped[bytes] = mapped_column(LargeBinary)


class KeptPass(Base):
    """A pass through a player's log as far as it has come (:mod:`drill.progress.log_pass`), and what it depends
    on beside the log."""

    __tablename__ = "passes"

    player_id: Mapped[int] = mapped_column(ForeignKey("players.id"), primary_key=True)
    frame: Mapped[dict[str, Any]]
    state: Mapped[bytes] = mapped_column(LargeBinary)


class Fit(Base):
    """Parameters fitted to a player's log, and whether they were better on its last weeks."""

    __tablename__ = "fits"

    player_id: Mapped[int] = mapped_column(ForeignKey("players.id"), primary_key=True)
    version: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    made_at: Mapped[datetime]
    parameters: Mapped[dict[str, Any]]
    loss_before: Mapped[float]
    """Log loss, in nats, on the last weeks with the parameters that were in use."""
    loss_after: Mapped[float]
    """Log loss, in nats, on the last weeks with these parameters."""
    adopted: Mapped[bool]


class Job(Base):
    """Something that is done for a player at intervals: when it is due, and which process holds it."""

    __tablename__ = "jobs"

    player_id: Mapped[int] = mapped_column(ForeignKey("players.id"), primary_key=True)
    name: Mapped[str] = mapped_column(String(32), primary_key=True)
    due_at: Mapped[datetime]
    ran_at: Mapped[datetime | None]
    holder: Mapped[str | None] = mapped_column(String(64))
    held_until: Mapped[datetime | None]


class Tune(Base):
    """A title and a chart, without the words of the song (:mod:`cards.charts.keeping`)."""

    __tablename__ = "tunes"

    id: Mapped[str] = mapped_column(String(32), primary_key=True)
    player_id: Mapped[int] = mapped_column(ForeignKey("players.id"), index=True)
    title: Mapped[str] = mapped_column(String(120))
    chart: Mapped[dict[str, Any]]
    made_at: Mapped[datetime]
    changed_at: Mapped[datetime]
    deleted_at: Mapped[datetime | None]
    """When it was deleted, or None. Jams that have it in their set list still show it."""


class Jam(Base):
    """A date with a set list."""

    __tablename__ = "jams"

    id: Mapped[str] = mapped_column(String(32), primary_key=True)
    player_id: Mapped[int] = mapped_column(ForeignKey("players.id"), index=True)
    name: Mapped[str] = mapped_column(String(120))
    at: Mapped[datetime]
    place: Mapped[str] = mapped_column(String(120))
    boxes: Mapped[list[int]]
    """The boxes, 1–5, in which the player wants to have every chord; 0 is the place nearest to the nut."""
    made_at: Mapped[datetime]
    deleted_at: Mapped[datetime | None]


class SetListEntry(Base):
    """A tune in a jam's set list, with the key and the tempo for that night. None stands for the tune's own."""

    __tablename__ = "set_list"
    __table_args__ = (Index("ix_set_list_jam_position", "jam_id", "position"),)

    id: Mapped[str] = mapped_column(String(32), primary_key=True)
    player_id: Mapped[int] = mapped_column(ForeignKey("players.id"))
    jam_id: Mapped[str] = mapped_column(ForeignKey("jams.id"))
    position: Mapped[int]
    tune_id: Mapped[str] = mapped_column(ForeignKey("tunes.id"))
    key: Mapped[str | None] = mapped_column(String(16))
    tempo: Mapped[int | None]
