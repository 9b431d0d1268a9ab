"""What the main voicings are like, counted over everything that is asked.

    python -m tests.bench.grips [--small]

Each row is a fault that a teacher would name, how often the main voicings of the thirteen keys have
it, and how many there are. Nothing is timed. Frets are counted from the nut, efforts in the unit of
``cards.guitar.fingering``; "complete" is a voicing that leaves no tone of its chord out.
"""

from __future__ import annotations

import argparse
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from cards.asks import Setting, universe
from cards.guitar.fingering import Frets, inner_mutes
from cards.guitar.neck import STRINGS
from cards.guitar.regions import BOXES, Region, anchor_region
from cards.guitar.shapes import full_form, root_fret
from cards.theory.chords import ROOT, Chord, read_quality
from cards.theory.keys import BLUES_KEYS, MAJOR_KEYS, MINOR_KEYS, Key
from cards.voicings.voicing import Voicing, voicings
from tests.bench.machine import machine

FOUR = 4
EASIER = 4.0
"""Effort that a player feels: about four fingers fewer."""
HARD = 15.0
"""Effort of a grip that few players hold: a full G shape with a barre costs 16."""
E3 = 52
"""MIDI number below which seconds are mud."""

Found = tuple[Voicing, ...]


@dataclass(frozen=True)
class Place:
    """A chord of a key in a box, called by its degree, with all its voicings, the main one first."""

    name: str
    key: Key
    region: Region
    found: Found

    @property
    def main(self) -> Voicing:
        """The voicing that an answer shows first."""
        return self.found[0]


def _place(name: str, key: Key, box: int, chord: Chord) -> Place:
    region = anchor_region(key, box)
    return Place(f"{name}, box {box}", key, region, voicings(chord, region))


def own_chords(keys: tuple[Key, ...], *sevenths: bool) -> Iterator[Place]:
    """The keys' own triads and seventh chords in every box."""
    for key in keys:
        for degree in key.degrees:
            for seventh in sevenths:
                for box in BOXES:
                    name = f"{key.mode} {key.numeral(degree, seventh)}"
                    yield _place(name, key, box, key.chord(degree, seventh))


def on_every_degree(keys: tuple[Key, ...], quality: str) -> Iterator[Place]:
    """A chord of one quality on each note of the scale in every box, where there is a voicing."""
    for key in keys:
        for degree, root in enumerate(key.scale, 1):
            for box in BOXES:
                place = _place(f"{quality} on {degree}", key, box, Chord(root, read_quality(quality)))
                if place.found:
                    yield place


def _inside(voicing: Voicing) -> bool:
    return voicing.outside == 0


def _is_full(voicing: Voicing) -> bool:
    """Root lowest, four strings or more, every tone there."""
    return voicing.bass == ROOT and voicing.strings >= FOUR and not voicing.left_out


def _index(voicing: Voicing) -> int:
    """The fret of the index finger, or where it would be."""
    held = [(finger, fret) for finger, fret in zip(voicing.grip.fingers, voicing.frets, strict=True) if finger and fret]
    finger, fret = min(held, default=(1, 1))
    return fret - finger + 1


def leaves_the_region(place: Place) -> bool:
    """Four strings reach outside, though a whole grip on more strings lies inside."""
    main = place.main
    return (
        not _inside(main)
        and main.strings == FOUR
        and any(
            _inside(voicing)
            and _is_full(voicing)
            and voicing.strings > FOUR
            and not inner_mutes(voicing.frets)
            and voicing.effort.total <= main.effort.total + EASIER / 2
            for voicing in place.found
        )
    )


def avoids_the_mute(place: Place) -> bool:
    """A complete grip with one string muted inside is much easier."""
    return any(
        _is_full(voicing)
        and len(inner_mutes(voicing.frets)) == 1
        and 0 not in voicing.frets
        and voicing.effort.total <= place.main.effort.total - EASIER
        for voicing in place.found
    )


def is_cut(place: Place) -> bool:
    """The same hand, its index on the same fret, plays the chord on all six strings (G and C shapes
    apart, which are shown on four)."""
    return not _is_g_or_c(place.main) and any(
        place.main.is_part_of(voicing)
        and voicing.strings == len(STRINGS)
        and voicing.effort.total <= HARD
        and _index(voicing) == _index(place.main)
        and _is_full(voicing)
        for voicing in place.found
    )


def is_priced_with_strange_open_strings(place: Place) -> bool:
    """The whole of its shape has open strings that the region does not reach."""
    main = place.main
    if not main.shapes or place.region.reach[0] == 0:
        return False
    root = root_fret(main.shapes[0], main.chord, main.frets, main.neck)
    form = full_form(main.shapes[0], main.chord.quality, root, place.region.low, main.neck)
    return 0 in form


def _pitches(voicing: Voicing) -> list[int]:
    return sorted(
        voicing.neck.pitch(string, fret)
        for string, fret in zip(STRINGS, voicing.frets, strict=True)
        if fret is not None
    )


def has_a_tension_below_its_third(place: Place) -> bool:
    """A ninth, eleventh or thirteenth, plain or altered, sounds below the lowest third."""
    main = place.main
    notes = [
        (main.neck.pitch(string, fret), tone.number)
        for string, fret, tone in zip(STRINGS, main.frets, main.tones, strict=True)
        if fret is not None and tone is not None
    ]
    thirds = [pitch for pitch, number in notes if number == 3]
    return bool(thirds) and any(number > 7 and pitch < min(thirds) for pitch, number in notes)


def has_a_low_second(place: Place) -> bool:
    """Two neighbouring notes a second apart, the lower one below E3."""
    return any(high - low in (1, 2) and low < E3 for low, high in pairwise(_pitches(place.main)))


def is_big_beyond_the_nut(place: Place) -> bool:
    """A G or C shape without open strings on five strings or more."""
    main = place.main
    return _is_g_or_c(main) and main.strings > FOUR and 0 not in main.frets


def _is_g_or_c(voicing: Voicing) -> bool:
    return any(shape.name in "GC" for shape in voicing.shapes[:1])


def form(voicing: Voicing) -> Frets:
    """Its frets counted from the region's lowest."""
    return tuple(None if fret is None else fret - voicing.region.low for fret in voicing.frets)


def of_another_form(places: list[Place]) -> list[Place]:
    """Places beyond the nut whose main voicing is not that of most keys, though the hand could hold it."""
    groups: dict[str, list[Place]] = defaultdict(list)
    for place in places:
        if place.region.reach[0] > 0:
            groups[place.name].append(place)
    other = []
    for same in groups.values():
        usual = Counter(form(place.main) for place in same).most_common(1)[0][0]
        other += [
            place
            for place in same
            if form(place.main) != usual and any(form(voicing) == usual for voicing in place.found)
        ]
    return other


@cache
def _cards() -> list[Place]:
    """Every chord in every box that a card asks to place."""
    return [
        Place(f"{card.called}, box {card.box}", card.key, card.region(Setting()), found)
        for card in universe()
        if card.ask in ("place", "borrowed") and (found := card.voicings(Setting()))
    ]


def rows(keys: int) -> Iterator[tuple[str, int, int]]:
    """What is counted, how often it is so, among how many."""

    def count(places: Iterator[Place], fault: Callable[[Place], bool]) -> tuple[int, int]:
        verdicts = [fault(place) for place in places]
        return sum(verdicts), len(verdicts)

    major, minor, blues = MAJOR_KEYS[:keys], MINOR_KEYS[:keys], BLUES_KEYS[:keys]
    everything = (*major, *minor)
    yield (
        "blues: four strings outside, a whole grip inside",
        *count(own_chords(blues, True), leaves_the_region),
    )
    yield "sevenths in major: a muted string is much easier", *count(own_chords(major, True), avoids_the_mute)
    yield "triads in major: cut, though the hand lies the same", *count(own_chords(major, False), is_cut)
    yield "triads in minor: the same", *count(own_chords(minor, False), is_cut)
    yield (
        "G and C shapes beyond the nut on five strings or more",
        *count(own_chords(everything, False, True), is_big_beyond_the_nut),
    )
    cards = [place for place in _cards() if place.key in (*everything, *blues)]
    yield (
        "cards: the whole shape with open strings out of reach",
        *count(iter(cards), is_priced_with_strange_open_strings),
    )
    yield "7♯9: a tension below the third", *count(on_every_degree(major, "7#9"), has_a_tension_below_its_third)
    yield "maj9: a second below E3", *count(on_every_degree(major, "maj9"), has_a_low_second)
    for quality in ("add9", "9", "m9", "13"):
        yield (
            f"{quality}: a tension below the third, or a second below E3",
            *count(
                on_every_degree(major, quality),
                lambda place: has_a_tension_below_its_third(place) or has_a_low_second(place),
            ),
        )
    for name, places in (
        ("major", [*own_chords(major, False, True)]),
        ("minor", [*own_chords(minor, False, True)]),
        ("blues", [*own_chords(blues, True)]),
    ):
        other = of_another_form(places)
        yield f"{name}: not the grip of most keys beyond the nut", len(other), len(places)
        yield (
            f"{name}: degrees in a box with such grips",
            len({place.name for place in other}),
            len({place.name for place in places}),
        )


def table(keys: int) -> str:
    """All rows, with the machine above them."""
    lines = [machine(), "| main voicings | with the fault | of |", "| --- | ---: | ---: |"]
    lines += [f"| {name} | {faults} | {total} |" for name, faults, total in rows(keys)]
    return "\n".join(lines)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--small", action="store_true", help="one key, to see that it runs")
    print(table(1 if parser.parse_args().small else len(MAJOR_KEYS)))


if __name__ == "__main__":
    main()
