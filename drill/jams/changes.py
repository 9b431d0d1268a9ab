"""What a night calls for: every change of chord, where it stands, how long it may take.

Conventions. A change is a move of :mod:`cards.charts.moves`, with its key for the player's guitar. Every
tune is played through once in each box that the jam names: who wants two boxes wants to have every
chord in both. A change may take as long as it lasts at the tune's tempo and the allowance of the ask that shows
it.

A chord may have two cards, on the guitar and by tapping. The one that the player has answered more
often shows whether it is there, of two answered as often the one on the guitar; what the player has
switched off does so only where nothing else can. A chord that the player's guitar has no room for in a
box has no card: it is named, and no share of it is told.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from cards.asks import Card, Setting, for_chord
from cards.charts.moves import moves
from cards.theory.keys import Key
from cards.theory.numerals import Numeral
from drill.clock import beats_seconds
from drill.jams.nights import Night
from drill.planning.repertoire import is_switched_on, usual_allowance


@dataclass(frozen=True)
class ChordChange:
    """A change of chord in its place.

    ``entry`` counts the tunes of the set list from 0, ``bar`` those of the section from 1; ``lasts`` is
    in seconds. ``cards`` are the chord's cards in the box, () where the guitar has no room for it.
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
        """The card that shows whether it is there; ``reviews`` counts the player's answers to cards."""
        on = [card for card in self.cards if is_switched_on(card, switched_off)]
        return max(on or self.cards, key=lambda card: reviews.get(card.id, 0), default=None)


@dataclass(frozen=True)
class Called:
    """A change that can be measured, by its card: a clean answer may take ``allowed`` seconds, those of the
    change and those granted to the ask."""

    change: ChordChange
    card: Card
    allowed: float


def changes_of(night: Night, setting: Setting) -> tuple[ChordChange, ...]:
    """The changes of a night: tune by tune, box by box, in the order of play."""
    return tuple(
        ChordChange(
            number, entry.title, entry.chart.sections[move.at[0]].name, move.at[1] + 1, move.numeral, move.key, box,
            beats_seconds(move.beats, entry.tempo), first == 0, for_chord(move.key, move.numeral, box, setting),
        )
        for number, entry in enumerate(night.entries)
        for box in dict.fromkeys(night.jam.boxes)
        for first, move in enumerate(moves(entry.chart, setting.capo))
    )  # fmt: skip


def called(
    changes: Collection[ChordChange], reviews: Mapping[str, int], switched_off: Collection[str]
) -> tuple[Called, ...]:
    """Those changes that can be measured, each with its card."""
    shown = ((change, change.shown_by(reviews, switched_off)) for change in changes)
    return tuple(
        Called(change, card, change.lasts + usual_allowance(card.id)) for change, card in shown if card is not None
    )


def cards_for(changes: Collection[ChordChange]) -> tuple[Card, ...]:
    """The cards of changes, each once, in the order of play."""
    return tuple({card.id: card for change in changes for card in change.cards}.values())
