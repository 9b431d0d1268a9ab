"""Why a player is weak somewhere: what each skill brings or costs, and which skills are worth repairing.

Conventions. Every card that the player has answered counts, in any key. A skill is named once it has enough answers.
It is weak if the 90 % interval of its gain lies below zero and the loss is noticeable. A repair makes a skill like
the player's other skills. It is measured by the cards that have the skill, and by how many more of them would be
clean.
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
from drill.progress.skills import Estimate, Practised, estimate_gains
from drill.store import Store
from drill.store.memory import last_answers, memory_rows
from drill.store.models import Player

#: A skill with fewer answers is not named yet.
ENOUGH_ANSWERS: Final = 8
#: A smaller loss (share of answers) is not called a weakness.
NOTICEABLE: Final = 0.02
#: How many repairs are named.
NAMED: Final = 3


@dataclass(frozen=True)
class Repair:
    """A weak skill, how many answered cards have it, and how many more of them would be clean after a repair."""

    skill: str
    cards: int
    lifted: float


@dataclass(frozen=True)
class Why:
    """The estimates of all skills, by kind and the weakest first, and the repairs that bring most."""

    estimates: tuple[Estimate, ...]
    repairs: tuple[Repair, ...]

    def of(self, kind: str) -> tuple[Estimate, ...]:
        """Return the estimates of one kind of skill."""
        return tuple(estimate for estimate in self.estimates if kind_of(estimate.skill) == kind)

    def weak(self, kind: str) -> tuple[Estimate, ...]:
        """Return the weak skills of a kind. A kind with one skill has none, because nothing can be compared."""
        comparable = self.of(kind) if len(self.of(kind)) > 1 else ()
        return tuple(estimate for estimate in comparable if estimate.gain < -NOTICEABLE and ends(estimate)[1] < 0.0)

    def words(self) -> tuple[Message, ...]:
        """Say what is weak, what is fine, and what a repair would bring."""
        if not self.estimates:
            return (message("why-few", least=ENOUGH_ANSWERS),)
        fine = [kind for kind in ("shape", "box", "degree", "ask", "key") if self._is_fine(kind)]
        culprits = self._culprits()
        verdict = message("why-weak", fine=" ".join(fine), weak=" ".join(culprits)) if culprits else message("why-even")
        return (verdict, *(_say_repair(repair) for repair in self.repairs))

    def _is_fine(self, kind: str) -> bool:
        return len(self.of(kind)) > 1 and not self.weak(kind)

    def _culprits(self) -> list[str]:
        """Return the weak asks and keys; if there are none, the weak skills of the other kinds."""
        main = [estimate.skill for kind in ("ask", "key") for estimate in self.weak(kind)]
        return main or [estimate.skill for estimate in self.estimates if estimate in self.weak(kind_of(estimate.skill))]


def kind_of(skill: str) -> str:
    """Return the kind of a skill: ``key``, ``degree`` …"""
    return skill.partition(":")[0]


def ends(estimate: Estimate) -> tuple[float, float]:
    """Return the 90 % interval of a gain."""
    return estimate.gain - NINE_OF_TEN * estimate.sd, estimate.gain + NINE_OF_TEN * estimate.sd


def work_out(cards: Sequence[Practised]) -> Why:
    """Return why a player is weak, from the answered cards."""
    estimates = [estimate for estimate in estimate_gains(cards) if estimate.answers >= ENOUGH_ANSWERS]
    ordered = tuple(
        sorted(estimates, key=lambda estimate: (KINDS.index(kind_of(estimate.skill)), estimate.gain, estimate.skill))
    )
    why = Why(ordered, ())
    weak = [estimate for kind in KINDS for estimate in why.weak(kind)]
    repairs = [Repair(estimate.skill, estimate.cards, -estimate.gain * estimate.cards) for estimate in weak]
    return Why(ordered, tuple(sorted(repairs, key=lambda repair: -repair.lifted)[:NAMED]))


def why(store: Store, player_id: int, now: datetime) -> Why:
    """Return why a player is weak, at ``now``."""
    with store.reading() as db:
        player = db.get_one(Player, player_id)
        met = [
            (answered, card)
            for answered in sorted(last_answers(db, player_id).values())
            if (card := _known(answered.card))
        ]
        rows, parameters = memory_rows(db, player_id), parameters_of(db, player)
    fluencies = fluencies_of(rows, [card for _, card in met], now, player.tempo, parameters)
    return work_out([Practised(card.id, card.skills, answered.reviews, fluencies[card.id]) for answered, card in met])


@cache
def _known(card_id: str) -> Card | None:
    """Return the card with this id, or None if it came from an older version and no longer exists."""
    try:
        return read_card(card_id)
    except CardError:
        return None


def _say_repair(repair: Repair) -> Message:
    return message("why-repair", skills=repair.skill, cards=repair.cards, lifted=f"{repair.lifted:.1f}")
