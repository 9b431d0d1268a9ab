"""A jam's set list: tunes in order, each with the key called that night and its own tempo.

A change names the order it was made in (``was``), so that two tabs never overwrite each other
unseen.
"""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from typing import Final

from sqlalchemy.orm import Session

from cards.keys import Key, KeyNameError
from drill.jams import JamError, NoJamError
from drill.preferences import TEMPO
from drill.reading import HEX_ID
from drill.store import Store
from drill.store.models import SetListEntry
from drill.store.setlists import jam_of, set_list_of, tune_of

MOST_TUNES: Final = 100


class OrderChangedError(Exception):
    """The set list was changed since it was read."""


def arrange(store: Store, player_id: int, jam_id: str, was: object, wanted: object) -> None:
    """Put a jam's set list in an order: of entries that are there, and of tunes that come to them.

    ``was`` are the ids of the entries as they were read; ``wanted`` has for each entry its ``id`` (none
    if it is new), ``tune``, ``key`` and ``tempo`` (None for the tune's own). Entries that are not wanted
    go. Raises NoJamError, JamError, OrderChangedError.
    """
    if not isinstance(wanted, list) or len(wanted) > MOST_TUNES:
        raise JamError("entries", f"a set list has at most {MOST_TUNES} tunes")
    with store.writing(player_id) as (db, _):
        if not HEX_ID.match(jam_id) or jam_of(db, player_id, jam_id) is None:
            raise NoJamError("there is no such jam")
        there = {entry.id: entry for entry, _ in set_list_of(db, jam_id)}
        if list(there) != was:
            raise OrderChangedError("this set list was changed elsewhere; this is how it stands now")
        kept = set()
        for position, each in enumerate(wanted):
            entry = _entry(db, player_id, jam_id, each, there)
            entry.position = position
            kept.add(entry.id)
        for gone in there.keys() - kept:
            db.delete(there[gone])


def _entry(
    db: Session, player_id: int, jam_id: str, wanted: object, there: Mapping[str, SetListEntry]
) -> SetListEntry:
    """An entry as it is wanted, new or changed."""
    if not isinstance(wanted, Mapping):
        raise JamError("entries", "an entry is an object with id, tune, key and tempo")
    entry = there.get(str(wanted.get("id")))
    if entry is None:
        tune_id = wanted.get("tune")
        if not isinstance(tune_id, str) or not HEX_ID.match(tune_id) or tune_of(db, player_id, tune_id) is None:
            raise JamError("entries", "an entry names one of your tunes")
        entry = SetListEntry(id=secrets.token_hex(16), player_id=player_id, jam_id=jam_id, tune_id=tune_id)
        db.add(entry)
    entry.key, entry.tempo = _key(wanted.get("key")), _tempo(wanted.get("tempo"))
    return entry


def _key(value: object) -> str | None:
    try:
        return None if value is None else str(Key.read(str(value)).practical)
    except KeyNameError as error:
        raise JamError("key", str(error)) from error


def _tempo(value: object) -> int | None:
    if value is None:
        return None
    if type(value) is not int or not TEMPO[0] <= value <= TEMPO[1]:
        raise JamError("tempo", f"a tempo is from {TEMPO[0]} to {TEMPO[1]} beats a minute")
    return value

