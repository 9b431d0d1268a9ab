"""The goal of a session: which jam it prepares for, and which of the jam's cards need practice most.

Conventions. An ordinary session prepares for the next jam that is at most :data:`SOON` away and has a set list. A
card of the jam weighs more than other cards. Its weight grows with the need for it: every change that the card shows
adds 1, and up to 1 more for the probability that the player is late there. So changes that come often and changes
that are brief come first. (:mod:`drill.planning.choice` keeps a share of the session for other cards.) A chord's
other card does not show the change, but it teaches the chord too. It gets a part of the weight. The keys of the tunes
come before the player's own keys.
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

#: The longest time before a jam at which ordinary sessions prepare for it.
SOON: Final = timedelta(days=28)
#: The weight of a card of the jam whose need is average; a card that the jam does not need weighs 1.
#: A need is kept between LEAST and MOST times the average. A chord's other card gets OTHER_CARD of the weight.
TIMES: Final = 2.0
LEAST, MOST = 0.25, 4.0
OTHER_CARD: Final = 0.25


class AimError(RefusalError, ValueError):
    """A session cannot prepare for this jam; the message says why."""


def next_jam(db: Session, player_id: int, now: datetime) -> Jam | None:
    """Return the next jam that ordinary sessions prepare for, or None."""
    near_jams = (jam for jam in jams_of(db, player_id) if now <= jam.at <= now + SOON)
    return next((jam for jam in near_jams if set_list_of(db, jam.id)), None)


def night_ahead(db: Session, player: Player, jam_id: str, now: datetime) -> Night:
    """Return the night of a jam that a session can prepare for. Raises NoJamError, AimError."""
    night = night_of(db, player, jam_id, now)
    if night.jam.deleted_at is not None:
        raise AimError("that jam is deleted: have it back first")
    if night.past:
        raise AimError("that jam is over: aim at one to come")
    if not night.entries:
        raise AimError("its set list is empty: put a tune on it first")
    return night


def goal_for_jam(db: Session, player: Player, jam_id: str | None, setting: Setting, now: datetime) -> Goal:
    """Return the goal that a session gets from its jam, for the player's guitar.

    The goal is empty if there is no jam, if the jam was deleted, or if its set list is empty.
    """
    night = _night_if_any(db, player, jam_id, now)
    if night is None or night.jam.deleted_at is not None:
        return NO_GOAL
    known = known_of(db, player, night, setting)
    return goal_for_changes(known.changes, known.outlook(max(night.jam.at, now)))


def expected_now(db: Session, player: Player, jam_id: str | None, setting: Setting, now: datetime) -> Outlook:
    """Return the outlook of a jam's changes as if the jam were now."""
    night = _night_if_any(db, player, jam_id, now)
    return known_of(db, player, night, setting).outlook(now) if night else Outlook(())


def _night_if_any(db: Session, player: Player, jam_id: str | None, now: datetime) -> Night | None:
    """Return the night of a jam, or None if there is no such jam."""
    try:
        return night_of(db, player, jam_id, now) if jam_id else None
    except NoJamError:
        return None


def goal_for_changes(changes: Sequence[ChordChange], expected: Outlook) -> Goal:
    """Return the goal that follows from the changes of a night and their outlook."""
    need: dict[str, float] = defaultdict(float)
    wanted_by: dict[str, Counter[str]] = defaultdict(Counter)
    for forecast in expected.forecasts:
        need[forecast.measured.card.id] += 2.0 - forecast.p / max(forecast.fluency.right, 1e-9)
        for card in forecast.measured.change.cards:
            wanted_by[card.id][forecast.measured.change.title] += 1
    average = sum(need.values()) / max(len(need), 1)
    weights: dict[str, float] = {}
    for forecast in expected.forecasts:
        weight = TIMES * min(max(need[forecast.measured.card.id] / average, LEAST), MOST)
        for card in forecast.measured.change.cards:
            part = 1.0 if card == forecast.measured.card else OTHER_CARD
            weights[card.id] = max(weights.get(card.id, 0.0), part * weight)
    keys = Counter(str(change.key.practical) for change in changes)
    return Goal(
        cards_for(changes),
        tuple(key for key, _ in keys.most_common()),
        weights,
        {card: titles.most_common(1)[0][0] for card, titles in wanted_by.items()},
    )
