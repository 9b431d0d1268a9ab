"""What a request is refused for, whatever it is about: a value that cannot be taken, something that is not there.

Each kind of thing has its own error below one of these; how they are answered over HTTP is said once, in
:mod:`drill.web.guard`.
"""

from __future__ import annotations


class FieldError(ValueError):
    """A value that cannot be taken; ``field`` says which, the message what would be right."""

    def __init__(self, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field


class NotThereError(LookupError):
    """Something of this player's that there is not."""
