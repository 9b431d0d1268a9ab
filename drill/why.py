"""Why a player is weak somewhere: what each skill does, and which ones are worth repairing.

Conventions. Every card that the player has answered counts, whatever its key. A skill is told once it
has enough answers; it is weak when nine times out of ten it costs clean answers, fine when it does not
cost a noticeable share of them. A repair makes it like the player's other skills; what it lifts is counted in
cards that have it, and in how many more of them would be clean.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from cards.asks import Card, CardError, Message, read_card
from cards.messages import message
from drill.focus import KINDS
from drill.keymap import NINE_OF_TEN
from drill.memory import Row
from drill.standing import Estimate, estimate, lifted
from drill.store import Store
from drill.store.memory import memory_rows, seen
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
        """The weak skills of a kind."""
        return tuple(each for each in self.of(kind) if each.gain < -NOTICEABLE and ends(each)[1] < 0)

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


def work_out(rows: Mapping[str, Row], cards: Sequence[Card], now: datetime, tempo: int) -> Why:
    """Why the player of these memory rows is weak where it is, from the answered ``cards``."""
    having: dict[str, list[Card]] = {}
    for card in cards:
        for skill in card.skills:
            having.setdefault(skill, []).append(card)
    told = [skill for skill in having if _answers(rows, skill) >= ENOUGH_ANSWERS]
    found = [estimate(rows, skill, having[skill], now, tempo) for skill in told]
    ordered = tuple(sorted(found, key=lambda each: (KINDS.index(kind_of(each.skill)), each.gain, each.skill)))
    why = Why(ordered, ())
    weak = [each.skill for kind in KINDS for each in why.weak(kind)]
    repairs = [Repair(skill, len(having[skill]), lifted(rows, skill, having[skill], now, tempo)) for skill in weak]
    return Why(ordered, tuple(sorted(repairs, key=lambda each: -each.lifted)[:NAMED]))


def why(store: Store, player_id: int, now: datetime) -> Why:
    """Why a player is weak where it is, at ``now``."""
    with store.reading() as db:
        tempo = db.get_one(Player, player_id).tempo
        cards = list(_known(each.card for each in seen(db, player_id)))
        rows = memory_rows(db, player_id)
    return work_out(rows, cards, now, tempo)


def _known(cards: Iterable[str]) -> Iterator[Card]:
    for card_id in cards:
        try:
            yield read_card(card_id)
        except CardError:  # an older version's card
            continue


def _answers(rows: Mapping[str, Row], skill: str) -> float:
    row = rows.get(skill)
    return row.successes + row.failures if row else 0.0


def _say_repair(repair: Repair) -> Message:
    return message("why-repair", skills=repair.skill, cards=repair.cards, lifted=f"{repair.lifted:.1f}")
