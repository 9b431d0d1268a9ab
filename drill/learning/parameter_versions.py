"""A player's own parameters: fitted to the log, versioned, adopted if they predict better.

Conventions. A fit is a row: the parameters, when they were made, and the log loss of those in force
and of these on the player's last weeks (:mod:`drill.memory.estimation`). It is kept whether it was adopted or
not. Version 0 is what everybody starts from and has no row. Which version a player's memory was
worked out by stands in the player's row; adopting another one goes with working memory out again.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, fields, is_dataclass
from datetime import datetime
from typing import Any, TypeVar, get_type_hints

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from drill.incoming.reading import finite
from drill.memory.parameters import START, Drift, Parameters
from drill.store.models import Fit, Player

_Kept = TypeVar("_Kept")


def parameters_of(db: Session, player: Player, version: int | None = None) -> Parameters:
    """The parameters in force for a player, or those of another version."""
    version = player.fit if version is None else version
    return read(Parameters, db.get_one(Fit, (player.id, version)).parameters) if version else START


def are_sound(values: Any) -> bool:
    """Whether these are parameters, as a fit keeps them, that memory can be worked out by.

    >>> are_sound(asdict(START)), are_sound({"gain": "much"}), are_sound({"card": {"days": 0.0}})
    (True, False, False)
    """
    try:
        found = read(Parameters, values)
    except (TypeError, AttributeError):
        return False
    if any(finite(value) is None for value in _leaves(asdict(found))):
        return False
    drifts = [value for value in vars(found).values() if isinstance(value, Drift)]
    hold, carrying = found.holding, found.carrying
    above = (hold.first, hold.known, hold.most, hold.wrong, hold.shortest, hold.longest, found.spread)
    from_0 = (hold.growth, hold.exponent, carrying.variance, carrying.noise, found.spread_strength)
    return (
        all(value > 0.0 for value in (*above, *(drift.days for drift in drifts)))
        and all(value >= 0.0 for value in from_0)
        and all(drift.start >= 0.0 and drift.noise >= 0.0 for drift in drifts)
    )


def _leaves(values: Mapping[str, Any]) -> Iterator[object]:
    for value in values.values():
        yield from _leaves(value) if isinstance(value, dict) else (value,)


def keep_fit(
    db: Session, player_id: int, parameters: Parameters, losses: tuple[float, float], adopted: bool, now: datetime
) -> int:
    """Keep a fit and return its version."""
    newest = db.scalar(select(func.max(Fit.version)).where(Fit.player_id == player_id)) or 0
    before, after = losses
    fit = Fit(
        player_id=player_id,
        version=newest + 1,
        made_at=now,
        parameters=asdict(parameters),
        loss_before=before,
        loss_after=after,
        adopted=adopted,
    )
    db.add(fit)
    return fit.version


def newest_fit(db: Session, player_id: int) -> Fit | None:
    """The fit made last, adopted or not."""
    return db.scalars(select(Fit).where(Fit.player_id == player_id).order_by(Fit.version.desc()).limit(1)).first()


def read(kind: type[_Kept], values: Mapping[str, Any]) -> _Kept:
    """Parameters, or a part of them, from JSON; what an older version did not have is as at the start.

    >>> read(Parameters, asdict(START)) == START, read(Parameters, {"gain": 1.5, "tilt": 2.0}).gain
    (True, 1.5)
    """
    kinds = get_type_hints(kind)
    known = {field.name for field in fields(kind)}  # type: ignore[arg-type]
    return kind(
        **{
            name: read(kinds[name], value) if is_dataclass(kinds[name]) else value
            for name, value in values.items()
            if name in known
        }
    )
