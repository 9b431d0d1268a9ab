"""A tune on one sheet, checked by hand on small forms and against trying every way."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby, pairwise, product

import pytest

from cards.asks import Setting, code
from cards.charts import Options, read_chart
from cards.charts.forms import FORMS, form
from cards.guitar.neck import Neck
from cards.guitar.regions import anchor_region
from cards.theory.keys import Key
from cards.tune_sheet import SHEET_MANNER, TuneSheet, tune_sheet
from cards.voicings.routes import change, voicing_cost
from cards.voicings.voicing import Voicing, voicings

SETTING = Setting()


def sheet(text: str, key: str = "Eb", box: int = 1, setting: Setting = SETTING) -> TuneSheet:
    return tune_sheet(read_chart(f"Key: {key}\n{text}"), box, setting)


def numbers(made: TuneSheet) -> str:
    return " ".join(str(cell.number) for cell in made.cells)


def names(made: TuneSheet) -> str:
    return " ".join(str(cell.chord) for cell in made.cells)


def codes(made: TuneSheet) -> list[str]:
    return [code(grip.voicing.frets) for place in made.places for grip in place.grips]


def test_a_slow_blues_in_b_flat() -> None:
    made = tune_sheet(form("12-bar blues", Key.read("Bb")), 1, SETTING)
    assert numbers(made) == "17 17 17 17 47 47 17 17 57 47 17 57"
    assert names(made) == "B♭7 B♭7 B♭7 B♭7 E♭7 E♭7 B♭7 B♭7 F7 E♭7 B♭7 F7"
    (part,), (place,) = made.parts, made.places
    assert [bar.again for bar in part.bars] == [False, True, True, True, False, True, False, True] + [False] * 4
    assert (place.region.low, place.region.high) == (6, 9)
    assert [(str(grip.numbers[0]), str(grip.sounds)) for grip in place.grips] == [
        ("17", "B♭7"),
        ("47", "E♭7"),
        ("57", "F7"),
    ]


def test_a_bar_is_not_the_same_again_over_the_end_of_a_line() -> None:
    (part,) = sheet("1 4 5 1  1 4 4 5").parts
    assert [bar.again for bar in part.bars] == [False] * 6 + [True, False]


@pytest.mark.parametrize("name", FORMS)
def test_every_voicing_of_every_form_is_of_its_chord_and_inside_where_it_can_be(name: str) -> None:
    for box in (1, 4):
        made = tune_sheet(form(name, Key.read("F")), box, SETTING)
        (place,) = made.places
        assert {str(cell.chord) for cell in made.cells} == {str(grip.sounds) for grip in place.grips}
        for grip in place.grips:
            every = voicings(grip.sounds, place.region, SETTING.fingers)
            assert grip.voicing in every
            assert not grip.voicing.outside or all(other.outside for other in every)


def _choices(chord: object, made: TuneSheet) -> list[Voicing]:
    """What the way may take, said anew: four strings inside, else three inside, else what there is."""
    every = voicings(chord, made.places[0].region, SETTING.fingers)  # type: ignore[arg-type]
    inside = [each for each in every if each.outside == 0] or list(every)
    return [each for each in inside if each.strings >= 4] or inside


@pytest.mark.parametrize("text", ["1 4 57 1", "1 1 6- 6- 2-7", "4 b7 1"])
def test_no_other_way_is_smoother(text: str) -> None:
    made = sheet(text, "A", 2)
    steps = [chord for chord, _ in groupby(cell.chord for cell in made.cells)]

    rows = [_choices(chord, made) for chord in steps]

    def cost(way: tuple[Voicing, ...]) -> float:
        alone = sum(voicing_cost(each, row, SHEET_MANNER) for each, row in zip(way, rows, strict=True))
        return alone + sum(change(a, b, SHEET_MANNER).cost for a, b in pairwise(way))

    best = min(map(cost, product(*rows)))
    by_mark = {(str(grip.sounds), grip.mark): grip.voicing for grip in made.places[0].grips}
    ours = [by_mark[key] for key, _ in groupby((str(cell.chord), cell.mark) for cell in made.cells)]
    assert cost(tuple(ours)) == pytest.approx(best)


def test_voicings_of_one_chord_are_told_apart_by_letters_in_bars_and_drawings() -> None:
    made = tune_sheet(form("blues turnaround", Key.read("A")), 1, SETTING)
    assert [cell.mark for cell in made.cells if str(cell.chord) == "A7"] == ["a", "b"]
    assert [grip.mark for grip in made.places[0].grips if str(grip.sounds) == "A7"] == ["a", "b"]
    assert {cell.mark for cell in made.cells if str(cell.chord) != "A7"} == {""}


def test_a_chord_that_stays_keeps_its_voicing_also_over_a_rest() -> None:
    assert codes(sheet("1 1 N.C. 1 4")) == codes(sheet("1 4"))


def test_behind_a_capo_the_frets_are_those_of_the_shapes() -> None:
    chart = read_chart("{key: A}\n{capo: 2}\n| G | C | D7 | Em |", Options(capo_key="sounding"))
    made = tune_sheet(chart, 4, SETTING)
    assert names(made) == "A D E7 F♯m"
    assert " ".join(str(cell.shape) for cell in made.cells) == "G C D7 Em"
    assert [str(grip.shape) for grip in made.places[0].grips] == ["G", "C", "D7", "Em"]
    region = anchor_region(Key.read("G"), 4)
    for grip in made.places[0].grips:
        assert grip.voicing.frets in {each.frets for each in voicings(grip.shape, region)}
    assert (made.places[0].region.low, made.places[0].region.high) == (region.low, region.high)


def test_the_tunes_capo_counts_and_not_the_players() -> None:
    chart = read_chart("Key: G\n1 4 5 1")
    with_capo = Setting(capo=5)
    assert codes(tune_sheet(chart, 1, with_capo)) == codes(tune_sheet(chart, 1, SETTING))
    assert tune_sheet(chart.with_capo(3), 1, SETTING).places[0].grips[0].voicing.neck.capo == 3


def test_a_minor_tune_is_numbered_as_it_was_kept() -> None:
    chart = read_chart("{key: Am}\n| Am | F | E7 | Am |")
    from_tonic = replace(chart, options=replace(chart.options, minor_from="tonic"))
    relative = replace(chart, options=replace(chart.options, minor_from="relative"))
    assert numbers(tune_sheet(from_tonic, 1, SETTING)) == "1- ♭6 57 1-"
    assert numbers(tune_sheet(relative, 1, SETTING)) == "6- 4 37 6-"


def test_a_chord_without_a_voicing_is_played_as_the_plainer_one_and_says_so() -> None:
    made = sheet("1 vi11/5")
    grip = made.places[0].grips[1]
    assert (str(grip.sounds), [str(each) for each in grip.instead_of]) == ("Cm11", ["Cm11/B♭"])
    assert names(made) == "E♭ Cm11/B♭"


def test_a_chord_that_no_hand_reaches_is_missing_and_the_rest_is_there() -> None:
    """Strings 4 and 3 in unison leave a hand no B between frets 9 and 12."""
    unison = Setting(hand="small", tuning=(40, 45, 50, 50, 59, 64))
    made = sheet("1 4 1 5", "E", 1, unison)
    assert [str(chord) for chord in made.places[0].missing] == ["B"]
    assert list(dict.fromkeys(str(grip.sounds) for grip in made.places[0].grips)) == ["E", "A"]
    assert names(made) == "E A E B"


def test_beyond_the_highest_fret_nothing_is_drawn_but_the_bars_are_there() -> None:
    made = sheet("1 4 5 1", "Ab", 4, Setting(highest=5))
    assert (made.places[0].room, made.places[0].grips, made.places[0].missing) == (False, (), ())
    assert names(made) == "A♭ D♭ E♭ A♭"


def test_another_key_is_another_place_of_the_hand() -> None:
    made = sheet("[Verse]\n1 4 5 1\nKey of F\n[Verse]\n1 4 5 1")
    assert [str(place.key) for place in made.places] == ["E♭", "F"]
    assert [place.region.low for place in made.places] == [8, 10]


def test_a_tune_in_another_tuning_sounds_the_same() -> None:
    drop_d = Setting(tuning=(38, 45, 50, 55, 59, 64))
    neck = Neck((38, 45, 50, 55, 59, 64))
    for grip in sheet("1 4 5 1", "D", 1, drop_d).places[0].grips:
        pitches = {neck.pitch(6 - at, fret) % 12 for at, fret in enumerate(grip.voicing.frets) if fret is not None}
        assert pitches <= {note.pitch_class for note in grip.sounds.notes}


def test_a_drawing_says_in_words_what_it_is_and_can_be_for_a_left_hand() -> None:
    chart = read_chart("{key: A}\n{capo: 2}\n| G |", Options(capo_key="sounding"))
    grip = tune_sheet(chart, 1, SETTING).places[0].grips[0]
    drawing = grip.drawing(left_handed=False)
    assert "<title>A as G behind the capo, box 1</title>" in drawing
    assert f"<desc>{grip.words}</desc>" in drawing
    assert grip.drawing(left_handed=True) != drawing


def test_marks_of_a_chart_are_on_the_sheet() -> None:
    cells = list(sheet("| <4 . . 5 | (1) | <1> |").cells)
    assert [(cell.pushed, cell.held, cell.optional, cell.uneven, cell.beats) for cell in cells] == [
        (True, False, False, True, 3),
        (False, False, False, True, 1),
        (False, False, True, False, 4),
        (False, True, False, False, 4),
    ]


def test_a_tune_of_nothing_is_an_empty_sheet() -> None:
    assert tune_sheet(read_chart(""), 1, SETTING).parts == ()
