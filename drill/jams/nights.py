"""Jams: a date with a set list, each tune in the key called that night and at its own tempo.

Conventions. The key called that night transposes the tune on the set list; the kept tune does not change. A jam's
time is entered and shown in the player's zone and stored in UTC. A deleted jam is only hidden and can be restored. A
jam is past when the player's day of the jam is over. A past jam cannot be changed, but it shows its tunes as they are
now.
"""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any, Final
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from cards.charts import Chart
from cards.guitar.regions import BOXES, OPEN
from cards.messages import RefusalError, refusal
from cards.theory.keys import Key
from drill import clock
from drill.incoming.reading import HEX_ID, on_one_line
from drill.incoming.refusals import FieldError, NotThereError
from drill.store import Store
from drill.store.models import Jam, Player, SetListEntry, Tune
from drill.store.setlists import jam_of, jams_of, set_list_of
from drill.tunes.library import chart_of

LONGEST_NAME: Final = 120
FARTHEST: Final = timedelta(days=731)
"""The longest time ahead that a jam may be; a later date is a slip in the year."""


class NoJamError(NotThereError):
    """The player has no such jam."""


class JamError(FieldError):
    """A jam that cannot be stored."""


class ClosedError(RefusalError):
    """The jam is past or deleted, so it cannot be changed; the message says what the player can do."""


class JamChangedError(RefusalError):
    """A value was changed since the sender read it; ``field`` names the value."""

    def __init__(self, field: str) -> None:
        super().__init__("the {field} was changed elsewhere since you read it", field=_FIELDS[field])
        self.field = field


_FIELDS: Final = {
    "name": refusal("name"),
    "at": refusal("date"),
    "place": refusal("place"),
    "boxes": refusal("boxes"),
}
"""The name that an error uses for each value of a jam."""


@dataclass(frozen=True)
class NightTune:
    """A tune of a set list as it is played that night.

    ``chart`` is in the key called, ``own_key`` is the key of the kept tune, ``tempo`` is in beats per minute.
    ``called`` and ``set_tempo`` are the key and the tempo set for that night, or None.
    """

    id: str
    tune_id: str
    title: str
    chart: Chart
    own_key: Key
    tempo: int
    called: str | None
    set_tempo: int | None
    deleted: bool = False
    """Whether the player has deleted the tune."""

    @property
    def key(self) -> Key:
        """The key that the tune is played in that night."""
        return self.chart.key


@dataclass(frozen=True)
class Night:
    """A jam with its set list in order; ``local`` is its time in the player's zone."""

    jam: Jam
    entries: tuple[NightTune, ...]
    local: datetime
    past: bool
    """Whether the player's day of the jam is over."""
    days: int
    """The player's days from now to the jam; negative if it is past."""


def night(store: Store, player_id: int, jam_id: str, now: datetime) -> Night:
    """Return a jam with its set list. Raises NoJamError."""
    with store.reading() as db:
        return night_of(db, db.get_one(Player, player_id), jam_id, now)


def nights(store: Store, player_id: int, now: datetime) -> Sequence[Night]:
    """Return the player's jams by date, without the deleted ones."""
    with store.reading() as db:
        player = db.get_one(Player, player_id)
        return [_night_of_jam(db, player, jam, now) for jam in jams_of(db, player_id)]


def night_of(db: Session, player: Player, jam_id: str, now: datetime) -> Night:
    """Return a jam with its set list, within a transaction. Raises NoJamError."""
    return _night_of_jam(db, player, _owned_jam(db, player.id, jam_id), now)


def make(store: Store, player_id: int, body: Mapping[str, object], now: datetime) -> str:
    """Make a jam from ``name``, ``at`` (local, like 2026-12-03T20:00), ``place`` and ``boxes``; return its id.

    The sender may choose the ``id``. Then a request that is sent twice makes one jam. Raises JamError.
    """
    with store.writing(player_id) as (db, player):
        values = {"place": "", "boxes": [1], **_read_values(body, player, now)}
        if "name" not in values:
            raise JamError("name", "a jam needs a name, like Open jam")
        if "at" not in values:
            raise JamError("at", "a jam needs a date and a time")
        return _make_or_update(db, player_id, body, values, now)[0].id


def change(store: Store, player_id: int, jam_id: str, body: Mapping[str, object], now: datetime) -> None:
    """Change any of a jam's values. ``was`` in the body may hold the values that the sender read.

    Raises NoJamError, ClosedError, JamError, JamChangedError.
    """
    was = body.get("was")
    with store.writing(player_id) as (db, player):
        jam = open_jam(db, player, jam_id, now)
        values = _read_values(body, player, now)
        if isinstance(was, Mapping):
            before = _read_values({name: was[name] for name in values if name in was}, player, None)
            for name, value in before.items():
                if value != getattr(jam, name) != values[name]:
                    raise JamChangedError(name)
        for name, value in values.items():
            setattr(jam, name, value)


def duplicate(store: Store, player_id: int, jam_id: str, body: Mapping[str, object], now: datetime) -> str:
    """Copy a jam with its set list to another date; return the id of the copy.

    The sender may choose the id, as for :func:`make`. Raises NoJamError, JamError.
    """
    with store.writing(player_id) as (db, player):
        jam = _owned_jam(db, player_id, jam_id)
        values = {"name": jam.name, "place": jam.place, "boxes": list(jam.boxes), **_read_values(body, player, now)}
        if "at" not in values:
            raise JamError("at", "the copy needs a date and a time of its own")
        copy, is_new = _make_or_update(db, player_id, body, values, now)
        for entry, _ in set_list_of(db, jam.id) if is_new else ():
            kept = {"position": entry.position, "tune_id": entry.tune_id, "key": entry.key, "tempo": entry.tempo}
            db.add(SetListEntry(id=_new_id(), player_id=player_id, jam_id=copy.id, **kept))
        return copy.id


def delete(store: Store, player_id: int, jam_id: str, now: datetime) -> None:
    """Delete a jam: hide it, so that it can be restored. Raises NoJamError."""
    with store.writing(player_id) as (db, _):
        _owned_jam(db, player_id, jam_id).deleted_at = now


def restore(store: Store, player_id: int, jam_id: str) -> None:
    """Restore a deleted jam. Raises NoJamError."""
    with store.writing(player_id) as (db, _):
        _owned_jam(db, player_id, jam_id).deleted_at = None


def open_jam(db: Session, player: Player, jam_id: str, now: datetime) -> Jam:
    """Return a jam that may be changed. Raises NoJamError, ClosedError."""
    jam = _owned_jam(db, player.id, jam_id)
    if jam.deleted_at is not None:
        raise ClosedError("this jam is deleted: have it back first")
    if _days_until(player, jam.at, now) < 0:
        raise ClosedError("this jam is over: duplicate it to play it again")
    return jam


def _make_or_update(
    db: Session, player_id: int, body: Mapping[str, object], values: Mapping[str, Any], now: datetime
) -> tuple[Jam, bool]:
    """Make a jam of these values under the id in the body, or under a new id.

    Return the jam and whether it is new. Raises JamError.
    """
    wanted = body.get("id")
    if wanted is not None and not (isinstance(wanted, str) and HEX_ID.match(wanted)):
        raise JamError("id", "an id is 32 digits from 0 to f")
    existing = None if wanted is None else db.get(Jam, wanted)
    if existing is not None:
        if existing.player_id != player_id:
            raise JamError("id", "that id is taken")
        # The reply was lost and the request was sent again, perhaps with other values: the last values count.
        for name, value in values.items():
            setattr(existing, name, value)
        return existing, False
    jam = Jam(id=wanted or _new_id(), player_id=player_id, made_at=now, deleted_at=None, **values)
    db.add(jam)
    db.flush()
    return jam, True


def _owned_jam(db: Session, player_id: int, jam_id: str) -> Jam:
    """Return the player's jam with this id, deleted or not. Raises NoJamError."""
    jam = jam_of(db, player_id, jam_id) if HEX_ID.match(jam_id) else None
    if jam is None:
        raise NoJamError("there is no such jam")
    return jam


def _new_id() -> str:
    return secrets.token_hex(16)


def _night_of_jam(db: Session, player: Player, jam: Jam, now: datetime) -> Night:
    entries = tuple(_night_tune(entry, tune, player) for entry, tune in set_list_of(db, jam.id))
    days = _days_until(player, jam.at, now)
    return Night(jam, entries, jam.at.astimezone(ZoneInfo(player.zone)), days < 0, days)


def _days_until(player: Player, then: datetime, now: datetime) -> int:
    """Return the number of the player's days from ``now`` to ``then``."""
    first, last = (clock.day_of(instant, player.zone, player.day_start) for instant in (now, then))
    return (last - first).days


def _night_tune(entry: SetListEntry, tune: Tune, player: Player) -> NightTune:
    own = chart_of(tune)
    played = own if entry.key is None else own.in_key(Key.read(entry.key))
    tempo = entry.tempo or round(own.tempo or 0) or player.tempo
    deleted = tune.deleted_at is not None
    return NightTune(entry.id, tune.id, tune.title, played, own.key, tempo, entry.key, entry.tempo, deleted)


def _read_values(body: Mapping[str, object], player: Player, now: datetime | None) -> dict[str, Any]:
    """Read the values of a jam from a body. If ``now`` is given, the time must be ahead of it. Raises JamError."""
    values: dict[str, Any] = {}
    if "name" in body:
        values["name"] = _text("name", body["name"])
        if not values["name"]:
            raise JamError("name", "a jam needs a name, like Open jam")
    if "at" in body:
        values["at"] = read_local(body["at"], player.zone)
        if now is not None:
            _check_ahead(player, values["at"], now)
    if "place" in body:
        values["place"] = _text("place", body["place"])
    if "boxes" in body:
        values["boxes"] = _boxes(body["boxes"])
    return values


def _check_ahead(player: Player, at: datetime, now: datetime) -> None:
    if at > now + FARTHEST:
        raise JamError("at", "that is more than two years ahead: is the year right?")
    if _days_until(player, at, now) < 0:
        raise JamError("at", "that day is over: a jam is today or on a day to come")


def _text(field: str, value: object) -> str:
    if not isinstance(value, str):
        raise JamError(field, "the {field} is a text", field=_FIELDS[field])
    text = on_one_line(value)
    if len(text) > LONGEST_NAME:
        raise JamError(field, "the {field} has at most {most} characters", field=_FIELDS[field], most=LONGEST_NAME)
    return text


def _boxes(value: object) -> list[int]:
    if (
        not isinstance(value, list)
        or not value
        or any(type(box) is not int or box not in (OPEN, *BOXES) for box in value)
    ):
        raise JamError("boxes", "choose at least one box, 1 to 5 or open")
    return sorted(set(value))


def read_local(value: object, zone: str) -> datetime:
    """Read a date and time in a zone, like 2026-12-03T20:00, as an instant.

    When clocks are put back, a time comes twice: the first one is meant. Raises JamError, also for a time that does
    not exist because clocks are put forward.

    >>> read_local("2026-12-03T20:00", "Europe/Rome").isoformat()
    '2026-12-03T19:00:00+00:00'
    """
    try:
        local = datetime.fromisoformat(value) if isinstance(value, str) and value[10:11] in ("T", " ") else None
    except ValueError:
        local = None
    if local is None or local.tzinfo is not None:
        raise JamError("at", "a jam needs a date and a time, like 2026-12-03 20:00")
    local_zone = ZoneInfo(zone)
    try:
        instant = local.replace(tzinfo=local_zone, second=0, microsecond=0).astimezone(UTC)
        shown = instant.astimezone(local_zone)
    except OverflowError as error:
        raise JamError("at", "a jam is in the years 1 to 9999") from error
    if shown.replace(tzinfo=None) != local.replace(second=0, microsecond=0):
        raise JamError(
            "at",
            "there is no {time} on that day, as clocks are put forward: it would be {later}",
            time=f"{local:%H:%M}",
            later=f"{shown:%H:%M}",
        )
    return instant
