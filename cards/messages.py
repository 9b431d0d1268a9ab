"""What ``cards`` tells a player, as values.

A message is a key and its arguments; whoever shows it turns it into words, in one place and in any
language. Arguments are already music (``"E♭"``, ``"4"``, ``"third"``), never sentences. What went
wrong is said by the errors themselves: each carries its English sentence and the values in it.
"""

from __future__ import annotations

from collections.abc import Callable
from contextvars import ContextVar
from dataclasses import dataclass
from typing import Final

LONGEST_ECHO: Final = 200
"""Characters of what was typed that an error repeats in full; a longer text is cut."""

_KEPT = 60
"""Characters that are left of a text that is too long."""


@dataclass(frozen=True)
class Message:
    """A thing to say: ``key`` names it, ``values`` fill it. A value may be a refusal, which has a sentence of its
    own."""

    key: str
    values: tuple[tuple[str, str | Refusal], ...] = ()


@dataclass(frozen=True)
class Refusal:
    """What an error says: an English ``sentence`` with names in braces, and the ``values`` for them."""

    sentence: str
    values: tuple[tuple[str, str | Refusal], ...] = ()

    def __str__(self) -> str:
        return self.sentence.format(**dict(self.values))


class RefusalError(Exception):
    """Something that cannot be taken, with a sentence that says what is wrong and what would be right.

    ``str(error)`` is the sentence in English; :func:`drill.words.say_error` says it in the language of the player. The
    sentence is written out where it is raised, so that a catalogue can be drawn from the source. A value that is a
    refusal itself, or another such error, is said as a sentence within it.

    >>> error = RefusalError("a tuning has six strings, not {count}", count=7)
    >>> str(error)
    'a tuning has six strings, not 7'
    >>> error.refusal.sentence
    'a tuning has six strings, not {count}'
    """

    def __init__(self, sentence: str, /, **values: object) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.values = values

    @property
    def refusal(self) -> Refusal:
        """The sentence and its values, every value as its printed form."""
        return Refusal(self.sentence, _printed(self.values))

    def __str__(self) -> str:
        return str(self.refusal)


_lookup: ContextVar[Callable[[str], str]] = ContextVar("lookup", default=str)


def phrase(sentence: str, /, **values: object) -> str:
    """A phrase of a drawing, which is text already when it is drawn: English, unless whoever shows it has said where
    to look sentences up (:func:`look_up`).

    >>> phrase("box {box}", box=2)
    'box 2'
    """
    return _lookup.get()(sentence).format(**values)


def look_up(lookup: Callable[[str], str]) -> None:
    """Look phrases up by ``lookup`` from here on, in this thread or task."""
    _lookup.set(lookup)


def lookup() -> Callable[[str], str]:
    """How phrases are looked up here: a part of the key wherever drawings are kept."""
    return _lookup.get()


def message(key: str, /, **values: object) -> Message:
    """Build a message; every argument is kept as its printed form.

    >>> message("inversion", tone="third").values
    (('tone', 'third'),)
    """
    return Message(key, _printed(values))


def refusal(sentence: str, /, **values: object) -> Refusal:
    """Build a refusal that no error carries, or that is a part of what an error says.

    >>> str(refusal("box {box} at least", box=2))
    'box 2 at least'
    """
    return Refusal(sentence, _printed(values))


def _printed(values: dict[str, object]) -> tuple[tuple[str, str | Refusal], ...]:
    return tuple((name, _value(value)) for name, value in values.items())


def _value(value: object) -> str | Refusal:
    if isinstance(value, RefusalError):
        return value.refusal
    return value if isinstance(value, Refusal) else str(value)


def echo(text: object) -> str:
    """What was typed, as an error repeats it: whole, or cut if it has more than 200 characters.

    >>> echo("4/9"), len(echo("x" * 5000))
    ('4/9', 61)
    """
    typed = str(text)
    return typed if len(typed) <= LONGEST_ECHO else typed[:_KEPT] + "…"
