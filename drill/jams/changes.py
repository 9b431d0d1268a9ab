"""The changes of chord that a night calls for: where each is, and how long it may take.

Conventions. A change is a move of :mod:`cards.charts.moves`, in the key of the player's guitar. Every tune is counted
once in each box of the jam, because a player who chooses two boxes wants every chord in both. *Open* is the place
nearest to the nut in each key. The time limit of a
change is its length at the tune's tempo plus the allowance of the ask that shows it.

A chord may have two cards: on the guitar and by tapping. The card that the player has answered more often shows the
change; of two cards answered equally often, the one on the guitar. An ask that the player has switched off is used
only if there is no other card. If the guitar has no room for a chord in a box, the chord has no card. It is named,
but not counted.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from cards.asks import Card, Setting, for_chord
from cards.charts.moves import moves
from cards.guitar.regions import OPEN, box_at_nut
from cards.theory.keys import Key
from cards.theory.numerals import Numeral
from drill.clock import beats_seconds
from drill.jams.nights import Night
from drill.planning.repertoire import is_switched_on, usual_allowance


@dataclass(frozen=True)
class ChordChange:
    """One change of chord and its place in the set list.

    ``entry`` counts the tunes of the set list from 0, ``bar`` the bars of the section from 1. ``lasts`` is the length
    in seconds. ``cards`` are the chord's cards in the box, or () if the guitar has no room for the chord.
    """

    entry: int
    title: str
    section: str
    bar: int
    numeral: Numeral
    key: Key
    box: int
    lasts: float
    opens: bool
    cards: tuple[Card, ...]

    def shown_by(self, reviews: Mapping[str, int], switched_off: Collection[str]) -> Card | None:
        """Return the card that shows the change, or None if it has no card.

        ``reviews`` has the number of the player's answers by card id.
        """
        enabled = [card for card in self.cards if is_switched_on(card, switched_off)]
        return max(enabled or self.cards, key=lambda card: reviews.get(card.id, 0), default=None)


@dataclass(frozen=True)
class MeasuredChange:
    """A change that can be measured, with the card that shows it.

    A clean answer may take ``allowed`` seconds: the length of the change plus the allowance of the ask.
    """

    change: ChordChange
    card: Card
    allowed: float


def changes_of(night: Night, setting: Setting) -> tuple[ChordChange, ...]:
    """Return the changes of a night: tune by tune, box by box, in the order of play."""
    changes = {
        (number, box, place): ChordChange(
            number, entry.title, entry.chart.sections[move.at[0]].name, move.at[1] + 1, move.numeral, move.key, box,
            beats_seconds(move.beats, entry.tempo), place == 0, for_chord(move.key, move.numeral, box, setting),
        )
        for number, entry in enumerate(night.entries)
        for wanted in night.jam.boxes
        for place, move in enumerate(moves(entry.chart, setting.capo))
        for box in [box_at_nut(move.key, setting.neck) if wanted == OPEN else wanted]
    }  # fmt: skip
    # The place nearest to the nut may be a box that the jam has as well: it counts once.
    return tuple(changes.values())


def measured_changes(
    changes: Collection[ChordChange], reviews: Mapping[str, int], switched_off: Collection[str]
) -> tuple[MeasuredChange, ...]:
    """Return the changes that can be measured, each with its card."""
    shown = ((change, change.shown_by(reviews, switched_off)) for change in changes)
    return tuple(
        MeasuredChange(change, card, change.lasts + usual_allowance(card.id))
        for change, card in shown
        if card is not None
    )


def cards_for(changes: Collection[ChordChange]) -> tuple[Card, ...]:
    """Return the cards of the changes, each once, in the order of play."""
    return tuple({card.id: card for change in changes for card in change.cards}.values())
