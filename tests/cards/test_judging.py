"""Six frets judged: right by notes and rules, wrong explained by what was played."""

from __future__ import annotations

from itertools import product

import oracle
from hypothesis import given, settings
from hypothesis import strategies as st

from cards.fingering import HAND_SCALE, Frets
from cards.judging import judge_frets, places
from cards.keys import DEGREES, MAJOR_KEYS, Key
from cards.regions import BOXES, anchor_region
from cards.voicings import stops
from drill.words import say


def frets_of(grip: str) -> Frets:
    return tuple(None if sign == "x" else int(sign, 36) for sign in grip)


def judged(key: str, degree: int, grip: str, box: int = 1, seventh: bool = False, **how: object) -> tuple[bool, str]:
    """Whether it is right, and what is said."""
    in_key = Key.read(key)
    richer = in_key.chord(degree, seventh=True) if how.pop("richer", False) else None
    finding = judge_frets(
        frets_of(grip),
        in_key,
        in_key.chord(degree, seventh),
        anchor_region(in_key, box),
        str(how.pop("hand", "medium")),
        richer,
    )
    return finding.right, " ".join(map(say, finding.messages))


def test_the_main_voicing_is_right() -> None:
    assert judged("Ab", 4, "x4312x") == (True, "Right: D♭.")


def test_an_octave_up_is_the_same_box() -> None:
    assert judged("Ab", 4, "xgfdex") == (True, "Right: D♭. That is the same box an octave up.")


def test_another_chord_of_the_key_is_named_by_its_number() -> None:
    assert judged("Ab", 4, "43111x") == (
        False,
        "You put down A♭ C E♭: that is the one; the four is D♭ F A♭.",
    )


def test_another_seventh_chord_is_named_as_one() -> None:
    assert judged("C", 2, "575555", seventh=True) == (
        False,
        "You put down A C E G: that is the six seventh; the two seventh is D F A C.",
    )


def test_a_seventh_chord_without_its_fifth_is_still_that_chord() -> None:
    assert judged("C", 5, "x32x00", box=4)[1] == "You put down C E B: that is the one seventh; the five is G B D."


def test_without_a_third_it_is_a_power_chord() -> None:
    assert judged("Ab", 4, "x4x12x") == (False, "No third: that is a power chord.")
    assert judged("Ab", 4, "x466xx") == (False, "No third: that is a power chord.")


def test_root_and_diminished_fifth_are_no_power_chord() -> None:
    right, said = judged("C", 7, "789xxx")
    assert not right
    assert "power chord" not in said
    assert said == "No third: B° needs it."


def test_a_foreign_note_is_named_where_it_lies() -> None:
    assert judged("C", 4, "134211", box=4) == (False, "String 4 fret 4 is F♯, not in this chord.")


def test_a_foreign_note_is_spelled_as_the_key_does() -> None:
    assert judged("Ab", 4, "x4412x")[1].startswith("String 4 fret 4 is G♭, not in this chord.")
    assert judged("Gb", 1, "244320", box=2)[1] == "String 1 open is E, not in this chord."
    assert judged("Gb", 1, "244327", box=2)[1] == "String 1 fret 7 is C♭, not in this chord."


def test_a_missing_tone_is_named() -> None:
    assert judged("Ab", 4, "x43x2x") == (False, "No fifth: D♭ needs it.")


def test_too_few_strings_are_counted() -> None:
    assert judged("Ab", 4, "x4xxxx") == (False, "Only 1 of at least 3 strings sound.")
    assert judged("Ab", 4, "x43xxx") == (False, "Only 2 of at least 3 strings sound.")


def test_too_wide_says_how_wide_in_mm() -> None:
    wide = "Right notes, but wider than your hand setting: 97 mm."
    assert judged("Gb", 2, "4211xx", box=2) == (True, "Right: A♭m.")
    assert judged("Gb", 2, "4211xx", box=2, hand="small") == (False, wide)
    assert judged("Gb", 2, "xx14x4", box=2) == (False, wide)


def test_every_grip_that_is_too_wide_says_the_distance_of_its_outer_fingers() -> None:
    key, region = Key.read("Eb"), anchor_region(Key.read("Eb"), 3)
    seen = 0
    for degree in DEGREES:
        for frets in stops(key.chord(degree, seventh=True), region):
            finding = judge_frets(frets, key, key.chord(degree, seventh=True), region)
            if finding.messages[0].key != "wrong.stretch":
                continue
            seen += 1
            pressed = [fret for fret in frets if fret]
            wide = round(oracle.mm(max(pressed)) - oracle.mm(min(pressed)))
            assert say(finding.messages[0]) == f"Right notes, but wider than your hand setting: {wide} mm."
            assert oracle.assignments(frets, None)
            assert not oracle.assignments(frets, 1.0)
    assert seen


def test_an_inversion_on_the_high_strings_is_right_and_named() -> None:
    assert judged("Ab", 4, "xx312x") == (True, "Right: D♭. Right, with the third in the bass.")


def test_an_inversion_on_the_low_strings_is_not() -> None:
    assert judged("Ab", 4, "44312x") == (False, "The fifth is in the bass: on string 6 the root goes lowest.")


def test_an_added_seventh_is_named_and_a_setting_accepts_it() -> None:
    assert judged("Ab", 4, "x43111") == (
        False,
        "Right chord, and you added the seventh: that is D♭maj7. Settings can accept it.",
    )
    right, said = judged("Ab", 4, "x43111", richer=True)
    assert right
    assert said == "Right: D♭. Right chord, and you added the seventh: D♭maj7."


def test_a_triad_where_the_seventh_was_asked_has_no_seventh() -> None:
    assert judged("Ab", 4, "x4312x", seventh=True) == (False, "No seventh: that is D♭ alone.")


def test_a_left_out_fifth_is_right_and_said() -> None:
    assert judged("C", 5, "320001", box=4, seventh=True) == (True, "Right: G7.")
    assert judged("C", 5, "323003", box=4, seventh=True) == (
        True,
        "Right: G7. Without the fifth: a voicing may leave it out.",
    )


def test_one_fret_outside_the_region_is_right_and_said() -> None:
    assert judged("Ab", 3, "x35543") == (
        True,
        "Right: Cm. It goes one fret outside the region (frets 1–4), inside the reach.",
    )


def test_outside_the_reach_is_said_string_by_string() -> None:
    assert judged("Ab", 4, "xx6664") == (
        False,
        "Right chord, but outside the reach (frets 0–5) on strings 4, 3 and 2.",
    )
    assert judged("Ab", 4, "xxx664")[1] == "Right chord, but outside the reach (frets 0–5) on strings 3 and 2."


def test_another_place_altogether_says_where_the_region_is() -> None:
    assert judged("Ab", 4, "9bba99") == (False, "Right chord in another place: the region is frets 1–4.")


def test_open_strings_elsewhere_are_a_right_chord_outside_the_region() -> None:
    assert judged("Bb", 6, "xx5036") == (False, "Right chord, open strings outside the region (frets 3–6).")


def test_two_strings_muted_inside_are_one_too_many() -> None:
    assert judged("Ab", 1, "4x1x14")[1] == "Muted between sounding ones: strings 5 and 3; one at most can be."


def test_a_muted_string_that_no_finger_touches() -> None:
    assert judged("C", 3, "0200x0", box=4, seventh=True) == (
        False,
        "String 2 cannot be muted here: no finger beside it touches it.",
    )


def test_a_hand_with_too_few_fingers() -> None:
    key, region = Key.read("C"), anchor_region(Key.read("C"), 1)
    said = {
        say(message)
        for degree in DEGREES
        for frets in stops(key.chord(degree), region)
        for message in judge_frets(frets, key, key.chord(degree), region).messages
        if message.key == "wrong.hand"
    }
    assert said == {"Right notes, but one hand cannot hold them: four fingers, and none may cross."}


def test_the_octave_up_must_be_on_the_neck() -> None:
    assert len(places(anchor_region(Key.read("Ab"), 1))) == 2
    assert len(places(anchor_region(Key.read("F#"), 1))) == 1
    for key, box in product(MAJOR_KEYS, BOXES):
        for place in places(anchor_region(key, box)):
            assert place.reach[1] <= 22


some_frets = st.integers(0, 12).flatmap(
    lambda low: st.tuples(*[st.one_of(st.none(), st.just(0), st.integers(low, low + 6))] * 6)
)
any_frets = st.tuples(*[st.one_of(st.none(), st.integers(0, 24))] * 6)
a_chord = st.tuples(st.sampled_from(oracle.KEYS), st.sampled_from(list(DEGREES)), st.booleans(), st.sampled_from(BOXES))


@settings(max_examples=500, deadline=None)
@given(a_chord, st.one_of(any_frets, some_frets), st.sampled_from(sorted(HAND_SCALE)), st.booleans())
def test_no_six_frets_break_the_judge_and_it_always_says_something(
    asked: tuple[str, int, bool, int], frets: Frets, hand: str, richer: bool
) -> None:
    name, degree, seventh, box = asked
    key = Key.read(name)
    more = key.chord(degree, seventh=True) if richer and not seventh else None
    finding = judge_frets(frets, key, key.chord(degree, seventh), anchor_region(key, box), hand, more)
    assert finding.messages
    for message in finding.messages:
        assert "{" not in say(message)


def _near_right(asked: tuple[str, int, bool, int]) -> st.SearchStrategy[Frets]:
    """Chord tones and mutes around the region, so that right and almost right ones are met."""
    name, degree, seventh, box = asked
    _, tones, _ = oracle.tones(name, degree, seventh)
    low, high = oracle.region(name, box)
    rows = []
    for pitch in oracle.OPEN:
        frets = [fret for fret in range(max(low - 2, 0), high + 3) if (pitch + fret) % 12 in tones]
        rows.append(st.sampled_from([None, 0, *frets]))
    return st.tuples(*rows)


@settings(max_examples=800, deadline=None)
@given(st.data(), a_chord, st.sampled_from(sorted(HAND_SCALE)))
def test_the_judge_and_the_four_rules_written_anew_agree(
    data: st.DataObject, asked: tuple[str, int, bool, int], hand: str
) -> None:
    name, degree, seventh, box = asked
    frets = data.draw(_near_right(asked))
    key = Key.read(name)
    finding = judge_frets(frets, key, key.chord(degree, seventh), anchor_region(key, box), hand)
    low, high = oracle.region(name, box)
    spots = [(low, high)] + ([(low + 12, high + 12)] if high + 13 <= 22 else [])
    sounding = any(fret is not None for fret in frets)
    right = sounding and any(oracle.right(frets, name, degree, seventh, *spot, hand) for spot in spots)
    assert finding.right == right
