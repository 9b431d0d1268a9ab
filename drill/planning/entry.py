"""What a plan is made of: what planning asks of a card, what a plan is asked for, and a planned card."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import NamedTuple

from drill.memory.parameters import Parameters
from drill.memory.rows import Features

HORIZON = timedelta(days=14)


#: So long without an answer is an absence. Pages say of three missed days of practice, and of four days, that
#: the plan takes them so: either is longer.
RETURNS_AFTER = timedelta(days=3)


#: Seconds a player looks at the answer, after a right and after a wrong one.
READ_RIGHT, READ_WRONG = 2.5, 7.0


class Entry(NamedTuple):
    """What planning asks of a card, whoever plays it."""

    features: Features
    path: tuple[int, ...]
    key: str
    box: int | None
    degree: int


@dataclass(frozen=True)
class Planned:
    """One card of a plan: why it is there (a message's key and values), and its predicted seconds."""

    card_id: str
    reason: str
    values: tuple[tuple[str, str], ...]
    seconds: float


def goes_on(left: float, seconds: float) -> bool:
    """Whether a card of so many predicted ``seconds`` is worth beginning with ``left`` seconds to go.

    The running card may be finished, so a session ends as near its time as whole cards allow.
    """
    return left >= seconds / 2.0


@dataclass(frozen=True)
class PlanRequest:
    """What a plan is asked for, beside its candidates and minutes.

    keys        the player's own keys as printed, most played first; empty: no preference
    allowed     from a card's id to the seconds that a clean answer to it may take
    seed        decides between cards of equal worth
    focus       ids of the cards that count; None: all
    aim         by card id, how many times as much as others a card counts that a jam calls for
    horizon     how long from now until the cards should be known
    parameters  of the recall model
    """

    keys: Sequence[str]
    allowed: Callable[[str], float]
    seed: int
    focus: Collection[str] | None
    aim: Mapping[str, float]
    horizon: timedelta
    parameters: Parameters
