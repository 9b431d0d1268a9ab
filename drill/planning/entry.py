"""TODO."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import NamedTuple

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
