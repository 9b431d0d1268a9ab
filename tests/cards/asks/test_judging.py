"""Six frets judged: right by notes and rules, wrong explained by what was played."""

from __future__ import annotations

from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from cards.asks import Setting, answer, read_card
from cards.asks.judging import Finding, Wanted, judge_frets
from cards.asks.placing import find
from cards.guitar.fingering import HAND_SCALE, Frets, Hand
from cards.guitar.neck import Neck
from cards.guitar.regions import BOXES, Region, anchor_region
from cards.theory.keys import DEGREES, MAJOR_KEYS, Key
from cards.theory.numerals import Numeral, own_numeral, read_numeral
from cards.voicings.search import stops
from drill.words import say
from tests.cards import oracle


def frets_of(grip: str) -> Frets:
    return tuple(None if sign == "x" else int(sign, 36) for sign in grip)


def places(region: Region) -> tuple[Region, ...]:
    """The region's own place, and the one an octave up where the neck has it."""
    higher = region.octave_up()
    return (region, higher) if higher.reach[1] <= 22 else (region,)


def found(
    frets: Frets,
    key: Key,
    numeral: Numeral,
    box: int,
    hand: str = "medium",
    richer: bool = False,
) -> Finding:
    """The judgement of frets for a numeral in a box."""
    own = numeral.own(key)
    more = key.chord(own[0], seventh=True) if richer and own and not own[1] else None
    return judge_frets(frets, Wanted(key, numeral, places(anchor_region(key, box)), Hand(hand), more))


def judged(
    key: str, called: int | str, grip: str, box: int = 1, seventh: bool = False, **how: object
) -> tuple[bool, str]:
    """Whether it is right, and what is said."""
    in_key = Key.read(key)
    numeral = own_numeral(in_key, called, seventh) if isinstance(called, int) else read_numeral(called, in_key)
    finding = found(
        frets_of(grip), in_key, numeral, box, str(how.pop("hand", "medium")), bool(how.pop("richer", False))
    )
    assert not how
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
    assert judged("C", 4, "134211", box=4) == (False, "String 4 fret 4 is F♯: not in this chord.")


def test_a_foreign_note_is_spelled_as_the_key_does() -> None:
    assert judged("Ab", 4, "x4412x")[1].startswith("String 4 fret 4 is G♭: not in this chord.")
    assert judged("Gb", 1, "244320", box=2)[1] == "String 1 open is E: not in this chord."
    assert judged("Gb", 1, "244327", box=2)[1] == "String 1 fret 7 is C♭: not in this chord."
    assert judged("Ab", 4, "x4410x")[1] == (
        "String 4 fret 4 is G♭, string 2 open is B: not in this chord. No third: D♭ needs it."
    )


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
        numeral = own_numeral(key, degree, seventh=True)
        for frets in stops(numeral.chord(key), region):
            finding = found(frets, key, numeral, 3)
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
    assert judged("Ab", 4, "x4312x", seventh=True) == (False, "Something is missing: that is D♭, not D♭maj7.")


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
        for message in found(frets, key, own_numeral(key, degree), 1).messages
        if message.key == "wrong.hand"
    }
    assert said == {"Right notes, but one hand cannot hold them: four fingers, and none may cross."}


def test_the_octave_up_must_be_on_the_neck() -> None:
    assert len(read_card("place:Ab:4:box1").places(Setting())) == 2
    assert len(read_card("place:Fs:4:box1").places(Setting())) == 1
    for key, box in product(MAJOR_KEYS, BOXES):
        card = read_card(f"place:{key.slug}:4:box{box}")
        assert card.places(Setting()) == places(anchor_region(key, box))
        for place in card.places(Setting()):
            assert place.reach[1] <= 22


def test_no_note_lies_beyond_the_last_fret() -> None:
    """E in box 1 is frets 9–12: on a neck of twelve frets the reach ends there."""
    key, region = Key.read("E"), anchor_region(Key.read("E"), 1)
    frets = frets_of("xbddcb")
    for neck, right in ((Neck(), True), (Neck(frets=12), False)):
        finding = judge_frets(frets, Wanted(key, own_numeral(key, 3), (region,), neck=neck))
        assert finding.right is right, [say(message) for message in finding.messages]


def test_a_borrowed_chord_is_judged_as_any_other() -> None:
    """♭VII of E is D; C's own two has a minor third where II has a major one."""
    right, said = judged("E", "bVII", "xx7775", box=5)
    assert right
    assert said.startswith("Right: D. Right, with the fifth in the bass. It goes one fret outside the region")
    assert judged("C", "II", "xx0232", box=4) == (True, "Right: D.")
    assert judged("C", "II", "xx0231", box=4) == (False, "The root is right, but Dm is not D.")
    assert judged("C", "iv", "133211", box=4) == (False, "The root is right, but F is not Fm.")
    assert judged("C", "I7", "x32010", box=4) == (False, "Something is missing: that is C, not C7.")
    assert judged("C", "II", "x32010", box=4)[1] == "You put down C E G: that is the one; the II is D F♯ A."


def test_a_slash_chord_has_its_bass_lowest_on_any_string() -> None:
    assert judged("C", "1/3", "032010", box=4) == (True, "Right: C/E.")
    right, said = judged("C", "1/3", "x32010", box=4)
    assert not right
    assert said == "C/E has E in the bass."
    assert judged("C", "4/5", "3x3211", box=4)[0]


def test_the_third_of_the_bare_two_is_free() -> None:
    """xx0230 and x32030 are both a 2: without a third and with it, and never without the 9."""
    assert judged("G", "5:2", "xx0230")[0]
    assert judged("C", "1:2", "x32030", box=4)[0]
    assert judged("G", "5:2", "xx0232")[0] is False


def test_in_a_minor_key_the_five_is_minor_and_the_capital_five_major() -> None:
    assert judged("Am", 5, "022000", box=5)[0] is False
    key = Key.read("Am")
    for called, chord in ((5, "Em"), ("V", "E"), ("V7", "E7")):
        numeral = own_numeral(key, called) if isinstance(called, int) else read_numeral(called, key)
        assert str(numeral.chord(key)) == chord
        main = stops(numeral.chord(key), anchor_region(key, 1))
        assert main


some_frets = st.integers(0, 12).flatmap(
    lambda low: st.tuples(*[st.one_of(st.none(), st.just(0), st.integers(low, low + 6))] * 6)
)
any_frets = st.tuples(*[st.one_of(st.none(), st.integers(0, 24))] * 6)
a_chord = st.tuples(
    st.sampled_from((*oracle.KEYS, *oracle.MINOR_KEYS)),
    st.sampled_from(list(DEGREES)),
    st.booleans(),
    st.sampled_from(BOXES),
)


@settings(max_examples=500, deadline=None)
@given(a_chord, st.one_of(any_frets, some_frets), st.sampled_from(sorted(HAND_SCALE)), st.booleans())
def test_no_six_frets_break_the_judge_and_it_always_says_something(
    asked: tuple[str, int, bool, int], frets: Frets, hand: str, richer: bool
) -> None:
    name, degree, seventh, box = asked
    key = Key.read(name)
    finding = found(frets, key, own_numeral(key, degree, seventh), box, hand, richer)
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
    finding = found(frets, key, own_numeral(key, degree, seventh), box, hand)
    low, high = oracle.region(name, box)
    spots = [(low, high)] + ([(low + 12, high + 12)] if high + 13 <= 22 else [])
    sounding = any(fret is not None for fret in frets)
    chord = oracle.tones(name, degree, seventh)
    rules = (oracle.right_chord, oracle.right_spread)
    right = sounding and any(keeps(frets, chord, *spot, hand) for keeps in rules for spot in spots)
    assert finding.right == right


def test_a_spread_triad_over_its_root_is_right_and_over_another_tone_it_is_not() -> None:
    """C on strings 6 4 2: 8x5x5x has the root lowest. 3x2x1x has the fifth, which only a band allows."""
    assert judged("C", 1, "8x5x5x")[0]
    right, said = judged("C", 1, "3x2x1x", box=5)
    assert not right
    assert "fifth" in said
    assert "8x5x5x" in answer(read_card("place:C:1:box1"), Setting()).frets
    card = read_card("place:C:1:box5")
    assert "3x2x1x" not in answer(card, Setting()).frets
    assert find(card, frets_of("3x2x1x"), Setting(band=True)).right
    assert "3x2x1x" in answer(card, Setting(band=True)).frets


ROOTLESS_CM7 = "xx534x"
"""B♭ over E♭ G: the seventh, the third and the fifth of Cm7, which is E♭ alone."""


def with_a_band(grip: str, seventh: bool = True) -> Finding:
    key = Key.read("Bb")
    wanted = Wanted(key, own_numeral(key, 2, seventh), places(anchor_region(key, 1)), rootless=True)
    return judge_frets(frets_of(grip), wanted)


def test_with_a_band_the_root_of_a_seventh_chord_may_be_left_out() -> None:
    alone = judged("Bb", 2, ROOTLESS_CM7, seventh=True)
    assert not alone[0]
    assert "that is the four" in alone[1]
    finding = with_a_band(ROOTLESS_CM7)
    assert finding.right
    assert [say(each) for each in finding.messages] == ["Right: Cm7.", "Without the root: that is the band's."]


def test_with_a_band_the_third_may_still_not_be_left_out() -> None:
    assert not with_a_band("xx55x3").right
    assert with_a_band("x35343").right, "the whole chord stays right"
