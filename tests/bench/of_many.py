"""A service of many players for the benches: who asks is said by a header, as the drill has no sign-in yet."""

from __future__ import annotations

from typing import Final

from flask import request

from drill.web.service import Service

HEADER: Final = "X-Player"


class OfMany(Service):
    """The service of whichever player the request names."""

    @property
    def player_id(self) -> int:  # type: ignore[override]
        return int(request.headers[HEADER])
