"""The seconds that a review was allowed, and its outcome."""

from __future__ import annotations

from cards.asks import Card, beats, read_card
from drill import clock
from drill.store.models import Review


def allowed_seconds_for(review: Review) -> float:
    """Return the seconds that a review was allowed: the length of its music, and the allowance for tapping."""
    length = length_in_beats(read_card(review.card), review.drawn.get("beats"))
    return clock.beats_seconds(length, review.tempo) + review.allowance


def outcome_of(right: bool, hinted: bool, seconds: float | None, allowed: float) -> str:
    """Return ``clean``, ``late`` or ``missed``. A right answer is late if the clock says so, or if its time is
    not known.

    >>> outcome_of(True, False, 4.0, 5.2), outcome_of(True, False, None, 5.2)
    ('clean', 'late')
    """
    if not right:
        return "missed"
    return "clean" if seconds is not None and seconds <= allowed and not hinted else "late"


def length_in_beats(card: Card, in_tune: float | None) -> float:
    """Return the beats of a card's music: those of its change in a tune, or those of the bare card if that is
    None."""
    return beats(card) if in_tune is None else in_tune
