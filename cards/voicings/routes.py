"""The way through a progression: one voicing for each chord, chosen so that hand and ear go easily.

Conventions. A change from one voicing to the next costs what the hand does and what the ear hears:

* the hand: each finger's path in mm, fingers set down anew (they wait ``HOVER_MM`` above the strings, so a
  new finger never travels 0 mm), fingers lifted, the index finger's move in frets, a change of shape;
  a finger that stays where it is earns something;
* the ear: how far the top voice, the bass and all voices move in semitones, notes that ring on, sevenths
  that do not fall by step, and leading tones that do not rise.

A voicing costs its effort, something if it is not the one that was taught (the main voicing), and
something if it is only a piece of a whole grip with open strings.

The least costly way is found exactly, by dynamic programming over the chords: Sayegh, *Fingering for string
instruments with the optimum path paradigm*, Computer Music Journal 13(3), 1989. The size of a motion of
all voices is the sum of their semitones (the taxicab norm): Tymoczko, *The geometry of musical chords*,
Science 313, 2006. Steps before leaps, common tones kept in the same voice, and tendency tones resolved are
rules of Huron, *Tone and voice: a derivation of the rules of voice-leading from perceptual principles*,
Music Perception 19(1), 2001 (common tone, conjunct movement and avoid-leaps rules). The weights are our own
estimates.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache
from itertools import pairwise
from math import dist, hypot
from typing import Final, NamedTuple, TypeVar

from cards.guitar.fingering import MEDIUM, Frets, Hand, inner_mutes
from cards.guitar.neck import STANDARD, STRINGS, Neck
from cards.guitar.regions import Region
from cards.messages import Message, RefusalError, message
from cards.theory.chords import MAJOR_THIRD, Chord
from cards.theory.pitch import Note
from cards.voicings.mending import find_mend
from cards.voicings.search import FEWEST_STRINGS
from cards.voicings.voicing import MAIN_STRINGS, Voicing, voicings

STRING_SPACING_MM = 9.0
"""Distance of neighbouring strings under the fretting hand (our estimate)."""

HOVER_MM = 10.0
"""How high a finger waits above the strings before it is set down (our estimate)."""

MAJOR_THIRD_SEMITONES: Final = 4
"""The top voice leaps if it moves further than this."""

_STEP: Final = 2
_PER_MISSING_NOTE = 100.0

_Step = TypeVar("_Step", bound=Hashable)


class RouteError(RefusalError, ValueError):
    """A progression that cannot be played in a region; the message names the chord."""


class Lead(StrEnum):
    """What a way follows first: the hand, the top voice, or both alike."""

    BOTH = "both"
    HAND = "hand"
    TOP = "top"


@dataclass(frozen=True)
class ChangeWeights:
    """What each part of a change and of a voicing costs. Unit: about one finger set down.

    ``travel`` is per mm, ``index`` per fret, ``top`` and ``bass`` per semitone, ``voices`` per semitone of an
    average voice, ``strings`` per string that begins or ceases to sound; ``leap`` is added when the top voice
    moves further than a major third. ``held`` and ``ringing`` are earned.
    """

    travel: float = 0.04
    new_finger: float = 0.4
    lifted: float = 0.15
    held: float = 0.75
    index: float = 0.3
    shape: float = 0.5
    effort: float = 0.3
    top: float = 0.3
    leap: float = 3.0
    bass: float = 0.03
    voices: float = 0.2
    strings: float = 0.3
    ringing: float = 0.2
    unresolved: float = 0.8
    untaught: float = 1.5
    piece: float = 5.0
    mute: float = 1.2
    silent: float = 0.0


WEIGHTS: Final = {
    Lead.BOTH: ChangeWeights(),
    Lead.HAND: ChangeWeights(index=1.5, top=0.1, leap=0.0, bass=0.0, voices=0.05, unresolved=0.2, untaught=0.5),
    Lead.TOP: ChangeWeights(
        travel=0.02, held=0.3, index=0.1, shape=0.2, effort=0.15, top=0.8, leap=12.0, voices=0.5, untaught=0.3, mute=0.3
    ),
}
"""The weights for each lead."""


@dataclass(frozen=True)
class Manner:
    """A manner of playing: how many strings sound, whether the root is in the bass, and what leads.

    ``fewest`` and ``most`` count sounding strings; ``neighbours`` asks for strings without a muted one between.
    ``keep`` is a note to hold on top wherever a chord has it. ``taught`` multiplies what it costs to leave the
    main voicing. If the hand leads, the index finger stays within one fret of the place.
    """

    name: str
    fewest: int = FEWEST_STRINGS
    most: int = len(STRINGS)
    is_rooted: bool = False
    neighbours: bool = False
    lead: Lead = Lead.BOTH
    keep: Note | None = None
    taught: float = 1.0

    @property
    def stays(self) -> bool:
        """Whether the hand stays in its place."""
        return self.lead == Lead.HAND

    @property
    def weights(self) -> ChangeWeights:
        """What the parts of a way cost in this manner."""
        weights = WEIGHTS[self.lead]
        if self.is_rooted:
            weights = replace(weights, top=weights.top / 3, leap=weights.leap / 3, silent=0.6)
        return replace(weights, untaught=weights.untaught * self.taught)

    def choices(self, found: Sequence[Voicing]) -> tuple[Voicing, ...]:
        """The voicings that this manner takes of all that a chord has, in the same order.

        Each wish gives way where no voicing meets it: strings, bass, place.
        """
        left: Sequence[Voicing] = found
        for wished in (
            lambda voicing: voicing.strings >= self.fewest,
            lambda voicing: voicing.strings <= self.most,
            lambda voicing: not self.is_rooted or voicing.tones[_lowest(voicing)] == voicing.chord.bass_tone,
            lambda voicing: not self.neighbours or not inner_mutes(voicing.frets),
            lambda voicing: not self.stays or voicing.hand_stays,
        ):
            left = [voicing for voicing in left if wished(voicing)] or left
        return tuple(left)

    def pinned(self, every_voicing: Sequence[Voicing], frets: Frets | None) -> Voicing | None:
        """The voicing with these frets of all that a chord has, if this manner takes it; None otherwise."""
        pinned = next((voicing for voicing in self.choices(every_voicing) if voicing.frets == frets), None)
        if pinned is not None and self.keep is not None and _may_keep(pinned.chord, self.keep):
            return pinned if top_note(pinned).pitch_class == self.keep.pitch_class else None
        return pinned


SMOOTH: Final = Manner("smooth")
"""Any voicings; hand and ear alike."""

STRUM: Final = Manner("strum", fewest=MAIN_STRINGS, is_rooted=True, taught=1.5)
"""The root in the bass, full grips."""

COMP: Final = Manner("comp", fewest=4, most=4, lead=Lead.TOP)
"""Four strings, the top voice leads."""

SMALL: Final = Manner("small", fewest=3, most=3, neighbours=True)
"""Three neighbouring strings."""

MANNERS: Final = {manner.name: manner for manner in (SMOOTH, STRUM, COMP, SMALL)}
"""The manners by name."""


@dataclass(frozen=True)
class GripChange:
    """From one voicing to the next.

    ``travel_mm`` is the path of all fingers, ``held`` counts the fingers that stay, ``new_fingers`` those set
    down anew, ``lifted`` those that leave their place; ``shape`` says whether the shape changes. ``index``
    is the move of the index finger in frets (up is positive; 0 where a grip has no fingers). ``top`` and
    ``bass`` are semitones (up is positive), ``voices`` the sum of semitones of all voices, paired from the
    top. ``ringing`` counts notes that ring on, ``resolved`` and ``unresolved`` the sevenths and leading
    tones that go where they lead and those that do not. ``cost`` is the weighted sum.
    """

    travel_mm: float
    held: int
    new_fingers: int
    shape: bool
    lifted: int
    index: int
    top: int
    bass: int
    voices: int
    ringing: int
    resolved: int
    unresolved: int
    cost: float

    @property
    def is_leap(self) -> bool:
        """Whether the top voice moves further than a major third."""
        return abs(self.top) > MAJOR_THIRD_SEMITONES


@dataclass(frozen=True)
class Route:
    """One voicing per chord, the changes between them, the manner, and the whole cost."""

    voicings: tuple[Voicing, ...]
    changes: tuple[GripChange, ...]
    manner: Manner = SMOOTH
    cost: float = 0.0

    @property
    def travel_mm(self) -> float:
        """How far the fingers travel, in mm."""
        return round(sum(change.travel_mm for change in self.changes), 1)

    @property
    def top_voice(self) -> tuple[Note, ...]:
        """The highest note of each voicing."""
        return tuple(top_note(voicing) for voicing in self.voicings)

    @property
    def reasons(self) -> tuple[Message, ...]:
        """Why the way is good: its top voice, where the index finger is, what stays."""
        return tuple(_reasons(self))


class _Traits(NamedTuple):
    """What a change asks of a voicing. ``tips`` are where each finger lies, in mm across and along the neck;
    ``home`` is the index's fret and ``hover`` where fingers 0–4 wait along the neck, in mm (None if no finger
    presses); ``pitches`` go from the top down."""

    tips: dict[int, tuple[float, float]]
    home: int | None
    hover: tuple[float, ...] | None
    shapes: frozenset[str]
    frets: tuple[int, ...]
    """-1 where muted."""
    pitches: tuple[int, ...]
    sounding: frozenset[int]
    sevenths: tuple[int, ...]
    thirds: tuple[int, ...]


def top_note(voicing: Voicing) -> Note:
    """The highest note, as the chord spells it."""
    heights = _heights(voicing)
    index = max(heights, key=lambda each: heights[each])
    tone = voicing.tones[index]
    assert tone is not None, f"{voicing.frets} sounds a note that {voicing.chord} has not"
    return voicing.chord.root.above(tone)


def _heights(voicing: Voicing) -> dict[int, int]:
    """The pitch of each sounding string, by string index."""
    neck = voicing.neck
    return {
        index: neck.pitch(string, fret)
        for index, (string, fret) in enumerate(zip(STRINGS, voicing.frets, strict=True))
        if fret is not None
    }


def _lowest(voicing: Voicing) -> int:
    """The index of the lowest sounding string."""
    return next(index for index, fret in enumerate(voicing.frets) if fret is not None)


def _traits(voicing: Voicing) -> _Traits:
    heights = _heights(voicing)
    tones = voicing.tones
    home, neck = voicing.fingered.position, voicing.neck
    waiting = [] if home is None else [min(max(home + finger - 1, 1), neck.free_frets) for finger in range(5)]
    return _Traits(
        _fingertips(voicing),
        home,
        tuple(map(neck.fret_mm, waiting)) or None,
        frozenset(shape.name for shape in voicing.shapes),
        tuple(-1 if fret is None else fret for fret in voicing.frets),
        tuple(sorted(heights.values(), reverse=True)),
        frozenset(heights.values()),
        tuple(height for index, height in heights.items() if (tone := tones[index]) and tone.number == 7),
        tuple(height for index, height in heights.items() if tones[index] == MAJOR_THIRD),
    )


def _fingertips(voicing: Voicing) -> dict[int, tuple[float, float]]:
    """Where each finger lies, in mm across and along the neck: on the lowest string it holds."""
    tips: dict[int, tuple[float, float]] = {}
    for index, (finger, fret) in enumerate(zip(voicing.grip.fingers, voicing.frets, strict=True)):
        if finger is not None and fret is not None:
            tips.setdefault(finger, (STRING_SPACING_MM * index, voicing.neck.fret_mm(fret)))
    return tips


def change(before: Voicing, after: Voicing, manner: Manner = SMOOTH) -> GripChange:
    """What it takes to go from one voicing to another, and what it costs in a manner."""
    parts = _parts(_traits(before), _traits(after), _leadings(before.chord, after.chord))
    return GripChange(
        travel_mm=round(parts.travel, 3),
        held=parts.held,
        new_fingers=parts.fresh,
        shape=parts.is_new_shape,
        lifted=parts.lifted,
        index=parts.home,
        top=parts.top,
        bass=parts.bass,
        voices=parts.voices,
        ringing=parts.ringing,
        resolved=parts.resolved,
        unresolved=parts.unresolved,
        cost=_weighed(parts, manner.weights),
    )


class _Parts(NamedTuple):
    """The parts of a change, as in :class:`Change`. ``paired`` voices move ``voices`` semitones in all;
    ``strings`` counts those that begin or cease to sound; ``home`` is the index finger's move."""

    travel: float
    held: int
    fresh: int
    lifted: int
    home: int
    is_new_shape: bool
    top: int
    bass: int
    voices: int
    paired: int
    strings: int
    ringing: int
    resolved: int
    unresolved: int


def _parts(old: _Traits, new: _Traits, leads: tuple[bool, bool]) -> _Parts:
    """The parts of a change. Millions are worked out for a long tune, so that loops stand where sums would."""
    travel, held, fresh, lifted = _fingers_move(old, new)
    strings = ringing = voices = 0
    for was, fret in zip(old.frets, new.frets, strict=True):
        if was == fret:
            ringing += fret >= 0
        elif was < 0 or fret < 0:
            strings += 1
    for pitch, other in zip(old.pitches, new.pitches, strict=False):
        voices += abs(pitch - other)
    resolved, unresolved = _resolved(old, new, leads) if leads[0] or leads[1] else (0, 0)
    return _Parts(
        travel,
        held,
        fresh,
        lifted,
        0 if old.home is None or new.home is None else new.home - old.home,
        old.frets != new.frets and old.shapes.isdisjoint(new.shapes),
        new.pitches[0] - old.pitches[0],
        new.pitches[-1] - old.pitches[-1],
        voices,
        min(len(old.pitches), len(new.pitches)),
        strings,
        ringing,
        resolved,
        unresolved,
    )


def _fingers_move(old: _Traits, new: _Traits) -> tuple[float, int, int, int]:
    """(travel in mm, fingers held, set down anew, lifted)."""
    travel, held, fresh, moved_on = 0.0, 0, 0, 0
    for finger, tip in new.tips.items():
        start = old.tips.get(finger)
        if start == tip:
            held += 1
        elif start is None:
            fresh += 1
            travel += HOVER_MM if old.hover is None else hypot(old.hover[finger] - tip[1], HOVER_MM)
        else:
            moved_on += 1
            travel += dist(start, tip)
    taken_away = len(old.tips) - held - moved_on
    return travel, held, fresh, moved_on + taken_away


def _weighed(parts: _Parts, weights: ChangeWeights) -> float:
    """The cost of a change."""
    return round(
        weights.travel * parts.travel
        + weights.new_finger * parts.fresh
        + weights.lifted * parts.lifted
        - weights.held * parts.held
        + weights.index * abs(parts.home)
        + weights.shape * parts.is_new_shape
        + weights.top * abs(parts.top)
        + weights.leap * (abs(parts.top) > MAJOR_THIRD_SEMITONES)
        + weights.bass * abs(parts.bass)
        + weights.voices * parts.voices / parts.paired
        + weights.strings * parts.strings
        - weights.ringing * parts.ringing
        + weights.unresolved * parts.unresolved,
        6,
    )


def _leadings(before: Chord, after: Chord) -> tuple[bool, bool]:
    """Whether the next chord lets a seventh fall by step (or stay), and the major third rise to its root.

    A chord that stays resolves nothing.
    """
    if before == after:
        return False, False
    after_classes = {(after.root.pitch_class + tone.semitones) % 12 for tone in after.tones}
    sevenths = [tone.semitones for tone in before.quality.tones if tone.number == 7]
    root = before.root.pitch_class
    falls = any({(root + seventh - down) % 12 for down in range(_STEP + 1)} & after_classes for seventh in sevenths)
    rises = MAJOR_THIRD in before.quality.tones and after.root.pitch_class == (root + MAJOR_THIRD.semitones + 1) % 12
    return falls, rises


def _resolved(old: _Traits, new: _Traits, leads: tuple[bool, bool]) -> tuple[int, int]:
    """How many sevenths fall by step or stay and leading tones rise or stay, and how many do not."""
    falls, rises = leads
    led = [any(pitch - down in new.sounding for down in range(_STEP + 1)) for pitch in old.sevenths if falls]
    led += [pitch + 1 in new.sounding or pitch in new.sounding for pitch in old.thirds if rises]
    return sum(led), len(led) - sum(led)


def smoothest(
    chords: tuple[Chord, ...],
    region: Region,
    hand: Hand = MEDIUM,
    neck: Neck = STANDARD,
    fewest_strings: int = FEWEST_STRINGS,
    manner: Manner = SMOOTH,
    pins: Mapping[Chord, Frets] | None = None,
) -> Route:
    """The route of least cost through a progression inside the reach of a region, in a manner.

    ``fewest_strings`` leaves smaller voicings out, beside what the manner asks for. ``pins`` are grips of the
    player's own, six frets each: a chord takes its own wherever the manner allows that grip. Raises RouteError
    naming a chord that has no voicing there.
    """
    manner = replace(manner, fewest=max(manner.fewest, min(fewest_strings, manner.most)))
    choices = {chord: playable(chord, region, hand, neck) for chord in dict.fromkeys(chords)}
    for chord in choices:
        if not choices[chord]:
            raise _no_voicing(chord, tuple(choices), region, hand, neck)
        pinned = manner.pinned(choices[chord], (pins or {}).get(chord))
        choices[chord] = choices[chord] if pinned is None else (pinned,)
    return smoothest_among(chords, choices, manner)


def named_ways(
    chords: tuple[Chord, ...],
    region: Region,
    hand: Hand = MEDIUM,
    neck: Neck = STANDARD,
    fewest_strings: int = FEWEST_STRINGS,
    manner: Manner = SMOOTH,
) -> dict[Lead, Route]:
    """The best way in a manner under each lead: both alike, the hand stays, the top voice leads.

    Raises RouteError as :func:`smoothest` does.
    """
    return {lead: smoothest(chords, region, hand, neck, fewest_strings, replace(manner, lead=lead)) for lead in Lead}


@lru_cache(maxsize=1024)
def playable(chord: Chord, region: Region, hand: Hand = MEDIUM, neck: Neck = STANDARD) -> tuple[Voicing, ...]:
    """The voicings that a way may take: all of them, main voicing first."""
    return voicings(chord, region, hand, neck)


def _no_voicing(chord: Chord, chords: tuple[Chord, ...], region: Region, hand: Hand, neck: Neck) -> RouteError:
    """A chord of a progression that cannot be played, with what would make all its chords playable."""
    values = {"chord": chord, "low": region.low, "high": region.high}
    mend = find_mend(region, hand, neck, lambda place, other: all(voicings(c, place, other, neck) for c in chords))
    if mend is None:
        return RouteError(
            "{chord} has no voicing in frets {low}–{high} for this hand, and no box has one for every chord here",
            **values,
        )
    return RouteError("{chord} has no voicing in frets {low}–{high} for this hand: {mend}", **values, mend=mend)


def smoothest_among(
    steps: Sequence[_Step], choices: Mapping[_Step, Sequence[Voicing]], manner: Manner = SMOOTH
) -> Route:
    """The route of least cost that takes one of a step's ``choices`` at each of the steps, in a manner.

    Each step has one choice at least; its first is the one that was taught. What it costs to go from one step
    to another is worked out once, however often a tune does. Of equal ways it is the one whose voicings stand
    first, from the end back.
    """
    if not steps:
        return Route((), (), manner)
    weights = manner.weights
    taken = {step: manner.choices(choices[step]) for step in choices}
    traits = {step: [_traits(voicing) for voicing in taken[step]] for step in taken}
    own = {step: [voicing_cost(voicing, choices[step], manner) for voicing in taken[step]] for step in taken}
    pairs = {
        (before, after): _costs(before, after, taken, traits, weights)
        for before, after in dict.fromkeys(pairwise(steps))
    }
    costs, ways_back = own[steps[0]], []
    for before, after in pairwise(steps):
        reached = [
            min((so_far + each, index) for index, (so_far, each) in enumerate(zip(costs, row, strict=True)))
            for row in pairs[before, after]
        ]
        costs = [cost + more for (cost, _), more in zip(reached, own[after], strict=True)]
        ways_back.append([index for _, index in reached])
    least = min(costs)
    way = [costs.index(least)]
    for back in reversed(ways_back):
        way.append(back[way[-1]])
    chosen = tuple(taken[step][index] for step, index in zip(steps, reversed(way), strict=True))
    changes = tuple(change(before, after, manner) for before, after in pairwise(chosen))
    return Route(chosen, changes, manner, round(least, 6))


def _costs(
    before: _Step,
    after: _Step,
    taken: Mapping[_Step, Sequence[Voicing]],
    traits: Mapping[_Step, Sequence[_Traits]],
    weights: ChangeWeights,
) -> list[list[float]]:
    """What each change costs from one step to the next: a row for each voicing after."""
    leads = _leadings(taken[before][0].chord, taken[after][0].chord)
    return [[_weighed(_parts(old, new, leads), weights) for old in traits[before]] for new in traits[after]]


def voicing_cost(voicing: Voicing, found: Sequence[Voicing], manner: Manner) -> float:
    """What a voicing costs by itself in a manner, beside all that its chord has (``found``, the one that was
    taught first)."""
    weights = manner.weights
    cost = weights.effort * voicing.effort.total
    cost += weights.untaught * (voicing.frets != found[0].frets)
    cost += weights.mute * len(inner_mutes(voicing.frets))
    cost += weights.silent * _silent(voicing)
    if manner.most == len(STRINGS):
        cost += weights.piece * _is_piece(voicing, found[0])
    if manner.keep is not None and _may_keep(voicing.chord, manner.keep):
        cost += _PER_MISSING_NOTE * (top_note(voicing).pitch_class != manner.keep.pitch_class)
    return round(cost, 6)


def _is_piece(voicing: Voicing, taught: Voicing) -> bool:
    """Whether it is only a piece of an open grip: open strings, as the one that was taught has, but fewer strings."""
    return 0 in voicing.frets and 0 in taught.frets and voicing.strings < taught.strings


def _silent(voicing: Voicing) -> int:
    """How many strings above the lowest sounding one do not sound: a strum has to miss them."""
    return len(STRINGS) - _lowest(voicing) - voicing.strings


def _may_keep(chord: Chord, note: Note) -> bool:
    return chord.tone_at(note.pitch_class) is not None


def _reasons(route: Route) -> Iterator[Message]:
    """The reasons in the order in which they are told."""
    if not route.voicings:
        return
    keep = route.manner.keep
    if keep is not None:
        kept = sum(note.pitch_class == keep.pitch_class for note in route.top_voice)
        yield message("way.kept", note=keep, kept=kept, count=len(route.voicings))
    yield message("way.top-voice", notes=" ".join(map(str, route.top_voice)))
    indexes = [voicing.fingered.position for voicing in route.voicings]
    if len(set(indexes)) == 1 and indexes[0] is not None:
        yield message("way.index-stays", fret=indexes[0])
    elif any(index is not None for index in indexes):
        yield message("way.index", frets=" ".join("open" if index is None else str(index) for index in indexes))
    held = sum(made.held for made in route.changes)
    if held:
        yield message("way.fingers-stay", fingers=held)


def melody(route: Route) -> Message:
    """What the top voice does: it stays, it falls, rises or moves by step, or it moves further than a tone."""
    moves = [made.top for made in route.changes]
    if any(abs(move) > _STEP for move in moves):
        return message("way.melody-leads")
    if not any(moves):
        return message("way.melody-stays")
    if max(moves) <= 0:
        return message("way.melody-falls")
    return message("way.melody-rises" if min(moves) >= 0 else "way.melody-steps")


def way_name(route: Route) -> Message:
    """What a way is called: by its hand if that leads; else by its top voice if that moves by step; else by
    what it was asked for."""
    sung = melody(route)
    if route.manner.lead == Lead.HAND:
        return message("way.hand-stays")
    if route.manner.lead == Lead.TOP or sung.key != "way.melody-leads":
        return sung
    return message(f"way.{route.manner.name}")


def change_reasons(made: GripChange, after: Voicing) -> tuple[Message, ...]:
    """What a player should know of a change to ``after``: where the index finger goes, which fingers stay and
    which are set down, what the top voice does, and whether sevenths and leading tones go where they lead."""
    said = []
    index = after.fingered.position
    if index is not None:
        at = message("change.index-at", fret=index)
        said.append(message("change.index-moves", fret=index, up=made.index) if made.index else at)
    if made.held:
        said.append(message("change.fingers-stay", fingers=made.held))
    if made.new_fingers:
        said.append(message("change.fingers-new", fingers=made.new_fingers))
    stays = message("change.top-stays", note=top_note(after))
    said.append(message("change.top-moves", note=top_note(after), up=made.top) if made.top else stays)
    if made.resolved and not made.unresolved:
        said.append(message("change.resolved"))
    return tuple(said)
