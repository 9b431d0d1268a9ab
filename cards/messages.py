"""What ``cards`` tells a player, as values.

A message is a key and its arguments; whoever shows it turns it into words, in one place and in any
language. Arguments are already music (``"E♭"``, ``"4"``, ``"third"``), never sentences.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Message:
    """A thing to say: ``key`` names it, ``values`` fill it."""

    key: str
    values: tuple[tuple[str, str], ...] = ()


def message(key: str, /, **values: object) -> Message:
    """Build a message; every argument is kept as its printed form.

    >>> message("inversion", tone="third").values
    (('tone', 'third'),)
    """
    return Message(key, tuple((name, str(value)) for name, value in values.items()))
