"""A player's settings: the keys played most, the hand, the tempo, the length of a session and more.

Each has a default, so that nobody has to set anything before the first card.
"""

from __future__ import annotations

import zoneinfo
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, fields, replace
from typing import Any, Final, Literal

from cards.asks import KEYS, OPEN_POSITION, Setting
from cards.guitar.fingering import BARRES
from cards.guitar.neck import FRETS, SCALES_MM, NeckError, read_tuning
from cards.messages import Refusal, echo, refusal
from cards.theory.keys import Key, KeyNameError
from drill.incoming.reading import finite
from drill.incoming.refusals import FieldError
from drill.planning.repertoire import group_sizes
from drill.players.pins import PinError, pinned, read_pin, unpinned
from drill.store import Store
from drill.store.models import DrillSession, Player
from drill.words.language import ENGLISH, LANGUAGES

Hand = Literal["small", "medium", "large"]

HANDS: Final[tuple[Hand, ...]] = ("small", "medium", "large")
TEMPO: Final = (30, 240)
MINUTES: Final = (2, 20)
REST_AFTER: Final = 20
"""Minutes of practice in a day after which pages suggest a break."""
LOWEST_COMFORTABLE: Final = 5
MOST_PINS: Final = 500
DAYS: Final = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


class PreferenceError(FieldError):
    """A setting that cannot be taken."""


def kept_setting(holder: Player | DrillSession | Preferences) -> dict[str, Any]:
    """Return what the music depends on, by name, as it is stored: the tuning as it was typed.

    A part of the setting that is not stored is left out and takes its default.
    """
    stored = (setting.name for setting in fields(Setting) if hasattr(holder, setting.name))
    return {name: getattr(holder, name) for name in stored}


def read_setting(holder: Player | DrillSession | Preferences) -> Setting:
    """Return what the music depends on. Raises PinError, NeckError for what was never checked."""
    pins = tuple(map(read_pin, holder.pins or ()))
    return Setting(**{**kept_setting(holder), "tuning": read_tuning(holder.tuning), "pins": pins})


@dataclass(frozen=True)
class Preferences:
    """A player's settings.

    keys          the keys played most, as printed (``B♭``); none means no preference
    hand          ``small``, ``medium`` or ``large``: which stretches are offered and accepted
    tempo         beats a minute; one bar at this tempo is the time that a bare card's chord lasts
    minutes       the length of a session, which is also the practice meant for a day
    days          the days of the week on which the player means to practise, ``mon`` to ``sun``
    richer        whether the seventh chord counts where the triad is asked
    thumb         whether the thumb may hold string 6
    barre         ``none``, ``three`` (strings) or ``full``: the barres that main voicings may have
    band          whether bass or keys play along, so that rootless and upper-string voicings come first
    pins          the grips to show first (:mod:`drill.players.pins`)
    tuning        the name of a tuning, or six note names low to high
    capo          the fret of the capo; 0 for none
    frets         the number of frets of the guitar
    scale_mm      its scale length in mm
    highest       the highest comfortable fret, from the nut
    switched_off  the groups of cards that are not asked (:func:`cards.asks.groups`); the open position is one of
                  them until the player switches it on
    day_start     the hour (0–23) at which the player's day begins
    zone          the player's time zone, an IANA name
    why           whether every card says why it is asked now
    language      the language of pages, as browsers name it (``en``)
    """

    keys: tuple[str, ...] = ()
    left_handed: bool = False
    hand: Hand = "medium"
    tempo: int = 80
    minutes: int = 5
    richer: bool = False
    thumb: bool = False
    band: bool = False
    barre: str = "full"
    pins: tuple[str, ...] = ()
    tuning: str = "standard"
    capo: int = 0
    frets: int = 22
    scale_mm: float = 648.0
    highest: int = 22
    switched_off: tuple[str, ...] = (OPEN_POSITION,)
    days: tuple[str, ...] = DAYS
    day_start: int = 4
    zone: str = "UTC"
    why: bool = False
    language: str = ENGLISH

    @classmethod
    def of(cls, player: Player) -> Preferences:
        """Return a player's settings."""
        stored: dict[str, Any] = {setting.name: getattr(player, setting.name) for setting in fields(cls)}
        lists = {name: tuple(value) for name, value in stored.items() if isinstance(value, list)}
        return cls(**{**stored, **lists})

    def keep(self, player: Player) -> None:
        """Store these as the player's settings."""
        for name, value in self.as_json().items():
            setattr(player, name, list(value) if isinstance(value, tuple) else value)

    def changed(self, body: Mapping[str, object]) -> Preferences:
        """Return these preferences with the settings in ``body`` changed. Raises PreferenceError.

        >>> Preferences().changed({"keys": ["bb", "Eb"], "tempo": 96}).keys
        ('B♭', 'E♭')
        """
        for name in body:
            if name not in _READERS:
                raise PreferenceError(
                    name, 'no setting "{name}": there are {names}', name=echo(name), names=", ".join(_READERS)
                )
        values: dict[str, Any] = {name: _READERS[name](name, value) for name, value in body.items()}
        return replace(self, **values)

    def as_json(self) -> dict[str, Any]:
        """Return the settings as the page gets them."""
        return asdict(self)


def read_minutes(name: str, value: object) -> int:
    """Read the length of a session, in minutes. Raises PreferenceError."""
    return _whole(name, value, MINUTES, refusal("a session lasts from 2 to 20 minutes"))


def _keys(name: str, value: object) -> tuple[str, ...]:
    if not isinstance(value, list) or not all(isinstance(key, str) for key in value):
        raise PreferenceError(name, 'keys are a list of names, like ["B♭", "E♭"]')
    keys: dict[str, None] = {}
    for text in value:
        try:
            key = Key.read(text).practical
        except KeyNameError as error:
            raise PreferenceError(name, error.sentence, **error.values) from error
        if key not in KEYS:
            raise PreferenceError(name, "{key} is not among the keys that players meet", key=text)
        keys[str(key)] = None
    return tuple(keys)


def _flag(name: str, value: object) -> bool:
    if not isinstance(value, bool):
        raise PreferenceError(name, '"{name}" is true or false', name=name)
    return value


def _hand(name: str, value: object) -> Hand:
    for hand in HANDS:
        if value == hand:
            return hand
    raise PreferenceError(name, "a hand is small, medium or large")


def _barre(name: str, value: object) -> str:
    if isinstance(value, str) and value in BARRES:
        return value
    raise PreferenceError(name, "barres are none, three (strings) or full")


def _pins(name: str, value: object) -> tuple[str, ...]:
    if not isinstance(value, list) or len(value) > MOST_PINS:
        raise PreferenceError(name, "pins are a list of at most {most} grips", most=MOST_PINS)
    pins: tuple[str, ...] = ()
    for text in value:
        try:
            read_pin(text)
        except PinError as error:
            raise PreferenceError(name, error.sentence, **error.values) from error
        pins = pinned(pins, text)
    return pins


def _tuning(name: str, value: object) -> str:
    if not isinstance(value, str):
        raise PreferenceError(name, "a tuning is its name, or six notes low to high, like D A D G B E")
    try:
        read_tuning(value)
    except NeckError as error:
        raise PreferenceError(name, error.sentence, **error.values) from error
    return value.strip()


def _capo(name: str, value: object) -> int:
    return _whole(name, value, (0, 11), refusal("a capo lies on fret 0 (none) to 11"))


def _frets(name: str, value: object) -> int:
    return _whole(name, value, (FRETS.start, FRETS.stop - 1), refusal("a neck has 12 to 24 frets"))


def _highest(name: str, value: object) -> int:
    comfortable = LOWEST_COMFORTABLE, FRETS.stop - 1
    return _whole(name, value, comfortable, refusal("the highest comfortable fret is from 5 to 24"))


def _scale_mm(name: str, value: object) -> float:
    number = finite(value)
    if number is None or not SCALES_MM.start <= number < SCALES_MM.stop:
        raise PreferenceError(name, "a scale length is from 500 to 750 mm")
    return number


def _groups(name: str, value: object) -> tuple[str, ...]:
    known = group_sizes()
    if not isinstance(value, list) or not all(isinstance(group, str) for group in value):
        raise PreferenceError(name, "groups switched off are a list of names")
    for group in value:
        if group not in known:
            raise PreferenceError(
                name, 'no group "{group}": there are {groups}', group=echo(group), groups=", ".join(known)
            )
    if sum(group.startswith("ask:") for group in set(value)) == sum(group.startswith("ask:") for group in known):
        raise PreferenceError(name, "one kind of question at least has to stay on")
    return tuple(dict.fromkeys(value))


def _days(name: str, value: object) -> tuple[str, ...]:
    if not isinstance(value, list) or not value or not all(day in DAYS for day in value):
        raise PreferenceError(name, "days are a list with one at least of {days}", days=", ".join(DAYS))
    return tuple(day for day in DAYS if day in value)


def _tempo(name: str, value: object) -> int:
    return _whole(name, value, TEMPO, refusal("a tempo is from 30 to 240 beats a minute"))


def _day_start(name: str, value: object) -> int:
    return _whole(name, value, (0, 23), refusal("a day starts at an hour from 0 to 23"))


def _zone(name: str, value: object) -> str:
    if isinstance(value, str):
        try:
            return zoneinfo.ZoneInfo(value).key
        except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
            pass
    raise PreferenceError(name, 'no time zone "{zone}": it is a name like Europe/Rome', zone=echo(value))


def _language(name: str, value: object) -> str:
    if value not in LANGUAGES:
        raise PreferenceError(
            name, 'no language "{language}": there are {names}', language=echo(value), names=", ".join(LANGUAGES)
        )
    return str(value)


def _whole(name: str, value: object, bounds: tuple[int, int], range_: Refusal) -> int:
    low, high = bounds
    number = finite(value)
    if number is None:
        raise PreferenceError(name, "{range}, written as a number", range=range_)
    if number != int(number) or not low <= number <= high:
        raise PreferenceError(name, "{range}, not {number}", range=range_, number=f"{number:g}")
    return int(number)


_READERS: Final[dict[str, Callable[[str, object], object]]] = {
    "keys": _keys,
    "left_handed": _flag,
    "hand": _hand,
    "tempo": _tempo,
    "minutes": read_minutes,
    "richer": _flag,
    "thumb": _flag,
    "band": _flag,
    "barre": _barre,
    "pins": _pins,
    "tuning": _tuning,
    "capo": _capo,
    "frets": _frets,
    "scale_mm": _scale_mm,
    "highest": _highest,
    "switched_off": _groups,
    "days": _days,
    "day_start": _day_start,
    "zone": _zone,
    "why": _flag,
    "language": _language,
}


def change(store: Store, player_id: int, body: Mapping[str, object]) -> Preferences:
    """Change the settings in ``body``, all or none. Raises PreferenceError."""
    with store.writing(player_id) as (_, player):
        changed = Preferences.of(player).changed(body)
        changed.keep(player)
        player.settled = True
    return changed


def preferences(store: Store, player_id: int) -> Preferences:
    """Return the player's settings."""
    with store.reading() as db:
        return Preferences.of(db.get_one(Player, player_id))


def pin(store: Store, player_id: int, grip: str) -> Preferences:
    """Show a grip first for its chord and box. Raises PreferenceError."""
    with store.writing(player_id) as (_, player):
        changed = Preferences.of(player).changed({"pins": list(pinned(player.pins, grip))})
        changed.keep(player)
    return changed


def unpin(store: Store, player_id: int, grip: str) -> Preferences:
    """Show what was shown first before a grip was pinned for its chord and box."""
    with store.writing(player_id) as (_, player):
        changed = replace(Preferences.of(player), pins=unpinned(player.pins, grip))
        changed.keep(player)
    return changed
