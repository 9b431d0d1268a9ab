"""What goes in and out of an ask: the question, the answer given, the right answer, the verdict.

Conventions. Frets travel as six values, string 6 first, ``None`` muted and 0 open; in the list of
accepted answers each voicing is a code of six characters, ``x`` muted, the fret in base 36.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from cards.asks.card import CardError
from cards.fingering import Frets
from cards.messages import Message

_DIGITS = "0123456789abcdefghijklmnopqrstuvwxyz"
_LONGEST_TEXT = 40
_HIGHEST_FRET = 24


def code(frets: Frets) -> str:
    """Six frets as six characters.

    >>> code((None, 12, 10, 9, 10, None))
    'xca9ax'
    """
    return "".join("x" if fret is None else _DIGITS[fret] for fret in frets)


@dataclass(frozen=True)
class Question:
    """What the player sees before answering; nothing in it gives the answer away.

    ``parts`` says what an answer consists of: name, frets, number, hands. ``hint`` is the region
    (low and high fret) for an ask that can mark it.
    """

    ask: str
    key: str
    number: str | None
    seventh: bool
    box: int | None
    words: Message
    parts: tuple[str, ...]
    drawing: str | None = None
    hint: tuple[int, int] | None = None

    def as_json(self) -> dict[str, Any]:
        """The question without its words, which are turned into language elsewhere."""
        return {
            "ask": self.ask,
            "key": self.key,
            "number": self.number,
            "seventh": self.seventh,
            "box": self.box,
            "parts": list(self.parts),
            "drawing": self.drawing,
            "hint": None if self.hint is None else list(self.hint),
        }


@dataclass(frozen=True)
class Answer:
    """The right answer: what is shown, and everything that a page may accept at once.

    ``names`` are printed chord names, ``numbers`` degrees, ``frets`` codes (see :func:`code`).
    """

    chord: str
    notes: tuple[str, ...]
    names: tuple[str, ...]
    numbers: tuple[str, ...]
    frets: tuple[str, ...]
    drawing: str | None
    words: Message

    def as_json(self) -> dict[str, Any]:
        """The answer without its words, which are turned into language elsewhere."""
        return {
            "chord": self.chord,
            "notes": list(self.notes),
            "names": list(self.names),
            "numbers": list(self.numbers),
            "frets": list(self.frets),
            "drawing": self.drawing,
        }


@dataclass(frozen=True)
class Given:
    """What the player answered. ``right`` is the player's own word after playing.

    ``shown``: the player asked to be shown; ``hinted``: had the region marked.
    """

    name: str | None = None
    frets: Frets | None = None
    number: str | None = None
    right: bool | None = None
    shown: bool = False
    hinted: bool = False

    @classmethod
    def read(cls, given: Mapping[str, object]) -> Given:
        """Read an answer from JSON. Raises CardError saying which part is wrong."""
        unknown = set(given) - {"name", "frets", "number", "right", "shown", "hinted"}
        if unknown:
            raise CardError(f"an answer has no part {', '.join(sorted(unknown))}")
        return cls(
            name=_text(given, "name"),
            frets=_frets(given.get("frets")),
            number=_text(given, "number"),
            right=_flag(given, "right"),
            shown=bool(_flag(given, "shown")),
            hinted=bool(_flag(given, "hinted")),
        )

    def as_json(self) -> dict[str, Any]:
        """Inverse of :meth:`read`; parts that were not given are left out."""
        parts: dict[str, Any] = {
            "name": self.name,
            "frets": None if self.frets is None else list(self.frets),
            "number": self.number,
            "right": self.right,
            "shown": self.shown or None,
            "hinted": self.hinted or None,
        }
        return {name: value for name, value in parts.items() if value is not None}


@dataclass(frozen=True)
class Verdict:
    """What came of an answer, with the explanation and a drawing of the right answer."""

    right: bool
    messages: tuple[Message, ...]
    drawing: str | None


def _text(given: Mapping[str, object], part: str) -> str | None:
    value = given.get(part)
    if value is None:
        return None
    if not isinstance(value, str) or len(value) > _LONGEST_TEXT:
        raise CardError(f"{part} must be a text of at most {_LONGEST_TEXT} characters")
    return value


def _flag(given: Mapping[str, object], part: str) -> bool | None:
    value = given.get(part)
    if value is not None and not isinstance(value, bool):
        raise CardError(f"{part} must be true or false")
    return value


def _frets(value: object) -> Frets | None:
    if value is None:
        return None
    if not isinstance(value, list) or len(value) != 6 or not all(map(_is_fret, value)):
        raise CardError(f"frets must be six values, string 6 first: null for muted, or 0 to {_HIGHEST_FRET}")
    return tuple(value)


def _is_fret(value: object) -> bool:
    if value is None:
        return True
    return isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= _HIGHEST_FRET
