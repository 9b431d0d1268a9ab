"""Whether five minutes end at five minutes: ``python -m tests.bench.pacing [--small]``.

Simulated players go through sessions of the service itself (start, answers, the end that it says) by a
clock of their own, a session a day from nothing. A player thinks for a time that falls with practice
and differs from card to card (deviation .4 of ln seconds), taps, and looks at the answer, all at a
pace of their own; some cards are missed. None of it is in the form of the model that predicts.

Printed: seconds by which sessions missed their length, the share within 20 s, and for the rules of a
session how often a card came again sooner than two minutes without having been missed, and how
often neighbours shared key and ask.
"""

from __future__ import annotations

import argparse
import secrets
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np

from cards.asks import Setting, read_card, running
from cards.asks import answer as right_answer
from cards.asks import question as ask
from drill.config import Config
from drill.sessions import answers, lifecycle, questions
from drill.sessions.answers import Batch
from drill.sessions.lifecycle import SessionView
from drill.store import Store, prepare
from drill.store.models import Question
from tests.bench.machine import machine

BEGIN = datetime(2026, 3, 2, 18, tzinfo=UTC)
THINKING = {"name": 3.0, "number": 3.0, "hands-on": 3.5}
TAPPING = {"name": 2.0, "place": 4.5, "name-place": 6.0, "number": 1.5, "hands-on": 1.0}
UNEVEN, SOONEST = 0.4, 120.0


@dataclass
class Player:
    """Someone who drills: ``pace`` times as long as usual for everything, ``missing`` of new cards."""

    pace: float
    missing: float
    seed: int
    met: dict[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.chance = np.random.default_rng(self.seed)

    def answers(self, card_id: str) -> tuple[bool, float]:
        """Whether it is right, and seconds to the answer."""
        ask, times = read_card(card_id).ask, self.met.get(card_id, 0)
        self.met[card_id] = times + 1
        usual = THINKING.get(ask, 6.0) * (1 + times) ** -0.25
        seconds = self.pace * (usual * self.chance.lognormal(0.0, UNEVEN) + TAPPING.get(ask, 5.0))
        return bool(self.chance.random() >= self.missing * (1 + times) ** -0.7), float(seconds)

    def looks(self, right: bool) -> float:
        """Seconds of looking at the answer."""
        return float(self.pace * (2.0 if right else 6.5) * self.chance.lognormal(0.0, UNEVEN))


@dataclass(frozen=True)
class Put:
    """A question as it was put: its card, when (seconds into the session), and what came of it."""

    card: str
    reason: str
    at: float
    missed: bool


@dataclass(frozen=True)
class Played:
    """A session from its start to the end that the service said."""

    puts: Sequence[Put]
    seconds: float

    @property
    def too_soon(self) -> int:
        """Cards that came again within two minutes and had not been missed."""
        last: dict[str, Put] = {}
        count = 0
        for put in self.puts:
            before = last.get(put.card)
            count += before is not None and put.at - before.at < SOONEST and not before.missed
            last[put.card] = put
        return count

    @property
    def alike(self) -> int:
        """Neighbours that share key and ask."""
        return sum(questions.kind_of(a.card) == questions.kind_of(b.card) for a, b in pairwise(self.puts))


def play(store: Store, player_id: int, player: Player, begin: datetime, minutes: int = 5) -> Played:
    """Play one session; what is asked and answered depends on the player's seed and the day alone."""
    number = np.random.default_rng([player.seed, begin.toordinal()]).bytes(16).hex()
    session_id = lifecycle.start(store, player_id, minutes, "tab", begin, session_id=number)
    seconds, puts, over = 0.0, [], False
    while not over and seconds < minutes * 60:
        question = _next(lifecycle.session_view(store, player_id, session_id))
        if question is None:
            break
        right, took = player.answers(question.card)
        puts.append(Put(question.card, question.reason, seconds, not right))
        seconds += took
        over = _send(store, player_id, session_id, question, right, took, seconds, begin)
        seconds += player.looks(right)
    lifecycle.end(store, player_id, session_id, seconds, begin + timedelta(seconds=seconds))
    return Played(puts, seconds)


def _next(sheet: SessionView) -> Question | None:
    return next((each for each in sheet.questions if each.question not in sheet.reviews), None)


def _send(
    store: Store,
    player_id: int,
    session_id: str,
    question: Question,
    right: bool,
    took: float,
    seconds: float,
    begin: datetime,
) -> bool:
    """Send one answer; whether the session is over then."""
    now = begin + timedelta(seconds=seconds)
    sent = now.timestamp() * 1000
    review = {
        "id": secrets.token_hex(16),
        "question": question.question,
        "card": question.card,
        "given": _given(question.card) if right else {"shown": True},
        "seconds": took,
        "mode": "touch",
        "answered_at": sent,
    }
    taken = answers.take(store, player_id, session_id, Batch("tab", sent, seconds, [review]), now)
    assert taken.replies[0].status == "accepted", taken.replies
    assert taken.replies[0].review is not None
    assert taken.replies[0].review.right == right, question.card
    return taken.adjustment.over


def _given(card_id: str) -> dict[str, object]:
    """The right answer as a page sends it."""
    card = read_card(card_id)
    told = right_answer(card, Setting())
    given: dict[str, object] = {}
    for part in ask(card, Setting()).parts:
        if part == "name":
            given["name"] = told.names[0]
        elif part == "frets":
            given["frets"] = [None if fret == "x" else int(fret, 36) for fret in told.frets[0]]
        elif part == "number":
            given["number"] = told.numbers[0]
        elif part == "hands":
            given["right"] = True
        elif part == "choice":
            given["choice"] = list(told.choices[0])
        elif part == "spots":
            given["spots"] = [[list(spot) for spot in step] for step in told.spots[0]]
        elif part == "notes":
            given["notes"] = list(told.notes)
        elif part == "marks":
            given["marks"] = [True] * len(running.beats(card))
    return given


def players(count: int) -> Iterator[Player]:
    """Players from quick and sure to slow and unsure."""
    chance = np.random.default_rng(7)
    for seed in range(count):
        yield Player(float(np.exp(chance.normal(0.0, 0.35))), float(chance.uniform(0.05, 0.6)), seed)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description="Whether five minutes end at five minutes.")
    parser.add_argument("--small", action="store_true", help="two players for three days, to see that it runs")
    small = parser.parse_args().small
    count, days = (2, 3) if small else (12, 10)
    played: list[list[Played]] = []
    for player in players(count):
        with tempfile.TemporaryDirectory() as folder:
            url = Config(data=Path(folder)).url
            prepare(url, BEGIN)
            store = Store(url)
            played.append([play(store, 1, player, BEGIN + timedelta(days=day)) for day in range(days)])
            store.close()
    print(machine())
    print(f"{count} players, {days} days each")
    print(f"{'':16}{'mean off s':>12}{'largest s':>12}{'within 20 s':>13}{'too soon':>10}{'alike':>8}{'cards':>8}")
    for name, part in (("the first day", slice(0, 1)), ("the first week", slice(0, 7)), ("all days", slice(None))):
        some = [one for each in played for one in each[part]]
        off = np.array([one.seconds - 300.0 for one in some])
        print(
            f"{name:16}{off.mean():12.1f}{np.abs(off).max():12.1f}{np.mean(np.abs(off) <= 20):13.1%}"
            f"{sum(one.too_soon for one in some):10}{sum(one.alike for one in some):8}"
            f"{np.mean([len(one.puts) for one in some]):8.1f}"
        )


if __name__ == "__main__":
    main()
