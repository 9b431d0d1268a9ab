"""A player's day, and a device's clock set right."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from drill import clock

RECEIVED = datetime(2026, 5, 1, 18, 0, tzinfo=UTC)


def utc(*parts: int) -> datetime:
    return datetime(*parts, tzinfo=UTC)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("instant", "zone", "day"),
    [
        (utc(2026, 5, 2, 1, 59), "Europe/Rome", date(2026, 5, 1)),
        (utc(2026, 5, 2, 2, 0), "Europe/Rome", date(2026, 5, 2)),
        (utc(2026, 5, 2, 7, 59), "America/New_York", date(2026, 5, 1)),
        (utc(2026, 5, 1, 18, 0), "Pacific/Auckland", date(2026, 5, 2)),
    ],
)
def test_a_late_night_belongs_to_the_evening_before(instant: datetime, zone: str, day: date) -> None:
    assert clock.day_of(instant, zone, 4) == day


@pytest.mark.parametrize("day", [date(2026, 3, 28), date(2026, 3, 29), date(2026, 10, 24), date(2026, 10, 25)])
def test_days_meet_when_the_clocks_change(day: date) -> None:
    begin, end = clock.day_bounds(clock.day_begin(day, "Europe/Rome", 2), "Europe/Rome", 2)
    assert begin == clock.day_begin(day, "Europe/Rome", 2)
    assert end == clock.day_begin(day + timedelta(days=1), "Europe/Rome", 2)
    assert timedelta(hours=23) <= end - begin <= timedelta(hours=25)


def test_an_hour_that_the_clocks_skip_is_still_in_one_day() -> None:
    instant = utc(2026, 3, 28, 20, 0)
    while instant < utc(2026, 3, 30, 0, 0):
        begin, end = clock.day_bounds(instant, "Europe/Rome", 2)
        assert begin <= instant < end
        instant += timedelta(minutes=10)


@pytest.mark.parametrize("device_is_off_by", [0, 3_600_000, -86_400_000])
def test_a_wrong_clock_on_the_phone_does_not_matter(device_is_off_by: float) -> None:
    sent = RECEIVED.timestamp() * 1000 + device_is_off_by
    began = RECEIVED - timedelta(minutes=5)
    assert clock.answered_at(RECEIVED, sent, sent - 90_000, began) == RECEIVED - timedelta(seconds=90)


def test_a_clock_set_meanwhile_keeps_the_answer_in_its_session() -> None:
    began = RECEIVED - timedelta(minutes=5)
    assert clock.answered_at(RECEIVED, 1e12, 1e12 - 3.6e6, began) == began
    assert clock.answered_at(RECEIVED, 1e12, 1e12 + 3.6e6, began) == RECEIVED
    assert clock.answered_at(RECEIVED, 1e12, -1e300, began) == began
