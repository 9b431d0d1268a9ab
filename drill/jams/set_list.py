"""A jam's set list: tunes in order, each with the key called that night and its own tempo.

A change names the order that it was based on (``was``), and for entries that stay only what it changes. So two tabs
never overwrite each other unseen. The sender may choose the ids of new entries: a change that is sent twice makes
them once.
"""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from datetime import datetime
from typing import Final

from sqlalchemy.orm import Session

from cards.messages import RefusalError
from cards.theory.keys import Key, KeyNameError
from drill.incoming.reading import HEX_ID
from drill.jams.nights import JamError, open_jam
from drill.players.preferences import TEMPO
from drill.store import Store
from drill.store.models import SetListEntry, Tune
from drill.store.setlists import set_list_of, tune_of

MOST_TUNES: Final = 100


class OrderChangedError(RefusalError):
    """The set list was changed since the sender read it."""


def arrange(store: Store, player_id: int, jam_id: str, was: object, wanted: object, now: datetime) -> None:
    """Put a jam's set list in an order; add, change and remove entries.

    ``was`` has the ids of the entries as the sender read them. ``wanted`` has for each entry its ``id``, for a new
    entry its ``tune`` (and an id of 128 bits or none), and ``key`` and ``tempo`` if they change: None stands for the
    tune's own. Entries that are not in ``wanted`` are removed. Raises NoJamError, ClosedError, JamError,
    OrderChangedError.
    """
    if not isinstance(wanted, list) or len(wanted) > MOST_TUNES:
        raise JamError("entries", "a set list has at most {most} tunes", most=MOST_TUNES)
    with store.writing(player_id) as (db, player):
        open_jam(db, player, jam_id, now)
        entries = {entry.id: (entry, tune) for entry, tune in set_list_of(db, jam_id)}
        if list(entries) != was:
            raise OrderChangedError("this set list was changed elsewhere; this is how it stands now")
        kept = set()
        for position, entry_wanted in enumerate(wanted):
            entry = _entry(db, player_id, jam_id, entry_wanted, entries)
            if entry.id in kept:
                raise JamError("entries", "an entry stands in one place only")
            entry.position = position
            kept.add(entry.id)
        for removed in entries.keys() - kept:
            db.delete(entries[removed][0])


def _entry(
    db: Session, player_id: int, jam_id: str, wanted: object, entries: Mapping[str, tuple[SetListEntry, Tune]]
) -> SetListEntry:
    """Return an entry as it is wanted, new or changed. Raises JamError."""
    if not isinstance(wanted, Mapping):
        raise JamError("entries", "an entry is an object with id, tune, key and tempo")
    entry, tune = entries.get(str(wanted.get("id")), (None, None))
    if entry is None or tune is None:
        tune_id = wanted.get("tune")
        tune = tune_of(db, player_id, tune_id) if isinstance(tune_id, str) and HEX_ID.match(tune_id) else None
        if tune is None:
            raise JamError("entries", "an entry names one of your tunes")
        entry = SetListEntry(id=_new_id(db, wanted.get("id")), player_id=player_id, jam_id=jam_id, tune_id=tune.id)
        db.add(entry)
    if "key" in wanted:
        entry.key = _key(wanted["key"], Key.read(tune.chart["key"]))
    if "tempo" in wanted:
        entry.tempo = _tempo(wanted["tempo"])
    return entry


def _new_id(db: Session, wanted: object) -> str:
    if wanted is None:
        return secrets.token_hex(16)
    if not isinstance(wanted, str) or not HEX_ID.match(wanted) or db.get(SetListEntry, wanted) is not None:
        raise JamError("entries", "the id of a new entry is 32 digits from 0 to f of its own")
    return wanted


def _key(value: object, own: Key) -> str | None:
    """Return the key called, with the fewest accidentals, in the mode of the tune's own key. Raises JamError."""
    try:
        return None if value is None else str(Key(Key.read(str(value)).tonic, own.mode).practical)
    except KeyNameError as error:
        raise JamError("key", error.sentence, **error.values) from error


def _tempo(value: object) -> int | None:
    if value is None:
        return None
    if type(value) is not int or not TEMPO[0] <= value <= TEMPO[1]:
        raise JamError("tempo", "a tempo is from {low} to {high} beats a minute", low=TEMPO[0], high=TEMPO[1])
    return value
