"""Reading the values of JSON from outside."""

from __future__ import annotations

import re
from typing import Final

LONGEST_TITLE: Final = 120
"""The most characters of a title."""

HEX_ID: Final = re.compile(r"[0-9a-f]{32}\Z")
"""An id of 128 bits: that of a review, made on the device, or that of a session, made here."""


def on_one_line(text: str) -> str:
    """Return a text on one line, without the characters that cannot be printed.

    >>> on_one_line("  Open\\n\\0jam ")
    'Open jam'
    """
    return "".join(filter(str.isprintable, " ".join(text.split()))).strip()


def finite(value: object) -> float | None:
    """Return a number as a float, or None if the value is not a finite number (true, NaN, an integer too large
    for a float …).

    >>> finite(3), finite(True), finite("3"), finite(10**400)
    (3.0, None, None, None)
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    try:
        number = float(value)
    except OverflowError:
        return None
    return number if abs(number) < float("inf") else None
