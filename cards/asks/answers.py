"""The values that an ask takes and returns: the question, the answer given, the right answer, the verdict.

Conventions. Frets are six values, string 6 first: None is muted, 0 is open. In the list of accepted answers
each voicing is a code of six characters: ``x`` is muted, a fret is a digit in base 36.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from cards.asks.card import CardError
from cards.guitar.fingering import Frets
from cards.guitar.neck import STRINGS
from cards.messages import Message

_DIGITS = "0123456789abcdefghijklmnopqrstuvwxyz"
_LONGEST_TEXT = 40
_HIGHEST_FRET = 24
_LONGEST_LIST = 64
_MOST_SPOTS = 6 * (_HIGHEST_FRET + 1)


def code(frets: Frets) -> str:
    """Return six frets as six characters.

    >>> code((None, 12, 10, 9, 10, None))
    'xca9ax'
    """
    return "".join("x" if fret is None else _DIGITS[fret] for fret in frets)


@dataclass(frozen=True)
class Choice:
    """A group of options of which the player chooses one.

    ``about`` says what the group is about; ``options`` are the (id, label) of each. A label is music
    (``E♭``, ``sus4``) or the key of a word (``tone.third``); :mod:`drill.words` has the words.
    """

    about: str
    options: tuple[tuple[str, str], ...]


Spots = tuple[tuple[int, int], ...]
"""Places on the neck: (string number, fret)."""


@dataclass(frozen=True)
class Prompt:
    """What the player sees before answering. Nothing in it gives the answer away.

    ``parts`` are the parts that an answer consists of: name, frets, number, hands, choice, spots, notes,
    marks. ``hint`` is the region (low and high fret) if the page can mark it. ``choices`` are the groups to
    choose from. ``spots`` are the only places that can be tapped; None means the whole neck. ``steps`` are
    the numbers of a progression, chord by chord, and ``beats`` how long each lasts. ``rootless`` says that
    the root may be left out, ``at_nut`` that the box in the question is the open position too.
    """

    ask: str
    key: str | None
    number: str | None
    seventh: bool
    box: int | None
    words: Message
    parts: tuple[str, ...]
    drawing: str | None = None
    hint: tuple[int, int] | None = None
    choices: tuple[Choice, ...] = ()
    spots: Spots | None = None
    steps: tuple[str, ...] = ()
    beats: tuple[int, ...] = ()
    rootless: bool = False
    at_nut: bool = False

    def as_json(self) -> dict[str, Any]:
        """Return the question as plain data, without its words: these become sentences elsewhere."""
        return {
            "ask": self.ask,
            "key": self.key,
            "number": self.number,
            "seventh": self.seventh,
            "box": self.box,
            "parts": list(self.parts),
            "drawing": self.drawing,
            "hint": None if self.hint is None else list(self.hint),
            "choices": [
                {"about": choice.about, "options": [list(option) for option in choice.options]}
                for choice in self.choices
            ],
            "spots": None if self.spots is None else [list(spot) for spot in self.spots],
            "steps": list(self.steps),
            "beats": list(self.beats),
            "rootless": self.rootless,
            "at_nut": self.at_nut,
        }


@dataclass(frozen=True)
class Answer:
    """The right answer: what the page shows, and everything that it may accept at once.

    ``notes`` are the notes of the chord in order, ``names`` printed chord names, ``numbers`` degrees, ``frets``
    codes (see :func:`code`), and ``choices`` the right combinations of option ids. ``spots`` are the right
    sets of places (string number and fret, sorted); each holds one tuple for each step.
    """

    chord: str
    notes: tuple[str, ...]
    words: Message
    drawing: str | None = None
    names: tuple[str, ...] = ()
    numbers: tuple[str, ...] = ()
    frets: tuple[str, ...] = ()
    choices: tuple[tuple[str, ...], ...] = ()
    spots: tuple[tuple[Spots, ...], ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return the answer as plain data, without its words: these become sentences elsewhere."""
        return {
            "chord": self.chord,
            "notes": list(self.notes),
            "names": list(self.names),
            "numbers": list(self.numbers),
            "frets": list(self.frets),
            "choices": [list(choice) for choice in self.choices],
            "spots": [[[list(spot) for spot in step] for step in steps] for steps in self.spots],
            "drawing": self.drawing,
        }


@dataclass(frozen=True)
class Given:
    """What the player answered.

    ``right`` is the player's own word after playing, ``marks`` that word for each chord of a progression.
    ``choice`` has one option id for each group, ``spots`` one set of places for each step, ``notes`` the names
    of notes. ``shown`` says that the player asked to be shown the answer, ``hinted`` that the player had the
    region marked.
    """

    name: str | None = None
    frets: Frets | None = None
    number: str | None = None
    right: bool | None = None
    choice: tuple[str, ...] | None = None
    spots: tuple[Spots, ...] | None = None
    notes: tuple[str, ...] | None = None
    marks: tuple[bool, ...] | None = None
    shown: bool = False
    hinted: bool = False

    @classmethod
    def read(cls, given: Mapping[str, object]) -> Given:
        """Read an answer from JSON. Raises CardError, which says what part is wrong."""
        unknown = set(given) - _PARTS
        if unknown:
            raise CardError("an answer has no part {parts}", parts=", ".join(sorted(unknown)))
        return cls(
            name=_text(given, "name"),
            frets=_frets(given.get("frets")),
            number=_text(given, "number"),
            right=_flag(given, "right"),
            choice=_texts(given, "choice"),
            spots=_spots(given.get("spots")),
            notes=_texts(given, "notes"),
            marks=_marks(given.get("marks")),
            shown=bool(_flag(given, "shown")),
            hinted=bool(_flag(given, "hinted")),
        )

    def as_json(self) -> dict[str, Any]:
        """Return the answer as :meth:`read` takes it, without the parts that were not given."""
        parts: dict[str, Any] = {
            "name": self.name,
            "frets": None if self.frets is None else list(self.frets),
            "number": self.number,
            "right": self.right,
            "choice": None if self.choice is None else list(self.choice),
            "spots": None if self.spots is None else [[list(spot) for spot in step] for step in self.spots],
            "notes": None if self.notes is None else list(self.notes),
            "marks": None if self.marks is None else list(self.marks),
            "shown": self.shown or None,
            "hinted": self.hinted or None,
        }
        return {name: value for name, value in parts.items() if value is not None}


_PARTS = frozenset(Given.__dataclass_fields__)


@dataclass(frozen=True)
class Verdict:
    """Whether an answer was right, with the explanation and a drawing of the right answer."""

    right: bool
    messages: tuple[Message, ...]
    drawing: str | None = None


def _text(given: Mapping[str, object], part: str) -> str | None:
    value = given.get(part)
    if value is None:
        return None
    if not isinstance(value, str) or len(value) > _LONGEST_TEXT:
        raise CardError("{part} must be a text of at most {most} characters", part=part, most=_LONGEST_TEXT)
    return value


def _flag(given: Mapping[str, object], part: str) -> bool | None:
    value = given.get(part)
    if value is not None and not isinstance(value, bool):
        raise CardError("{part} must be true or false", part=part)
    return value


def _frets(value: object) -> Frets | None:
    if value is None:
        return None
    if not isinstance(value, list) or len(value) != 6 or not all(map(_is_fret, value)):
        raise CardError(
            "frets must be six values, string 6 first: null for muted, or 0 to {highest}",
            highest=_HIGHEST_FRET,
        )
    return tuple(value)


def _is_fret(value: object) -> bool:
    if value is None:
        return True
    return isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= _HIGHEST_FRET


def _texts(given: Mapping[str, object], part: str) -> tuple[str, ...] | None:
    value = given.get(part)
    if value is None:
        return None
    if not isinstance(value, list) or len(value) > _LONGEST_LIST:
        raise CardError("{part} must be a list of at most {most} texts", part=part, most=_LONGEST_LIST)
    if not all(isinstance(text, str) and len(text) <= _LONGEST_TEXT for text in value):
        raise CardError("{part} must hold texts of at most {most} characters", part=part, most=_LONGEST_TEXT)
    return tuple(value)


def _marks(value: object) -> tuple[bool, ...] | None:
    if value is None:
        return None
    if not isinstance(value, list) or len(value) > _LONGEST_LIST or not all(isinstance(mark, bool) for mark in value):
        raise CardError("marks must be a list of at most {most} times true or false", most=_LONGEST_LIST)
    return tuple(value)


def _spots(value: object) -> tuple[Spots, ...] | None:
    if value is None:
        return None
    if not isinstance(value, list) or len(value) > _LONGEST_LIST:
        raise CardError("spots must be a list of at most {most} steps", most=_LONGEST_LIST)
    return tuple(_step(step) for step in value)


def _step(value: object) -> Spots:
    if not isinstance(value, list) or len(value) > _MOST_SPOTS or not all(map(_is_spot, value)):
        raise CardError("each step of spots must be a list of [string 6–1, fret] pairs")
    return tuple(sorted({(string, fret) for string, fret in value}))


def _is_spot(value: object) -> bool:
    if not isinstance(value, list) or len(value) != 2:
        return False
    string, fret = value
    return _is_fret(string) and string in STRINGS and fret is not None and _is_fret(fret)
