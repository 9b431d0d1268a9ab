"""Tunes: a title and a chart each, kept without the words of the song.

Conventions. A deleted tune is only out of sight: it can be had back, and the jams that have it in
their set list still show it.
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
    """There is no such tune of this player's."""


class TuneError(FieldError):
    """A tune that cannot be kept."""


class ChangedElsewhereError(RefusalError):
    """The tune was changed since it was read."""


def chart_of(tune: Tune) -> Chart:
    """The chart of a kept tune, with its title."""
    return from_plain({**tune.chart, "title": tune.title})


def tunes(store: Store, player_id: int) -> Sequence[Tune]:
    """The player's tunes by title."""
    with store.reading() as db:
        return tunes_of(db, player_id)


def played_at(store: Store, player_id: int) -> Mapping[str, Sequence[Jam]]:
    """The player's jams by the tunes that they hold, each tune's by date."""
    with store.reading() as db:
        there = jam_ids_by_tune(db, player_id)
        jams = jams_of(db, player_id)
        return {tune_id: [jam for jam in jams if jam.id in ids] for tune_id, ids in there.items()}


def tune(store: Store, player_id: int, tune_id: str) -> Tune:
    """One tune. Raises NoTuneError."""
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
    """Keep a chart as a new tune, or in the place of one's own that was read at ``since``; return its id.

    An id without ``since`` was made on the device for a new tune: keeping it twice is keeping it once, and
    keeping another chart under it is a change elsewhere. A deleted tune is back when it is kept. Raises
    TuneError, NoTuneError, ChangedElsewhereError.
    """
    name = read_title(title)
    if not chart.chords:
        raise TuneError("chart", "there is no chord in it yet: a chart is a line like 1 4 5 1 or | B♭7 | E♭7 |")
    kept = plain(replace(chart, title=name))
    with store.writing(player_id) as (db, _):
        if since is not None:
            made = owned_tune(db, player_id, tune_id or "")
            if made.changed_at != since:
                raise ChangedElsewhereError("this tune was changed elsewhere since you opened it")
        else:
            new = Tune(id=tune_id or secrets.token_hex(16), player_id=player_id, made_at=now)
            made = tune_of(db, player_id, new.id) or new
            if made is not new and (made.title, made.chart) != (name, kept):
                raise ChangedElsewhereError("this tune is kept already, with another chart")
            db.add(made)
        made.title, made.chart = name, kept
        made.changed_at, made.deleted_at = now, None
        return made.id


def delete(store: Store, player_id: int, tune_id: str, now: datetime | None) -> None:
    """Put a tune out of sight; without ``now`` have it back. Raises NoTuneError."""
    with store.writing(player_id) as (db, _):
        owned_tune(db, player_id, tune_id).deleted_at = now


def owned_tune(db: Session, player_id: int, tune_id: str) -> Tune:
    """The player's tune with this id, deleted or not. Raises NoTuneError."""
    found = tune_of(db, player_id, tune_id) if HEX_ID.match(tune_id) else None
    if found is None:
        raise NoTuneError("there is no such tune")
    return found


def read_title(title: object) -> str:
    """A title from outside. Raises TuneError."""
    name = on_one_line(title) if isinstance(title, str) else ""
    if not name:
        raise TuneError("title", "a tune needs a title, like Slow blues")
    if len(name) > LONGEST_TITLE:
        raise TuneError("title", "a title has at most {most} characters", most=LONGEST_TITLE)
    return name
