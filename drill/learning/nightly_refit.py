"""Refitting a player's parameters to the log, and adopting them where they predict better.

What is fitted and when it counts as better stands in :mod:`drill.memory.estimation`; here are the log, the
versions, and the swap of memory. A refit that finds too little to go by leaves no trace.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from cards.asks import read_card
from drill.learning.learn import outcome, relearn
from drill.learning.parameter_versions import keep_fit, newest_fit, parameters_of
from drill.memory.estimation import LoggedAnswer, try_refit
from drill.memory.replay import FIRST
from drill.planning.repertoire import features
from drill.store import Store
from drill.store.log import count_between, log_after
from drill.store.models import Player

MORE_ANSWERS = 100
"""Answers since the last fit that make another one worth while."""


@dataclass(frozen=True)
class Refitted:
    """A fit that was made: its version, log loss on the last weeks before and after, whether it was adopted."""

    version: int
    before: float
    after: float
    adopted: bool


def refit_player(store: Store, player_id: int, now: datetime) -> Refitted | None:
    """Fit a player's parameters and adopt them if they predict better; None if there is too little."""
    with store.reading() as db:
        current = parameters_of(db, db.get_one(Player, player_id))
        log = [
            LoggedAnswer(features(read_card(review.card)), outcome(review))
            for review in log_after(db, player_id, FIRST)
        ]
    found = try_refit(log, current)
    if found is None:
        return None
    with store.writing(player_id) as (db, _):
        losses = found.before, found.after
        version = keep_fit(db, player_id, found.parameters, losses, found.better, now)
    if found.better:
        relearn(store, player_id, fit=version)
    return Refitted(version, found.before, found.after, found.better)


def has_more_to_go_by(store: Store, player_id: int, now: datetime) -> bool:
    """Whether enough was answered since the last fit to make another one."""
    with store.reading() as db:
        last = newest_fit(db, player_id)
        return count_between(db, player_id, last.made_at if last else FIRST[0], now) >= MORE_ANSWERS
