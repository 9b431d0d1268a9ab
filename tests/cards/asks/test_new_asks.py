"""The asks beyond the first five, by what a teacher would ask and a player might answer."""

from __future__ import annotations

import pytest

from cards.asks import ASKS, Given, Setting, answer, beats, code, fits, judge, question, read_card, running
from cards.asks.bending import moves
from cards.asks.placing import main_voicing
from cards.asks.running import TIMES
from cards.drawings.voicing import describe
from cards.guitar.regions import BOXES
from cards.guitar.shapes import SHAPES
from cards.theory.chords import read_chord, read_quality
from cards.theory.keys import MAJOR_KEYS, Key, Mode
from drill.words import say
from tests.cards.everything import CARDS, PLAIN, asked, frets_of, of, told


def judged(card_id: str, **given: object) -> tuple[bool, list[str]]:
    """Whether it is right, and what is said."""
    verdict = judge(read_card(card_id), Given(**given), PLAIN)  # type: ignore[arg-type]
    return verdict.right, [say(message) for message in verdict.messages]


def test_there_are_eleven_new_asks() -> None:
    assert ASKS[5:] == (
        *("shape", "tone", "spell", "whose-key", "box-notes"),
        *("change", "bend", "left-out", "run", "guide-tones", "borrowed"),
    )


# Shape: a drawing → C, A, G, E or D


@pytest.mark.parametrize(("degree", "shape"), [*enumerate("GAACDE", 1)])
def test_in_box_one_the_shapes_are_g_a_a_c_d_e(degree: int, shape: str) -> None:
    card = read_card(f"shape:Ab:{degree}:box1")
    assert told(card).choices[0] == (shape,)
    assert judge(card, Given(choice=(shape,)), PLAIN).right
    assert [option for option, _ in asked(card).choices[0].options] == list("CAGED")


def test_both_shapes_are_accepted_where_two_cover_it() -> None:
    double = [card for card in of("shape") if len(told(card).choices) > 1]
    for card in double:
        first, second = told(card).choices
        assert judge(card, Given(choice=first), PLAIN).right
        assert judge(card, Given(choice=second), PLAIN).right
        assert " or " in say(told(card).words)
    # With a band the voicings are small, and more of them lie in two shapes.
    band = Setting(band=True)
    small = [card for card in of("shape") if len(answer(card, band).choices) > 1]
    assert small
    for card in small[::5]:
        for choice in answer(card, band).choices:
            assert judge(card, Given(choice=choice), band).right


def test_another_shape_is_named() -> None:
    right, said = judged("shape:Ab:4:box1", choice=("E",))
    assert not right
    assert said == ["D♭ in the C shape.", "The four of A♭ is D♭: D♭ F A♭."]
    assert judged("shape:Ab:4:box1") == (False, ["Nothing was chosen.", "D♭ in the C shape."])


def test_every_shape_is_asked_for() -> None:
    assert {choice[0] for card in of("shape") for choice in told(card).choices} == {shape.name for shape in SHAPES}


# Tone: a drawing → tap every third, fifth, seventh or root


def test_tap_every_third() -> None:
    """x4312x is D♭: the root on strings 5 and 2, the third on 4, the fifth on 3."""
    assert code(main_voicing(read_card("tone:Ab:4:box1:third"), PLAIN).frets) == "x4312x"
    assert judged("tone:Ab:4:box1:third", spots=(((4, 3),),))[0]
    assert judged("tone:Ab:4:box1:root", spots=(((2, 2), (5, 4)),))[0]
    assert judged("tone:Ab:4:box1:fifth", spots=(((3, 1),),))[0]
    right, said = judged("tone:Ab:4:box1:root", spots=(((5, 4),),))
    assert not right
    assert said[0] == "1 more to tap: every root counts."
    right, said = judged("tone:Ab:4:box1:root", spots=(((2, 2), (4, 3), (5, 4)),))
    assert not right
    assert said == ["Not the root: string 4.", "The root of D♭ is D♭, here on strings 5 and 2."]


def test_only_what_is_drawn_can_be_tapped() -> None:
    for card in of("tone"):
        frets = main_voicing(card, PLAIN).frets
        assert asked(card).spots == tuple((6 - i, fret) for i, fret in enumerate(frets) if fret is not None)
        for steps in told(card).spots:
            assert set(steps[0]) <= set(asked(card).spots or ())


def test_triads_ask_for_root_third_and_fifth_and_sevenths_for_the_seventh() -> None:
    for card in of("tone"):
        assert card.detail == "seventh" if card.seventh else card.detail in ("root", "third", "fifth")


# Bend: four → fourmaj7, sus4, …: which tone moves, where to


@pytest.mark.parametrize(
    ("card_id", "chord", "choices"),
    [
        ("bend:Ab:4:maj7", "D♭maj7", {("root", "-1"), ("fifth", "4")}),
        ("bend:Ab:4:7", "D♭7", {("root", "-2"), ("fifth", "3")}),
        ("bend:Ab:4:sus4", "D♭sus4", {("third", "1")}),
        ("bend:Ab:4:sus2", "D♭sus2", {("third", "-2")}),
        ("bend:Ab:4:m", "D♭m", set()),
        ("bend:Ab:4:minor", "D♭m", {("third", "-1")}),
        ("bend:Ab:4:aug", "D♭+", {("fifth", "1")}),
        ("bend:Ab:4:6", "D♭6", {("root", "-3"), ("fifth", "2")}),
        ("bend:Ab:2:m7", "B♭m7", {("root", "-2"), ("fifth", "3")}),
        ("bend:Ab:2:major", "B♭", {("third", "1")}),
        ("bend:Ab:2:dim", "B♭°", {("fifth", "-1")}),
        ("bend:Ab:2:sus4", "B♭sus4", {("third", "2")}),
        ("bend:Ab:2:m6", "B♭m6", {("root", "-3"), ("fifth", "2")}),
    ],
)
def test_which_tone_moves_and_where_to(card_id: str, chord: str, choices: set[tuple[str, str]]) -> None:
    if not choices:
        assert card_id not in {card.id for card in CARDS}
        return
    card = read_card(card_id)
    assert told(card).chord == chord
    assert set(told(card).choices) == choices
    for choice in choices:
        assert judge(card, Given(choice=choice), PLAIN).right


def test_every_move_that_is_right_makes_the_chord() -> None:
    """Held against pitch classes: the tone moved, the others kept or doubled."""
    for card in of("bend"):
        goal = read_chord(told(card).chord)
        wanted = {note.pitch_class for note in goal.notes}
        must = {goal.root.above(tone).pitch_class for tone in goal.must_sound}
        own = {tone.name: card.chord.root.above(tone).pitch_class for tone in card.chord.tones}
        for name, frets in told(card).choices:
            reached = (own[name] + int(frets)) % 12
            assert reached in wanted
            kept = set(own.values()) if own[name] in wanted else set(own.values()) - {own[name]}
            assert must <= kept | {reached} <= wanted


def test_a_wrong_move_says_what_would_be_right() -> None:
    right, said = judged("bend:Ab:4:maj7", choice=("third", "1"))
    assert not right
    assert said == [
        "That move does not make D♭maj7.",
        "From D♭ to D♭maj7 the root goes down 1 fret: D♭ F A♭ C.",
    ]
    assert moves(read_quality(""), read_quality("7")) == (("root", -2), ("fifth", 3))


# Left out: a partial: which tone is missing, what is it then


def test_a_fourmaj7_without_its_root_is_the_six() -> None:
    right, said = judged("left-out:Ab:4.7:box1:root", choice=("root",), name="Fm")
    assert right
    assert said == ["D♭maj7 without its root is Fm."]
    assert not judged("left-out:Ab:4.7:box1:root", choice=("root",), name="Db")[0]
    assert not judged("left-out:Ab:4.7:box1:root", choice=("third",), name="Fm")[0]
    assert judged("left-out:Ab:4.7:box1:root", choice=("root",))[1][0] == (
        "Both are asked: the missing tone, and the name of what is left."
    )


def test_a_triad_without_its_third_is_a_power_chord() -> None:
    for name in ("Db5", "D♭(no3)", "Db no3"):
        assert judged("left-out:Ab:4:box1:third", choice=("third",), name=name)[0]


def test_every_right_name_of_what_is_left_is_accepted() -> None:
    for card in of("left-out"):
        names = told(card).names
        assert names
        for name in names:
            assert judge(card, Given(choice=(card.detail,), name=name), PLAIN).right


def test_a_part_is_drawn_on_three_neighbouring_strings_inside_the_reach() -> None:
    for card in of("left-out"):
        drawing = asked(card).drawing or ""
        assert drawing.count('class="dot"') + drawing.count('class="open"') == 3, card.id


# Whose key: box and fret → major key and relative minor, and back


def test_box_one_at_fret_one_is_a_flat_or_f_minor() -> None:
    card = read_card("whose-key:Ab:box1")
    assert say(asked(card).words) == "Box 1 starts at fret 1: whose key?"
    assert dict(asked(card).choices[0].options)["Ab"] == "A♭ · Fm"
    assert judged(card.id, choice=("Ab",)) == (True, ["Box 1 at fret 1: A♭ major and Fm, frets 1–4."])
    assert not judged(card.id, choice=("Eb",))[0]


def test_f_sharp_and_g_flat_are_one_place() -> None:
    for name in ("Fs", "Gb"):
        for choice in ("Fs", "Gb"):
            assert judged(f"whose-key:{name}:box2", choice=(choice,))[0]


def test_and_back_the_fret_of_a_key_also_an_octave_up() -> None:
    assert judged("whose-key:Ab:box1:fret", choice=("1",))[0]
    assert judged("whose-key:Ab:box1:fret", choice=("13",))[0]
    assert not judged("whose-key:Ab:box1:fret", choice=("4",))[0]
    assert say(asked(read_card("whose-key:Ab:box1:fret")).words) == "Box 1 of A♭ starts at which fret?"


def test_above_a_capo_the_fret_is_counted_from_it() -> None:
    setting = Setting(capo=1)
    card = read_card("whose-key:Ab:box1:fret")
    assert judge(card, Given(choice=("0",)), setting).right
    assert not judge(card, Given(choice=("1",)), setting).right


# Spell: chord → its notes


def test_spell_a_chord_root_first() -> None:
    assert judged("spell:Ab:4", notes=("Db", "F", "Ab")) == (True, ["D♭ is D♭ F A♭."])
    assert judged("spell:Ab:4", notes=("Db", "Ab", "F"))[0]
    assert not judged("spell:Ab:4", notes=("F", "Ab", "Db"))[0]
    assert not judged("spell:Ab:4", notes=("Db", "F"))[0]
    assert judged("spell:Gb:4", notes=("B", "Eb", "Gb")) == (
        False,
        ["These sound the same, but are written otherwise.", "C♭ is C♭ E♭ G♭."],
    )
    assert judged("spell:Ab:4", notes=("Db", "F", "H"))[1][0].startswith('Not read: no note "H"')
    assert judged("spell:Ab:4")[1][0] == "No notes were given."


def test_spell_with_double_accidentals() -> None:
    assert told(read_card("spell:Dsm:7_dim7")).notes == ("C𝄪", "E♯", "G♯", "B")
    assert judged("spell:Dsm:7_dim7", notes=("C##", "E#", "G#", "B"))[0]


# Box notes: tap the box's scale on the neck; tap the chord's tones inside the box


def test_tap_the_boxs_scale() -> None:
    card = read_card("box-notes:Ab:box1")
    spots = ((1, 1), (1, 4), (2, 1), (2, 4), (3, 1), (3, 3), (4, 1), (4, 3), (5, 1), (5, 3), (6, 1), (6, 4))
    assert told(card).spots[0] == (spots,)
    assert judge(card, Given(spots=(spots,)), PLAIN).right
    higher = tuple((string, fret + 12) for string, fret in spots)
    assert judge(card, Given(spots=(higher,)), PLAIN).right
    assert judged(card.id, spots=(spots[1:],))[1][0] == "1 more to tap."
    assert judged(card.id, spots=((*spots, (1, 2)),))[1][0] == "1 too many."
    assert judged(card.id)[1] == ["Nothing was tapped.", "Box 1 of A♭ covers frets 1–4."]


def test_tap_the_chords_tones_inside_the_box() -> None:
    card = read_card("box-notes:Ab:4:box1")
    (first,) = told(card).spots[0]
    # D♭ F A♭ between frets 1 and 4.
    assert first == ((1, 1), (1, 4), (2, 2), (3, 1), (4, 3), (5, 4), (6, 1), (6, 4))
    assert judge(card, Given(spots=(first,)), PLAIN).right


# Run and change: on the guitar against the metronome


def test_a_run_is_marked_change_by_change() -> None:
    card = read_card("run:Ab:1~4~5~1:box1")
    assert asked(card).steps == ("I", "IV", "V", "I")
    assert asked(card).beats == (4, 4, 4, 4)
    assert judged(card.id, marks=(True,) * 4) == (True, ["In A♭: A♭ D♭ E♭ A♭."])
    right, said = judged(card.id, marks=(True, False, True, False))
    assert not right
    assert said[0] == "Fumbled: number 2, 4 of 4."
    assert judged(card.id, marks=(True,))[1][0] == "Each of the 4 changes is marked right or fumbled."
    assert judged(card.id)[0] is False


@pytest.mark.parametrize("key", MAJOR_KEYS, ids=str)
def test_the_answer_of_a_run_draws_every_voicing_of_the_way(key: Key) -> None:
    """A chord may have another voicing the second time it comes."""
    setting = Setting()
    for card in running.cards(key):
        if card.detail or not fits(card, setting):
            continue
        way = running._route(card.chords, card.places(setting)[0], setting)
        drawn = answer(card, setting).drawing
        assert drawn is not None
        words = [describe(voicing.frets, voicing.chord, voicing.neck) for voicing in way.voicings]
        assert [drawn.count(each) >= words.count(each) for each in words] == [True] * len(words)


def test_a_run_with_two_chords_a_bar() -> None:
    card = read_card("run:Ab:1~4~5~1:box1:two")
    assert asked(card).beats == (2, 2, 2, 2)
    assert beats(card) == 8


def test_a_change_is_played_four_times() -> None:
    card = read_card("change:Ab:1~4:box1")
    assert asked(card).steps == ("I", "IV") * TIMES
    assert len(asked(card).beats) == 2 * TIMES == 8
    assert judged(card.id, marks=(True,) * 8)[0]
    assert not judged(card.id, marks=(True,) * 7 + (False,))[0]


def test_a_blues_and_a_minor_song_are_run_as_everybody_plays_them() -> None:
    assert asked(read_card("run:A-blues:1~4~1~5~4~1:box1")).steps == ("I7", "IV7", "I7", "V7", "IV7", "I7")
    assert asked(read_card("run:Am:1~4~5_7~1:box1")).steps == ("i", "iv", "V7", "i")


# Guide tones: tap the thirds and sevenths through a progression


def test_thirds_and_sevenths_through_two_five_one() -> None:
    """In A♭: D♭ and A♭ of B♭m7, G and D♭ of E♭7, C and G of A♭maj7."""
    card = read_card("guide-tones:Ab:2.7~5.7~1.7:box1")
    assert say(told(card).words) == ("Third and seventh: B♭m7: D♭ and A♭; E♭7: G and D♭; A♭maj7: C and G.")
    assert judged(card.id, spots=(((3, 1), (2, 2)), ((3, 0), (2, 2)), ((2, 1), (3, 0))))[0]
    right, said = judged(card.id, spots=(((3, 1), (2, 2)), ((3, 1), (2, 2)), ((2, 1), (3, 0))))
    assert not right
    assert said[0] == "E♭7: only its third and its seventh."
    right, said = judged(card.id, spots=(((3, 1), (2, 2)), ((3, 0),), ((2, 1), (3, 0))))
    assert not right
    assert said[0] == "E♭7: one third and one seventh at least."
    assert judged(card.id, spots=(((3, 1), (2, 2)),))[0] is False
    assert judged(card.id)[1][0] == "Nothing was tapped."


def test_any_third_and_any_seventh_in_the_reach_count_and_more_than_one() -> None:
    card = read_card("guide-tones:Ab:2.7~5.7~1.7:box1")
    assert judged(card.id, spots=(((5, 4), (4, 1)), ((3, 0), (2, 2)), ((2, 1), (3, 0))))[0] is False
    more = (((3, 1), (2, 2), (5, 4), (6, 4), (1, 4)), ((3, 0), (2, 2)), ((2, 1), (3, 0)))
    assert judged(card.id, spots=more)[0]


# Borrowed (♭VII in E? place it)


def test_flat_seven_in_e_place_it() -> None:
    card = read_card("borrowed:E:b7_major:box1")
    assert say(asked(card).words) == "E, box 1: place the ♭VII."
    assert told(card).chord == "D"
    assert judge(card, Given(frets=main_voicing(card, PLAIN).frets), PLAIN).right
    assert judged(card.id, frets=frets_of("xcccxx"))[0] is False


def test_the_borrowed_chords_are_those_that_charts_hold() -> None:
    for key in MAJOR_KEYS:
        numerals = {str(card.numeral) for card in of("borrowed") if card.key == key}
        assert numerals == {
            *("II", "♭VII", "VI", "III", "I7", "v", "♭III", "IV7", "II7", "III7", "iv", "♭VI", "VI7"),
        }
    assert {str(card.numeral) for card in of("borrowed") if card.key.mode == Mode.MINOR} == {"♭II"}
    assert {card.box for card in of("borrowed")} == set(BOXES)
    assert all(card.own is None for card in of("borrowed"))


# What a page is sent


def test_questions_and_answers_travel_as_json() -> None:
    import json

    for ask in ASKS:
        card = of(ask)[len(of(ask)) // 2]
        sent = json.loads(json.dumps(question(card, PLAIN).as_json()))
        assert sent["ask"] == ask
        assert set(sent["parts"]) <= {"name", "frets", "number", "hands", "choice", "spots", "notes", "marks"}
        received = json.loads(json.dumps(told(card).as_json()))
        given = {}
        if "spots" in sent["parts"]:
            given["spots"] = received["spots"][0]
        if "choice" in sent["parts"]:
            given["choice"] = received["choices"][0]
        if "name" in sent["parts"]:
            given["name"] = received["names"][0]
        if "notes" in sent["parts"]:
            given["notes"] = received["notes"]
        if "marks" in sent["parts"]:
            given["marks"] = [True] * len(sent["beats"])
        if "frets" in sent["parts"]:
            given["frets"] = [None if sign == "x" else int(sign, 36) for sign in received["frets"][0]]
        if "number" in sent["parts"]:
            given["number"] = received["numbers"][0]
        if "hands" in sent["parts"]:
            given["right"] = True
        assert judge(card, Given.read(given), PLAIN).right
