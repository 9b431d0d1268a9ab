"""A tune to play along with: in the key and at the tempo called, with the card of every move.

Conventions. With a jam, the tune is the one on its set list, in the key called that night. Without a jam, it is the
tune as it is kept. The card of a move is its chord's card on the guitar, in one box.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from cards.asks import Card, Setting, for_chord
from cards.charts import Chart
from cards.charts.moves import Move, moves
from cards.guitar.regions import BOXES
from drill.incoming.refusals import FieldError
from drill.jams.nights import Night, NightTune, night_of
from drill.players.preferences import TEMPO, Preferences, read_setting
from drill.store import Store
from drill.store.models import Player
from drill.tunes.library import chart_of, owned_tune


class PlayError(FieldError):
    """A tune that cannot be played, or a sitting that cannot be stored."""


@dataclass(frozen=True)
class Score:
    """A tune to play: its chart in the key called, its tempo, and the box.

    ``cards`` has the card of each move, None if the player's guitar has no room for the chord. For a tune on a set
    list, ``night`` is the night, and ``before`` and ``after`` are the entries next to its ``entry``.
    """

    tune_id: str
    title: str
    chart: Chart
    tempo: int
    box: int
    moves: tuple[Move, ...]
    cards: tuple[Card | None, ...]
    setting: Setting
    preferences: Preferences
    night: Night | None = None
    entry: NightTune | None = None
    before: NightTune | None = None
    after: NightTune | None = None


def read_score(
    store: Store, player_id: int, tune_id: str, now: datetime, jam_id: str | None, entry_id: str | None, box: int | None
) -> Score:
    """Return a tune to play, as it is called at a jam if ``jam_id`` is given.

    ``box`` may be :data:`OPEN` for the place nearest to the nut. Raises NoTuneError, NoJamError, PlayError.
    """
    with store.reading() as db:
        player = db.get_one(Player, player_id)
        tune = owned_tune(db, player_id, tune_id)
        night = None if jam_id is None else night_of(db, player, jam_id, now)
        if night is None and entry_id is not None:
            raise PlayError("jam", "an entry is of a set list: name its jam too")
        at = _place(night, tune_id, entry_id)
        entry = night.entries[at] if night else None
        chart = entry.chart if entry else chart_of(tune)
        low, high = TEMPO
        tempo = entry.tempo if entry else round(chart.tempo or 0) or player.tempo
        setting = read_setting(player)
        if box is None:
            box = night.jam.boxes[0] if night else BOXES[0]
        tune_moves = moves(chart, setting.capo)
        return Score(
            tune_id,
            tune.title,
            chart,
            min(max(tempo, low), high),
            box,
            tune_moves,
            tuple(next(iter(for_chord(move.key, move.numeral, box, setting)), None) for move in tune_moves),
            setting,
            Preferences.of(player),
            night,
            entry,
            night.entries[at - 1] if night and at > 0 else None,
            night.entries[at + 1] if night and at + 1 < len(night.entries) else None,
        )


def _place(night: Night | None, tune_id: str, entry_id: str | None) -> int:
    """Return the place of a tune on the set list, from 0: at the named entry, otherwise its first.

    Without a night it is 0. Raises PlayError.
    """
    for at, entry in enumerate(night.entries if night else ()):
        if entry.tune_id == tune_id and entry_id in (None, entry.id):
            return at
    if night is None:
        return 0
    raise PlayError("entry", "this tune is not on that set list any more")
