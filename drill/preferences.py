"""What a player may set: the keys played most, the hand, the tempo, the length of a session.

Each has a default, so that nobody has to answer anything before the first card.
"""

from __future__ import annotations

import zoneinfo
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, fields, replace
from typing import Any, Final, Literal

from cards.keys import PRACTICAL_KEYS, Key, KeyNameError
from drill.reading import finite
from drill.store.models import Player

Hand = Literal["small", "medium", "large"]

HANDS: Final[tuple[Hand, ...]] = ("small", "medium", "large")
TEMPO: Final = (30, 240)
MINUTES: Final = (2, 20)


class PreferenceError(ValueError):
    """A value that cannot be taken; ``field`` says which, the message what would be right."""

    def __init__(self, field: str, sentence: str) -> None:
        super().__init__(sentence)
        self.field = field


@dataclass(frozen=True)
class Preferences:
    """A player's settings.

    keys       the keys played most, as printed (``B♭``); none means no preference
    hand       ``small``, ``medium`` or ``large``: which stretches are offered and accepted
    tempo      beats a minute; one bar at this tempo is the time a bare card's chord lasts
    minutes    length of a session
    richer     whether the seventh chord counts where the triad is asked
    day_start  the hour (0–23) at which the player's day begins
    zone       the player's time zone, an IANA name
    """

    keys: tuple[str, ...] = ()
    left_handed: bool = False
    hand: Hand = "medium"
    tempo: int = 80
    minutes: int = 5
    richer: bool = False
    day_start: int = 4
    zone: str = "UTC"

    @classmethod
    def of(cls, player: Player) -> Preferences:
        """What a player has set."""
        kept: dict[str, Any] = {setting.name: getattr(player, setting.name) for setting in fields(cls)}
        return cls(**{**kept, "keys": tuple(player.keys)})

    def keep(self, player: Player) -> None:
        """Make these the player's."""
        for name, value in self.as_json().items():
            setattr(player, name, list(value) if name == "keys" else value)

    def changed(self, body: Mapping[str, object]) -> Preferences:
        """These preferences with those in ``body`` changed. Raises PreferenceError.

        >>> Preferences().changed({"keys": ["bb", "Eb"], "tempo": 96}).keys
        ('B♭', 'E♭')
        """
        for name in body:
            if name not in _READERS:
                raise PreferenceError(name, f'no setting "{name}": there are {", ".join(_READERS)}')
        values: dict[str, Any] = {name: _READERS[name](name, value) for name, value in body.items()}
        return replace(self, **values)

    def as_json(self) -> dict[str, Any]:
        """The settings as the page gets them."""
        return asdict(self)


def read_minutes(name: str, value: object) -> int:
    """The length of a session, in minutes. Raises PreferenceError."""
    return _whole(name, value, MINUTES, "a session lasts from 2 to 20 minutes")


def _keys(name: str, value: object) -> tuple[str, ...]:
    if not isinstance(value, list) or not all(isinstance(key, str) for key in value):
        raise PreferenceError(name, 'keys are a list of names, like ["B♭", "E♭"]')
    keys: dict[str, None] = {}
    for text in value:
        try:
            key = Key.read(text).practical
        except KeyNameError as error:
            raise PreferenceError(name, str(error)) from error
        if key not in PRACTICAL_KEYS:
            raise PreferenceError(name, f"{text} is not among the thirteen keys that players meet")
        keys[str(key)] = None
    return tuple(keys)


def _flag(name: str, value: object) -> bool:
    if not isinstance(value, bool):
        raise PreferenceError(name, f'"{name}" is true or false')
    return value


def _hand(name: str, value: object) -> Hand:
    for hand in HANDS:
        if value == hand:
            return hand
    raise PreferenceError(name, "a hand is small, medium or large")


def _tempo(name: str, value: object) -> int:
    return _whole(name, value, TEMPO, "a tempo is from 30 to 240 beats a minute")


def _day_start(name: str, value: object) -> int:
    return _whole(name, value, (0, 23), "a day starts at an hour from 0 to 23")


def _zone(name: str, value: object) -> str:
    if isinstance(value, str):
        try:
            return zoneinfo.ZoneInfo(value).key
        except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
            pass
    raise PreferenceError(name, f'no time zone "{value}": it is a name like Europe/Rome')


def _whole(name: str, value: object, bounds: tuple[int, int], sentence: str) -> int:
    low, high = bounds
    number = finite(value)
    if number is None:
        raise PreferenceError(name, f"{sentence}, written as a number")
    if number != int(number) or not low <= number <= high:
        raise PreferenceError(name, f"{sentence}, not {number:g}")
    return int(number)


_READERS: Final[dict[str, Callable[[str, object], object]]] = {
    "keys": _keys,
    "left_handed": _flag,
    "hand": _hand,
    "tempo": _tempo,
    "minutes": read_minutes,
    "richer": _flag,
    "day_start": _day_start,
    "zone": _zone,
}
