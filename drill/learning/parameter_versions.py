"""A player's own parameters: fitted to the log, versioned, and adopted if they predict better.

Conventions. A fit is a row: the parameters, when they were fitted, and two log losses on the player's last
weeks, that of the parameters in use and that of the new ones (:mod:`drill.memory.estimation`). It is kept
whether it was adopted or not. Version 0 stands for the parameters that everybody starts from; it has no row.
The player's row names the version that the memory was computed with. To adopt another one, memory is computed
again.
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
    """Return the parameters in use for a player, or those of another version."""
    version = player.fit if version is None else version
    return read_parameters(Parameters, db.get_one(Fit, (player.id, version)).parameters) if version else START


def are_sound(values: Any) -> bool:
    """Whether these values, as a fit keeps them, are parameters that memory can be computed with.

    >>> are_sound(asdict(START)), are_sound({"gain": "much"}), are_sound({"card": {"days": 0.0}})
    (True, False, False)
    """
    try:
        parameters = read_parameters(Parameters, values)
    except (TypeError, AttributeError):
        return False
    if any(finite(value) is None for value in _leaves(asdict(parameters))):
        return False
    drifts = [value for value in vars(parameters).values() if isinstance(value, Drift)]
    hold, carrying = parameters.holding, parameters.carrying
    positive = (hold.first, hold.known, hold.most, hold.wrong, hold.shortest, hold.longest, parameters.spread)
    not_negative = (hold.growth, hold.exponent, carrying.variance, carrying.noise, parameters.spread_strength)
    return (
        all(value > 0.0 for value in (*positive, *(drift.days for drift in drifts)))
        and all(value >= 0.0 for value in not_negative)
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
    """Return the newest fit, adopted or not."""
    return db.scalars(select(Fit).where(Fit.player_id == player_id).order_by(Fit.version.desc()).limit(1)).first()


def read_parameters(kind: type[_Kept], values: Mapping[str, Any]) -> _Kept:
    """Read parameters, or a part of them, from JSON.

    Fields that an older version did not have get their starting values. Unknown fields are ignored.

    >>> read_parameters(Parameters, asdict(START)) == START
    True
    >>> read_parameters(Parameters, {"gain": 1.5, "tilt": 2.0}).gain
    1.5
    """
    kinds = get_type_hints(kind)
    known = {field.name for field in fields(kind)}  # type: ignore[arg-type]
    return kind(
        **{
            name: read_parameters(kinds[name], value) if is_dataclass(kinds[name]) else value
            for name, value in values.items()
            if name in known
        }
    )
