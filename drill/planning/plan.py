"""Which cards to ask now, in what order, for how long.

Conventions. A plan takes the cards that are worth most per second until their predicted seconds fill the time.
The worth of a card has two parts. Its own worth is the days on which it is known, in the coming two weeks or
until the jam (:mod:`drill.planning.worth`). The other part is what it does for its skills, as far as the player
has shown that skills carry over to cards that were not practised. A skill that the plan has practised once is
worth nothing more that day, so sessions spread over keys, degrees and asks.

New cards come along the path: box 1 first, and in it the one, four and five, then the six and two, then the
three and seven, each in all of the player's keys, with the open asks taking turns. The next box opens once the
one, four and five of the box before it were clean or late the last time. Other keys wait until the player's own
have no new cards left. The worth of new cards against the worth of keeping others decides how many are new.
There is no debt of overdue cards: a session holds as many cards as its minutes do, and this module returns no
count of the others.

In order of play, cards that were missed come before cards that were late, and these before cards that were
clean. Within each group the least retained comes first. New cards are spread among them. Neighbours differ in
key or ask wherever possible, because interleaved practice is retained better (Carter & Grahn, Front. Psychol.
2016). A player who returns after :data:`RETURNS_AFTER` begins with what is least retained, whatever its last
outcome, and gets new cards after that.

The reason of a card is a message's key and its values; :mod:`drill.words` turns it into a sentence. Nothing
here reads a clock. The seed breaks ties, in the same way in every process.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from itertools import groupby, islice

from drill.memory.columns import Traces
from drill.memory.parameters import START, Parameters
from drill.memory.rows import Row
from drill.planning.candidates import Candidates
from drill.planning.choice import CardChoice
from drill.planning.entry import HORIZON, RETURNS_AFTER, Entry, Planned, PlanRequest

#: Cards on the guitar with a full barre that may follow each other.
TIRING_IN_A_ROW = 2

#: One card in this many is new as long as there are others to play.
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
    card_weights: Mapping[str, float] | None = None,
    horizon: timedelta = HORIZON,
    parameters: Parameters = START,
) -> tuple[Planned, ...]:
    """Return the cards of a session of ``minutes``, in order.

    ``keys`` are the player's own, most played first. ``allowed`` returns the seconds allowed for a clean answer
    to a card, from its id. ``focus`` holds the ids of the cards that count (None: all), which should be known
    by ``horizon`` from now. ``card_weights`` says by id how many times as much as others a card counts that a
    jam calls for; such a card may come before its turn. Every candidate may be asked, and comes at most once.
    """
    if not len(candidates):
        return ()
    request = PlanRequest(keys, allowed, seed, focus, card_weights or {}, horizon, parameters)
    choice = CardChoice(candidates, rows, now, request)
    picked = list(choice.fill(minutes * 60.0))
    return tuple(choice.planned(n, now) for n in _order_of_play(picked, candidates, choice))


def _order_of_play(picked: Sequence[int], candidates: Candidates, choice: CardChoice) -> Iterator[int]:
    """Yield the chosen cards in order of play."""
    ranks = {"missed": 0, "late": 1}
    outcomes = {n: str(candidates.outcome[n]) for n in picked}
    old = [n for n in picked if outcomes[n]]
    away = choice.away >= RETURNS_AFTER
    old.sort(key=lambda n: (0 if away else ranks.get(outcomes[n], 2), choice.kept(n)))
    new = _order_new_cards([n for n in picked if not outcomes[n]], candidates.cards.entries, choice)
    mixed = []
    for place, n in enumerate(old, start=1):
        mixed.append(n)
        if place % (NEW_EVERY - 1) == 0 and not away:
            mixed += islice(new, 1)
    mixed += new
    kinds = candidates.cards.kinds
    apart = keep_apart(mixed, {n: kinds[candidates.cards.kind[n]] for n in mixed})
    entries = candidates.cards.entries
    return iter(rest_between(apart, {n: entries[n].is_tiring for n in apart}))


def rest_between(order: Sequence[int], tiring: Mapping[int, bool], before: Sequence[bool] = ()) -> list[int]:
    """Return the cards reordered as little as possible so that at most two in a row are tiring.

    ``before`` says of the cards that come before them, in order, whether these are. A tiring card for which no other
    card is left to rest on is left out.
    """
    queue, recent = list(order), before[-TIRING_IN_A_ROW:]
    rested: list[int] = []
    while queue:
        marks = [*recent, *(tiring[n] for n in rested)]
        place = next((i for i, n in enumerate(queue) if not tiring[n] or _is_rested([*marks, True])), None)
        if place is not None:
            rested.append(queue.pop(place))
            continue
        # Only tiring cards are left: the next goes to the last place where the hand has rested.
        n = queue.pop(0)
        gaps = (gap for gap in range(len(rested) - 1, -1, -1) if _is_rested(_with_tiring(marks, len(recent) + gap)))
        gap = next(gaps, None)
        if gap is not None:
            rested.insert(gap, n)
    return rested


def _with_tiring(marks: Sequence[bool], place: int) -> list[bool]:
    """Return the marks with a tiring card put in at ``place``."""
    return [*marks[:place], True, *marks[place:]]


def _is_rested(marks: Sequence[bool]) -> bool:
    """Whether at most two in a row are tiring."""
    return all(sum(1 for _ in row) <= TIRING_IN_A_ROW for tiring, row in groupby(marks) if tiring)


def _order_new_cards(new: Iterable[int], entries: Sequence[Entry], choice: CardChoice) -> Iterator[int]:
    """Yield the new cards by path: those that a jam calls for first, then those in focus. The asks take turns."""
    asked: Counter[str] = Counter()
    turns = {}
    for n in sorted(new, key=lambda n: entries[n].path):
        ask = entries[n].features.ask
        asked[ask] += 1
        turns[n] = not choice.aimed[n], not choice.in_focus[n], not choice.mine[n], choice.step[n], asked[ask]
    return iter(sorted(turns, key=lambda n: turns[n]))


def keep_apart(queue: list[int], kinds: Mapping[int, tuple[str, str]] | Sequence[tuple[str, str]]) -> list[int]:
    """Return the queue reordered as little as possible so that neighbours are of different kinds.

    Cards for which no such place is left go to the end.
    """
    order: list[int] = []
    while queue:
        place = next((i for i, n in enumerate(queue) if not order or kinds[n] != kinds[order[-1]]), None)
        if place is not None:
            order.append(queue.pop(place))
            continue
        n = queue.pop(0)
        order.insert(_last_gap_for(n, order, kinds), n)
    return order


def _last_gap_for(
    n: int, order: Sequence[int], kinds: Mapping[int, tuple[str, str]] | Sequence[tuple[str, str]]
) -> int:
    """Return the last place in ``order`` where ``n`` is unlike both neighbours, or its end if there is none."""
    neighbours = zip(order, [*order[1:], None], strict=True)
    gaps = [
        place
        for place, (before, after) in enumerate(neighbours, start=1)
        if kinds[n] not in (kinds[before], after is not None and kinds[after])
    ]
    return gaps[-1] if gaps else len(order)
