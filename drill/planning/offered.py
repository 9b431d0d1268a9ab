"""Which cards a plan may choose from: those seen, those a jam calls for, and the new ones that are open."""

from __future__ import annotations

from collections.abc import Collection

from sqlalchemy.orm import Session

from cards.asks import Setting
from drill.planning.candidates import Candidates, catalogue
from drill.planning.goal import NO_GOAL, Goal
from drill.planning.repertoire import frontier, keys_of, playable
from drill.store.memory import (
    last_outcomes,
)
from drill.store.models import Player


def offered(
    db: Session, player: Player, setting: Setting, aim: Goal = NO_GOAL, without: Collection[str] = ()
) -> Candidates:
    """The cards that a plan may choose from: those seen, with what came of them, those that a jam calls
    for, whether or not the path has opened them, and the frontier of new ones; none that it is to do ``without``."""
    last = last_outcomes(db, player.id)
    outcomes = {card_id: outcome for card_id, (_, outcome) in last.items()}
    new = frontier(outcomes, aim.first(keys_of(player.keys)), setting, player.switched_off)
    called = (card.id for card in aim.cards if card.id not in last)
    unseen = dict.fromkeys([*playable(called, setting, player.switched_off), *(step.card.id for step in new)])
    ids = [*playable(last, setting, player.switched_off), *unseen]
    if without:
        ids = [card_id for card_id in ids if card_id not in without]
    return Candidates.of(catalogue().cards(ids), last)
