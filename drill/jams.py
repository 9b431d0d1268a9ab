"""Jams: a date with a set list, each tune in the key called that night and at its tempo.

Conventions. The key called that night transposes the tune; the tune itself stays. A deleted jam is
only out of sight and can be had back. Past jams stay.
"""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy.orm import Session

from cards.charts import Chart
from cards.keys import Key
from drill.reading import HEX_ID
from drill.store.models import Jam, Player, SetListEntry, Tune
from drill.store.setlists import jam_of, set_list_of
from drill.tunes import chart_of


class NoJamError(LookupError):
    """There is no such jam of this player's."""


@dataclass(frozen=True)
class Entry:
    """A tune of a set list as it is played that night: ``chart`` in the key called, ``own_key`` the one
    it stands in, ``tempo`` in beats per minute."""

    id: str
    tune_id: str
    title: str
    chart: Chart
    own_key: Key
    tempo: int

    @property
    def key(self) -> Key:
        """The key that it is played in."""
        return self.chart.key


@dataclass(frozen=True)
class Night:
    """A jam with its set list in order."""

    jam: Jam
    entries: tuple[Entry, ...]


def night_of(db: Session, player: Player, jam_id: str) -> Night:
    """A jam with its set list. Raises NoJamError."""
    jam = jam_of(db, player.id, jam_id) if HEX_ID.match(jam_id) else None
    if jam is None:
        raise NoJamError("there is no such jam")
    return Night(jam, tuple(_entry(entry, tune, player) for entry, tune in set_list_of(db, jam.id)))


def _entry(entry: SetListEntry, tune: Tune, player: Player) -> Entry:
    own = chart_of(tune)
    called = own if entry.key is None else own.in_key(Key.read(entry.key))
    tempo = entry.tempo or round(own.tempo or 0) or player.tempo
    return Entry(entry.id, tune.id, tune.title, called, own.key, tempo)
