"""What the recall model reads and writes: the rows of memory, a card's features, an answer's outcome."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from typing import NamedTuple

SLOW, FAST, PACE, CARRY = "player:slow", "player:fast", "player:pace", "player:carry"


DAY = 86_400.0


HOUR = 3_600.0


#: Seconds over which a time says only "slow": the page was left, or the card was studied.
CAP = 60.0


class Row(NamedTuple):
    """One offset as it stood at its last answer, with the counts that stage 2 reads.

    A tuple, since a plan reads thousands.

    ``mean`` and ``variance`` are logits of being right; ``pace`` and ``pace_variance`` the same for
    ln(seconds). The recent counts fade by e in an hour. ``last`` is 1 (right), −1 (wrong) or 0.
    In the row named :data:`PACE`, ``pace`` is the variance of ln(seconds) about its expectation; in
    :data:`CARRY`, ``mean`` is the share of their skills' retention that new cards have.
    """

    name: str
    at: datetime
    mean: float
    variance: float
    pace: float
    pace_variance: float
    successes: float = 0.0
    failures: float = 0.0
    recent_successes: float = 0.0
    recent_failures: float = 0.0
    last: int = 0
    hold: float = 0.0
    """Days after which half is retained; 0 where nothing was practised."""


@dataclass(frozen=True)
class Features:
    """What the filters need to know of a card.

    ``difficulty`` is a logit, higher is easier. ``usual_seconds`` is how long an unpractised player takes for a
    right answer to a card of this ask, putting it in included.
    """

    card_id: str
    skills: tuple[str, ...]
    difficulty: float
    ask: str
    usual_seconds: float


@dataclass(frozen=True)
class Outcome:
    """One judged answer. ``seconds`` is None where it is not known (the page was hidden)."""

    right: bool
    seconds: float | None
    at: datetime


@dataclass(frozen=True)
class Fluency:
    """A prediction: ``p`` of a clean answer with its deviation, and its two parts.

    ``seconds`` is the predicted median of a right answer.
    """

    p: float
    sd: float
    right: float
    seconds: float


def card_row(card_id: str) -> str:
    """The name of a card's own row."""
    return f"card:{card_id}"


#: Pairs of skills that are a skill of their own: which chord it is, the form of the hand, and
#: where in a region it lies.
PAIRS = (("key", "degree"), ("quality", "shape"), ("degree", "box"))


@lru_cache(maxsize=8192)
def paired(skills: tuple[str, ...]) -> tuple[str, ...]:
    """The pairs of a card's skills that :data:`PAIRS` names.

    >>> paired(("ask:name", "key:Ab", "degree:4"))
    ('key:Ab degree:4',)
    """
    of = {skill.partition(":")[0]: skill for skill in skills}
    return tuple(f"{of[a]} {of[b]}" for a, b in PAIRS if a in of and b in of)


def touched(features: Features) -> tuple[str, ...]:
    """The names of the rows that an answer to this card reads and writes.

    >>> touched(Features("name:Ab:4", ("key:Ab", "degree:4"), 0.0, "name", 4.5))[4:]
    ('key:Ab', 'degree:4', 'key:Ab degree:4', 'card:name:Ab:4')
    """
    skills = features.skills
    return (SLOW, FAST, PACE, CARRY, *skills, *paired(skills), card_row(features.card_id))
