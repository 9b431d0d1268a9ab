"""Tunes: each has a title and a chart; the words of the song are not kept.

Conventions. A deleted tune is only hidden. It can be restored, and the jams that have it on their set list still show
it.
"""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from sqlalchemy.orm import Session

from cards.charts import Chart, from_plain, plain
from cards.messages import RefusalError
from drill.incoming.reading import HEX_ID, LONGEST_TITLE, on_one_line
from drill.incoming.refusals import FieldError, NotThereError
from drill.store import Store
from drill.store.models import Jam, Tune
from drill.store.setlists import jam_ids_by_tune, jams_of, tune_of, tunes_of


class NoTuneError(NotThereError):
    """The player has no such tune."""


class TuneError(FieldError):
    """A tune that cannot be stored."""


class ChangedElsewhereError(RefusalError):
    """The tune was changed since the sender read it."""


def chart_of(tune: Tune) -> Chart:
    """Return the chart of a kept tune, with its title."""
    return from_plain({**tune.chart, "title": tune.title})


def tunes(store: Store, player_id: int) -> Sequence[Tune]:
    """Return the player's tunes by title."""
    with store.reading() as db:
        return tunes_of(db, player_id)


def played_at(store: Store, player_id: int) -> Mapping[str, Sequence[Jam]]:
    """Return the player's jams by the id of a tune on their set list; each tune's jams by date."""
    with store.reading() as db:
        jam_ids = jam_ids_by_tune(db, player_id)
        jams = jams_of(db, player_id)
        return {tune_id: [jam for jam in jams if jam.id in ids] for tune_id, ids in jam_ids.items()}


def tune(store: Store, player_id: int, tune_id: str) -> Tune:
    """Return one tune. Raises NoTuneError."""
    with store.reading() as db:
        return owned_tune(db, player_id, tune_id)


def keep(
    store: Store,
    player_id: int,
    title: object,
    chart: Chart,
    now: datetime,
    tune_id: str | None = None,
    since: datetime | None = None,
) -> str:
    """Store a chart as a new tune, or over the tune that was read at ``since``; return its id.

    An id without ``since`` was made on the device for a new tune. Storing the same tune twice under it stores it
    once; storing another chart under it is a change elsewhere. Storing a deleted tune restores it. Raises TuneError,
    NoTuneError, ChangedElsewhereError.
    """
    name = read_title(title)
    if not chart.chords:
        raise TuneError("chart", "there is no chord in it yet: a chart is a line like 1 4 5 1 or | B♭7 | E♭7 |")
    kept = plain(replace(chart, title=name))
    with store.writing(player_id) as (db, _):
        if since is not None:
            stored = owned_tune(db, player_id, tune_id or "")
            if stored.changed_at != since:
                raise ChangedElsewhereError("this tune was changed elsewhere since you opened it")
        else:
            new = Tune(id=tune_id or secrets.token_hex(16), player_id=player_id, made_at=now)
            stored = tune_of(db, player_id, new.id) or new
            if stored is not new and (stored.title, stored.chart) != (name, kept):
                raise ChangedElsewhereError("this tune is kept already, with another chart")
            db.add(stored)
        stored.title, stored.chart = name, kept
        stored.changed_at, stored.deleted_at = now, None
        return stored.id


def delete(store: Store, player_id: int, tune_id: str, now: datetime) -> None:
    """Delete a tune: hide it, so that it can be restored. Raises NoTuneError."""
    with store.writing(player_id) as (db, _):
        owned_tune(db, player_id, tune_id).deleted_at = now


def restore(store: Store, player_id: int, tune_id: str) -> None:
    """Restore a deleted tune. Raises NoTuneError."""
    with store.writing(player_id) as (db, _):
        owned_tune(db, player_id, tune_id).deleted_at = None


def owned_tune(db: Session, player_id: int, tune_id: str) -> Tune:
    """Return the player's tune with this id, deleted or not. Raises NoTuneError."""
    owned = tune_of(db, player_id, tune_id) if HEX_ID.match(tune_id) else None
    if owned is None:
        raise NoTuneError("there is no such tune")
    return owned


def read_title(title: object) -> str:
    """Read a title from outside. Raises TuneError."""
    name = on_one_line(title) if isinstance(title, str) else ""
    if not name:
        raise TuneError("title", "a tune needs a title, like Slow blues")
    if len(name) > LONGEST_TITLE:
        raise TuneError("title", "a title has at most {most} characters", most=LONGEST_TITLE)
    return name
