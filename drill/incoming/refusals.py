"""What a request is refused for, whatever it is about: a value that cannot be taken, something that is not there.

Each kind of thing has its own error below one of these; how they are answered over HTTP is said once, in
:mod:`drill.web.guard`.
"""

from __future__ import annotations

from cards.messages import RefusalError


class FieldError(RefusalError, ValueError):
    """A value that cannot be taken; ``field`` says which, the sentence what would be right."""

    def __init__(self, field: str, sentence: str, /, **values: object) -> None:
        super().__init__(sentence, **values)
        self.field = field


class NotThereError(RefusalError, LookupError):
    """Something of this player's that there is not."""
