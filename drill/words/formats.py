"""Lists, numbers and dates, as the language that is spoken writes them.

The library is imported when something is formatted, not before: ``drill serve`` and the music commands start without.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import Final

from drill.words.language import ENGLISH, PSEUDO, gettext, spoken

_FORMATS: Final = {ENGLISH: "en_GB", PSEUDO: "en_GB"}
"""Whose formats a language uses, by the name that Babel knows; its own if it is not here. English is written as the
pages have it: the day before the month, 24 hours, no comma before "and"."""

_DAY: Final = {"day": "d", "month": "MMM"}
_DATE: Final = {"weekday": "EEEE", "day": "d", "month": "MMMM", "year": "y"}


def babel_name() -> str:
    """The language that is spoken, as Babel names it."""
    return _FORMATS.get(spoken(), spoken().replace("-", "_"))


def say_list(words: Sequence[str]) -> str:
    """Things one after the other.

    >>> say_list(["A", "B", "C"]), say_list(["A"])
    ('A, B and C', 'A')
    """
    from babel.lists import format_list

    return format_list(words, locale=babel_name())


def say_choice(words: Sequence[str]) -> str:
    """Things of which one is meant.

    >>> say_choice(["A", "B", "C"])
    'A, B or C'
    """
    from babel.lists import format_list

    return format_list(words, style="or", locale=babel_name())


def say_number(number: float, digits: int = 0) -> str:
    """A number with so many digits behind its decimal sign, without signs between thousands.

    >>> say_number(3.25, 1), say_number(12345)
    ('3.2', '12345')
    """
    from babel.numbers import format_decimal

    pattern = "0." + "0" * digits if digits else "0"
    return format_decimal(number, format=pattern, locale=babel_name())


def say_percent(share: float) -> str:
    """A share from 0 to 1, of a hundred.

    >>> say_percent(0.75)
    '75%'
    """
    from babel.numbers import format_percent

    return format_percent(share, locale=babel_name())


def say_day(day: date) -> str:
    """A day in short, without its year.

    >>> say_day(date(2026, 12, 3))
    '3 Dec'
    """
    from babel.dates import format_date

    parts = {name: format_date(day, pattern, locale=babel_name()) for name, pattern in _DAY.items()}
    return gettext("{day} {month}").format(**parts)


def say_when(local: datetime) -> str:
    """A date and time of the player's zone in words.

    >>> say_when(datetime(2026, 12, 3, 20, 0))
    'Thursday 3 December 2026, 20:00'
    """
    from babel.dates import format_date, format_time

    parts = {name: format_date(local, pattern, locale=babel_name()) for name, pattern in _DATE.items()}
    time = format_time(local, "short", locale=babel_name())
    return gettext("{weekday} {day} {month} {year}, {time}").format(**parts, time=time)


def say_weekday(number: int) -> str:
    """A day of the week in short; 0 is Monday.

    >>> say_weekday(0)
    'Mon'
    """
    from babel.dates import get_day_names

    return str(get_day_names("abbreviated", context="stand-alone", locale=babel_name())[number])
