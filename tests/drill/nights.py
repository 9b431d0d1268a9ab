"""Nights of a house band, made up: tunes from ready-made forms, in the keys called."""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta

from cards.charts import Chart, Options, plain, read_chart
from cards.charts.forms import form
from cards.theory.keys import Key
from drill.jams.nights import Night, NightTune
from drill.store import Store
from drill.store.models import Jam, SetListEntry, Tune

AT = datetime(2026, 5, 9, 19, 0, tzinfo=UTC)


def a_chart(text: str, key: str = "C") -> Chart:
    """A chart as a player would write it."""
    return read_chart(text, Options(key=Key.read(key)))


def blues(key: str = "Bb") -> Chart:
    """The twelve bars that everybody calls."""
    return form("12-bar blues", Key.read(key))


def vamp(key: str = "E") -> Chart:
    """One and flat seven, for as long as the singer likes."""
    return form("vamp 1 ♭7", Key.read(key))


def a_night(*tunes: tuple[str, Chart, int], boxes: Sequence[int] = (1,), at: datetime = AT) -> Night:
    """A jam with these tunes: title, chart, tempo."""
    jam = Jam(id="a" * 32, player_id=1, name="Open jam", at=at, place="", boxes=list(boxes), made_at=at)
    return Night(jam, tuple(_entries(tunes)), at, past=False, days=0)


def _entries(tunes: Iterable[tuple[str, Chart, int]]) -> Iterable[NightTune]:
    for number, (title, chart, tempo) in enumerate(tunes):
        yield NightTune(f"{number:032x}", f"{number:032x}", title, chart, chart.key, tempo, None, None)


def usual() -> Night:
    """A slow blues, a vamp with a borrowed chord, and a cycle that goes fast."""
    return a_night(
        ("Slow blues", blues(), 60),
        ("Two-chord vamp", vamp(), 96),
        ("Fast cycle", form("cycle 1 5 6 4", Key.read("Eb")), 144),
    )


def put_jam(store: Store, *tunes: tuple[str, Chart, int], at: datetime = AT, boxes: Sequence[int] = (1,)) -> str:
    """Keep a jam with these tunes; return its id."""
    made = at - timedelta(days=40)
    with store.writing(1) as (db, _):
        night = {"name": "Open jam", "at": at, "place": "", "boxes": list(boxes), "made_at": made}
        jam = Jam(id=secrets.token_hex(16), player_id=1, **night)
        db.add(jam)
        for position, (title, chart, tempo) in enumerate(tunes):
            tune = Tune(
                id=secrets.token_hex(16), player_id=1, title=title, chart=plain(chart), made_at=made, changed_at=made
            )
            db.add(tune)
            db.flush()
            entry = {"jam_id": jam.id, "position": position, "tune_id": tune.id, "tempo": tempo}
            db.add(SetListEntry(id=secrets.token_hex(16), player_id=1, **entry))
        return jam.id
