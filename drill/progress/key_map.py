"""The key map: how fluent a player is in every degree of every key, and how sure that is.

Conventions. A cell is a degree of a key, counted along its own scale. Its cards are those about one
chord on that degree (borrowed ones apart) that the player has answered; its fluency is the mean of
theirs, now, at the player's tempo. Of a card's variance a quarter is taken to be common to the cell's
cards (the player's and the skills' offsets; the model's own share is below that after the first
answers), the rest to be its own. A cell with few answers, or wide, is unsure: it may turn out to be
strong or weak, so it is never called weak. A cell without answers has no figure.

Figures come from memory's rows and the last answer to each card, never from the log.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from typing import Final

from cards.asks import Card, CardError, Message, is_of_tunes, read_card
from cards.drawings.key_map import CellFigure, draw_key_map
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

#: A cell with fewer answers is unsure, and so is one whose deviation is wider.
ENOUGH_ANSWERS: Final = 5
NARROW: Final = 0.25
#: How many of the weakest are named.
NAMED: Final = 3


@dataclass(frozen=True)
class View:
    """What of the map is looked at: major keys or their relative minors; one ask, one box, only
    triads or only sevenths, or all of them (None)."""

    mode: Mode = Mode.MAJOR
    ask: str | None = None
    box: int | None = None
    sevenths: bool | None = None

    @property
    def keys(self) -> tuple[Key, ...]:
        """Its keys in fifths order, flats first."""
        return MINOR_KEYS if self.mode == Mode.MINOR else MAJOR_KEYS

    def shows(self, placed: Placed) -> bool:
        """Whether a card counts in it."""
        card = placed.card
        return (
            card.key.mode == self.mode
            and self.ask in (None, card.ask)
            and self.box in (None, card.box)
            and self.sevenths in (None, placed.seventh)
        )


@dataclass(frozen=True)
class Placed:
    """A card with its place on the map."""

    card: Card
    degree: int
    seventh: bool


@dataclass(frozen=True)
class Cell:
    """A degree of a key: its cards answered so far, how many answers, the last of them; the fluency
    with its deviation, None without answers."""

    key: Key
    degree: int
    cards: tuple[str, ...] = ()
    answers: int = 0
    last_at: datetime | None = None
    p: float | None = None
    sd: float = 0.0

    @property
    def sure(self) -> bool:
        """Whether it can be called strong or weak."""
        return self.p is not None and self.answers >= ENOUGH_ANSWERS and self.sd <= NARROW

    @property
    def state(self) -> str:
        """``new`` (no answers), ``unsure`` or ``sure``."""
        return "new" if self.p is None else "sure" if self.sure else "unsure"

    @property
    def interval(self) -> tuple[float, float]:
        """Where the fluency lies, nine times out of ten."""
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
        """What is to be said of it."""
        margin = round(100 * NINE_OF_TEN * self.sd)
        values = {"called": self.called, "key": self.key, "chord": self.chord, "answers": self.answers}
        return message(key, **values, percent=round(100 * (self.p or 0.0)), margin=margin)


@cache
def _names(key: Key, degree: int) -> tuple[str, str]:
    """The key's own triad on a degree, and the degree as players say it."""
    return str(key.chord(degree)), own_numeral(key, degree).number


@dataclass(frozen=True)
class KeyMap:
    """The cells of a view, key by key in its order."""

    view: View
    cells: tuple[Cell, ...]

    @property
    def weakest(self) -> tuple[Cell, ...]:
        """The weakest cells among those that are sure."""
        return tuple(sorted((cell for cell in self.cells if cell.sure), key=lambda cell: cell.p or 0.0)[:NAMED])

    @property
    def met(self) -> int:
        """How many cells have answers."""
        return sum(cell.p is not None for cell in self.cells)

    def row(self, key: Key) -> tuple[Cell, ...]:
        """The cells of one key."""
        place = len(key.degrees) * self.view.keys.index(key)
        return self.cells[place : place + len(key.degrees)]

    def drawing(self) -> str:
        """The map as a picture."""
        rows = [(key, [CellFigure(cell.p, cell.sure) for cell in self.row(key)]) for key in self.view.keys]
        title = _("Key map: of 100 answers so many would be clean")
        return draw_key_map(title, rows)

    def words(self) -> tuple[Message, ...]:
        """The map in sentences: how much of it is known, and the weakest by name."""
        if not self.met:
            return (message("map-empty" if self.view == View() else "map-empty-here"),)
        said = [message("map-met", met=self.met, count=len(self.cells))]
        if not self.weakest:
            return (*said, message("map-unsure", least=ENOUGH_ANSWERS))
        return (*said, *(cell.message("map-weak") for cell in self.weakest))


@cache
def place_of(card_id: str) -> Placed | None:
    """Where a card stands on the map; None for one that has no cell (a progression, a borrowed chord,
    a blues, a card that there is no longer)."""
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
    """The answered cards that count in a view."""
    found = ((each, place_of(each.card)) for each in met)
    return [(each, placed) for each, placed in found if placed and view.shows(placed)]


def draw_up(met: Sequence[tuple[Last, Placed]], fluencies: Mapping[str, Fluency], view: View) -> KeyMap:
    """The map of the answered cards of a view."""
    by_cell: dict[tuple[Key, int], list[Last]] = {}
    for each, placed in met:
        by_cell.setdefault((placed.card.key, placed.degree), []).append(each)
    cells = (
        _cell(key, degree, by_cell.get((key, degree), ()), fluencies) for key in view.keys for degree in key.degrees
    )
    return KeyMap(view, tuple(cells))


def _cell(key: Key, degree: int, met: Sequence[Last], fluencies: Mapping[str, Fluency]) -> Cell:
    if not met:
        return Cell(key, degree)
    found = [fluencies[each.card] for each in met]
    return Cell(
        key,
        degree,
        tuple(each.card for each in met),
        answers=sum(each.reviews for each in met),
        last_at=max(each.answered_at for each in met),
        p=sum(each.p for each in found) / len(found),
        sd=sd_of_mean([each.sd for each in found]),
    )


def key_map(store: Store, player_id: int, view: View, now: datetime) -> KeyMap:
    """A player's map at ``now``."""
    with store.reading() as db:
        player = db.get_one(Player, player_id)
        met = shown(sorted(last_answers(db, player_id).values()), view)
        rows, parameters = memory_rows(db, player_id), parameters_of(db, player)
    cards = [placed.card for _, placed in met]
    return draw_up(met, fluencies_of(rows, cards, now, player.tempo, parameters), view)
