"""What a review was allowed, and what came of it."""

from __future__ import annotations

from cards.asks import Card, beats, read_card
from drill import clock
from drill.store.models import Review


def allowed_for(review: Review) -> float:
    """Seconds that a review was allowed: those that its music lasted, and those for tapping."""
    length = lasts(read_card(review.card), review.drawn.get("beats"))
    return clock.beats_seconds(length, review.tempo) + review.allowance


def outcome_of(right: bool, hinted: bool, seconds: float | None, allowed: float) -> str:
    """``clean``, ``late`` or ``missed``: the clock decides, and what it did not see counts as late.

    >>> outcome_of(True, False, 4.0, 5.2), outcome_of(True, False, None, 5.2)
    ('clean', 'late')
    """
    if not right:
        return "missed"
    return "clean" if seconds is not None and seconds <= allowed and not hinted else "late"


def lasts(card: Card, in_tune: float | None) -> float:
    """Beats that a card's music lasts: those of its change in a tune, or of the bare card."""
    return beats(card) if in_tune is None else in_tune
