"""Refit a player's parameters to the log, and adopt them if they predict better.

:mod:`drill.memory.estimation` says what is fitted and when it counts as better. This module reads the log,
keeps the versions, and replaces the memory. A refit that finds too few answers leaves no trace.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from cards.asks import read_card
from drill.learning.learn import outcome_to_learn, relearn
from drill.learning.parameter_versions import keep_fit, newest_fit, parameters_of
from drill.memory.estimation import LoggedAnswer, try_refit
from drill.memory.replay import FIRST
from drill.planning.repertoire import features
from drill.store import Store
from drill.store.log import count_between, log_after
from drill.store.models import Player

MORE_ANSWERS = 100
"""The answers since the last fit from which another fit is worth while."""


@dataclass(frozen=True)
class Refitted:
    """A fit that was made: its version, the log loss on the last weeks before and after, and whether it was
    adopted."""

    version: int
    before: float
    after: float
    adopted: bool


def refit_player(store: Store, player_id: int, now: datetime) -> Refitted | None:
    """Fit a player's parameters and adopt them if they predict better. Return None if there are too few
    answers."""
    with store.reading() as db:
        current = parameters_of(db, db.get_one(Player, player_id))
        log = [
            LoggedAnswer(features(read_card(review.card)), outcome_to_learn(review))
            for review in log_after(db, player_id, FIRST)
        ]
    trial = try_refit(log, current)
    if trial is None:
        return None
    with store.writing(player_id) as (db, _):
        losses = trial.before, trial.after
        version = keep_fit(db, player_id, trial.parameters, losses, trial.better, now)
    if trial.better:
        relearn(store, player_id, fit=version)
    return Refitted(version, trial.before, trial.after, trial.better)


def has_enough_new_answers(store: Store, player_id: int, now: datetime) -> bool:
    """Whether the player has given enough answers since the last fit for another one."""
    with store.reading() as db:
        last = newest_fit(db, player_id)
        return count_between(db, player_id, last.made_at if last else FIRST[0], now) >= MORE_ANSWERS
