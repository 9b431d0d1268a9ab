"""The last look: five minutes before going on stage.

Conventions. It holds the opening chord of every tune and the changes that are least likely to be clean now,
each card once, until the time is filled, and nothing else. The least likely come first: cards are grouped by
fifths of that probability, and within a fifth they keep the order of the set list. Every card is asked at the
time that it has in its tune, whatever the tempo of the session.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import Final

from drill.jams.readiness import ChangeForecast, Outlook
from drill.memory.rows import CAP
from drill.planning.entry import READ_RIGHT, READ_WRONG, is_worth_starting

LAST_LOOK_MINUTES: Final = 5
"""The length of a last look."""
FIFTHS: Final = 5
"""The number of groups by probability."""


@dataclass(frozen=True)
class Look:
    """A card of a last look: the prediction for its change, the reason that it is asked (a message's key), and
    its seconds."""

    prediction: ChangeForecast
    reason: str
    seconds: float


def last_look(expected: Outlook, seconds: float, without: Collection[str] = ()) -> tuple[Look, ...]:
    """Return the cards on which so many seconds before going on stage are best spent, in order of play.

    Cards in ``without`` are left out.
    """
    chosen: dict[int, Look] = {}
    for place, prediction, reason in _ranked(expected, without):
        wrong = 1.0 - prediction.fluency.right
        needs = min(prediction.fluency.seconds, CAP) + READ_RIGHT + (READ_WRONG - READ_RIGHT) * wrong
        if not is_worth_starting(seconds, needs):
            break
        chosen[place] = Look(prediction, reason, needs)
        seconds -= needs
    return tuple(chosen[place] for place in sorted(chosen, key=lambda n: (int(FIFTHS * chosen[n].prediction.p), n)))


def _ranked(expected: Outlook, without: Collection[str]) -> Iterator[tuple[int, ChangeForecast, str]]:
    """Yield each card once, with its place in the set list and its reason, the most important first.

    First come the cards that open a tune, in the first box that the jam names. Then come the others, the least
    likely to be clean first.
    """
    chosen = set(without)
    opened: set[int] = set()
    for place, prediction in enumerate(expected.forecasts):
        change, card = prediction.measured.change, prediction.measured.card
        if change.opens and change.entry not in opened:
            opened.add(change.entry)
            if card.id not in chosen:
                chosen.add(card.id)
                yield place, prediction, "why-opens"
    for place, prediction in sorted(enumerate(expected.forecasts), key=lambda ranked: ranked[1].p):
        if prediction.measured.card.id not in chosen:
            chosen.add(prediction.measured.card.id)
            yield place, prediction, "why-shaky"
