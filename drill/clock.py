"""Time at the edges: the present in UTC, a player's day, and times by a device's clock.

Conventions. Every instant is an aware ``datetime`` in UTC. A player's day begins at the player's own hour
(04:00 unless set) in the player's zone and ends when the next one begins. So practice late at night belongs to
the evening before. Only :func:`now` reads a clock.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo


def now() -> datetime:
    """Return this instant, in UTC."""
    return datetime.now(UTC)


def beats_seconds(beats: float, tempo: int) -> float:
    """Return how many seconds so many beats last at ``tempo`` beats a minute.

    >>> beats_seconds(4, 80)
    3.0
    """
    return 60 * beats / tempo


def seconds_beats(seconds: float, tempo: int) -> float:
    """Return how many beats fit into so many seconds. It is the inverse of :func:`beats_seconds`.

    >>> seconds_beats(3.0, 80)
    4.0
    """
    return seconds * tempo / 60


def day_of(instant: datetime, zone: str, day_start: int) -> date:
    """Return the player's day to which ``instant`` belongs.

    >>> day_of(datetime(2026, 5, 2, 1, 30, tzinfo=UTC), "Europe/Rome", 4)
    datetime.date(2026, 5, 1)
    """
    local = instant.astimezone(ZoneInfo(zone))
    # This compares wall-clock hours, so that 03:59 is still the day before on the night when the clocks change.
    return local.date() if local.hour >= day_start else local.date() - timedelta(days=1)


def day_begin(day: date, zone: str, day_start: int) -> datetime:
    """Return the instant, in UTC, at which a player's day begins."""
    return datetime.combine(day, time(day_start), ZoneInfo(zone)).astimezone(UTC)


def day_bounds(instant: datetime, zone: str, day_start: int) -> tuple[datetime, datetime]:
    """Return the begin and the end, in UTC, of the player's day to which ``instant`` belongs."""
    day = day_of(instant, zone, day_start)
    return day_begin(day, zone, day_start), day_begin(day + timedelta(days=1), zone, day_start)


def answered_at(received: datetime, sent_ms: float, answered_ms: float, not_before: datetime) -> datetime:
    """Return when an answer was given, even if the device's clock is wrong.

    ``sent_ms`` and ``answered_ms`` are both by the device's clock, so their difference is right. If that clock
    was set between the two, the result is limited to the time from ``not_before`` (the start of the session) to
    ``received``.
    """
    waited = max(sent_ms - answered_ms, 0.0)
    oldest = (received - not_before) / timedelta(milliseconds=1)
    return received - timedelta(milliseconds=min(waited, max(oldest, 0.0)))
