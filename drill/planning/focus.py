"""The focus of a session: cards that have some skills in common.

Conventions. A focus is a list of skills as cards name them (``key:Eb``, ``degree:4``, ``ask:name``). Its cards
are those that have all of these skills. The planner takes it as a set of card ids.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import compress
from typing import Final

from cards.messages import RefusalError, echo
from drill.planning.candidates import Candidates

KINDS: Final = ("ask", "key", "mode", "degree", "quality", "box", "shape")
"""What a skill can be: the word before its colon."""

_SKILL: Final = re.compile(rf"(?:{'|'.join(KINDS)}):[^\s:]{{1,24}}\Z")


class FocusError(RefusalError, ValueError):
    """A focus that cannot be drilled. The message says why."""


def read_focus(value: object) -> tuple[str, ...]:
    """Read a focus from outside. Raises FocusError."""
    if not isinstance(value, list) or not 1 <= len(value) <= len(KINDS):
        raise FocusError('a focus is a list of skills, like ["key:Eb", "degree:4"]')
    for skill in value:
        if not isinstance(skill, str) or not _SKILL.match(skill):
            raise FocusError(
                'no skill "{skill}": a skill is one of {kinds} and its value, like key:Eb',
                skill=echo(skill),
                kinds=", ".join(KINDS),
            )
    return tuple(dict.fromkeys(value))


def cards_in_focus(candidates: Candidates, focus: Sequence[str]) -> frozenset[str] | None:
    """Return the ids of the candidates that have every skill of the focus, or None if there is no focus."""
    if not focus:
        return None
    return frozenset(compress(candidates.cards.ids, candidates.cards.pool.having(focus)))
