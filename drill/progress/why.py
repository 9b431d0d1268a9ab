"""Why a player is weak somewhere: what each skill brings or costs, and which are worth repairing.

Conventions. Every card that the player has answered counts, whatever its key. A skill is told once it
has enough answers; it is weak when, nine times out of ten, it costs a noticeable share of clean answers.
A repair makes it like the player's other skills: what it lifts is counted in cards that have it, and in
how many more of them would be clean.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Final

from cards.asks import Card, CardError, Message, read_card
from cards.messages import message
from drill.learning.fluencies import fluencies_of
from drill.learning.parameter_versions import parameters_of
from drill.memory.shares import NINE_OF_TEN
from drill.planning.focus import KINDS
from drill.progress.skills import Estimate, Practised, share_out
from drill.store import Store
from drill.store.memory import last_answers, memory_rows
from drill.store.models import Player

#: A skill with fewer answers is not told yet.
ENOUGH_ANSWERS: Final = 8
#: A loss below this share of answers is no weakness worth a word.
NOTICEABLE: Final = 0.02
#: How many repairs are named.
NAMED: Final = 3


@dataclass(frozen=True)
class Repair:
    """A weak skill, how many answered cards have it, and how many more would be clean without it."""

    skill: str
    cards: int
    lifted: float


@dataclass(frozen=True)
class Why:
    """What skills do, by kind and weakest first; the repairs that lift most."""

    estimates: tuple[Estimate, ...]
    repairs: tuple[Repair, ...]

    def of(self, kind: str) -> tuple[Estimate, ...]:
        """The estimates of one kind of skill."""
        return tuple(each for each in self.estimates if kind_of(each.skill) == kind)

    def weak(self, kind: str) -> tuple[Estimate, ...]:
        """The weak skills of a kind; the only one of its kind has nothing to be compared with."""
        told = self.of(kind) if len(self.of(kind)) > 1 else ()
        return tuple(each for each in told if each.gain < -NOTICEABLE and ends(each)[1] < 0.0)

    def words(self) -> tuple[Message, ...]:
        """What is weak and what is fine, and what a repair would bring."""
        if not self.estimates:
            return (message("why-few", least=ENOUGH_ANSWERS),)
        fine = [kind for kind in ("shape", "box", "degree", "ask", "key") if self._is_fine(kind)]
        culprits = self._culprits()
        said = message("why-weak", fine=" ".join(fine), weak=" ".join(culprits)) if culprits else message("why-even")
        return (said, *(_say_repair(each) for each in self.repairs))

    def _is_fine(self, kind: str) -> bool:
        return len(self.of(kind)) > 1 and not self.weak(kind)

    def _culprits(self) -> list[str]:
        """The weak asks and keys; without any, the weak skills of the other kinds."""
        main = [each.skill for kind in ("ask", "key") for each in self.weak(kind)]
        return main or [each.skill for each in self.estimates if each in self.weak(kind_of(each.skill))]


def kind_of(skill: str) -> str:
    """What a skill is: ``key``, ``degree`` …"""
    return skill.partition(":")[0]


def ends(each: Estimate) -> tuple[float, float]:
    """Where a gain lies, nine times out of ten."""
    return each.gain - NINE_OF_TEN * each.sd, each.gain + NINE_OF_TEN * each.sd


def work_out(cards: Sequence[Practised]) -> Why:
    """Why a player is weak where it is, from the answered cards."""
    found = [each for each in share_out(cards) if each.answers >= ENOUGH_ANSWERS]
    ordered = tuple(sorted(found, key=lambda each: (KINDS.index(kind_of(each.skill)), each.gain, each.skill)))
    why = Why(ordered, ())
    weak = [each for kind in KINDS for each in why.weak(kind)]
    repairs = [Repair(each.skill, each.cards, -each.gain * each.cards) for each in weak]
    return Why(ordered, tuple(sorted(repairs, key=lambda each: -each.lifted)[:NAMED]))


def why(store: Store, player_id: int, now: datetime) -> Why:
    """Why a player is weak where it is, at ``now``."""
    with store.reading() as db:
        player = db.get_one(Player, player_id)
        met = [(each, card) for each in sorted(last_answers(db, player_id).values()) if (card := _known(each.card))]
        rows, parameters = memory_rows(db, player_id), parameters_of(db, player)
    fluencies = fluencies_of(rows, [card for _, card in met], now, player.tempo, parameters)
    return work_out([Practised(card.id, card.skills, each.reviews, fluencies[card.id]) for each, card in met])


@cache
def _known(card_id: str) -> Card | None:
    """The card with this id; None for one that an older version put, and that there is no longer."""
    try:
        return read_card(card_id)
    except CardError:
        return None


def _say_repair(repair: Repair) -> Message:
    return message("why-repair", skills=repair.skill, cards=repair.cards, lifted=f"{repair.lifted:.1f}")
