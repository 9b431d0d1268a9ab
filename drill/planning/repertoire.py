"""Which cards a player may be asked: switched on, fitting the guitar, and within reach.

Conventions. A card is open if every card that it requires was right the last time. Of the cards never seen, a
plan may only choose the frontier: the open ones that are nearest on the path of each key. The player's own keys
come first, then the others by how many charts are in them.
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
    needs_hand,
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

# The declared or inferred keys of 3,511 songs are G 27 %, C 23, D 12, A 8, Am 7, Em 6 and E 6; folk and rock
# add E, B♭ and F♯m. The other keys follow in fifths.
_COMMON: Final = ("G", "C", "D", "A", "Am", "Em", "E", "Bb", "F#m", "F")


_STARTING: Final = ("G", "C", "D", "A", "E")


@dataclass(frozen=True)
class Step:
    """One card on the path of its key."""

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
    """Return the cards of a key in the order in which they are introduced."""
    return tuple(sorted((Step(card, path(card)) for card in cards_of(key)), key=lambda step: (step.path, step.card.id)))


@cache
def features(card: Card) -> Features:
    """Return what memory needs to know of a card. The first call for a card searches for its voicings."""
    return Features(card.id, card.skills, difficulty(card), card.ask, usual_seconds(card))


@lru_cache(maxsize=16)
def allowed_seconds_at(tempo: int) -> Callable[[str], float]:
    """Return a function from a card's id to the seconds allowed for a clean answer at ``tempo`` (beats a
    minute).

    It takes the allowance of the way in which the card's ask is usually answered. It caches its results, since
    a plan asks for thousands.
    """

    @cache
    def allowed(card_id: str) -> float:
        return clock.beats_seconds(_beats_of(card_id), tempo) + usual_allowance(card_id)

    return allowed


@cache
def _beats_of(card_id: str) -> int:
    """Return the beats of a card's music."""
    return beats(read_card(card_id))


@cache
def usual_allowance(card_id: str) -> float:
    """Return the seconds granted for entering the answer to a card, in the way in which its ask is usually
    answered."""
    card = read_card(card_id)
    return allowance(card, Given(), usual_mode(card))


@cache
def group_sizes() -> Mapping[str, int]:
    """Return the number of cards in each group that a player can switch off."""
    return Counter(group for card in universe() for group in groups(card))


def is_switched_on(card: Card, switched_off: Collection[str]) -> bool:
    """Whether none of a card's groups is switched off."""
    return not any(group in switched_off for group in groups(card))


@cache
def entry(card_id: str) -> Entry:
    """Return the entry of a card. Raises CardError.

    Full barres are a step of their own: such a card comes after the cards of its group that need none.
    """
    card = read_card(card_id)
    *group, stage, degree, place = path(card)
    barred = card.needs_full_barre
    on_path = (*group, int(barred), stage, degree, place)
    return Entry(features(card), on_path, str(card.key), card.box, card.degree, barred and needs_hand(card))


def playable(cards: Iterable[str], setting: Setting, switched_off: Collection[str]) -> Iterator[str]:
    """Return those of the card ids that are switched on and fit the player's guitar.

    An id from an older version that is no longer a card is left out.
    """
    return filter(_playable_on(setting, frozenset(switched_off)), cards)


@lru_cache(maxsize=8)
def _playable_on(setting: Setting, switched_off: frozenset[str]) -> Callable[[str], bool]:
    """Return a function that says whether a card, by its id, is switched on and fits this guitar.

    It caches its results by card id alone, since hashing a setting for every card would take longer than the
    lookup.
    """

    @cache
    def is_playable(card_id: str) -> bool:
        try:
            card = read_card(card_id)
        except CardError:
            return False
        return is_switched_on(card, switched_off) and fits(card, setting)

    return is_playable


def frontier(
    last_outcomes: Mapping[str, str], own_keys: Sequence[str], setting: Setting, switched_off: Collection[str]
) -> Iterator[Step]:
    """Yield the open cards never seen, nearest on the path first within each key."""
    own = [Key.read(text) for text in own_keys]
    for key in order_keys(own):
        wanted = _OWN_KEY_FRONTIER if key in own else _OTHER_KEY_FRONTIER
        yield from islice(_open_cards(key, last_outcomes, setting, switched_off), wanted)


def starting_keys(player_keys: Sequence[str]) -> tuple[str, ...]:
    """Return the keys that new cards come from first: the player's own, or those that most songs are in."""
    return tuple(player_keys) or _STARTING


def order_keys(own: Sequence[Key]) -> tuple[Key, ...]:
    """Return every key: the player's own, then the common ones, then the rest."""
    common = [Key.read(text) for text in _COMMON]
    return tuple(dict.fromkeys((*own, *common, *KEYS)))


def _open_cards(
    key: Key, last_outcomes: Mapping[str, str], setting: Setting, switched_off: Collection[str]
) -> Iterator[Step]:
    """Yield the steps of a key that are open, switched on, never seen and fit the guitar."""
    off = frozenset(switched_off)
    for step in steps(key):
        if (
            step.card.id not in last_outcomes
            and not step.groups & off
            and all(last_outcomes.get(required) in _SETTLED or _is_off(required, off) for required in step.requires)
            and fits(step.card, setting)
        ):
            yield step


def _is_off(card_id: str, off: frozenset[str]) -> bool:
    """Whether a required card is switched off, so that no card may wait for it."""
    return bool(off) and not is_switched_on(read_card(card_id), off)


def warm_up() -> None:
    """Search for the voicings of the first cards that a new player would be asked."""
    for step in frontier({}, _STARTING, Setting(), ()):
        features(step.card)
