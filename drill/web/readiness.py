"""A jam's readiness: the part of the jam's page that tells it, and the first page's line about it."""

from __future__ import annotations

from typing import Any

from flask import Blueprint

from cards.messages import message
from drill.jams.changes import ChordChange
from drill.jams.practice_ahead import Needed
from drill.jams.prospect import Ahead, Prospect, ahead, prospect
from drill.jams.readiness import READY, ChangeForecast, Outlook, Share, together
from drill.web.service import service
from drill.words import say, say_place

blueprint = Blueprint("readiness", __name__)


@blueprint.get("/api/jams/<jam_id>/readiness")
def undrilled(jam_id: str) -> dict[str, Any]:
    """A jam's readiness if nothing more is drilled: the night, tune by tune, the shakiest changes."""
    here = service()
    found = prospect(here.store, here.player_id, jam_id, here.now())
    share, over = found.undrilled.share, found.night.past
    return {
        "over": over,
        "words": _words(found, share, over),
        "line": say(message("ready-line", **percents(share))) if share else None,
        "night": _share_json(share),
        "shakiest": [_told_json(found, told, times, titled=True) for told, times in found.undrilled.shakiest()],
        "tunes": [
            {
                "title": entry.title,
                "key": str(entry.key),
                "tempo": entry.tempo,
                **_part_json(found, found.undrilled.of(number)),
            }
            for number, entry in enumerate(found.night.entries)
        ],
    }


@blueprint.get("/api/jams/<jam_id>/readiness/ahead")
def drilled(jam_id: str) -> dict[str, Any]:
    """What the planned minutes until a jam would bring, and how many it takes. This plays the days ahead, which
    takes a second or two."""
    here = service()
    found = ahead(here.store, here.player_id, jam_id, here.now())
    share = together(found.ways)
    return {
        "words": _ahead_words(found, share),
        "night": _share_json(share),
        "tunes": [
            _share_json(together([way.of(number) for way in found.ways])) for number in range(len(found.night.entries))
        ],
        "needed": found.needed.minutes if found.needed and found.needed.enough else None,
    }


def percents(share: Share) -> dict[str, object]:
    """A share of 100 with its interval, as messages say it."""
    low, high = share.interval
    return {"percent": round(100 * share.mean), "low": round(100 * low), "high": round(100 * high)}


def _words(found: Prospect, share: Share | None, over: bool) -> list[str]:
    if not found.night.entries:
        return [say(message("ready-no-tunes"))]
    if over:
        return [say(message("ready-over"))]
    said = message("ready-now", **percents(share)) if share else message("ready-no-room")
    left_out = ", ".join(_place(found, each) for each in found.left_out)
    return [say(said), *([say(message("ready-left-out", changes=left_out))] if share and left_out else [])]


def _ahead_words(found: Ahead, share: Share | None) -> list[str]:
    if share is None or found.needed is None:
        return [] if found.days else [say(message("ready-no-day"))]
    key = "ready-then-far" if found.far else "ready-then" if found.days > 1 else "ready-then-once"
    values = {"minutes": found.minutes, "days": found.days}
    return [say(message(key, **values, **percents(share))), _needed_words(share, found.needed, found.far)]


def _needed_words(share: Share, needed: Needed, far: bool) -> str:
    if share.mean >= READY:
        return say(message("ready-enough"))
    if needed.enough:
        return say(message("ready-needed", minutes=needed.minutes))
    percent = round(100 * max(needed.share, share.mean))
    return say(message("ready-far" if far else "ready-near", minutes=needed.minutes, percent=percent))


def _part_json(found: Prospect, part: Outlook) -> dict[str, Any]:
    return {
        "share": _share_json(part.share),
        "shakiest": [_told_json(found, told, times, titled=False) for told, times in part.shakiest()],
    }


def _share_json(share: Share | None) -> dict[str, Any] | None:
    if share is None:
        return None
    return {**percents(share), "changes": share.changes, "words": say(message("ready-tune", **percents(share)))}


def _told_json(found: Prospect, told: ChangeForecast, times: int, titled: bool) -> dict[str, Any]:
    card, change = told.measured.card, told.measured.change
    return {"words": _place(found, change, times, titled), "percent": round(100 * told.p), "card": card.id}


def _place(found: Prospect, change: ChordChange, times: int = 1, titled: bool = True) -> str:
    """A change in words: ``♭VII (D) in bar 2 of the bridge of Slow vamp``."""
    title = change.title if titled else ""
    box = change.box if len(set(found.night.jam.boxes)) > 1 else None
    return say_place(change.numeral, change.key, change.section, change.bar, title, box, times)
