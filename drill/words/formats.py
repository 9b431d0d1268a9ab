"""Write lists, numbers and dates in the current language.

Babel is imported when something is formatted, not before, so that ``drill serve`` and the music commands start
quickly.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import Final

from drill.words.language import ENGLISH, PSEUDO, gettext, spoken

_FORMATS: Final = {ENGLISH: "en_GB", PSEUDO: "en_GB"}
"""The Babel locale of a language, if it is not the language itself. British English puts the day before the month, has
24 hours, and no comma before "and"."""

_DAY: Final = {"day": "d", "month": "MMM"}
_DATE: Final = {"weekday": "EEEE", "day": "d", "month": "MMMM", "year": "y"}


def babel_name() -> str:
    """Return Babel's name of the current language."""
    return _FORMATS.get(spoken(), spoken().replace("-", "_"))


def say_list(words: Sequence[str]) -> str:
    """Join things by commas and "and".

    >>> say_list(["A", "B", "C"]), say_list(["A"])
    ('A, B and C', 'A')
    """
    from babel.lists import format_list

    return format_list(words, locale=babel_name())


def say_choice(words: Sequence[str]) -> str:
    """Join alternatives by commas and "or".

    >>> say_choice(["A", "B", "C"])
    'A, B or C'
    """
    from babel.lists import format_list

    return format_list(words, style="or", locale=babel_name())


def say_number(number: float, digits: int = 0) -> str:
    """Write a number with ``digits`` decimals, without a sign between thousands.

    >>> say_number(3.25, 1), say_number(12345)
    ('3.2', '12345')
    """
    from babel.numbers import format_decimal

    pattern = "0." + "0" * digits if digits else "0"
    return format_decimal(number, format=pattern, locale=babel_name())


def say_percent(share: float) -> str:
    """Write a share from 0 to 1 in percent.

    >>> say_percent(0.75)
    '75%'
    """
    from babel.numbers import format_percent

    return format_percent(share, locale=babel_name())


def say_day(day: date) -> str:
    """Write a day in short, without its year.

    >>> say_day(date(2026, 12, 3))
    '3 Dec'
    """
    from babel.dates import format_date

    parts = {name: format_date(day, pattern, locale=babel_name()) for name, pattern in _DAY.items()}
    return gettext("{day} {month}").format(**parts)


def say_when(local: datetime) -> str:
    """Write a date and time of the player's zone in words.

    >>> say_when(datetime(2026, 12, 3, 20, 0))
    'Thursday 3 December 2026, 20:00'
    """
    from babel.dates import format_date, format_time

    parts = {name: format_date(local, pattern, locale=babel_name()) for name, pattern in _DATE.items()}
    time = format_time(local, "short", locale=babel_name())
    return gettext("{weekday} {day} {month} {year}, {time}").format(**parts, time=time)


def say_weekday(number: int) -> str:
    """Write a day of the week in short; 0 is Monday.

    >>> say_weekday(0)
    'Mon'
    """
    from babel.dates import get_day_names

    return str(get_day_names("abbreviated", context="stand-alone", locale=babel_name())[number])
