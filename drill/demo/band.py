"""The house band of the demo: its tunes, its next open jam, and its last one.

Conventions. Every tune is one of the ready-made forms (:mod:`cards.charts.forms`). The next jam was announced
yesterday and is nine days ahead, so that there is something left to drill for. The same seed gives the same ids.
"""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy.orm import Session

from cards.charts import plain
from cards.charts.forms import form
from cards.theory.keys import Key
from drill.store import Store
from drill.store.models import Jam, SetListEntry, Tune

NAME: Final = "Weekly open jam"
PLACE: Final = "Back room"
BOXES: Final = (1,)
BEGINS: Final = 20
#: When the next jam and the last jam are, from now.
AHEAD, BEFORE = timedelta(days=9), timedelta(days=-12)
ANNOUNCED: Final = timedelta(days=10)
"""How long before a jam its set list is known."""


@dataclass(frozen=True)
class BandTune:
    """A form in a key and at a tempo.

    ``called`` is the key of the next jam if it is another one; ``old`` is whether the tune was played at the last
    jam.
    """

    title: str
    form: str
    key: str
    tempo: int
    called: str | None = None
    old: bool = True


TUNES: Final = (
    BandTune("Slow blues in B♭", "12-bar blues", "B♭ blues", 66),
    BandTune("Two-chord vamp", "vamp 1 ♭7", "A", 104),
    BandTune("Minor blues", "minor blues", "F♯m", 76, old=False),
    BandTune("Turnaround in E♭", "turnaround 1 6 2 5", "E♭", 92),
    BandTune("Four-chord cycle", "cycle 1 5 6 4", "G", 112, called="A♭", old=False),
)


def add_band(store: Store, player_id: int, now: datetime, seed: int) -> None:
    """Give the player the band's tunes, a jam ahead of ``now`` and a past one."""
    chance = random.Random(f"band {seed}")
    before, ahead = ((now + days).replace(hour=BEGINS, minute=0, second=0, microsecond=0) for days in (BEFORE, AHEAD))
    with store.writing(player_id) as (db, _):
        ids = {tune: _new_id(chance) for tune in TUNES}
        db.add_all(_tune(player_id, ids[tune], tune, before - ANNOUNCED) for tune in TUNES)
        db.flush()
        _add_jam(db, player_id, chance, before, {ids[tune]: None for tune in TUNES if tune.old})
        _add_jam(db, player_id, chance, ahead, {ids[tune]: tune.called for tune in TUNES})


def _new_id(chance: random.Random) -> str:
    return f"{chance.getrandbits(128):032x}"


def _tune(player_id: int, tune_id: str, tune: BandTune, made_at: datetime) -> Tune:
    chart = replace(form(tune.form, Key.read(tune.key)), title=tune.title, tempo=float(tune.tempo))
    values = {"title": tune.title, "chart": plain(chart), "made_at": made_at, "changed_at": made_at}
    return Tune(id=tune_id, player_id=player_id, **values)


def _add_jam(
    db: Session, player_id: int, chance: random.Random, at: datetime, called: Mapping[str, str | None]
) -> None:
    """Store a jam with its set list: ``called`` has the ids of the tunes in order, with the key called for each."""
    values = {"name": NAME, "place": PLACE, "boxes": list(BOXES), "made_at": at - ANNOUNCED}
    jam = Jam(id=_new_id(chance), player_id=player_id, at=at, **values)
    db.add(jam)
    db.flush()
    for position, (tune_id, key) in enumerate(called.items()):
        entry_id = _new_id(chance)
        db.add(
            SetListEntry(id=entry_id, player_id=player_id, jam_id=jam.id, position=position, tune_id=tune_id, key=key)
        )
