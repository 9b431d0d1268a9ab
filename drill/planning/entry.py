"""What a plan is made of: the entry of a card, the request for a plan, and a planned card."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import NamedTuple

from drill.memory.parameters import Parameters
from drill.memory.rows import Features

HORIZON = timedelta(days=14)
"""How long from now cards should be known, if no jam says otherwise."""


#: The shortest time without an answer that is an absence. Pages speak of an absence after three missed days of
#: practice, or after four days; both are longer.
RETURNS_AFTER = timedelta(days=3)


#: Seconds that a player looks at the answer after a right one and after a wrong one.
READ_RIGHT, READ_WRONG = 2.5, 7.0


class Entry(NamedTuple):
    """What planning needs to know of a card, whoever the player is.

    ``path`` is where it stands on the path; ``is_tiring`` says that it is played on the guitar with a full barre.
    """

    features: Features
    path: tuple[int, ...]
    key: str
    box: int | None
    degree: int
    is_tiring: bool = False


@dataclass(frozen=True)
class Planned:
    """One card of a plan: the reason that it is asked (a message's key and values), and its predicted seconds."""

    card_id: str
    reason: str
    values: tuple[tuple[str, str], ...]
    seconds: float


def is_worth_starting(left: float, seconds: float) -> bool:
    """Whether a card of so many predicted ``seconds`` is worth starting with ``left`` seconds to go.

    The player may finish a card after the time is up. So a session ends as near to its time as whole cards
    allow.
    """
    return left >= seconds / 2.0


@dataclass(frozen=True)
class PlanRequest:
    """What a plan is asked for, beside its candidates and minutes.

    keys          the player's own keys as printed, most played first; empty: no preference
    allowed       returns the seconds allowed for a clean answer to a card, from its id
    seed          decides between cards of equal worth
    focus         ids of the cards that count; None: all
    card_weights  by id, how many times as much as others a card counts that a jam calls for
    horizon       how long from now the cards should be known
    parameters    of the recall model
    """

    keys: Sequence[str]
    allowed: Callable[[str], float]
    seed: int
    focus: Collection[str] | None
    card_weights: Mapping[str, float]
    horizon: timedelta
    parameters: Parameters
