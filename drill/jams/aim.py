"""What a session is aimed at: the jam that comes next, and what of it needs practice most.

Conventions. An ordinary session is aimed at the next jam within :data:`SOON` that has a set list. Each
of the jam's cards counts as many times as much as others as the night needs it: every change that it
shows counts once, and up to once more for the chance of its being late there, so that what comes often
and what is brief comes first (:mod:`drill.planning.choice` keeps a share of the session for the rest). A
chord's other card, which does not show the change, counts for a part of that: it teaches too. The
keys of the tunes come before the player's own.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy.orm import Session

from cards.asks import Setting
from cards.messages import RefusalError
from drill.jams.changes import ChordChange, cards_for
from drill.jams.nights import Night, NoJamError, night_of
from drill.jams.readiness import Outlook, known_of
from drill.planning.goal import NO_GOAL, Goal
from drill.store.models import Jam, Player
from drill.store.setlists import jams_of, set_list_of

#: How far off a jam may be for sessions to be aimed at it by themselves.
SOON: Final = timedelta(days=28)
#: How many times as much as another card one counts that the night needs as often as most; the least and
#: the most of what it may need compared with that; and the part that a chord's other card counts for.
TIMES: Final = 2.0
LEAST, MOST = 0.25, 4.0
OTHER_CARD: Final = 0.25


class AimError(RefusalError, ValueError):
    """A jam that nothing can be aimed at; the message says why."""


def next_jam(db: Session, player_id: int, now: datetime) -> Jam | None:
    """The next jam that sessions are aimed at by themselves."""
    soon = (jam for jam in jams_of(db, player_id) if now <= jam.at <= now + SOON)
    return next((jam for jam in soon if set_list_of(db, jam.id)), None)


def night_ahead(db: Session, player: Player, jam_id: str, now: datetime) -> Night:
    """The night of a jam that a session is to be aimed at. Raises NoJamError, AimError."""
    night = night_of(db, player, jam_id, now)
    if night.jam.deleted_at is not None:
        raise AimError("that jam is deleted: have it back first")
    if night.past:
        raise AimError("that jam is over: aim at one to come")
    if not night.entries:
        raise AimError("its set list is empty: put a tune on it first")
    return night


def aim_at(db: Session, player: Player, jam_id: str | None, setting: Setting, now: datetime) -> Goal:
    """What a session is aimed at by its jam, on a guitar as set: nothing without one, or if it was deleted
    or its set list emptied meanwhile."""
    night = _night(db, player, jam_id, now)
    if night is None or night.jam.deleted_at is not None:
        return NO_GOAL
    known = known_of(db, player, night, setting)
    return aim_of(known.changes, known.outlook(max(night.jam.at, now)))


def expected_now(db: Session, player: Player, jam_id: str | None, setting: Setting, now: datetime) -> Outlook:
    """What is to be expected of a jam's changes if it were now."""
    night = _night(db, player, jam_id, now)
    return known_of(db, player, night, setting).outlook(now) if night else Outlook(())


def _night(db: Session, player: Player, jam_id: str | None, now: datetime) -> Night | None:
    try:
        return night_of(db, player, jam_id, now) if jam_id else None
    except NoJamError:
        return None


def aim_of(changes: Sequence[ChordChange], expected: Outlook) -> Goal:
    """The aim that a night gives, by its changes and what is expected of them."""
    need: dict[str, float] = defaultdict(float)
    wanted_by: dict[str, Counter[str]] = defaultdict(Counter)
    for told in expected.told:
        need[told.called.card.id] += 2.0 - told.p / max(told.fluency.right, 1e-9)
        for card in told.called.change.cards:
            wanted_by[card.id][told.called.change.title] += 1
    usual = sum(need.values()) / max(len(need), 1)
    weights: dict[str, float] = {}
    for told in expected.told:
        weight = TIMES * min(max(need[told.called.card.id] / usual, LEAST), MOST)
        for card in told.called.change.cards:
            part = 1.0 if card == told.called.card else OTHER_CARD
            weights[card.id] = max(weights.get(card.id, 0.0), part * weight)
    keys = Counter(str(change.key.practical) for change in changes)
    return Goal(
        cards_for(changes),
        tuple(key for key, _ in keys.most_common()),
        weights,
        {card: titles.most_common(1)[0][0] for card, titles in wanted_by.items()},
    )
