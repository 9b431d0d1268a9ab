"""The last look: five minutes before going on stage.

Conventions. It holds the opening chord of every tune and the changes that are shakiest now, each card
once, until the time is filled; nothing else. The shakiest come first, fifth by
fifth of the probability that they are clean, and within a fifth the set list keeps its order. Every
card is put in the time that it has in its tune, whatever the tempo of the session.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import Final

from drill.jams.readiness import Outlook, Told
from drill.memory.rows import CAP
from drill.planning.entry import READ_RIGHT, READ_WRONG, is_worth_starting

LAST_LOOK_MINUTES: Final = 5
FIFTHS: Final = 5


@dataclass(frozen=True)
class Look:
    """A card of it: what is expected of its change, why it is there (a message's key), its seconds."""

    told: Told
    reason: str
    seconds: float


def last_look(expected: Outlook, seconds: float, without: Collection[str] = ()) -> tuple[Look, ...]:
    """What so many seconds before going on are best spent on, in order; ``without`` some cards."""
    chosen: dict[int, Look] = {}
    for place, told, reason in _ranked(expected, without):
        wrong = 1.0 - told.fluency.right
        needs = min(told.fluency.seconds, CAP) + READ_RIGHT + (READ_WRONG - READ_RIGHT) * wrong
        if not is_worth_starting(seconds, needs):
            break
        chosen[place] = Look(told, reason, needs)
        seconds -= needs
    return tuple(chosen[place] for place in sorted(chosen, key=lambda n: (int(FIFTHS * chosen[n].told.p), n)))


def _ranked(expected: Outlook, without: Collection[str]) -> Iterator[tuple[int, Told, str]]:
    """Each card once, with its place in the order of play: what opens a tune, in the first box that the jam
    names, then the shakiest first."""
    put = set(without)
    opened: set[int] = set()
    for place, told in enumerate(expected.told):
        change, card = told.called.change, told.called.card
        if change.opens and change.entry not in opened:
            opened.add(change.entry)
            if card.id not in put:
                put.add(card.id)
                yield place, told, "why-opens"
    for place, told in sorted(enumerate(expected.told), key=lambda each: each[1].p):
        if told.called.card.id not in put:
            put.add(told.called.card.id)
            yield place, told, "why-shaky"
