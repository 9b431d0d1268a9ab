"""The errors of a refused request: a value that cannot be taken, or something that does not exist.

Each kind of thing has an error of its own that derives from one of these. :mod:`drill.web.guard` turns them
into HTTP answers, in one place.
"""

from __future__ import annotations

from cards.messages import RefusalError


class FieldError(RefusalError, ValueError):
    """A value that cannot be taken; ``field`` says which, the sentence what would be right."""

    def __init__(self, field: str, sentence: str, /, **values: object) -> None:
        super().__init__(sentence, **values)
        self.field = field


class NotThereError(RefusalError, LookupError):
    """Something that this player does not have."""
