"""What a card is, how it is named, how hard it is before anyone has answered it.

Conventions. A card is one question about one chord of one key, in one box where the ask needs a
place on the neck. Its id comes from the music only and is ASCII: ``place:Ab:4:box1``, with ``.7``
behind the degree for the seventh chord. What was drawn, the tuning and the hand are not part of it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from cards.chords import Chord
from cards.keys import DEGREES, PRACTICAL_KEYS, Key, KeyNameError
from cards.regions import BOXES, Region, anchor_region
from cards.voicings import Voicing, voicings

ASKS = ("name", "place", "name-place", "number", "hands-on")
"""The kinds of question, in the order in which a player meets them."""

WITHOUT_BOX = frozenset({"name"})

_ID = re.compile(r"([a-z-]+):([A-G][sb]?):([1-7])(\.7)?(?::box([1-5]))?\Z")

# One and four and five carry most songs; then six and two, then three and seven.
_MEETING_ORDER = {1: 0, 4: 1, 5: 2, 6: 3, 2: 4, 3: 5, 7: 6}

# Logits of being right unpractised: our estimates, to be refitted from players' logs.
_ASK_EASE = {"name": 1.2, "number": 0.5, "hands-on": 0.4, "place": 0.1, "name-place": -0.3}
_PER_ACCIDENTAL = -0.12
_PER_STEP_OF_DEGREE = -0.12
_SEVENTH = -0.3
_PER_BOX_AFTER_FIRST = -0.1
_PER_EFFORT = -0.08
_EASY_EFFORT = 8.0


class CardError(ValueError):
    """A card id or an answer that cannot be read; the message says what would be right."""


@dataclass(frozen=True)
class Setting:
    """What of the player's settings the music depends on.

    ``hand`` is small, medium or large; ``richer`` accepts the seventh chord where a triad is asked.
    """

    hand: str = "medium"
    left_handed: bool = False
    richer: bool = False


@dataclass(frozen=True, order=True)
class Card:
    """One question.

    >>> read_card("place:Ab:4:box1").chord.root.ascii
    'Db'
    """

    ask: str
    key: Key
    degree: int
    seventh: bool = False
    box: int | None = None

    @property
    def id(self) -> str:
        """The stable, readable name of the card."""
        degree = f"{self.degree}.7" if self.seventh else str(self.degree)
        place = "" if self.box is None else f":box{self.box}"
        return f"{self.ask}:{self.key.slug}:{degree}{place}"

    @property
    def chord(self) -> Chord:
        """The chord it is about."""
        return self.key.chord(self.degree, self.seventh)

    @property
    def region(self) -> Region:
        """The anchor region it is about. Raises CardError for a card without a box."""
        if self.box is None:
            raise CardError(f"{self.id} has no place on the neck")
        return anchor_region(self.key, self.box)

    def voicings(self, setting: Setting) -> tuple[Voicing, ...]:
        """Its voicings for the player's hand, the main one first; a larger hand's if it has none."""
        found = voicings(self.chord, self.region, setting.hand)
        return found or voicings(self.chord, self.region, "large")

    @cached_property
    def skills(self) -> tuple[str, ...]:
        """What it has in common with other cards: ask, key, degree, quality, box, shape."""
        skills = [
            f"ask:{self.ask}",
            f"key:{self.key.slug}",
            f"degree:{self.degree}",
            f"quality:{self.chord.quality.name}",
        ]
        if self.box is not None:
            skills.append(f"box:{self.box}")
            skills += [f"shape:{shape.name}" for shape in self.voicings(Setting())[0].shapes[:1]]
        return tuple(skills)

    @cached_property
    def difficulty(self) -> float:
        """Logit of an unpractised player's being right: higher is easier.

        From the ask, the accidentals of the key, how common the degree is, the seventh, the box
        and the effort of the main voicing.
        """
        logit = _ASK_EASE[self.ask]
        logit += _PER_ACCIDENTAL * abs(self.key.tonic.fifths)
        logit += _PER_STEP_OF_DEGREE * _MEETING_ORDER[self.degree]
        logit += _SEVENTH * self.seventh
        if self.box is not None:
            effort = self.voicings(Setting())[0].effort.total
            logit += _PER_EFFORT * (effort - _EASY_EFFORT)
            logit += _PER_BOX_AFTER_FIRST * (self.box - 1)
        return round(logit, 3)

    @property
    def path(self) -> tuple[int, ...]:
        """Where it stands in the order of introduction, smaller first.

        Box 1 before the others, triads before sevenths, the degrees as songs need them, then the
        ask.
        """
        degree = _MEETING_ORDER[self.degree]
        group = 0 if degree < 3 else 1 if degree < 5 else 2
        return (self.box or 1, int(self.seventh), group, degree, ASKS.index(self.ask))


def universe() -> Iterator[Card]:
    """Every card there is, in a fixed order."""
    for ask in ASKS:
        for key in PRACTICAL_KEYS:
            for degree in DEGREES:
                for seventh in (False, True):
                    for box in (None,) if ask in WITHOUT_BOX else BOXES:
                        yield Card(ask, key, degree, seventh, box)


def read_card(card_id: str) -> Card:
    """The card with this id. Raises CardError if there is none."""
    match = _ID.match(card_id)
    wrong = CardError(f'no card "{card_id}": a card id looks like place:Ab:4:box1 or name:Ab:4.7')
    if match is None or match[1] not in ASKS:
        raise wrong
    try:
        key = Key.from_slug(match[2])
    except KeyNameError as error:
        raise wrong from error
    box = int(match[5]) if match[5] else None
    if key not in PRACTICAL_KEYS or (box is None) != (match[1] in WITHOUT_BOX):
        raise wrong
    return Card(match[1], key, int(match[3]), match[4] is not None, box)
