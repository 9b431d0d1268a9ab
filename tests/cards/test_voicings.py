"""Every voicing offered, against the four rules written anew; and nothing playable missing."""

from __future__ import annotations

import os
import subprocess
import sys
from functools import cache
from itertools import pairwise, product

import oracle
import pytest

from cards.fingering import inner_mutes
from cards.keys import DEGREES, MAJOR_KEYS, Key
from cards.regions import BOXES, Region, anchor_region
from cards.shapes import ROOT
from cards.voicings import Voicing, best_partials, stops, voicings

REGIONS = [(name, box) for name in oracle.KEYS for box in BOXES]
SAMPLE = [("Ab", 1), ("G", 1), ("Bb", 1), ("E", 1), ("Gb", 2), ("Eb", 3), ("E", 3), ("D", 4), ("C", 4), ("F", 5)]
"""Regions at the nut, one fret above it, two, and far up; box 3 with its five frets twice."""
CHORDS = list(product(DEGREES, (False, True)))


@cache
def offered(name: str, box: int, degree: int, seventh: bool, hand: str = "medium") -> tuple[Voicing, ...]:
    key = Key.read(name)
    return voicings(key.chord(degree, seventh), anchor_region(key, box), hand)


@pytest.mark.parametrize(("name", "box"), REGIONS)
def test_every_voicing_offered_keeps_the_four_rules(name: str, box: int) -> None:
    low, high = oracle.region(name, box)
    for degree, seventh in CHORDS:
        found = offered(name, box, degree, seventh)
        assert len({voicing.frets for voicing in found}) == len(found)
        for voicing in found:
            assert oracle.right(voicing.frets, name, degree, seventh, low, high), voicing
            assert voicing.grip.fingers in oracle.assignments(voicing.frets, 1.0), voicing


@pytest.mark.parametrize(("name", "box"), SAMPLE)
def test_nothing_playable_is_missing(name: str, box: int) -> None:
    low, high = oracle.region(name, box)
    for degree, seventh in CHORDS:
        ours = {voicing.frets for voicing in offered(name, box, degree, seventh)}
        assert ours == oracle.every_voicing(name, degree, seventh, low, high), (degree, seventh)


@pytest.mark.parametrize("hand", ["small", "large"])
def test_nothing_playable_is_missing_for_another_hand(hand: str) -> None:
    for name, box in (("Ab", 1), ("E", 3)):
        low, high = oracle.region(name, box)
        for degree, seventh in CHORDS:
            ours = {voicing.frets for voicing in offered(name, box, degree, seventh, hand)}
            assert ours == oracle.every_voicing(name, degree, seventh, low, high, hand)


@pytest.mark.parametrize(("name", "degree", "seventh"), [("G", 5, True)])
def test_every_fret_and_mute_of_the_reach_tried(name: str, degree: int, seventh: bool) -> None:
    low, high = oracle.region(name, 1)
    bottom, top = oracle.reach(low, high)
    rows = [[None, *range(bottom, top + 1)]] * 6
    right = {frets for frets in product(*rows) if oracle.right(frets, name, degree, seventh, low, high)}
    assert {voicing.frets for voicing in offered(name, 1, degree, seventh)} == right


def _on_neck(region: Region) -> bool:
    return region.reach[0] >= 1


@pytest.mark.parametrize("box", BOXES)
def test_a_shifted_region_gives_the_shifted_answers(box: int) -> None:
    keys = sorted(
        (key for key in MAJOR_KEYS if _on_neck(anchor_region(key, box))),
        key=lambda key: anchor_region(key, box).low,
    )
    for lower, upper in pairwise(keys):
        low, up = anchor_region(lower, box), anchor_region(upper, box)
        shift = up.low - low.low
        for degree, seventh in CHORDS:
            moved = {
                tuple(None if fret is None else fret + shift for fret in frets)
                for frets in stops(lower.chord(degree, seventh), low)
            }
            assert moved == set(stops(upper.chord(degree, seventh), up))
            playable = {
                tuple(None if fret is None else fret + shift for fret in voicing.frets)
                for voicing in offered(lower.tonic.ascii, box, degree, seventh)
            }
            # Frets lie closer up the neck: what a hand holds below it holds above.
            assert playable <= {voicing.frets for voicing in offered(upper.tonic.ascii, box, degree, seventh)}


@pytest.mark.parametrize(("name", "box"), REGIONS)
def test_every_degree_has_a_root_in_the_bass_on_four_strings(name: str, box: int) -> None:
    for degree, seventh in CHORDS:
        assert any(voicing.bass == ROOT and voicing.strings >= 4 for voicing in offered(name, box, degree, seventh))


@pytest.mark.parametrize(("name", "box"), REGIONS)
def test_the_main_voicing_is_whole_rooted_of_one_shape_and_first(name: str, box: int) -> None:
    for degree, seventh in CHORDS:
        found = offered(name, box, degree, seventh)
        main = found[0]
        assert main.bass == ROOT
        assert main.strings >= 4
        assert main.shapes
        assert not inner_mutes(main.frets)
        efforts = [voicing.effort.total for voicing in found[1:]]
        assert efforts == sorted(efforts)


def _needing_the_reach(name: str, muted_inside: bool) -> set[tuple[int, int]]:
    """(box, degree) without a rooted triad on four strings inside the region itself."""
    return {
        (box, degree)
        for box in BOXES
        for degree in DEGREES
        if not any(
            voicing.bass == ROOT
            and voicing.strings >= 4
            and not voicing.outside
            and (muted_inside or not inner_mutes(voicing.frets))
            for voicing in offered(name, box, degree, False)
        )
    }


@pytest.mark.parametrize("name", oracle.KEYS)
def test_three_and_seven_in_box_1_seven_in_box_4_and_four_in_box_5_need_the_reach(name: str) -> None:
    assert _needing_the_reach(name, muted_inside=False) == {(1, 3), (1, 7), (4, 7), (5, 4)}
    assert _needing_the_reach(name, muted_inside=True) == {(5, 4)}


@pytest.mark.parametrize("name", oracle.KEYS)
def test_the_half_diminished_has_its_good_grips_on_string_six(name: str) -> None:
    root = oracle.region(name, 1)[0] + 2
    frets = {voicing.frets for voicing in offered(name, 1, 7, True)}
    assert (root, None, root, root, root - 1, None) in frets
    assert (root, root + 1, root, root, None, None) in frets


def test_what_is_said_of_a_voicing_is_true() -> None:
    for name, box in SAMPLE:
        low, high = oracle.region(name, box)
        for degree, seventh in CHORDS:
            root, tones, _ = oracle.tones(name, degree, seventh)
            for voicing in offered(name, box, degree, seventh):
                notes = oracle.sounding(voicing.frets)
                assert [t.semitones for t in voicing.tones if t] == [(note - root) % 12 for note in notes]
                assert voicing.strings == len(notes)
                assert voicing.bass.semitones == (notes[0] - root) % 12
                left_out = {(root + tone.semitones) % 12 for tone in voicing.left_out}
                assert left_out == tones - set(notes)
                outside = [max(low - f, f - high, 0) for f in voicing.frets if f is not None]
                assert voicing.outside == max(outside)
                assert voicing.notes_outside == sum(distance > 0 for distance in outside)


def test_the_best_partials_are_parts_of_the_main_voicing_on_neighbouring_strings() -> None:
    for name, box in SAMPLE:
        for degree, seventh in CHORDS:
            found = offered(name, box, degree, seventh)
            for part in best_partials(found):
                assert part.strings in (3, 4)
                assert not inner_mutes(part.frets)
                assert part.is_part_of(found[0])
                assert not found[0].is_part_of(part)


_DIGEST = """
import hashlib
from cards.asks import Setting, answer, question, read_card
from cards.keys import MAJOR_KEYS, DEGREES
from cards.regions import BOXES, anchor_region
from cards.voicings import voicings
seen = hashlib.sha256()
for key in MAJOR_KEYS[::6]:
    for box in BOXES:
        for degree in DEGREES:
            for seventh in (False, True):
                seen.update(repr(voicings(key.chord(degree, seventh), anchor_region(key, box))).encode())
for ask in ("place", "name-place", "number", "hands-on"):
    card = read_card(f"{ask}:Ab:4.7:box1")
    seen.update(repr((question(card, Setting()), answer(card, Setting(richer=True)), card.skills)).encode())
print(seen.hexdigest())
"""


def test_every_process_finds_the_same() -> None:
    digests = {
        subprocess.run(
            [sys.executable, "-c", _DIGEST],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": os.pathsep.join(sys.path)},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("0", "4711")
    }
    assert len(digests) == 1
