"""Grips that a player has pinned: each is shown first for its chord in a box of a key.

Conventions. A pin is kept as text, ``Eb:4:box1:x688xx``: the key, the chord by its name in card ids, the box, and
the frets, string 6 first, counted from the capo (``x`` is muted; frets above 9 are letters, ``a`` for ten).
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from cards.asks import Pin, code
from cards.guitar.neck import STRINGS
from cards.messages import RefusalError, echo
from cards.theory.keys import Key, KeyNameError
from cards.theory.numerals import numeral_from_slug

_PIN: Final = re.compile(r"(?P<place>(?P<key>[^:]+):(?P<chord>[^:]+):box(?P<box>[1-5])):(?P<frets>[0-9a-ox]+)\Z")


class PinError(RefusalError, ValueError):
    """A text that is no pin; the message says what would be right."""


def read_pin(text: object) -> Pin:
    """Read a pin. Raises PinError.

    >>> str(read_pin("Eb:4:box1:x688xx").chord), read_pin("Eb:4:box1:x688xx").frets
    ('A♭', (None, 6, 8, 8, None, None))
    """
    wrong = PinError('no grip "{pin}": one is pinned like Eb:4:box1:x688xx', pin=echo(text))
    match = _PIN.match(text) if isinstance(text, str) else None
    if match is None or len(match["frets"]) != len(STRINGS):
        raise wrong
    try:
        key = Key.from_slug(match["key"])
        chord = numeral_from_slug(match["chord"], key).chord(key)
    except KeyNameError as error:
        raise wrong from error
    frets = tuple(None if fret == "x" else int(fret, 36) for fret in match["frets"])
    return Pin(key, chord, int(match["box"]), frets)


def pinned(pins: Sequence[str], pin: str) -> tuple[str, ...]:
    """Return the pins with one more, in place of the one for the same chord and box if there is one."""
    return (*unpinned(pins, pin), pin)


def unpinned(pins: Sequence[str], pin: str) -> tuple[str, ...]:
    """Return the pins without those for the chord and box of ``pin``."""
    place = _place_of(pin)
    return tuple(kept for kept in pins if _place_of(kept) != place)


def _place_of(pin: str) -> str:
    return pin.rpartition(":")[0]


def name_pin(key: Key, chord: str, box: int, frets: Sequence[int | None]) -> str:
    """Return the text of a pin; ``chord`` is the chord's name in card ids."""
    return f"{key.slug}:{chord}:box{box}:{code(tuple(frets))}"
