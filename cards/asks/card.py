"""A card: its id, its music, its voicings, and how hard it is before anyone has answered it.

Conventions. A card is one question about a chord of a key, a progression, or the key itself. It has a
box if the ask needs a place on the neck. Its id comes from the music alone, is ASCII and fits in an
address: ``place:Ab:4:box1``. The id of a card about the key's own seventh chord has ``.7`` behind the
degree; about any other chord it has degree and quality (``borrowed:E:b7_major:box1``). The chords of a
progression are joined by ``~``. What else the ask asks for comes last (``tone:Ab:4:box1:third``). What
was drawn, the tuning and the hand are not part of the id. A card of the open position as a place of its own has the
box 0 (:data:`cards.guitar.regions.OPEN`), and ``open`` in its id: ``place:D:1:open``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import cached_property

from cards.guitar.fingering import BARRES, Frets, Hand
from cards.guitar.neck import STANDARD_TUNING, Neck
from cards.guitar.regions import OPEN, Region, anchor_region, has_open_position, open_position
from cards.messages import RefusalError, echo
from cards.theory.chords import Chord
from cards.theory.keys import Key, KeyNameError, Mode
from cards.theory.numerals import Numeral, numeral_from_slug, own_numeral
from cards.voicings.voicing import Voicing, pinned_first, voicings

_ID = re.compile(
    r"(?P<ask>[a-z-]+):(?P<key>[A-G][sb]?(?:m|-blues)?)(?::(?P<calls>[bx]?[1-7][^:]*))?"
    r"(?::(?:box(?P<box>[1-5])|(?P<open>open)))?(?::(?P<detail>[a-z0-9-]+))?\Z"
)
_BETWEEN = "~"

# Most songs live on one, four and five; then come six and two, then three and seven.
_MEETING_ORDER = {1: 0, 4: 1, 5: 2, 6: 3, 2: 4, 3: 5, 7: 6}
_SETTLED_FIRST = 3

# Parts of the logit of an unpractised player's being right: our estimates, to be refitted from players' logs.
_PER_ACCIDENTAL = -0.12
_PER_STEP_OF_DEGREE = -0.12
_SEVENTH = -0.3
_FOREIGN_TO_KEY = -0.4
_MINOR_KEY = -0.2
_PER_BOX_AFTER_FIRST = -0.1
_PER_EFFORT = -0.08
_LIGHT_EFFORT = 8.0
_PER_FURTHER_CHORD = -0.2


class CardError(RefusalError, ValueError):
    """A card id or an answer cannot be read; the message says what would be right."""


@dataclass(frozen=True)
class Pin:
    """A player's own grip for a chord in a box of a key: six frets, string 6 first, in the region's own
    place."""

    key: Key
    chord: Chord
    box: int
    frets: Frets


@dataclass(frozen=True)
class Setting:
    """Those of the player's settings that the music depends on.

    ``hand`` is small, medium or large; ``thumb`` lets the hand hold string 6. ``richer`` accepts the
    seventh chord for a triad. ``tuning`` is six open pitches (MIDI numbers), low to high; ``capo`` is the
    fret of the capo, 0 for none; ``frets`` is how many frets the neck has; ``highest`` is the highest
    comfortable fret, counted from the nut; ``scale_mm`` is the length of the open strings. ``band`` says
    that a bass or keys play along, so that rootless voicings on the upper strings come first.
    ``barre`` is none, three (strings) or full: the barres that a main voicing may have. ``pins`` are grips that the
    player wants to see first.
    """

    hand: str = "medium"
    left_handed: bool = False
    richer: bool = False
    thumb: bool = False
    band: bool = False
    tuning: tuple[int, ...] = STANDARD_TUNING
    capo: int = 0
    frets: int = 22
    scale_mm: float = 648.0
    highest: int = 22
    barre: str = "full"
    pins: tuple[Pin, ...] = ()

    @cached_property
    def neck(self) -> Neck:
        """The neck of the player's guitar. Raises NeckError for settings that no guitar has."""
        return Neck(self.tuning, self.scale_mm, self.frets, self.capo)

    @property
    def fingers(self) -> Hand:
        """The player's fretting hand."""
        return Hand(self.hand, self.thumb, self.barre)

    @property
    def largest_hand(self) -> Hand:
        """The hand whose voicings are shown if the player's own hand can play none."""
        return Hand("large", self.thumb, self.barre)


@dataclass(frozen=True)
class Card:
    """One question.

    >>> str(read_id("place:Ab:4:box1").chord), read_id("borrowed:E:b7_major:box1").called
    ('D♭', '♭VII')
    """

    ask: str
    key: Key
    calls: tuple[Numeral, ...] = ()
    box: int | None = None
    detail: str = ""

    @cached_property
    def id(self) -> str:
        """The stable, readable name of the card."""
        calls = _BETWEEN.join(numeral.slug(self.key) for numeral in self.calls)
        box = "" if self.box is None else "open" if self.is_open else f"box{self.box}"
        return ":".join(filter(None, (self.ask, self.key.slug, calls, box, self.detail)))

    @property
    def is_open(self) -> bool:
        """Whether the card's place is the open position, as a place of its own."""
        return self.box == OPEN

    @property
    def numeral(self) -> Numeral:
        """The card's chord by number, or the first chord of its progression.

        Raises CardError for a card about no chord.
        """
        if not self.calls:
            raise CardError("{card} is about no chord", card=self.id)
        return self.calls[0]

    @property
    def chord(self) -> Chord:
        """The card's chord. Raises CardError for a card about no chord."""
        return self.numeral.chord(self.key)

    @property
    def chords(self) -> tuple[Chord, ...]:
        """The chords of the card's progression."""
        return tuple(numeral.chord(self.key) for numeral in self.calls)

    @property
    def own(self) -> tuple[int, bool] | None:
        """(degree, seventh) if the card is about one of the key's own chords, else None."""
        return self.numeral.own(self.key) if self.calls else None

    @property
    def degree(self) -> int:
        """The degree of the card's chord, 1–7 without its accidental; 1 for a card about no chord."""
        return self.calls[0].root.number if self.calls else 1

    @property
    def seventh(self) -> bool:
        """Whether the card's chord is one of the key's own seventh chords."""
        return self.own is not None and self.own[1]

    @property
    def called(self) -> str:
        """How a player calls for the card's chord: ``4``, ``4 seventh``, ``♭3``, ``II7``."""
        if self.own is None or self.key.mode == Mode.BLUES:
            return str(self.numeral)
        return self.numeral.number + (" seventh" if self.seventh else "")

    def region(self, setting: Setting) -> Region:
        """Return the anchor region of the card's box, or the open position. Raises CardError for a card without
        a place."""
        if self.box is None:
            raise CardError("{card} has no place on the neck", card=self.id)
        if self.is_open:
            return open_position(self.key, setting.neck)
        return anchor_region(self.key, self.box, setting.neck)

    def places(self, setting: Setting) -> tuple[Region, ...]:
        """Return the places of the card's region on the player's neck: its own and the one an octave up.

        Places above the highest comfortable fret are left out. If none is left, the player has no such card. The
        open position lies only at the nut, and nowhere where the capo makes it another key's or a box.
        """
        region = self.region(setting)
        if self.is_open:
            return (region,) if has_open_position(self.key, setting.neck) else ()
        top = min(setting.highest, setting.frets) - setting.capo
        return tuple(
            place
            for place in (region, region.octave_up())
            if place.high <= top and (place == region or place.reach[1] <= setting.neck.free_frets)
        )

    @property
    def in_previous_box(self) -> tuple[Card, ...]:
        """The same card one box lower; () in box 1 and for a card without a box."""
        return (replace(self, box=self.box - 1),) if self.box is not None and self.box > 1 else ()

    @property
    def on_own_triad(self) -> tuple[Card, ...]:
        """The same card on the triad of its degree, if its chord is a seventh chord of the key's own; otherwise ().

        The own chords of a blues are seventh chords, so its cards have none.
        """
        if self.own is None or not self.seventh or self.key.mode == Mode.BLUES:
            return ()
        return (replace(self, calls=(own_numeral(self.key, self.own[0]),)),)

    def fits(self, setting: Setting) -> bool:
        """Return whether the player's neck has room for the card; see also :func:`cards.asks.fits`."""
        return self.box is None or bool(self.places(setting))

    def voicings(self, setting: Setting, chord: Chord | None = None) -> tuple[Voicing, ...]:
        """Return the voicings of the card's chord, or of another chord, in its region.

        The one that the player has pinned comes first, else the main one. If the player's hand can play none,
        these are the voicings of a large hand.
        """
        wanted, region = chord or self.chord, self.region(setting)
        playable = voicings(wanted, region, setting.fingers, setting.neck)
        playable = playable or voicings(wanted, region, setting.largest_hand, setting.neck)
        return pinned_first(playable, self.pinned(setting, wanted))

    def pinned(self, setting: Setting, chord: Chord | None = None) -> Frets | None:
        """Return the grip that the player has pinned for the card's chord, or for another chord, there."""
        where = (self.key, chord or self.chord, self.box)
        return next((pin.frets for pin in setting.pins if (pin.key, pin.chord, pin.box) == where), None)

    @cached_property
    def skills(self) -> tuple[str, ...]:
        """What the card has in common with other cards: ask, key, mode, degrees, qualities, box, shapes."""
        skills = [f"ask:{self.ask}", f"key:{self.key.slug}"]
        if self.key.mode != Mode.MAJOR:
            skills.append(f"mode:{self.key.mode}")
        for numeral in dict.fromkeys(self.calls):
            skills.append(f"degree:{numeral.number.replace('♭', 'b').replace('♯', 'x')}")
            skills.append(f"quality:{numeral.quality.name}")
        if self.box is not None:
            skills.append("box:open" if self.is_open else f"box:{self.box}")
            skills += [f"shape:{name}" for name in self._shapes]
        return tuple(dict.fromkeys(skills))

    @cached_property
    def _mains(self) -> tuple[Voicing, ...]:
        """The main voicing of each of the card's chords on a plain guitar."""
        if self.box is None:
            return ()
        by_chord = (self.voicings(Setting(), chord) for chord in dict.fromkeys(self.chords))
        return tuple(playable[0] for playable in by_chord if playable)

    @property
    def needs_full_barre(self) -> bool:
        """Whether the main voicing of one of its chords, on a plain guitar, takes a barre over four or more strings."""
        return any(main.fingered.barre_strings > BARRES["three"] for main in self._mains)

    @property
    def _shapes(self) -> tuple[str, ...]:
        return tuple(main.shapes[0].name for main in self._mains if main.shapes)

    @cached_property
    def head_start(self) -> float:
        """The part of the difficulty that comes from the music, in logits; higher is easier.

        It depends on the accidentals and the mode of the key, how common the degrees are, sevenths, chords
        foreign to the key, the box, the number of chords and the effort of the main voicings.
        """
        logit = _PER_ACCIDENTAL * abs(self.key.signature) + _MINOR_KEY * self.key.is_minor
        logit += _PER_FURTHER_CHORD * max(len(self.calls) - 1, 0)
        if self.calls:
            logit += _PER_STEP_OF_DEGREE * max(_MEETING_ORDER[numeral.root.number] for numeral in self.calls)
            owns = [numeral.own(self.key) for numeral in self.calls]
            logit += _FOREIGN_TO_KEY * any(own is None for own in owns)
            logit += _SEVENTH * any(own is not None and own[1] for own in owns)
        if self.box is not None:
            logit += _PER_BOX_AFTER_FIRST * max(self.box - 1, 0)
        if self._mains:
            effort = max(main.effort.total for main in self._mains)
            logit += _PER_EFFORT * (effort - _LIGHT_EFFORT)
        return round(logit, 3)

    @property
    def step(self) -> tuple[int, ...]:
        """Where the card's music stands in the order of introduction, smaller first.

        The parts are the mode of the key, the box (the open position before box 1), the kind of chord (the key's own
        triads, its sevenths, other chords), the group of degrees and the degree, in the order in which songs need
        them.
        """
        modes = {Mode.MAJOR: 0, Mode.MINOR: 1, Mode.BLUES: 2}
        kinds = [0 if own and not own[1] else 1 if own else 2 for own in map(self.own_of, self.calls)]
        degree = max((_MEETING_ORDER[numeral.root.number] for numeral in self.calls), default=0)
        group = 0 if degree < _SETTLED_FIRST else 1 if degree < _SETTLED_FIRST + 2 else 2
        return (modes[self.key.mode], 1 if self.box is None else self.box, max(kinds, default=0), group, degree)

    def own_of(self, numeral: Numeral) -> tuple[int, bool] | None:
        """Return (degree, seventh) if a numeral is one of the key's own chords, else None."""
        return numeral.own(self.key)


def read_id(card_id: str) -> Card:
    """Return the card that an id names, whether or not an ask has it.

    Raises CardError for text that is no card id.
    """
    wrong = CardError('no card "{card}": a card id looks like place:Ab:4:box1 or name:Ab:4.7', card=echo(card_id))
    match = _ID.match(card_id)
    if match is None:
        raise wrong
    try:
        key = Key.from_slug(match["key"])
        slugs = match["calls"].split(_BETWEEN) if match["calls"] else []
        calls = tuple(numeral_from_slug(slug, key) for slug in slugs)
    except KeyNameError as error:
        raise wrong from error
    box = OPEN if match["open"] else int(match["box"]) if match["box"] else None
    return Card(match["ask"], key, calls, box, match["detail"] or "")
