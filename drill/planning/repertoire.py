"""Which cards a player may be asked: switched on, fitting the guitar, and within reach.

Conventions. A card is open when every card that it requires was answered right at least the last
time. Of the cards never seen only the open ones nearest on the path of each key are offered to a
plan: the frontier. Keys come in the order of the player's own, then of how often charts are in them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache
from itertools import islice
from typing import Final

from cards.asks import (
    KEYS,
    Card,
    CardError,
    Given,
    Setting,
    allowance,
    beats,
    cards_of,
    difficulty,
    fits,
    groups,
    path,
    read_card,
    requires,
    universe,
    usual_mode,
    usual_seconds,
)
from cards.theory.keys import Key
from drill import clock
from drill.memory.rows import Features
from drill.planning.entry import Entry

_OWN_KEY_FRONTIER: Final = 40
_OTHER_KEY_FRONTIER: Final = 8
_SETTLED: Final = frozenset({"clean", "late"})

# Declared or inferred keys of 3,511 songs: G 27 %, C 23, D 12, A 8, Am 7, Em 6, E 6; folk and rock
# add E, B♭, F♯m. What is not counted follows in fifths.
_COMMON: Final = ("G", "C", "D", "A", "Am", "Em", "E", "Bb", "F#m", "F")


_STARTING: Final = ("G", "C", "D", "A", "E")


@dataclass(frozen=True)
class Step:
    """A card on the path of its key."""

    card: Card
    path: tuple[int, ...]

    @cached_property
    def requires(self) -> tuple[str, ...]:
        """The ids of the cards that should be settled before this one is new."""
        return requires(self.card)

    @cached_property
    def groups(self) -> frozenset[str]:
        """The groups that the card belongs to; a player can switch each off."""
        return frozenset(groups(self.card))


@cache
def steps(key: Key) -> tuple[Step, ...]:
    """The cards of a key in the order of introduction."""
    return tuple(sorted((Step(card, path(card)) for card in cards_of(key)), key=lambda step: (step.path, step.card.id)))


@cache
def features(card: Card) -> Features:
    """What memory needs to know of a card; the first time it takes a search."""
    return Features(card.id, card.skills, difficulty(card), card.ask, usual_seconds(card))


@lru_cache(maxsize=16)
def allowed_at(tempo: int) -> Callable[[str], float]:
    """A function from a card's id to the seconds that a clean answer to it may take at ``tempo`` (beats a
    minute), entered as its ask usually is. It remembers its results, since a plan asks for thousands."""

    @cache
    def allowed(card_id: str) -> float:
        return clock.beats_seconds(_length(card_id), tempo) + granted(card_id)

    return allowed


@cache
def _length(card_id: str) -> int:
    """Beats of a card's music."""
    return beats(read_card(card_id))


@cache
def granted(card_id: str) -> float:
    """Seconds granted for putting in the answer to a card as its ask usually is."""
    card = read_card(card_id)
    return allowance(card, Given(), usual_mode(card))


@cache
def group_sizes() -> Mapping[str, int]:
    """How many cards each group holds that a player can switch off."""
    return Counter(group for card in universe() for group in groups(card))


def is_on(card: Card, switched_off: Collection[str]) -> bool:
    """Whether none of its groups is switched off."""
    return not any(group in switched_off for group in groups(card))


@cache
def entry(card_id: str) -> Entry:
    """What planning asks of a card. Raises CardError."""
    card = read_card(card_id)
    return Entry(features(card), path(card), str(card.key), card.box, card.degree)


def playable(cards: Iterable[str], setting: Setting, switched_off: Collection[str]) -> Iterator[str]:
    """The ids among ``cards`` that are switched on and fit the player's guitar. An id that an older version
    used and that is no card any more is left out."""
    return filter(_playable_on(setting, frozenset(switched_off)), cards)


@lru_cache(maxsize=8)
def _playable_on(setting: Setting, switched_off: frozenset[str]) -> Callable[[str], bool]:
    """A function that says whether the card with an id is switched on and fits this guitar. It remembers its
    results by card alone: to hash a setting for every card would take longer than to look the card up."""

    @cache
    def is_playable(card_id: str) -> bool:
        try:
            card = read_card(card_id)
        except CardError:
            return False
        return is_on(card, switched_off) and fits(card, setting)

    return is_playable


def frontier(
    last_outcomes: Mapping[str, str], own_keys: Sequence[str], setting: Setting, switched_off: Collection[str]
) -> Iterator[Step]:
    """The open cards never seen, nearest on the path first within each key."""
    own = [Key.read(text) for text in own_keys]
    for key in in_order(own):
        wanted = _OWN_KEY_FRONTIER if key in own else _OTHER_KEY_FRONTIER
        yield from islice(_open(key, last_outcomes, setting, switched_off), wanted)


def keys_of(player_keys: Sequence[str]) -> tuple[str, ...]:
    """The keys that new cards come from first: the player's own, or those that most songs are in."""
    return tuple(player_keys) or _STARTING


def in_order(own: Sequence[Key]) -> tuple[Key, ...]:
    """Every key: the player's own, the common ones, the rest."""
    common = [Key.read(text) for text in _COMMON]
    return tuple(dict.fromkeys((*own, *common, *KEYS)))


def _open(
    key: Key, last_outcomes: Mapping[str, str], setting: Setting, switched_off: Collection[str]
) -> Iterator[Step]:
    off = frozenset(switched_off)
    for step in steps(key):
        if (
            step.card.id not in last_outcomes
            and not step.groups & off
            and all(last_outcomes.get(each) in _SETTLED or _is_off(each, off) for each in step.requires)
            and fits(step.card, setting)
        ):
            yield step


def _is_off(card_id: str, off: frozenset[str]) -> bool:
    """Whether a required card is switched off: then nothing can wait for it."""
    return bool(off) and not is_on(read_card(card_id), off)


def warm_up() -> None:
    """Search for the first cards that a new player would be asked."""
    for step in frontier({}, _STARTING, Setting(), ()):
        features(step.card)
