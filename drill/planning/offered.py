"""The candidates of a plan: the cards seen, those that a jam calls for, and the new ones that are open."""

from __future__ import annotations

from collections.abc import Collection

from sqlalchemy.orm import Session

from cards.asks import Setting
from drill.planning.candidates import Candidates, catalogue
from drill.planning.goal import NO_GOAL, Goal
from drill.planning.repertoire import frontier, playable, starting_keys
from drill.store.memory import (
    last_outcomes,
)
from drill.store.models import Player


def gather_candidates(
    db: Session,
    player: Player,
    setting: Setting,
    goal: Goal = NO_GOAL,
    without: Collection[str] = (),
    *,
    off: Collection[str] = (),
) -> Candidates:
    """Return the cards that a plan may choose from, except those in ``without`` and in the groups ``off``.

    They are the cards seen, with their last answers; the cards that a jam calls for, even if the path has not
    opened them; and the frontier of new cards.
    """
    last = last_outcomes(db, player.id)
    off = (*player.switched_off, *off)
    outcomes = {card_id: outcome for card_id, (_, outcome) in last.items()}
    new = frontier(outcomes, goal.prepend_keys(starting_keys(player.keys)), setting, off)
    called = (card.id for card in goal.cards if card.id not in last)
    unseen = dict.fromkeys([*playable(called, setting, off), *(step.card.id for step in new)])
    ids = [*playable(last, setting, off), *unseen]
    if without:
        ids = [card_id for card_id in ids if card_id not in without]
    return Candidates.of(catalogue().cards(ids), last)
