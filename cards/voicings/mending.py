"""What helps where nothing can be played: another box, a larger hand, or neither.

Conventions. A mend is offered only after it was tried. Other boxes are tried from the nearest on the neck to the
farthest, larger hands from the smallest that is larger. A box for the player's own hand comes before a box for a
larger one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from cards.guitar.fingering import HAND_SCALE, Hand
from cards.guitar.neck import Neck
from cards.guitar.regions import BOXES, Region, anchor_region
from cards.messages import Refusal, refusal


def find_mend(region: Region, hand: Hand, neck: Neck, can_play: Callable[[Region, Hand], bool]) -> Refusal | None:
    """Find what would help where a hand can play nothing in a region, as a part of a sentence.

    ``can_play`` tells whether a hand can play what is wanted in a region. Returns None if neither another box nor a
    larger hand helps.
    """
    others = _other_boxes(region, neck)
    box = next((other.box for other in others if can_play(other, hand)), None)
    larger = next((larger for larger in _larger_hands(hand) if can_play(region, larger)), None)
    if box is not None and larger is not None:
        return refusal("try box {box}, or a {hand} hand", box=box, hand=refusal(larger.size))
    if box is not None:
        return refusal("try box {box}", box=box)
    if larger is not None:
        return refusal("try a {hand} hand", hand=refusal(larger.size))
    for larger in _larger_hands(hand):
        for other in others:
            if can_play(other, larger):
                return refusal("try box {box} with a {hand} hand", box=other.box, hand=refusal(larger.size))
    return None


def _other_boxes(region: Region, neck: Neck) -> list[Region]:
    """The other boxes of the key, the nearest on the neck first."""
    others = (anchor_region(region.key, box, neck) for box in BOXES if box != region.box)
    return sorted(others, key=lambda other: (abs(other.low - region.low), other.box))


def _larger_hands(hand: Hand) -> Iterator[Hand]:
    """The hands that stretch farther, from the smallest on."""
    sizes = sorted(HAND_SCALE, key=HAND_SCALE.__getitem__)
    return (replace(hand, size=size) for size in sizes if HAND_SCALE[size] > hand.scale)
