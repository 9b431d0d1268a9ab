"""Every voicing offered, against the four rules written anew; and nothing playable missing."""

from __future__ import annotations

import os
import subprocess
import sys
from functools import cache
from itertools import pairwise, product

import pytest

from cards.asks import code
from cards.guitar.fingering import Hand, inner_mutes
from cards.guitar.regions import BOXES, Region, anchor_region
from cards.theory.chords import ROOT
from cards.theory.keys import DEGREES, MAJOR_KEYS, Key
from cards.theory.numerals import read_numeral
from cards.voicings.listing import list_chord
from cards.voicings.search import stops
from cards.voicings.voicing import Voicing, voicings, worth_knowing
from tests.cards import oracle

REGIONS = [(name, box) for name in oracle.KEYS for box in BOXES]
SAMPLE = [("Ab", 1), ("G", 1), ("Bb", 1), ("E", 1), ("Gb", 2), ("Eb", 3), ("E", 3), ("D", 4), ("C", 4), ("F", 5)]
"""Regions at the nut, one fret above it, two, and far up; box 3 with its five frets twice."""
CHORDS = list(product(DEGREES, (False, True)))


@cache
def offered(name: str, box: int, degree: int, seventh: bool, hand: str = "medium") -> tuple[Voicing, ...]:
    key = Key.read(name)
    return voicings(key.chord(degree, seventh), anchor_region(key, box), Hand(hand))


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
def test_the_main_voicing_is_rooted_of_one_shape_and_first(name: str, box: int) -> None:
    for degree, seventh in CHORDS:
        found = offered(name, box, degree, seventh)
        main = found[0]
        assert main.bass == ROOT
        assert main.strings >= 4
        # What is muted inside is string 5 of a chord of four tones, by the finger on string 6: drop 3.
        muted = inner_mutes(main.frets)
        assert not muted or (muted == (1,) and seventh and main.frets[0] and main.drop == 3)
        assert main.shapes
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


def test_what_is_listed_beside_the_main_voicing_is_worth_knowing() -> None:
    """Its parts on three and four neighbouring strings, grips as good, drop 2 and drop 3, open grips that
    ring, and the easiest on the upper strings."""
    for name, box in SAMPLE:
        for degree, seventh in CHORDS:
            found = offered(name, box, degree, seventh)
            main, beside = found[0], worth_knowing(found)
            assert main not in beside
            assert [voicing.effort.total for voicing in beside] == sorted(voicing.effort.total for voicing in beside)
            for voicing in beside:
                part = voicing.is_part_of(main)
                if part:
                    assert voicing.strings in (3, 4)
                    assert voicing.drop or not inner_mutes(voicing.frets)
                    assert not main.is_part_of(voicing)
                elif voicing.strings >= 4:
                    assert voicing.bass == ROOT
                    rings = 0 in voicing.frets and voicing.frets[-1] is not None and not voicing.left_out
                    assert voicing.drop or rings or voicing.effort.total <= main.effort.total
                else:
                    assert voicing.sounding in ((4, 3, 2), (3, 2, 1))
            for voicing in found[1:]:
                if voicing.is_part_of(main) and voicing.strings <= 4 and not inner_mutes(voicing.frets):
                    assert voicing in beside


def listed(name: str, number: str, box: int) -> dict[str, int | None]:
    """What is listed of a chord without asking for everything: codes of frets, and drop 2 or 3."""
    key = Key.read(name)
    listing = list_chord(key, read_numeral(number, key), anchor_region(key, box))
    return {code(voicing.frets): voicing.drop for voicing in listing.voicings}


@pytest.mark.parametrize(
    ("name", "number", "box", "frets"),
    [
        ("G", "V/7", 1, "200232"),
        ("E", "Isus4", 3, "022200"),
        ("G", "vi7", 1, "022030"),
        ("G", "Imaj7", 1, "3x443x"),
        ("Bb", "vim7b5", 5, "3x332x"),
        ("G", "I°7", 1, "3x232x"),
        ("C", "I13", 5, "x32335"),
        ("G", "I", 1, "3x0x0x"),
        ("C", "I", 4, "x3x0x0"),
        ("Ab", "IV", 1, "4x3x2x"),
    ],
)
def test_what_every_player_knows_is_listed(name: str, number: str, box: int, frets: str) -> None:
    assert frets in listed(name, number, box)


def test_grips_are_known_by_the_names_drop_2_and_drop_3() -> None:
    assert listed("G", "Imaj7", 1)["3x443x"] == 3
    assert listed("C", "Imaj7", 5)["x3545x"] == 2
    assert listed("C", "ii7", 4)["xx0211"] == 2
    assert listed("C", "viiø7", 1)["7x776x"] == 3
    assert listed("C", "I", 4)["x32010"] is None
    drops = {voicing.drop for voicing in offered("C", 1, 1, True)}
    assert drops == {None, 2, 3}


_DIGEST = """
import hashlib
from cards.asks import Setting, answer, question, read_card
from cards.theory.keys import BLUES_KEYS, MAJOR_KEYS, MINOR_KEYS
from cards.guitar.regions import BOXES, anchor_region
from cards.voicings.voicing import voicings
seen = hashlib.sha256()
for key in (*MAJOR_KEYS[::6], *MINOR_KEYS[::6], *BLUES_KEYS[::6]):
    for box in BOXES:
        for degree in key.degrees:
            for seventh in (False, True):
                seen.update(repr(voicings(key.chord(degree, seventh), anchor_region(key, box))).encode())
for card_id in (
    "place:Ab:4.7:box1", "name-place:Ab:4.7:box1", "number:Ab:4.7:box1", "hands-on:Ab:4.7:box1",
    "borrowed:E:b7_major:box1",
    "shape:Ab:4:box1", "tone:Ab:4:box1:third", "left-out:Ab:1.7:box1:root", "bend:Ab:4:maj7", "run:Am:1~4~5_7~1:box1",
    "change:A-blues:1~4:box1", "guide-tones:Ab:2.7~5.7~1.7:box1", "box-notes:Ab:4:box1", "whose-key:Ab:box1",
    "spell:Ab:4",
):
    card = read_card(card_id)
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
