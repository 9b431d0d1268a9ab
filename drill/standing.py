"""How a player stands: the model, asked about many cards at once and about one skill.

Conventions. This is the one place where figures on pages touch the model. Standings are fluencies at
the player's tempo, each answer put in as its ask usually is. What a skill does is measured on the cards
that have it: how many more of their answers are clean than if the skill were like the player's others
(no offset of its own, right as often as the player is on the whole). Its deviation comes from the
offsets' own variances, moved one after the other; the cards are a fixed selection where there are many.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from cards.asks import Card
from drill.memory import SLOW, Fluency, Row, fluency
from drill.repertoire import allowed_at, features

#: The most cards on which a skill is measured.
SAMPLE = 24

Rows = Mapping[str, Row]


@dataclass(frozen=True)
class Estimate:
    """What a skill does: the share of answers that it makes clean (below 0: costs), its deviation, and
    how many answers that is from."""

    skill: str
    gain: float
    sd: float
    answers: int


def standing(rows: Rows, card: Card, now: datetime, allowed: Callable[[str], float]) -> Fluency:
    """The player's fluency of one card."""
    return fluency(rows, features(card), now, allowed(card.id))


def standings(rows: Rows, cards: Iterable[Card], now: datetime, tempo: int) -> dict[str, Fluency]:
    """The player's fluency of each card, by id."""
    allowed = allowed_at(tempo)
    return {card.id: standing(rows, card, now, allowed) for card in cards}


def estimate(rows: Rows, skill: str, cards: Sequence[Card], now: datetime, tempo: int) -> Estimate:
    """What a skill that the player has practised does for the ``cards`` that have it."""
    row, some = rows[skill], cards[:: math.ceil(len(cards) / SAMPLE)]

    def clean(changed: Row) -> float:
        found = standings({**rows, skill: changed}, some, now, tempo)
        return sum(each.p for each in found.values()) / len(found)

    as_it_is = clean(row)
    by_right = clean(replace(row, mean=row.mean + math.sqrt(row.variance))) - as_it_is
    by_pace = clean(replace(row, pace=row.pace + math.sqrt(row.pace_variance))) - as_it_is
    gain = as_it_is - clean(_like_others(rows, row))
    return Estimate(skill, gain, math.hypot(by_right, by_pace), round(row.successes + row.failures))


def lifted(rows: Rows, skill: str, cards: Sequence[Card], now: datetime, tempo: int) -> float:
    """How many more of ``cards``, asked once each, would be clean if the skill were like the others."""
    before = standings(rows, cards, now, tempo)
    after = standings({**rows, skill: _like_others(rows, rows[skill])}, cards, now, tempo)
    return sum(after[card].p - before[card].p for card in before)


def _like_others(rows: Rows, row: Row) -> Row:
    """A skill's row as if the skill were like the player's others, practised as much."""
    player = rows[SLOW]
    share = player.successes / (player.successes + player.failures)
    answers = row.successes + row.failures
    return replace(row, mean=0.0, pace=0.0, successes=answers * share, failures=answers * (1.0 - share))
