"""One cell of the key map in detail: its cards, its last answers, its chord, and what to drill."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from cards.asks import Card, Setting, answer
from cards.guitar.regions import BOXES, OPEN, box_at_nut
from cards.messages import message
from cards.theory.keys import Key
from cards.theory.numerals import own_numeral
from drill.learning.fluencies import fluencies_of
from drill.learning.parameter_versions import parameters_of
from drill.memory.rows import Fluency
from drill.players.preferences import read_setting
from drill.progress.graphs import draw_answers
from drill.progress.key_map import Cell, Placed, View, draw_up, shown
from drill.store import Store
from drill.store.log import AnswerSummary, last_reviews_to
from drill.store.memory import Last, last_answers, memory_rows
from drill.store.models import Player
from drill.words import gettext as _
from drill.words import say, say_day, say_number

#: How many of the last answers are searched for those to a cell, and how many are shown at most.
LOOK_BACK: Final = 5000
MOST_ANSWERS: Final = 60
#: Longer times only mean that the page was left: they are drawn at the edge.
SLOWEST: Final = 30.0


@dataclass(frozen=True)
class CellCard:
    """A card of the cell, its answers so far, and its fluency."""

    placed: Placed
    seen: Last
    fluency: Fluency


@dataclass(frozen=True)
class CellDetail:
    """A cell in detail.

    ``focus`` are the skills that its cards have in common. ``drawing`` is its chord in a box. ``course`` shows the
    seconds of its answers over time, None if there are fewer than two.
    """

    cell: Cell
    cards: Sequence[CellCard]
    answers: Sequence[AnswerSummary]
    drawing: str | None
    course: str | None
    focus: tuple[str, ...]


def look_close(store: Store, player_id: int, view: View, key: Key, degree: int, now: datetime) -> CellDetail:
    """Return a cell of a player's map in detail, at ``now``."""
    with store.reading() as db:
        player = db.get_one(Player, player_id)
        met = [
            (answered, placed)
            for answered, placed in shown(sorted(last_answers(db, player_id).values()), view)
            if placed.card.key == key and placed.degree == degree
        ]
        rows, parameters = memory_rows(db, player_id), parameters_of(db, player)
        answers = last_reviews_to(db, player_id, [answered.card for answered, _ in met], LOOK_BACK, MOST_ANSWERS)
    fluencies = fluencies_of(rows, [placed.card for _, placed in met], now, player.tempo, parameters)
    cell = next(cell for cell in draw_up(met, fluencies, view).row(key) if cell.degree == degree)
    known = [CellCard(placed, answered, fluencies[answered.card]) for answered, placed in met]
    return CellDetail(
        cell,
        sorted(known, key=lambda card: card.fluency.p),
        answers,
        _draw_chord(cell, view, read_setting(player)),
        _draw_course(cell, answers),
        focus_of(cell, view),
    )


def focus_of(cell: Cell, view: View) -> tuple[str, ...]:
    """Return the skills that the cards of a cell have in common in a view."""
    degree = cell.called.replace("♭", "b").replace("♯", "x")
    ask = () if view.ask is None else (f"ask:{view.ask}",)
    place = box_at_nut(cell.key) if view.box == OPEN else view.box
    box = () if place is None else ("box:open" if place == OPEN else f"box:{place}",)
    return (f"key:{cell.key.slug}", f"degree:{degree}", *ask, *box)


def _draw_chord(cell: Cell, view: View, setting: Setting) -> str | None:
    """Draw the cell's chord in the view's box, or in box 1; None if the player's neck has no room for it."""
    numeral = own_numeral(cell.key, cell.degree, seventh=view.sevenths is True)
    box = box_at_nut(cell.key, setting.neck) if view.box == OPEN else view.box or BOXES[0]
    card = Card("place", cell.key, (numeral,), box)
    return answer(card, setting).drawing if card.fits(setting) else None


def _draw_course(cell: Cell, answers: Sequence[AnswerSummary]) -> str | None:
    """Draw the seconds of the answers over time; None if there are fewer than two."""
    timed = [answer for answer in reversed(answers) if answer.seconds is not None]
    if len(timed) < 2:
        return None
    first, last = timed[0].answered_at, timed[-1].answered_at
    whole = (last - first).total_seconds() or 1.0
    marks = [
        ((answer.answered_at - first).total_seconds() / whole, min(answer.seconds or 0.0, SLOWEST), answer.outcome)
        for answer in timed
    ]
    words = say(
        message("course-answers", count=len(timed), first=say_number(marks[0][1], 1), last=say_number(marks[-1][1], 1))
    )
    ends = say_day(first), say_day(last)
    return draw_answers(_("{chord} in {key}").format(chord=cell.chord, key=cell.key), words, marks, ends)
