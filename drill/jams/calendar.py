"""A jam and the drill until then as a calendar file (RFC 5545).

Conventions. The jam is two hours long. The daily drill stands at six in the evening of every day on
which the player means to practise, from the day that the file is made to the day of the jam, in
the player's zone. Identifiers are the jam's: a file brought in again changes the same two entries.
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
#: The days of the week as a rule of recurrence names them, in the order of DAYS.
_BY_DAY: Final = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")


def calendar(night: Night, preferences: Preferences, address: str, now: datetime) -> bytes:
    """The file: the jam, and the daily drill until then if there are days left for it. ``address`` is
    the jam's page."""
    found = Calendar()
    found.add("prodid", "-//Anchor Drill//Jams//EN")
    found.add("version", "2.0")
    found.add("method", "PUBLISH")
    found.add_component(_jam(night, address, now))
    drill = _drill(night, preferences, address, now)
    if drill is not None:
        found.add_component(drill)
    years = (date(now.year - 1, 1, 1), date(night.local.year + 1, 12, 31))
    found.add_missing_timezones(first_date=min(years), last_date=max(years))
    return bytes(found.to_ical())


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
    """The daily drill from today's or the next day's on; None if none is left."""
    zone = ZoneInfo(preferences.zone)
    day = clock.day_of(now, preferences.zone, preferences.day_start)
    last = night.local.date()
    practised = [day + timedelta(days=n) for n in range(max((last - day).days + 1, 0))]
    practised = [each for each in practised if DAYS[each.weekday()] in preferences.days]
    begins = [datetime.combine(each, DRILL_AT, zone) for each in practised]
    begins = [each for each in begins if now <= each and each + timedelta(minutes=preferences.minutes) <= night.local]
    if not begins:
        return None
    event = _event(f"drill-{night.jam.id}", _("Drill for {jam}").format(jam=night.jam.name), now)
    event.add("dtstart", begins[0])
    event.add("duration", timedelta(minutes=preferences.minutes))
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
