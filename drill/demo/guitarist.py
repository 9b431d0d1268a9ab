"""Demo data: six weeks of a simulated guitarist of a house band, and the band's next jam.

Conventions. The real scheduler plans every session; :mod:`drill.demo.band` adds the jam. The band has horns, so flat
keys come up; two of the guitarist's keys are weak. Practice is uneven, with an absence in the middle. Whether an
answer is right depends on the card's difficulty, on how often and how long ago it was practised (Wickelgren's power
of time, 1974), and on the key. Seconds are lognormal and shrink with practice (Newell & Rosenbloom, 1981). All values
are invented. The same seed and the same ``now`` give the same log.

Sessions of a demo belong to the tab :data:`DEMO_TAB`. While there is such a session, every page says that it is a
demo.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any, Final

from cards.asks import Card, Given, Setting, answer, difficulty, question, read_card, usual_seconds
from cards.messages import RefusalError
from cards.theory.keys import Key
from drill.demo import band
from drill.players.preferences import change, read_setting
from drill.sessions import answers, lifecycle
from drill.sessions.questions import in_order_of_play
from drill.store import Store
from drill.store.models import Question
from drill.store.sittings import DEMO_TAB, is_empty

WEEKS: Final = 6
SETTINGS: Final = {"keys": ["G", "C", "B♭", "E♭", "A♭"], "tempo": 72, "minutes": 5}
WEAK: Final = ("E♭", "A♭")
#: The probability that a day has a session, and the days of the absence.
PRACTICE: Final = 0.68
DAYS_AWAY: Final = range(16, 25)

_WEAK_COSTS: Final = 2.0
_WEAK_SLOWS: Final = 1.45
_BASE: Final = 2.0
_BY_PRACTICE: Final = 0.85
_BY_DAYS: Final = 0.3
_FASTER: Final = -0.16
_SPREAD: Final = 0.35
_READING: Final = 3.0


class DemoError(RefusalError):
    """Demo data cannot be put here; the message says why."""


@dataclass
class Learner:
    """The simulated guitarist: what was practised, and how the next answer comes out."""

    chance: random.Random
    weak: tuple[Key, ...] = tuple(Key.read(key) for key in WEAK)
    practised: dict[str, tuple[int, datetime]] = field(default_factory=dict)

    def answer(self, card: Card, now: datetime) -> tuple[bool, float]:
        """Answer a card; return whether the answer is right, and its seconds."""
        times, last = self.practised.get(card.id, (0, now))
        weak = card.key in self.weak
        days = (now - last) / timedelta(days=1)
        logit = _BASE + difficulty(card) + _BY_PRACTICE * math.log1p(times) - _BY_DAYS * math.log1p(days)
        logit -= _WEAK_COSTS * weak
        median = 0.72 * usual_seconds(card) * (1 + times) ** _FASTER
        seconds = median * math.exp(self.chance.gauss(0.0, _SPREAD)) * (_WEAK_SLOWS if weak else 1.0)
        right = self.chance.random() < 1.0 / (1.0 + math.exp(-logit))
        self.practised[card.id] = (times + 1, now)
        return right, round(seconds, 2)


def fill(store: Store, player_id: int, now: datetime, seed: int) -> int:
    """Fill an empty store with six weeks that end before ``now``; return the number of answers.

    Raises DemoError.
    """
    with store.reading() as db:
        if not is_empty(db):
            raise DemoError("there are answers already: demo data goes into an empty folder, see --data")
    change(store, player_id, SETTINGS)
    chance = random.Random(seed)
    learner = Learner(chance)
    played = sum(_play(store, player_id, learner, at, minutes) for at, minutes in _evenings(now, chance))
    band.add_band(store, player_id, now, seed)
    return played


def _evenings(now: datetime, chance: random.Random) -> Iterator[tuple[datetime, int]]:
    """Return when the sessions began, and their minutes: uneven, the last one the evening before now."""
    first = (now - timedelta(days=7 * WEEKS)).replace(hour=18, minute=0, second=0, microsecond=0)
    for day in range(7 * WEEKS):
        practised = chance.random() < PRACTICE and day not in DAYS_AWAY
        at = first + timedelta(days=day, minutes=chance.randrange(180))
        minutes = chance.choice((5, 5, 5, 10))
        if (practised or day == 7 * WEEKS - 1) and at + timedelta(minutes=minutes) < now:
            yield at, minutes


def _play(store: Store, player_id: int, learner: Learner, at: datetime, minutes: int) -> int:
    """Play one session, question by question; return the number of answers."""
    session_id = f"{learner.chance.getrandbits(128):032x}"
    lifecycle.start(store, player_id, minutes, DEMO_TAB, at, session_id=session_id)
    sheet = lifecycle.session_view(store, player_id, session_id)
    setting, questions = read_setting(sheet.session), list(sheet.questions)
    seen, answered = 0.0, set[int]()
    while asked := next(
        (candidate for candidate in in_order_of_play(questions) if candidate.question not in answered), None
    ):
        card = read_card(asked.card)
        right, seconds = learner.answer(card, at)
        at += timedelta(seconds=seconds)
        seen += seconds
        item = _item(learner.chance, asked, _given(card, right, setting, learner.chance), seconds, at)
        batch = answers.Batch(DEMO_TAB, at.timestamp() * 1000, seen, [item])
        taken = answers.take(store, player_id, session_id, batch, at)
        answered.add(asked.question)
        at, seen = at + timedelta(seconds=_READING), seen + _READING
        if taken.adjustment.over:
            break
        questions += taken.adjustment.added
    lifecycle.end(store, player_id, session_id, min(seen, minutes * 60.0), at)
    return len(answered)


def _item(chance: random.Random, asked: Question, given: Given, seconds: float, at: datetime) -> dict[str, Any]:
    """Return an answer as a page sends it."""
    return {
        "id": f"{chance.getrandbits(128):032x}",
        "question": asked.question,
        "card": asked.card,
        "given": given.as_json(),
        "seconds": seconds,
        "mode": "touch",
        "answered_at": at.timestamp() * 1000,
    }


def _given(card: Card, right: bool, setting: Setting, chance: random.Random) -> Given:
    """Return a right answer, or a wrong one: another chord of the key, or "show me"."""
    if right:
        return right_answer(card, setting)
    others = [degree for degree in card.key.degrees if degree != card.degree]
    if card.ask == "name":
        return Given(name=str(card.key.chord(chance.choice(others), card.seventh)))
    return Given(shown=True)


def right_answer(card: Card, setting: Setting) -> Given:
    """Return the answer that a card accepts first, with every part that the card asks for."""
    asked, accepted = question(card, setting), answer(card, setting)
    parts: dict[str, Callable[[], dict[str, Any]]] = {
        "name": lambda: {"name": accepted.names[0]},
        "frets": lambda: {"frets": [None if fret == "x" else int(fret, 36) for fret in accepted.frets[0]]},
        "number": lambda: {"number": accepted.numbers[0]},
        "hands": lambda: {"right": True},
        "choice": lambda: {"choice": list(accepted.choices[0])},
        "spots": lambda: {"spots": [[list(spot) for spot in step] for step in accepted.spots[0]]},
        "notes": lambda: {"notes": list(accepted.notes)},
        "marks": lambda: {"marks": [True] * len(asked.beats)},
    }
    return Given.read({name: value for part in asked.parts for name, value in parts[part]().items()})
