"""Any six-string guitar: tunings, capo, frets, scale length; what a capo and a tuning do to regions."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cards.asks import KEYS, Setting, read_card
from cards.guitar.fingering import Hand
from cards.guitar.neck import FRETS, STANDARD, STANDARD_TUNING, STRINGS, TUNINGS, Neck, NeckError, read_tuning
from cards.guitar.regions import BOXES, anchor_region
from cards.guitar.shapes import shapes_of
from cards.theory.chords import read_chord
from cards.theory.keys import DEGREES, MAJOR_KEYS, Key
from cards.voicings.voicing import voicings
from tests.cards import oracle

HALF_DOWN = Neck(TUNINGS["half step down"])
DROP_D = Neck(TUNINGS["drop D"])
DADGAD = Neck(TUNINGS["D A D G A D"])
NOTES = "E A D G B E"


# Tunings


@pytest.mark.parametrize(
    ("name", "notes"),
    [
        ("standard", "E A D G B E"),
        ("drop D", "D A D G B E"),
        ("half step down", "Eb Ab Db Gb Bb Eb"),
        ("whole step down", "D G C F A D"),
        ("double drop D", "D A D G B D"),
        ("D A D G A D", "D A D G A D"),
        ("open G", "D G D G B D"),
        ("open D", "D A D F# A D"),
        ("open E", "E B E G# B E"),
        ("open A", "E A E A C# E"),
    ],
)
def test_a_tuning_by_name_and_by_its_notes(name: str, notes: str) -> None:
    assert set(TUNINGS) >= {name}
    by_name = read_tuning(name)
    assert by_name == read_tuning(notes) == read_tuning(notes.replace(" ", "")) == read_tuning(name.upper())
    assert [pitch % 12 for pitch in by_name] == [oracle.pitch_class(note) for note in notes.split()]
    assert all(abs(pitch - standard) <= 6 for pitch, standard in zip(by_name, STANDARD_TUNING, strict=True))


@pytest.mark.parametrize(
    "text", ["", "drop", "D A D G B", "D A D G B E E", "H A D G B E", "standard!", "EADGB", "4 4 4 4 4 4"]
)
def test_what_is_no_tuning_names_what_would_be(text: str) -> None:
    with pytest.raises(NeckError, match=r"no tuning|no note"):
        read_tuning(text)


@given(
    st.lists(
        st.sampled_from(["C", "C#", "Db", "D", "Eb", "E", "F", "F♯", "G", "Ab", "A", "B♭", "B"]), min_size=6, max_size=6
    )
)
def test_any_six_notes_are_a_tuning_near_the_standard_one(notes: list[str]) -> None:
    tuning = read_tuning(" ".join(notes))
    assert [pitch % 12 for pitch in tuning] == [oracle.pitch_class(note) for note in notes]
    assert all(abs(pitch - standard) <= 6 for pitch, standard in zip(tuning, STANDARD_TUNING, strict=True))
    assert Neck(tuning)


@pytest.mark.parametrize(
    ("parts", "said"),
    [
        ({"tuning": (40, 45, 50, 55, 59)}, "a tuning has six strings, not 5"),
        ({"tuning": (20, 45, 50, 55, 59, 64)}, "an open string of a guitar lies between E1 and E5"),
        ({"frets": 11}, "a neck has 12 to 24 frets, not 11"),
        ({"frets": 25}, "a neck has 12 to 24 frets, not 25"),
        ({"scale_mm": 400.0}, "a scale length is 500 to 750 mm, not 400"),
        ({"scale_mm": float("nan")}, "a scale length is 500 to 750 mm"),
        ({"capo": 12}, "a capo lies on fret 0"),
        ({"capo": -1}, "a capo lies on fret 0"),
    ],
)
def test_a_guitar_that_there_is_not_is_refused(parts: dict[str, object], said: str) -> None:
    with pytest.raises(NeckError, match=said):
        Neck(**parts)  # type: ignore[arg-type]


# Pitches and lengths


@given(st.sampled_from(sorted(TUNINGS)), st.integers(0, 11), st.sampled_from(STRINGS), st.integers(0, 12))
def test_what_sounds_is_the_open_string_the_capo_and_the_fret(name: str, capo: int, string: int, fret: int) -> None:
    neck = Neck(TUNINGS[name], capo=capo)
    assert neck.pitch(string, fret) == TUNINGS[name][6 - string] + capo + fret


@pytest.mark.parametrize("scale", [578.0, 628.0, 648.0, 660.0])
def test_a_fret_lies_where_the_string_is_a_semitone_shorter(scale: float) -> None:
    neck = Neck(scale_mm=scale)
    assert neck.fret_mm(0) == 0
    assert neck.fret_mm(12) == pytest.approx(scale / 2)
    for fret in range(FRETS.stop - 1):
        left, less = scale - neck.fret_mm(fret), scale - neck.fret_mm(fret + 1)
        assert left / less == pytest.approx(2 ** (1 / 12))


@pytest.mark.parametrize("capo", [1, 5, 11])
def test_a_capo_is_a_nut_further_up(capo: int) -> None:
    neck = Neck(capo=capo)
    assert neck.free_frets == 22 - capo
    for fret in range(10):
        assert neck.fret_mm(fret) == pytest.approx(STANDARD.fret_mm(capo + fret) - STANDARD.fret_mm(capo))


def test_a_grip_too_wide_for_a_long_scale_is_held_on_a_short_one() -> None:
    chord, region = read_chord("Abm"), anchor_region(Key.read("Gb"), 2)
    long = voicings(chord, region, Hand("small"), Neck(scale_mm=690))
    short = voicings(chord, region, Hand("small"), Neck(scale_mm=578))
    frets = (4, 2, 1, 1, None, None)
    assert frets not in {voicing.frets for voicing in long}
    assert frets in {voicing.frets for voicing in short}


# Regions


@pytest.mark.parametrize("capo", range(12))
def test_a_capo_transposes_every_region(capo: int) -> None:
    """A key sounding above a capo lies where the key so many semitones lower lies without one."""
    neck = Neck(capo=capo)
    for key, box in product(KEYS, BOXES):
        ours, plain = anchor_region(key, box, neck), anchor_region(key.moved(-capo), box)
        assert (ours.low, ours.high) == (plain.low, plain.high)
        assert [(note.string, note.fret) for note in ours.notes] == [(note.string, note.fret) for note in plain.notes]
        for note in ours.notes:
            assert neck.pitch(note.string, note.fret) % 12 == note.note.pitch_class


@pytest.mark.parametrize("capo", [2, 5])
def test_a_capo_transposes_every_voicing(capo: int) -> None:
    neck = Neck(capo=capo)
    for key in MAJOR_KEYS[::4]:
        lower = key.moved(-capo)
        for degree in DEGREES:
            ours = voicings(key.chord(degree), anchor_region(key, 1, neck), neck=neck)
            plain = voicings(lower.chord(degree), anchor_region(lower, 1))
            # Frets lie closer above the capo: what a hand holds at the nut it holds there.
            assert {voicing.frets for voicing in plain} <= {voicing.frets for voicing in ours}
            for voicing in ours:
                assert voicing.tones == tuple(
                    None if fret is None else key.chord(degree).tone_at(neck.pitch(string, fret) % 12)
                    for string, fret in zip(STRINGS, voicing.frets, strict=True)
                )


def test_half_a_step_down_is_standard_one_fret_further_up() -> None:
    for key, box in product(MAJOR_KEYS, BOXES):
        ours = anchor_region(key, box, HALF_DOWN)
        plain = anchor_region(key.moved(1), box)
        assert (ours.low, ours.high) == (plain.low, plain.high)
        for note in ours.notes:
            assert HALF_DOWN.pitch(note.string, note.fret) % 12 == note.note.pitch_class
    assert HALF_DOWN.offset == -1
    assert Neck(TUNINGS["whole step down"]).offset == -2


@pytest.mark.parametrize("name", ["drop D", "double drop D", "D A D G A D", "open G", "open D", "open A"])
def test_altered_strings_leave_the_region_where_it_is_and_change_the_notes_inside(name: str) -> None:
    neck = Neck(TUNINGS[name])
    assert neck.offset == 0
    for key, box in product(MAJOR_KEYS, BOXES):
        ours, plain = anchor_region(key, box, neck), anchor_region(key, box)
        assert (ours.low, ours.high, ours.reach) == (plain.low, plain.high, plain.reach)
        pentatonic = {note.note.pitch_class for note in plain.notes}
        for string in STRINGS:
            mine = {(note.fret, note.note) for note in ours.notes if note.string == string}
            if neck.tuning[6 - string] == STANDARD_TUNING[6 - string]:
                assert mine == {(note.fret, note.note) for note in plain.notes if note.string == string}
            else:
                frets = {fret for fret in range(ours.low, ours.high + 1) if neck.pitch(string, fret) % 12 in pentatonic}
                assert {fret for fret, _ in mine} == frets
        for note in ours.notes:
            assert ours.low <= note.fret <= ours.high
            assert neck.pitch(note.string, note.fret) % 12 == note.note.pitch_class


def test_a_blues_and_a_minor_key_anchor_on_their_own_tonic() -> None:
    """A blues sits at frets 5–8, and so does A minor, the box of C major."""
    for name in ("A blues", "Am", "C"):
        region = anchor_region(Key.read(name), 1)
        assert (region.low, region.high) == (5, 8)
    assert (anchor_region(Key.read("A"), 1).low, anchor_region(Key.read("A"), 1).high) == (2, 5)


# Shapes


def test_shapes_are_named_only_where_the_strings_stand_in_standard_intervals() -> None:
    e_shape, d_shape = (1, 3, 3, 2, 1, 1), (None, None, 0, 2, 3, 2)
    assert [shape.name for shape in shapes_of(read_chord("F"), e_shape)] == ["E"]
    assert [shape.name for shape in shapes_of(read_chord("E"), e_shape, HALF_DOWN)] == ["E"]
    assert [shape.name for shape in shapes_of(read_chord("D"), d_shape, DROP_D)][:1] == ["D"]
    assert [shape.name for shape in shapes_of(read_chord("D"), d_shape, Neck(capo=0))][:1] == ["D"]
    for key in MAJOR_KEYS[::3]:
        for voicing in voicings(key.chord(1), anchor_region(key, 1, DROP_D), neck=DROP_D):
            assert not {"E", "G"} & {shape.name for shape in voicing.shapes}
        for voicing in voicings(key.chord(1), anchor_region(key, 1, DADGAD), neck=DADGAD):
            assert voicing.shapes == ()


@pytest.mark.parametrize("name", sorted(TUNINGS))
def test_every_tuning_has_voicings_that_keep_the_notes(name: str) -> None:
    neck = Neck(TUNINGS[name])
    for key in (Key.read("D"), Key.read("G"), Key.read("Em")):
        for box in BOXES:
            for degree in key.degrees:
                chord = key.chord(degree)
                found = voicings(chord, anchor_region(key, box, neck), neck=neck)
                assert found
                for voicing in found:
                    notes = {
                        neck.pitch(s, f) % 12 for s, f in zip(STRINGS, voicing.frets, strict=True) if f is not None
                    }
                    assert notes == {note.pitch_class for note in chord.notes}


# The player's guitar


def test_the_highest_comfortable_fret_rules_out_places_above_it() -> None:
    card = read_card("place:E:1:box1")
    assert [(place.low, place.high) for place in card.places(Setting())] == [(9, 12)]
    assert [(place.low, place.high) for place in card.places(Setting(highest=12))] == [(9, 12)]
    assert card.places(Setting(highest=11)) == ()
    assert not card.fits(Setting(highest=11))
    assert read_card("place:Ab:1:box1").places(Setting(highest=12))[0].low == 1
    assert len(read_card("place:Ab:1:box1").places(Setting(highest=12))) == 1
    assert len(read_card("place:Ab:1:box1").places(Setting())) == 2


def test_the_highest_fret_is_counted_from_the_nut_and_frets_from_the_capo() -> None:
    card = read_card("place:E:1:box1")
    assert [(place.low, place.high) for place in card.places(Setting(capo=2, highest=14))] == [(7, 10)]
    assert card.places(Setting(capo=2, highest=11)) == ()


@pytest.mark.parametrize("frets", FRETS)
def test_a_place_an_octave_up_lies_on_the_neck_with_its_reach(frets: int) -> None:
    setting = Setting(frets=frets, highest=24)
    for key, box in product(MAJOR_KEYS, BOXES):
        card = read_card(f"place:{key.slug}:1:box{box}")
        for place in card.places(setting):
            assert place.high <= frets
        for code in () if not card.fits(setting) else [voicing.frets for voicing in card.voicings(setting)[:1]]:
            assert all(fret is None or fret <= frets for fret in code)
