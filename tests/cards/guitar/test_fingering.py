"""Which grips one hand can hold, and with which fingers, against a brute-force hand."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cards.guitar.fingering import HAND_SCALE, MAX_BARRE, MEDIUM, STRETCH_LIMITS_MM, THUMB, Frets, Grip, Hand, fingering
from cards.guitar.neck import STANDARD
from tests.cards import oracle

THEORYS_GRIPS = ("133211", "x24432", "3x344x", "7x776x", "x7545x", "x3235x", "x4212x", "022100", "320003")


def frets_of(grip: str) -> Frets:
    return tuple(None if sign == "x" else int(sign, 36) for sign in grip)


def fingers_of(grip: str, low: int | None = None, hand: Hand | None = MEDIUM) -> str | None:
    frets = frets_of(grip)
    home = min((fret for fret in frets if fret), default=0) if low is None else low
    found = fingering(frets, home, STANDARD, hand)
    if found is None:
        return None
    return "".join("-" if finger is None else str(finger) for finger in found.grip.fingers)


@pytest.mark.parametrize("grip", THEORYS_GRIPS)
def test_the_grips_that_every_medium_hand_plays(grip: str) -> None:
    assert fingers_of(grip) is not None


@pytest.mark.parametrize(
    ("grip", "low", "fingers"),
    [
        ("133211", 1, "134211"),
        ("133111", 1, "134111"),
        ("131111", 1, "131111"),
        ("131211", 1, "131211"),
        ("x13331", 1, "-13331"),
        ("x24432", 2, "-13421"),
        ("x24242", 2, "-13141"),
        ("3x344x", 3, "1-234-"),
        ("7x776x", 6, "2-341-"),
        ("x7545x", 4, "-4213-"),
        ("x3235x", 2, "-2134-"),
        ("x4212x", 1, "-4213-"),
        ("xx1343", 1, "--1243"),
        ("xx1342", 1, "--1342"),
        ("xx1333", 1, "--1333"),
        ("x43111", 1, "-43111"),
    ],
)
def test_fingers_as_they_are_taught(grip: str, low: int, fingers: str) -> None:
    assert fingers_of(grip, low) == fingers


@pytest.mark.parametrize(
    ("grip", "fingers"),
    [
        ("x32010", {"-32-1-"}),
        ("xx0232", {"---132"}),
        ("x02210", {"--231-"}),
        ("x02220", {"--123-"}),
        ("022000", {"-23---", "-12---"}),
        ("022100", {"-231--"}),
        ("320003", {"21---3", "32---4"}),
        ("xx0231", {"---231"}),
        ("xx0212", {"---213"}),
        ("xx0211", {"---211", "---312"}),
        ("x32310", {"-3241-"}),
        ("x02010", {"--2-1-"}),
        ("x20100", {"-2-1--"}),
        ("320002", {"32---1", "31---2"}),
    ],
)
def test_open_chords_have_the_fingers_that_beginners_learn(grip: str, fingers: set[str]) -> None:
    assert fingers_of(grip, 0) in fingers


@pytest.mark.parametrize(
    ("grip", "why"),
    [
        ("123412", "five fingers and no barre that helps"),
        ("1xx1x1", "two strings muted inside"),
        ("0x0000", "nobody touches the muted string"),
        ("155551", "frets 1 to 5 are too wide"),
        ("222202", "a barre with an open string under it"),
        ("212121", "no barre holds them, and six fingers are too many"),
        ("22220x", "a barre of four with an open string on its treble side, or four fingers"),
    ],
)
def test_what_no_medium_hand_plays(grip: str, why: str) -> None:
    frets = frets_of(grip)
    assert (fingers_of(grip) is not None) == oracle.playable(frets), why


def test_four_fingers_on_one_fret_are_enough_without_a_barre() -> None:
    assert fingers_of("22220x") == "1234--"


def test_a_grip_too_wide_near_the_nut_is_playable_an_octave_up() -> None:
    assert fingers_of("x6223x") is None
    assert fingers_of("xieefx") is not None


def test_a_small_hand_cannot_hold_what_a_large_one_can() -> None:
    grip = "x4212x"
    assert fingers_of(grip, hand=Hand("small")) is None
    assert fingers_of(grip, hand=Hand("large")) is not None


def test_the_limits_are_the_theorys() -> None:
    assert STRETCH_LIMITS_MM == oracle.LIMITS_MM
    assert HAND_SCALE == oracle.HANDS
    assert MAX_BARRE == {1: 6, 2: 3, 3: 3, 4: 3}


def test_the_limit_of_ring_and_little_finger_lets_x4212x_pass_and_no_more() -> None:
    needed = oracle.mm(4) - oracle.mm(2)
    assert 62 < needed < STRETCH_LIMITS_MM[3, 4] < needed + 2


def _sound(frets: Frets, grip: Grip, hand: float | None) -> None:
    """The grip is one of those that a brute-force hand finds, and says truly what it does."""
    assert grip.fingers in oracle.assignments(frets, hand)
    for barre in grip.barres:
        assert 2 <= barre.strings == barre.low - barre.high + 1 <= MAX_BARRE[barre.finger]
        ends = (grip.fingers[6 - barre.low], grip.fingers[6 - barre.high])
        assert ends == (barre.finger, barre.finger)
        assert frets[6 - barre.low] == frets[6 - barre.high] == barre.fret
    held_twice = {finger for finger in grip.fingers if finger and grip.fingers.count(finger) > 1}
    assert held_twice == {barre.finger for barre in grip.barres}
    pressed = [fret for fret in frets if fret]
    widest = oracle.mm(max(pressed)) - oracle.mm(min(pressed)) if pressed else 0.0
    assert grip.stretch_mm == pytest.approx(widest, abs=0.06)


near = st.integers(0, 19).flatmap(
    lambda low: st.tuples(*[st.one_of(st.none(), st.just(0), st.integers(low, low + 5))] * 6)
)


@settings(max_examples=600)
@given(near, st.sampled_from(sorted(HAND_SCALE)))
def test_the_search_and_a_brute_force_hand_agree_on_any_six_frets(frets: Frets, hand: str) -> None:
    if all(fret is None for fret in frets):
        return
    found = fingering(frets, min((fret for fret in frets if fret), default=0), STANDARD, Hand(hand))
    assert (found is not None) == oracle.playable(frets, hand)
    if found is not None:
        _sound(frets, found.grip, HAND_SCALE[hand])


@settings(max_examples=300)
@given(near, st.integers(0, 15))
def test_effort_is_the_sum_of_its_parts_and_none_is_negative(frets: Frets, low: int) -> None:
    found = fingering(frets, low, STANDARD, None)
    if found is None:
        return
    effort = found.effort
    parts = (effort.stretch, effort.fingers, effort.barre, effort.mutes, effort.place)
    assert all(part >= 0 for part in parts)
    assert effort.total == pytest.approx(sum(parts), abs=0.001)


@settings(max_examples=300)
@given(near)
def test_a_grip_that_holds_at_the_nut_holds_further_up(frets: Frets) -> None:
    if 0 in frets or fingering(frets, 1, STANDARD) is None:
        return
    higher = tuple(None if fret is None else fret + 3 for fret in frets)
    assert fingering(higher, 4, STANDARD) is not None


def test_the_thumb_holds_string_six_only_for_a_player_who_says_so() -> None:
    """F with the thumb over the top: 1x3211 needs no thumb, 1x321x with string 5 muted by it does not either;
    2x0232, D with F♯ in the bass, does."""
    assert "0" not in (fingers_of("200232") or "")
    thumbed = fingers_of("200232", hand=Hand("medium", thumb=True))
    assert thumbed is not None
    assert thumbed[0] == str(THUMB)
    assert sorted(thumbed[3:]) == ["1", "2", "3"]


def test_a_thumb_takes_nothing_away() -> None:
    for grip in THEORYS_GRIPS:
        assert fingers_of(grip, hand=Hand("medium", thumb=True)) is not None


def test_a_thumb_reaches_one_fret_beside_the_lowest_finger() -> None:
    thumb = Hand("medium", thumb=True)
    for fret, held in ((3, False), (4, True), (5, True), (6, True), (7, False)):
        grip = f"{fret}x5678"
        fingers = fingers_of(grip, hand=thumb)
        assert (fingers is not None and fingers[0] == str(THUMB)) is held, grip
