"""The errors of a refused request: a value that cannot be taken, or something that does not exist.

Each kind of thing has an error of its own that derives from one of these. :mod:`drill.web.guard` turns them
into HTTP answers, in one place.
"""

from __future__ import annotations


class FieldError(ValueError):
    """A value that cannot be taken. ``field`` names it; the message says what would be right."""

    def __init__(self, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field


class NotThereError(LookupError):
    """Something that this player does not have."""
