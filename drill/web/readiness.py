"""A jam's readiness, for the jam's page and the first page."""

from __future__ import annotations

from typing import Any

from flask import Blueprint

from cards.messages import message
from drill.jams.changes import ChordChange
from drill.jams.practice_ahead import Needed
from drill.jams.prospect import Ahead, Prospect, ahead, prospect
from drill.jams.readiness import READY, ChangeForecast, Outlook, Share, together
from drill.web.service import current_service
from drill.words import say, say_place

blueprint = Blueprint("readiness", __name__)


@blueprint.get("/api/jams/<jam_id>/readiness")
def undrilled(jam_id: str) -> dict[str, Any]:
    """Return the readiness without further practice: of the night and of each tune, with the shakiest changes."""
    service = current_service()
    standing = prospect(service.store, service.player_id, jam_id, service.now())
    share, over = standing.undrilled.share, standing.night.past
    return {
        "over": over,
        "words": _words(standing, share, over),
        "line": say(message("ready-line", **percents(share))) if share else None,
        "night": _share_json(share),
        "shakiest": [
            _forecast_json(standing, forecast, times, titled=True) for forecast, times in standing.undrilled.shakiest()
        ],
        "tunes": [
            {
                "title": entry.title,
                "key": str(entry.key),
                "tempo": entry.tempo,
                **_part_json(standing, standing.undrilled.of(number)),
            }
            for number, entry in enumerate(standing.night.entries)
        ],
    }


@blueprint.get("/api/jams/<jam_id>/readiness/ahead")
def drilled(jam_id: str) -> dict[str, Any]:
    """Return what the planned minutes until a jam would bring, and how many minutes it takes.

    This plays the days ahead, which takes a second or two.
    """
    service = current_service()
    practised = ahead(service.store, service.player_id, jam_id, service.now())
    share = together(practised.ways)
    return {
        "words": _ahead_words(practised, share),
        "night": _share_json(share),
        "tunes": [
            _share_json(together([way.of(number) for way in practised.ways]))
            for number in range(len(practised.night.entries))
        ],
        "needed": practised.needed.minutes if practised.needed and practised.needed.enough else None,
    }


def percents(share: Share) -> dict[str, object]:
    """Return a share in percent with its interval, as values of a message."""
    low, high = share.interval
    return {"percent": round(100 * share.mean), "low": round(100 * low), "high": round(100 * high)}


def _words(standing: Prospect, share: Share | None, over: bool) -> list[str]:
    if not standing.night.entries:
        return [say(message("ready-no-tunes"))]
    if over:
        return [say(message("ready-over"))]
    readiness = message("ready-now", **percents(share)) if share else message("ready-no-room")
    left_out = ", ".join(_place(standing, change) for change in standing.left_out)
    return [say(readiness), *([say(message("ready-left-out", changes=left_out))] if share and left_out else [])]


def _ahead_words(practised: Ahead, share: Share | None) -> list[str]:
    if share is None or practised.needed is None:
        return [] if practised.days else [say(message("ready-no-day"))]
    key = "ready-then-far" if practised.far else "ready-then" if practised.days > 1 else "ready-then-once"
    values = {"minutes": practised.minutes, "days": practised.days}
    return [say(message(key, **values, **percents(share))), _needed_words(share, practised.needed, practised.far)]


def _needed_words(share: Share, needed: Needed, far: bool) -> str:
    if share.mean >= READY:
        return say(message("ready-enough"))
    if needed.enough:
        return say(message("ready-needed", minutes=needed.minutes))
    percent = round(100 * max(needed.share, share.mean))
    return say(message("ready-far" if far else "ready-near", minutes=needed.minutes, percent=percent))


def _part_json(standing: Prospect, part: Outlook) -> dict[str, Any]:
    return {
        "share": _share_json(part.share),
        "shakiest": [_forecast_json(standing, forecast, times, titled=False) for forecast, times in part.shakiest()],
    }


def _share_json(share: Share | None) -> dict[str, Any] | None:
    if share is None:
        return None
    return {**percents(share), "changes": share.changes, "words": say(message("ready-tune", **percents(share)))}


def _forecast_json(standing: Prospect, forecast: ChangeForecast, times: int, titled: bool) -> dict[str, Any]:
    card, change = forecast.measured.card, forecast.measured.change
    return {"words": _place(standing, change, times, titled), "percent": round(100 * forecast.p), "card": card.id}


def _place(standing: Prospect, change: ChordChange, times: int = 1, titled: bool = True) -> str:
    """Return a change in words: ``♭VII (D) in bar 2 of the bridge of Slow vamp``."""
    title = change.title if titled else ""
    box = change.box if len(set(standing.night.jam.boxes)) > 1 else None
    return say_place(change.numeral, change.key, change.section, change.bar, title, box, times)
