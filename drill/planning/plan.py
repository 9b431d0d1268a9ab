"""Which cards now, in what order, for how long.

Conventions. A plan takes what is worth most per second until the predicted seconds fill the time. The
worth of a card is its own (:mod:`drill.planning.worth`: days in the coming two weeks on which it is known, or
until the jam) and what it does for its skills, as far as the player has shown that they carry over
to cards not yet practised. A skill that the plan has practised once is worth nothing more today, so
sessions spread over keys, degrees and asks by themselves.

New cards come by the path of the music: box 1 first, and in it the one, four and five, then the
six and two, then the three and seven, each in all of the player's keys and with the open asks taking
turns; a further box opens once the one, four and five of the box
before were last found, clean or late; other keys wait until the
player's own have nothing new to offer. How many are new is decided by their worth against what
there is to keep. What is long overdue is no debt: a session holds as many cards as its minutes do,
and no count of the others leaves this module.

In order of play what was missed comes before what was late and what was clean, in each what is
retained least first, the new ones among them; no two neighbours share key and ask if it can be
helped (Carter & Grahn, Front. Psychol. 2016: interleaved practice keeps better). Who comes back after
:data:`RETURNS_AFTER` begins with what is retained least, whatever came of it last, and meets what is new after that.

The reason of a card is a message's key and its values; :mod:`drill.words` says it. Nothing here reads
a clock; ties fall as the seed says, the same in every process.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from itertools import islice

from drill.memory.columns import Traces
from drill.memory.parameters import START, Parameters
from drill.memory.rows import Row
from drill.planning.candidates import Candidates
from drill.planning.choice import CardChoice
from drill.planning.entry import HORIZON, RETURNS_AFTER, Entry, Planned, PlanRequest

#: One card in this many is new while there are old ones to play.
NEW_EVERY = 3


def plan(
    candidates: Candidates,
    rows: Mapping[str, Row] | Traces,
    now: datetime,
    minutes: float,
    *,
    keys: Sequence[str],
    allowed: Callable[[str], float],
    seed: int,
    focus: Collection[str] | None = None,
    aim: Mapping[str, float] | None = None,
    horizon: timedelta = HORIZON,
    parameters: Parameters = START,
) -> tuple[Planned, ...]:
    """The cards of a session of ``minutes``, in order.

    ``keys`` are the player's own, most played first; ``allowed`` gives the seconds a clean answer to a
    card id may take; ``focus`` the card ids that count (all if None) by ``horizon``; ``aim`` how many times
    as much as others those count that a jam in ``horizon`` calls for, and which may come before their turn.
    Every candidate is a card that may be asked; it comes at most once.
    """
    if not len(candidates):
        return ()
    choice = CardChoice(candidates, rows, now, PlanRequest(keys, allowed, seed, focus, aim or {}, horizon, parameters))
    picked = list(choice.fill(minutes * 60.0))
    return tuple(choice.planned(n, now) for n in _in_order(picked, candidates, choice))


def _in_order(picked: Sequence[int], candidates: Candidates, choice: CardChoice) -> Iterator[int]:
    """The chosen cards in order of play."""
    ranks = {"missed": 0, "late": 1}
    outcomes = {n: str(candidates.outcome[n]) for n in picked}
    old = [n for n in picked if outcomes[n]]
    away = choice.away >= RETURNS_AFTER
    old.sort(key=lambda n: (0 if away else ranks.get(outcomes[n], 2), choice.kept(n)))
    new = _in_turns([n for n in picked if not outcomes[n]], candidates.cards.entries, choice)
    mixed = []
    for place, n in enumerate(old, start=1):
        mixed.append(n)
        if place % (NEW_EVERY - 1) == 0 and not away:
            mixed += islice(new, 1)
    mixed += new
    kinds = candidates.cards.kinds
    return iter(apart(mixed, {n: kinds[candidates.cards.kind[n]] for n in mixed}))


def _in_turns(new: Iterable[int], entries: Sequence[Entry], choice: CardChoice) -> Iterator[int]:
    """New cards by their path, those that a jam calls for first, then those in focus, the asks in turns."""
    asked: Counter[str] = Counter()
    turns = {}
    for n in sorted(new, key=lambda n: entries[n].path):
        ask = entries[n].features.ask
        asked[ask] += 1
        turns[n] = not choice.aimed[n], not choice.in_focus[n], not choice.mine[n], choice.step[n], asked[ask]
    return iter(sorted(turns, key=lambda n: turns[n]))


def apart(queue: list[int], kinds: Mapping[int, tuple[str, str]] | Sequence[tuple[str, str]]) -> list[int]:
    """The queue with as little change as keeps neighbours unlike; what cannot be is left at its end."""
    order: list[int] = []
    while queue:
        place = next((i for i, n in enumerate(queue) if not order or kinds[n] != kinds[order[-1]]), None)
        if place is not None:
            order.append(queue.pop(place))
            continue
        n = queue.pop(0)
        around = zip(order, [*order[1:], None], strict=True)
        gaps = [i for i, (a, b) in enumerate(around, start=1) if kinds[n] not in (kinds[a], b is not None and kinds[b])]
        order.insert(gaps[-1] if gaps else len(order), n)
    return order
