"""The key map: how fluent a player is in every degree of every key, and how sure that is.

Conventions. A cell is a degree of a key, counted along the key's own scale. Its cards are the answered cards about
one chord on that degree, except borrowed chords. Its fluency is the mean of theirs, now, at the player's tempo. A
quarter of a card's variance is taken to be common to the cell's cards (the offsets of the player and the skills;
after the first answers the model's own share is below that), and the rest to be the card's own. A cell with few
answers or a wide interval is unsure: it may turn out strong or weak, so it is never called weak. A cell without
answers has no figure.

Figures come from the memory rows and the last answer to each card, never from the log.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Final

from cards.asks import Card, CardError, Message, Setting, is_of_tunes, read_card
from cards.drawings.key_map import CellFigure, draw_key_map
from cards.guitar.regions import OPEN
from cards.messages import message
from cards.theory.keys import MAJOR_KEYS, MINOR_KEYS, Key, Mode
from cards.theory.numerals import own_numeral
from drill.learning.fluencies import fluencies_of
from drill.learning.parameter_versions import parameters_of
from drill.memory.rows import Fluency
from drill.memory.shares import NINE_OF_TEN, interval, sd_of_mean
from drill.store import Store
from drill.store.memory import Last, last_answers, memory_rows
from drill.store.models import Player
from drill.words import gettext as _

#: A cell with fewer answers, or with a larger standard deviation, is unsure.
ENOUGH_ANSWERS: Final = 5
NARROW: Final = 0.25
#: How many of the weakest cells are named.
NAMED: Final = 3


@dataclass(frozen=True)
class View:
    """What the map shows: major keys or their relative minors, and which cards.

    It shows one ask, one box, only triads or only sevenths; None shows all of them. The box :data:`OPEN` shows the
    open position, also where it is a box.
    """

    mode: Mode = Mode.MAJOR
    ask: str | None = None
    box: int | None = None
    sevenths: bool | None = None

    @property
    def keys(self) -> tuple[Key, ...]:
        """The keys of the map in the order of fifths, flats first."""
        return MINOR_KEYS if self.mode == Mode.MINOR else MAJOR_KEYS

    def shows(self, placed: Placed) -> bool:
        """Return whether a card counts in this view."""
        card = placed.card
        return (
            card.key.mode == self.mode
            and self.ask in (None, card.ask)
            and self._is_in_box(card)
            and self.sevenths in (None, placed.seventh)
        )

    def _is_in_box(self, card: Card) -> bool:
        if self.box == OPEN:
            return card.box is not None and card.region(Setting()).is_open
        return self.box in (None, card.box)


@dataclass(frozen=True)
class Placed:
    """A card and its place on the map."""

    card: Card
    degree: int
    seventh: bool


@dataclass(frozen=True)
class Cell:
    """A degree of a key: its answered cards, the number of answers, and the time of the last one.

    ``p`` is the fluency, None without answers; ``sd`` is its standard deviation.
    """

    key: Key
    degree: int
    cards: tuple[str, ...] = ()
    answers: int = 0
    last_at: datetime | None = None
    p: float | None = None
    sd: float = 0.0

    @property
    def sure(self) -> bool:
        """Whether the cell can be called strong or weak."""
        return self.p is not None and self.answers >= ENOUGH_ANSWERS and self.sd <= NARROW

    @property
    def state(self) -> str:
        """``new`` (no answers), ``unsure`` or ``sure``."""
        return "new" if self.p is None else "sure" if self.sure else "unsure"

    @property
    def interval(self) -> tuple[float, float]:
        """The 90 % interval of the fluency."""
        return interval(self.p or 0.0, self.sd)

    @property
    def chord(self) -> str:
        """The key's own triad on this degree."""
        return _names(self.key, self.degree)[0]

    @property
    def called(self) -> str:
        """The degree as players say it: ``4``, ``♭6``."""
        return _names(self.key, self.degree)[1]

    def message(self, key: str) -> Message:
        """Return the message ``key`` about this cell."""
        margin = round(100 * NINE_OF_TEN * self.sd)
        values = {"called": self.called, "key": self.key, "chord": self.chord, "answers": self.answers}
        return message(key, **values, percent=round(100 * (self.p or 0.0)), margin=margin)


@cache
def _names(key: Key, degree: int) -> tuple[str, str]:
    """Return the key's own triad on a degree, and the degree as players say it."""
    return str(key.chord(degree)), own_numeral(key, degree).number


@dataclass(frozen=True)
class KeyMap:
    """The cells of a view, key by key in its order."""

    view: View
    cells: tuple[Cell, ...]

    @property
    def weakest(self) -> tuple[Cell, ...]:
        """The weakest of the cells that are sure."""
        return tuple(sorted((cell for cell in self.cells if cell.sure), key=lambda cell: cell.p or 0.0)[:NAMED])

    @property
    def met(self) -> int:
        """How many cells have answers."""
        return sum(cell.p is not None for cell in self.cells)

    def row(self, key: Key) -> tuple[Cell, ...]:
        """Return the cells of one key."""
        place = len(key.degrees) * self.view.keys.index(key)
        return self.cells[place : place + len(key.degrees)]

    def drawing(self) -> str:
        """Draw the map."""
        rows = [(key, [CellFigure(cell.p, cell.sure) for cell in self.row(key)]) for key in self.view.keys]
        title = _("Key map: of 100 answers so many would be clean")
        return draw_key_map(title, rows)

    def words(self) -> tuple[Message, ...]:
        """Say how much of the map has answers, and name the weakest cells."""
        if not self.met:
            return (message("map-empty" if self.view == View() else "map-empty-here"),)
        sentences = [message("map-met", met=self.met, count=len(self.cells))]
        if not self.weakest:
            return (*sentences, message("map-unsure", least=ENOUGH_ANSWERS))
        return (*sentences, *(cell.message("map-weak") for cell in self.weakest))


@cache
def place_of(card_id: str) -> Placed | None:
    """Return the place of a card on the map, or None if it has no cell.

    A progression, a borrowed chord, a blues and a card that no longer exists have none.
    """
    try:
        card = read_card(card_id)
    except CardError:
        return None
    if len(card.calls) != 1 or card.key.mode == Mode.BLUES or card.ask == "borrowed":
        return None
    if card.numeral.root not in card.key.intervals or is_of_tunes(card):
        return None
    seventh = any(tone.number == 7 for tone in card.chord.quality.tones)
    return Placed(card, card.key.intervals.index(card.numeral.root) + 1, seventh)


def shown(met: Iterable[Last], view: View) -> list[tuple[Last, Placed]]:
    """Return the answered cards that count in a view."""
    with_places = ((last, place_of(last.card)) for last in met)
    return [(last, placed) for last, placed in with_places if placed and view.shows(placed)]


def draw_up(met: Sequence[tuple[Last, Placed]], fluencies: Mapping[str, Fluency], view: View) -> KeyMap:
    """Return the map of the answered cards of a view."""
    by_cell: dict[tuple[Key, int], list[Last]] = {}
    for last, placed in met:
        by_cell.setdefault((placed.card.key, placed.degree), []).append(last)
    cells = (
        _cell(key, degree, by_cell.get((key, degree), ()), fluencies) for key in view.keys for degree in key.degrees
    )
    return KeyMap(view, tuple(cells))


def _cell(key: Key, degree: int, met: Sequence[Last], fluencies: Mapping[str, Fluency]) -> Cell:
    if not met:
        return Cell(key, degree)
    values = [fluencies[last.card] for last in met]
    return Cell(
        key,
        degree,
        tuple(last.card for last in met),
        answers=sum(last.reviews for last in met),
        last_at=max(last.answered_at for last in met),
        p=sum(value.p for value in values) / len(values),
        sd=sd_of_mean([value.sd for value in values]),
    )


def key_map(store: Store, player_id: int, view: View, now: datetime) -> KeyMap:
    """Return a player's map at ``now``."""
    with store.reading() as db:
        player = db.get_one(Player, player_id)
        met = shown(sorted(last_answers(db, player_id).values()), view)
        rows, parameters = memory_rows(db, player_id), parameters_of(db, player)
    cards = [placed.card for _, placed in met]
    return draw_up(met, fluencies_of(rows, cards, now, player.tempo, parameters), view)
