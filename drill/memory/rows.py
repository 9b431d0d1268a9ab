"""What the recall model reads and writes: the rows of memory, the features of a card, the outcome of an answer."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from typing import NamedTuple

SLOW, FAST, PACE, CARRY = "player:slow", "player:fast", "player:pace", "player:carry"


DAY = 86_400.0


HOUR = 3_600.0


#: The longest time in seconds that is believed. Over it, the page was left or the card was studied.
CAP = 60.0


class Row(NamedTuple):
    """One offset as it was at its last answer, with the counts that stage 2 reads.

    ``mean`` and ``variance`` are of the logit of being right, ``pace`` and ``pace_variance`` of ln(seconds).
    The recent counts decay by e in an hour. ``last`` is 1 (right), −1 (wrong) or 0. In the row named
    :data:`PACE`, ``pace`` is the variance of ln(seconds) about its expectation. In :data:`CARRY`, ``mean`` is
    the share of their skills' retention that new cards have.

    It is a tuple because a plan reads thousands.
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
    """Days after which half is retained; 0 if nothing was practised."""


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
    """One judged answer. ``seconds`` is None if the time is not known, because the page was hidden."""

    right: bool
    seconds: float | None
    at: datetime


@dataclass(frozen=True)
class Fluency:
    """A prediction: the probability ``p`` of a clean answer, its standard deviation, and its two parts.

    ``right`` is P(right). ``seconds`` is the predicted median time of a right answer.
    """

    p: float
    sd: float
    right: float
    seconds: float


def card_row_name(card_id: str) -> str:
    """Return the name of a card's own row."""
    return f"card:{card_id}"


#: Pairs of kinds that together are a skill of their own: which chord it is, the form of the hand, and where in a
#: region it lies.
PAIRS = (("key", "degree"), ("quality", "shape"), ("degree", "box"))


@lru_cache(maxsize=8192)
def pair_skills(skills: tuple[str, ...]) -> tuple[str, ...]:
    """Return the pairs among a card's skills that :data:`PAIRS` names.

    >>> pair_skills(("ask:name", "key:Ab", "degree:4"))
    ('key:Ab degree:4',)
    """
    by_kind = {skill.partition(":")[0]: skill for skill in skills}
    return tuple(f"{by_kind[a]} {by_kind[b]}" for a, b in PAIRS if a in by_kind and b in by_kind)


def touched_rows(features: Features) -> tuple[str, ...]:
    """Return the names of the rows that an answer to this card reads and writes.

    >>> touched_rows(Features("name:Ab:4", ("key:Ab", "degree:4"), 0.0, "name", 4.5))[4:]
    ('key:Ab', 'degree:4', 'key:Ab degree:4', 'card:name:Ab:4')
    """
    skills = features.skills
    return (SLOW, FAST, PACE, CARRY, *skills, *pair_skills(skills), card_row_name(features.card_id))
