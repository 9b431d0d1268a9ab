"""Write a jam, and the daily drill until then, as a calendar file (RFC 5545).

Conventions. A jam lasts two hours. The daily drill starts at 18:00 in the player's zone, on every day that the player
chose for practice, from the day the file is made to the day of the jam. The identifiers are the jam's own, so a file
that is imported again changes the same two entries.
"""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from icalendar import Calendar, Event, vRecur

from drill import clock
from drill.jams.nights import Night, NightTune
from drill.players.preferences import DAYS, Preferences
from drill.words import gettext as _
from drill.words import ngettext

LASTS: Final = timedelta(hours=2)
DRILL_AT: Final = time(18)
#: The names of the days of the week in a recurrence rule, in the order of DAYS.
_BY_DAY: Final = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")


def calendar(night: Night, preferences: Preferences, address: str, now: datetime) -> bytes:
    """Return the calendar file: the jam, and the daily drill until then if practice days are left.

    ``address`` is the address of the jam's page.
    """
    file = Calendar()
    file.add("prodid", "-//Anchor Drill//Jams//EN")
    file.add("version", "2.0")
    file.add("method", "PUBLISH")
    file.add_component(_jam(night, address, now))
    drill = _drill(night, preferences, address, now)
    if drill is not None:
        file.add_component(drill)
    years = (date(now.year - 1, 1, 1), date(night.local.year + 1, 12, 31))
    file.add_missing_timezones(first_date=min(years), last_date=max(years))
    return bytes(file.to_ical())


def _jam(night: Night, address: str, now: datetime) -> Event:
    event = _event(f"jam-{night.jam.id}", night.jam.name, now)
    event.add("dtstart", night.local)
    event.add("dtend", night.local + LASTS)
    if night.jam.place:
        event.add("location", night.jam.place)
    tunes = [
        f"{number}. {entry.title}, {_key(entry)}, {_('{tempo} bpm').format(tempo=entry.tempo)}"
        for number, entry in enumerate(night.entries, start=1)
    ]
    event.add("description", "\n".join([*tunes, address]))
    return event


def _key(entry: NightTune) -> str:
    if entry.key == entry.own_key:
        return str(entry.key)
    return _("{key} (stands in {own_key})").format(key=entry.key, own_key=entry.own_key)


def _drill(night: Night, preferences: Preferences, address: str, now: datetime) -> Event | None:
    """Return the daily drill from today or the next practice day on, or None if no practice day is left."""
    zone = ZoneInfo(preferences.zone)
    today = clock.day_of(now, preferences.zone, preferences.day_start)
    days_left = max((night.local.date() - today).days + 1, 0)
    dates = [today + timedelta(days=n) for n in range(days_left)]
    begins = [datetime.combine(day, DRILL_AT, zone) for day in dates if DAYS[day.weekday()] in preferences.days]
    length = timedelta(minutes=preferences.minutes)
    begins = [begin for begin in begins if now <= begin and begin + length <= night.local]
    if not begins:
        return None
    event = _event(f"drill-{night.jam.id}", _("Drill for {jam}").format(jam=night.jam.name), now)
    event.add("dtstart", begins[0])
    event.add("duration", length)
    days = [_BY_DAY[number] for number, name in enumerate(DAYS) if name in preferences.days]
    event.add("rrule", vRecur(freq="weekly", byday=days, until=begins[-1].astimezone(ZoneInfo("UTC"))))
    minutes = ngettext("{count} minute", "{count} minutes", preferences.minutes).format(count=preferences.minutes)
    event.add("description", f"{minutes}\n{address}")
    return event


def _event(name: str, summary: str, now: datetime) -> Event:
    event = Event()
    event.add("uid", f"{name}@anchor-drill")
    event.add("dtstamp", now)
    event.add("sequence", int(now.timestamp()) // 60)
    event.add("summary", summary)
    return event
