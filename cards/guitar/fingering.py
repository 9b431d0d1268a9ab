"""Fingers for a set of frets: which grips one hand can play, and what they cost it.

Conventions. A stop is one fret per string, string 6 first; ``None`` is muted, 0 open. Fingers are
1 (index) to 4 (little). A barre is one finger across neighbouring strings at one fret. Distances
between fingers are measured along the neck, in mm, from fret to fret.

The rules of a playable grip:

* fingers do not cross: of two fingers the lower-numbered one is on the lower fret, or on the same
  fret on the lower string;
* nothing that a barre covers sounds below its fret; a muted string under it is touched by another
  finger; a barre of four or more strings has no open string on its treble side; fingers 2–4 cover
  at most three strings;
* a muted string between sounding ones is touched by a finger beside it, at most one such string;
* each pair of fingers keeps within its stretch limit.

Searching all assignments for the cheapest follows Sayegh, *Fingering for string instruments with
the optimum path paradigm*, Computer Music Journal 13(3), 1989; the parts of the cost (stretch,
fingers, barre, place of the hand) follow Radicioni & Lombardo, *Computational modeling of chord
fingering for string instruments*, CogSci 2005, and Heijink & Meulenbroek, *On the complexity of
classical guitar playing*, Journal of Motor Behavior 34(4), 2002. The weights and the limits in mm
are our own estimates.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from itertools import combinations, pairwise
from operator import truediv

from cards.guitar.neck import STANDARD, STRINGS, Neck

Frets = tuple[int | None, ...]
"""Six frets, string 6 first; None is muted, 0 open."""

STRETCH_LIMITS_MM = {
    (1, 2): 70.0,
    (2, 3): 60.0,
    (3, 4): 64.0,
    (1, 3): 95.0,
    (2, 4): 92.0,
    (1, 4): 110.0,
}
"""Largest distance of two fingers along the neck for a medium hand (our estimate).

3–4 is 64 and not less because x4212x, a common minor grip, puts them 63 mm apart.
"""

HAND_SCALE = {"small": 0.85, "medium": 1.0, "large": 1.1}
"""What a hand size multiplies the limits by (our estimate)."""

THUMB = 0
"""The finger number of a thumb that holds string 6 from above."""

_THUMB_BELOW, _THUMB_ABOVE = 1, 1
"""Frets below and above the lowest finger that the thumb reaches (our estimate)."""

MAX_BARRE = {1: 6, 2: 3, 3: 3, 4: 3}
"""Strings that each finger may cover."""

BARRES = {"none": 1, "three": 3, "full": 6}
"""Over how many strings a finger may lie, by the player's setting. A setting does not make a grip
impossible: it puts those that keep to it first."""

PER_MM = 0.1
"""Effort of a millimetre between the lowest and the highest finger."""

_PER_FINGER = 1.0
_PER_LITTLE_FINGER = 0.15
# Players lay down the index and the ring finger, the little one less gladly, the middle one hardly.
_BARRE = {1: 1.4, 2: 2.2, 3: 1.5, 4: 1.8}
_PER_BARRE_STRING = 0.1
# Two strings under the tip of the index are hardly a barre yet.
_INDEX_ON_TWO_STRINGS = 1.2
_BARRED_OVER = 4.0  # one of fingers 2–4 would lie across a finger that stands on a string between
_OPEN_BESIDE_BARRE = 1.5
_PER_INNER_MUTE = 1.5
_PER_FRET_STRETCHED = 0.4
_PER_FRET_SQUEEZED = 0.15
_PER_STRING_APART = 0.25
_PER_IDLE_FINGER = 0.35
_PER_FRET_FROM_HOME = 0.25


@dataclass(frozen=True)
class Hand:
    """The player's fretting hand: ``size`` is a key of HAND_SCALE, ``thumb`` lets it hold string 6,
    ``barre`` is a key of BARRES."""

    size: str = "medium"
    thumb: bool = False
    barre: str = "full"

    @property
    def scale(self) -> float:
        """What it multiplies the stretch limits by."""
        return HAND_SCALE[self.size]

    @property
    def barre_strings(self) -> int:
        """Over how many strings a finger of it may lie, by the player's wish; 1 is no barre."""
        return BARRES[self.barre]


MEDIUM = Hand()


@dataclass(frozen=True)
class Barre:
    """A finger across neighbouring strings: string numbers ``low`` (bass side) to ``high``."""

    finger: int
    fret: int
    low: int
    high: int

    @property
    def strings(self) -> int:
        """How many strings it covers."""
        return self.low - self.high + 1


@dataclass(frozen=True)
class Effort:
    """What a voicing costs the hand, in parts; lower is easier. Unit: about one finger set down."""

    stretch: float
    fingers: float
    barre: float
    mutes: float
    place: float

    @property
    def total(self) -> float:
        """The sum of the parts."""
        return round(self.stretch + self.fingers + self.barre + self.mutes + self.place, 3)


@dataclass(frozen=True)
class Grip:
    """The fingers of a voicing: one per string (None: open or muted), and the barres among them.

    ``stretch_mm`` is the distance of its lowest and highest fret; ``share`` the widest pair of
    fingers as a share of a medium hand's limit.
    """

    fingers: tuple[int | None, ...]
    barres: tuple[Barre, ...]
    stretch_mm: float
    share: float


@dataclass(frozen=True)
class _Press:
    """One finger's place before it has a number: a fret, from string index ``first`` to ``last``."""

    fret: int
    first: int
    last: int


def inner_mutes(frets: Frets) -> tuple[int, ...]:
    """String indices muted between sounding ones."""
    sounding = [index for index, fret in enumerate(frets) if fret is not None]
    if not sounding:
        return ()
    return tuple(i for i in range(sounding[0], sounding[-1]) if frets[i] is None)


def _pressed(fret: int | None) -> bool:
    return fret is not None and fret > 0


def _barre_holds(frets: Frets, press: _Press, plucked: bool) -> bool:
    """Whether a barre over the strings of ``press`` lets all of them sound, or be muted, as asked; what is
    plucked needs nothing muted."""
    for index in range(press.first, press.last + 1):
        fret = frets[index]
        if fret is None and plucked:
            continue
        if fret is None:
            # Another finger must touch it: one that presses beside it above the barre's fret.
            beside = (frets[index - 1], frets[index + 1])
            if not any(fret is not None and fret > press.fret for fret in beside):
                return False
        elif fret < press.fret:
            return False
    treble = frets[press.last + 1 :]
    return press.last - press.first < 3 or 0 not in treble


def _presses(frets: Frets, on_fret: list[int], fret: int, plucked: bool) -> list[list[_Press]]:
    """All ways to hold the strings ``on_fret`` (indices, low to high) at ``fret``."""
    if not on_fret:
        return [[]]
    ways = []
    for count in range(1, len(on_fret) + 1):
        press = _Press(fret, on_fret[0], on_fret[count - 1])
        if count > 1 and not _barre_holds(frets, press, plucked):
            break
        ways += [[press, *rest] for rest in _presses(frets, on_fret[count:], fret, plucked)]
    return ways


def _groupings(frets: Frets, plucked: bool) -> Iterator[tuple[_Press, ...]]:
    """All divisions of the pressed strings among at most four fingers, in finger order."""
    levels = sorted({fret for fret in frets if fret is not None and fret > 0})
    ways: list[tuple[_Press, ...]] = [()]
    for level in levels:
        on_fret = [index for index, fret in enumerate(frets) if fret == level]
        more = _presses(frets, on_fret, level, plucked)
        ways = [(*way, *presses) for way in ways for presses in more if len(way) + len(presses) <= 4]
    yield from ways


@dataclass(frozen=True)
class _Hold:
    """One way to finger a set of frets, wherever on the neck it lies.

    ``need`` is the widest pair of fingers as a share of its limit, per mm of string left beyond the
    lowest pressed fret: frets shrink by a constant ratio, so one figure serves the whole neck.
    """

    presses: tuple[_Press, ...]
    fingers: tuple[int, ...]
    need: float
    barre_cost: float
    spread_cost: float
    thumb: int | None = None

    @property
    def index(self) -> int:
        """The fret where the index finger lies or would lie, counted like the presses: that of the
        lowest-numbered finger used, less its number beyond the first; 1 if no finger presses."""
        return self.presses[0].fret + 1 - self.fingers[0] if self.fingers else 1

    @property
    def barre_strings(self) -> int:
        """How many strings its longest barre covers; 1 if it has none."""
        return max((press.last - press.first + 1 for press in self.presses), default=1)

    @property
    def fingers_cost(self) -> float:
        """A cost for each finger set down, the thumb among them."""
        return _PER_FINGER * (len(self.fingers) + (self.thumb is not None))

    def place_cost(self, first_home: int, last_home: int) -> float:
        """How far the hand lies from one finger a fret and a string, with the index at home from
        one fret to another, counted from the lowest pressed fret."""
        if not self.fingers:
            return 0.0
        index = self.presses[0].fret - self.fingers[0]
        away = max(first_home - index, index - last_home, 0)
        little = _PER_LITTLE_FINGER * (self.fingers[-1] == 4)
        return round(self.spread_cost + little + _PER_FRET_FROM_HOME * away, 3)


@cache
def _span(low: int, high: int) -> float:
    """Distance of two frets above the lowest one, per mm of string left beyond that one."""
    return float(2 ** (-low / 12) - 2 ** (-high / 12))


def _hold(presses: tuple[_Press, ...], fingers: tuple[int, ...], spans: tuple[float, ...], frets: Frets) -> _Hold:
    """``spans`` are the distances of each pair of presses, in the order of ``combinations``."""
    limits = (STRETCH_LIMITS_MM[pair] for pair in combinations(fingers, 2))
    held = tuple(zip(presses, fingers, strict=True))
    return _Hold(
        presses,
        fingers,
        max(map(truediv, spans, limits), default=0.0),
        sum(_barre_cost(press, finger, frets) for press, finger in held if press.last > press.first),
        _off_finger_places(presses, fingers) + sum(_apart(one, other, frets) for one, other in pairwise(held)),
    )


def _barre_cost(press: _Press, finger: int, frets: Frets) -> float:
    # The finger must arch over an open string on its treble side.
    arch = _OPEN_BESIDE_BARRE if 0 in frets[press.last + 1 :] else 0.0
    if finger == 1 and press.last - press.first == 1:
        return _INDEX_ON_TWO_STRINGS + arch
    if finger > 1 and any(fret is not None and fret > press.fret for fret in frets[press.first + 1 : press.last]):
        arch += _BARRED_OVER
    return _BARRE[finger] + _PER_BARRE_STRING * (press.last - press.first) + arch


def _off_finger_places(presses: tuple[_Press, ...], fingers: tuple[int, ...]) -> float:
    """The cost of leaving one finger a fret, counted from the lowest finger."""
    cost = 0.0
    for press, finger in zip(presses, fingers, strict=True):
        off = (press.fret - presses[0].fret) - (finger - fingers[0])
        cost += off * _PER_FRET_STRETCHED if off > 0 else -off * _PER_FRET_SQUEEZED
    return cost


def _apart(one: tuple[_Press, int], other: tuple[_Press, int], frets: Frets) -> float:
    """The cost of two neighbouring fingers on one fret that do not lie side by side: strings between
    them beyond one a finger, and fingers left idle between them. A muted string between them is no
    distance: the lower finger leans over and touches it."""
    (low, finger), (high, next_finger) = one, other
    if low.fret != high.fret:
        return 0.0
    idle = next_finger - finger - 1
    muted = frets[low.last + 1 : high.first].count(None)
    strings = max(high.first - low.last - 1 - muted - idle, 0)
    return _PER_STRING_APART * strings + _PER_IDLE_FINGER * idle


@cache
def _holds(frets: Frets, thumb: bool, plucked: bool) -> tuple[_Hold, ...]:
    """Every fingering of these frets that the rules allow, stretch limits apart.

    The fingers rise with the presses, so they cannot cross.
    """
    mutes = () if plucked else inner_mutes(frets)
    if len(mutes) > 1 or any(not _pressed(frets[i - 1]) and not _pressed(frets[i + 1]) for i in mutes):
        return ()
    holds = _finger_holds(frets, plucked)
    if thumb and frets[0]:
        rest: Frets = (None, *frets[1:])
        lowest = lowest_pressed(rest)
        if lowest - _THUMB_BELOW <= frets[0] <= lowest + _THUMB_ABOVE:
            holds += [replace(hold, thumb=frets[0]) for hold in _finger_holds(rest, plucked)]
    return tuple(holds)


def _finger_holds(frets: Frets, plucked: bool) -> list[_Hold]:
    holds = []
    for presses in _groupings(frets, plucked):
        spans = tuple(_span(one.fret - 1, other.fret - 1) for one, other in combinations(presses, 2))
        widths = [press.last - press.first for press in presses]
        for fingers in combinations((1, 2, 3, 4), len(presses)):
            if all(width < MAX_BARRE[finger] for width, finger in zip(widths, fingers, strict=True)):
                holds.append(_hold(presses, fingers, spans, frets))
    return holds


def lowest_pressed(frets: Frets) -> int:
    """The lowest fret that a finger presses; 0 if all sounding strings are open."""
    return min((fret for fret in frets if fret), default=0)


def moved(frets: Frets, by: int) -> Frets:
    """The same grip ``by`` frets up; open and muted strings stay."""
    return tuple(fret + by if fret else fret for fret in frets)


@dataclass(frozen=True, slots=True)
class Fingered:
    """Frets with the cheapest way to hold them. The grip and the parts of the effort are worked out
    when they are asked for; ``total`` is the effort's."""

    frets: Frets
    neck: Neck
    total: float
    _hold: _Hold
    _place: float

    @property
    def effort(self) -> Effort:
        """What it costs the hand, in parts."""
        return Effort(
            stretch=_stretch_cost(self.frets, self.neck),
            fingers=self._hold.fingers_cost,
            barre=self._hold.barre_cost,
            mutes=_mutes_cost(self.frets),
            place=self._place,
        )

    @property
    def position(self) -> int | None:
        """The fret where the index finger lies or would lie: that of the lowest-numbered finger used,
        less its number beyond the first; None if no finger presses."""
        return lowest_pressed(self.frets) - 1 + self._hold.index if self._hold.fingers else None

    @property
    def barre_strings(self) -> int:
        """How many strings its longest barre covers; 1 if it has none."""
        return self._hold.barre_strings

    @property
    def grip(self) -> Grip:
        """Its fingers."""
        base = lowest_pressed(self.frets)
        held: list[int | None] = [None] * len(STRINGS)
        barres = []
        for press, finger in zip(self._hold.presses, self._hold.fingers, strict=True):
            fret = press.fret - 1 + base
            for index in range(press.first, press.last + 1):
                if self.frets[index] == fret:
                    held[index] = finger
            if press.last > press.first:
                barres.append(Barre(finger, fret, STRINGS[press.first], STRINGS[press.last]))
        if self._hold.thumb is not None:
            held[0] = THUMB
        share = self._hold.need * (self.neck.string_mm - self.neck.fret_mm(base))
        return Grip(tuple(held), tuple(barres), _stretch_mm(self.frets, self.neck), round(share, 3))


@dataclass(frozen=True, slots=True)
class CheapestHold:
    """One way to hold a grip: what it costs without the stretch, and the fret where the index finger
    lies or would lie, counted so that the lowest pressed fret is 1 (0 is the fret below it)."""

    cost: float
    index: int


@dataclass(frozen=True, slots=True)
class Ways:
    """Every way to hold a set of frets, cheapest first, for all places that differ by a shift.

    ``frets`` are counted so that the lowest pressed fret is 1 (``span`` is the highest). Each way has
    the cost of its place and its whole cost without the stretch, which is the same for all of them.
    """

    frets: Frets
    span: int
    _ways: tuple[tuple[_Hold, float, float], ...]

    def cheapest(self, barre_strings: int) -> CheapestHold | None:
        """The cheapest way that has no barre over more strings, stretch apart; None if all have."""
        for hold, _, cost in self._ways:
            if hold.barre_strings <= barre_strings:
                return CheapestHold(cost, hold.index)
        return None

    @property
    def need(self) -> float:
        """The stretch that the least wide way needs, as a share of a medium hand's, per mm of string
        left beyond the lowest pressed fret."""
        return min(hold.need for hold, _, _ in self._ways)

    def at(self, base: int, neck: Neck, hand: Hand | None) -> Fingered | None:
        """The cheapest one that a hand can play with the lowest pressed fret on ``base``; None if it
        can play none. A hand of None has no stretch limits."""
        string_left = neck.string_mm - neck.fret_mm(base)
        ways = self._ways
        if hand is not None and hand.barre != "full":
            # A player without barres takes the fingers that need none, if there are any.
            ways = tuple(sorted(ways, key=lambda way: way[0].barre_strings > hand.barre_strings))
        for hold, place, cost in ways:
            if hand is None or hold.need * string_left <= hand.scale:
                shift = base - 1
                frets = tuple([fret + shift if fret else fret for fret in self.frets]) if shift else self.frets
                stretch = neck.fret_mm(base + self.span - 1) - neck.fret_mm(base)
                total = round(round(PER_MM * round(stretch, 1), 3) + cost, 3)
                return Fingered(frets, neck, total, hold, place)
        return None


@cache
def ways_to_hold(frets: Frets, home: tuple[int, int], thumb: bool = False, plucked: bool = False) -> Ways | None:
    """The ways to hold frets whose lowest pressed one is 1 (or none is pressed); None if there is none.

    ``home`` is where the index finger is at home (see :func:`at_home`). What is ``plucked`` string by
    string needs nothing muted inside.
    """
    mutes = _mutes_cost(frets)
    ways = []
    for hold in _holds(frets, thumb, plucked):
        place = hold.place_cost(*home)
        ways.append((hold, place, hold.fingers_cost + hold.barre_cost + mutes + place))
    if not ways:
        return None
    ways.sort(key=lambda way: (way[2], way[0].fingers))
    return Ways(frets, max((fret for fret in frets if fret), default=1), tuple(ways))


def at_home(low: int, base: int) -> tuple[int, int]:
    """The first and last fret on which the index finger is at home, counted from the lowest pressed
    fret ``base``: the region's lowest fret, or frets 1 and 2 where the region begins at the nut."""
    return (low - base, low - base) if low > 0 else (1 - base, 2 - base)


def fingering(
    frets: Frets, low: int, neck: Neck = STANDARD, hand: Hand | None = MEDIUM, plucked: bool = False
) -> Fingered | None:
    """The cheapest playable fingering, or None if the hand cannot hold these frets.

    ``low`` is the region's lowest fret. A ``hand`` of None has no stretch limits, to tell a wide grip
    from an impossible one. What is ``plucked`` string by string needs nothing muted inside.
    """
    base = max(lowest_pressed(frets), 1)
    ways = ways_to_hold(moved(frets, 1 - base), at_home(low, base), hand is not None and hand.thumb, plucked)
    return None if ways is None else ways.at(base, neck, hand)


def _mutes_cost(frets: Frets) -> float:
    """The cost of what a finger mutes: the one string inside that a strummed grip may leave out. With
    more of them it is plucked."""
    mutes = len(inner_mutes(frets))
    return _PER_INNER_MUTE * mutes if mutes <= 1 else 0.0


def _stretch_mm(frets: Frets, neck: Neck) -> float:
    """Distance of the lowest and the highest pressed fret, in mm."""
    pressed = [fret for fret in frets if fret]
    return round(neck.fret_mm(max(pressed)) - neck.fret_mm(min(pressed)), 1) if pressed else 0.0


def _stretch_cost(frets: Frets, neck: Neck) -> float:
    return round(PER_MM * _stretch_mm(frets, neck), 3)
