"""Which cards now, in what order, for how long.

Conventions. A plan fills the session with what is due, missed before late before clean and, within
each, what has faded most first; every third card is a new one while something is due, every second
one after that, and new ones fill what is left. New cards come in the order of their path (music),
the player's keys before the others, box 1 before the rest: a further box opens in a key and ask once
the one, four and five of the box before were last clean. No two neighbours share key and ask if it
can be helped (Carter & Grahn, Front. Psychol. 2016: interleaved practice keeps better). With a
focus its cards come first, by the same order, with one of the others after every third. What is
long overdue is no debt: a session holds as many cards as its minutes do, and no count of the
others leaves this module.

The reason of a card is a message's key and its values; :mod:`drill.words` says it. Seconds are the
player's own predicted ones, with the reading of the answer. Nothing here reads a clock; ties fall
as the seed says, the same in every process.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import islice

from drill.memory import CAP, Features, Fluency, Row, fluency

#: A card seen before is due below this fluency.
DUE = 0.9
#: Seconds a player looks at the answer, after a right and after a wrong one.
READ_RIGHT, READ_WRONG = 2.5, 7.0
#: One card in this many is new: while something is due, and after that.
NEW_WHILE_DUE, NEW_AFTER = 3, 2
#: So many cards of the focus, then one of the others.
IN_FOCUS = 3
#: The degrees that open the next box.
FIRST_DEGREES = frozenset({1, 4, 5})


@dataclass(frozen=True)
class Candidate:
    """A card that the player has switched on, and what came of it so far."""

    features: Features
    path: tuple[int, ...]
    key: str
    ask: str
    last_at: datetime | None
    last_outcome: str | None
    reviews: int
    box: int | None
    degree: int


@dataclass(frozen=True)
class Planned:
    """One card of a plan: why it is there (a message's key and values), and its predicted seconds."""

    card_id: str
    reason: str
    values: tuple[tuple[str, str], ...]
    seconds: float


@dataclass(frozen=True)
class _Scored:
    candidate: Candidate
    fluency: Fluency

    @property
    def seconds(self) -> float:
        """Expected seconds of the answer and of reading what comes back."""
        reading = READ_RIGHT + (READ_WRONG - READ_RIGHT) * (1.0 - self.fluency.right)
        return min(self.fluency.seconds, CAP) + reading


def plan(
    candidates: Iterable[Candidate],
    rows: Mapping[str, Row],
    now: datetime,
    minutes: float,
    *,
    keys: Sequence[str],
    allowed: Callable[[str], float],
    seed: int,
    focus: Collection[str] | None = None,
) -> tuple[Planned, ...]:
    """The cards of a session of ``minutes``, in order.

    ``keys`` are the player's own, most played first; ``allowed`` gives the seconds a clean answer to a
    card id may take; ``focus`` the card ids that the session is weighted to (none in particular if
    None). Every candidate is a card that may be asked; it comes at most once.
    """
    candidates = tuple(candidates)
    scored = {c: _Scored(c, fluency(rows, c.features, now, allowed(c.features.card_id))) for c in candidates}
    seen = [scored[c] for c in candidates if c.reviews]
    due = sorted((s for s in seen if _is_due(s)), key=lambda s: _urgency(s, seed))
    new = [scored[c] for c in _introduced(candidates, keys, seed)]
    rest = sorted((s for s in seen if not _is_due(s)), key=lambda s: (s.fluency.p, _toss(seed, s.candidate)))
    queue = list(_mixed(due, rest, new))
    if focus is not None:
        queue = list(_weighted(queue, focus))
    return tuple(_planned(s, now) for s in _filled(queue, minutes * 60.0))


def _toss(seed: int, candidate: Candidate) -> bytes:
    """Breaks ties by the seed, the same in every process."""
    return hashlib.blake2b(f"{seed}:{candidate.features.card_id}".encode(), digest_size=8).digest()


def _is_due(s: _Scored) -> bool:
    return s.candidate.last_outcome in ("missed", "late") or s.fluency.p < DUE


def _urgency(s: _Scored, seed: int) -> tuple[int, float, bytes]:
    rank = {"missed": 0, "late": 1}.get(s.candidate.last_outcome or "", 2)
    return rank, s.fluency.p, _toss(seed, s.candidate)


def _introduced(candidates: Sequence[Candidate], keys: Sequence[str], seed: int) -> list[Candidate]:
    """The new cards that may come now, in the order they should."""
    ranks = {key: rank for rank, key in enumerate(keys)}
    clean = {(c.key, c.ask, c.box, c.degree) for c in candidates if c.last_outcome == "clean"}

    def opened(c: Candidate) -> bool:
        if c.box is None or c.box == 1:
            return True
        return all((c.key, c.ask, c.box - 1, degree) in clean for degree in FIRST_DEGREES)

    def order(c: Candidate) -> tuple[bool, tuple[int, ...], int, bytes]:
        return c.key not in ranks, c.path, ranks.get(c.key, len(ranks)), _toss(seed, c)

    return sorted((c for c in candidates if not c.reviews and opened(c)), key=order)


def _mixed(due: list[_Scored], rest: list[_Scored], new: list[_Scored]) -> Iterator[_Scored]:
    """The cards seen before with new ones among them, then the other new ones."""
    fresh = iter(new)
    for seen, every in ((due, NEW_WHILE_DUE), (rest, NEW_AFTER)):
        for place, s in enumerate(seen, start=1):
            yield s
            if place % (every - 1) == 0:
                yield from islice(fresh, 1)
    yield from fresh


def _weighted(queue: list[_Scored], focus: Collection[str]) -> Iterator[_Scored]:
    """The cards of the focus with others among them, then the rest."""
    others = iter([s for s in queue if s.candidate.features.card_id not in focus])
    inside = (s for s in queue if s.candidate.features.card_id in focus)
    for place, s in enumerate(inside, start=1):
        yield s
        if place % IN_FOCUS == 0:
            yield from islice(others, 1)
    yield from others


def _filled(queue: list[_Scored], seconds: float) -> Iterator[_Scored]:
    """The first of the queue that fill the time, each unlike its neighbour where that is possible."""
    last: _Scored | None = None
    while queue:
        place = next((i for i, s in enumerate(queue) if _unlike(last, s)), 0)
        last = queue.pop(place)
        # The running card may be finished: it is worth beginning if most of it lies in the time.
        if seconds < last.seconds / 2.0:
            return
        seconds -= last.seconds
        yield last


def _unlike(last: _Scored | None, s: _Scored) -> bool:
    return last is None or (s.candidate.key, s.candidate.ask) != (last.candidate.key, last.candidate.ask)


def _planned(s: _Scored, now: datetime) -> Planned:
    candidate = s.candidate
    reason, values = _reason(candidate, now)
    return Planned(candidate.features.card_id, reason, values, s.seconds)


def _reason(candidate: Candidate, now: datetime) -> tuple[str, tuple[tuple[str, str], ...]]:
    """why-new (key, and box if there is one), why-missed, why-late, why-fading (days), why-warm."""
    if not candidate.reviews or candidate.last_at is None:
        box = () if candidate.box is None else (("box", str(candidate.box)),)
        return "why-new", (("key", candidate.key), *box)
    if candidate.last_outcome in ("missed", "late"):
        return f"why-{candidate.last_outcome}", ()
    days = round((now - candidate.last_at) / timedelta(days=1))
    return ("why-fading", (("days", str(days)),)) if days >= 1 else ("why-warm", ())
