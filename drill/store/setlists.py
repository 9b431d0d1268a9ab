"""Named queries on tunes, jams and their set lists."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from drill.store.models import Jam, SetListEntry, Tune


def tunes_of(db: Session, player_id: int) -> Sequence[Tune]:
    """Return the player's tunes that are not deleted, by title."""
    rows = db.scalars(select(Tune).where(Tune.player_id == player_id, Tune.deleted_at.is_(None)))
    return sorted(rows, key=lambda tune: (tune.title.casefold(), tune.made_at, tune.id))


def tune_of(db: Session, player_id: int, tune_id: str) -> Tune | None:
    """Return one of the player's tunes, deleted or not, or None if the player has no such tune."""
    return db.scalars(select(Tune).where(Tune.id == tune_id, Tune.player_id == player_id)).first()


def jams_of(db: Session, player_id: int) -> Sequence[Jam]:
    """Return the player's jams that are not deleted, by date."""
    rows = select(Jam).where(Jam.player_id == player_id, Jam.deleted_at.is_(None)).order_by(Jam.at, Jam.id)
    return db.scalars(rows).all()


def jam_ids_by_tune(db: Session, player_id: int) -> dict[str, list[str]]:
    """Return the ids of the player's jams by the id of the tune in their set lists."""
    jams: dict[str, list[str]] = {}
    pairs = select(SetListEntry.tune_id, SetListEntry.jam_id).where(SetListEntry.player_id == player_id)
    for tune_id, jam_id in db.execute(pairs.distinct()):
        jams.setdefault(tune_id, []).append(jam_id)
    return jams


def jam_of(db: Session, player_id: int, jam_id: str) -> Jam | None:
    """Return one of the player's jams, deleted or not, or None if the player has no such jam."""
    return db.scalars(select(Jam).where(Jam.id == jam_id, Jam.player_id == player_id)).first()


def set_list_of(db: Session, jam_id: str) -> Sequence[tuple[SetListEntry, Tune]]:
    """Return the entries of a jam's set list in order, each with its tune."""
    rows = db.execute(
        select(SetListEntry, Tune)
        .join(Tune, Tune.id == SetListEntry.tune_id)
        .where(SetListEntry.jam_id == jam_id)
        .order_by(SetListEntry.position, SetListEntry.id)
    )
    return [(entry, tune) for entry, tune in rows]
