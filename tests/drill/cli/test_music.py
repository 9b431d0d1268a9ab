"""``drill chord``, ``drill route`` and ``drill sheet``: what they print, and how they say what is wrong."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import click
import pytest
from click.testing import CliRunner, Result

from cards.asks import code
from cards.guitar.fingering import Hand
from cards.guitar.neck import TUNINGS, Neck
from cards.guitar.regions import BOXES, anchor_region
from cards.theory.keys import BLUES_KEYS, MAJOR_KEYS, MINOR_KEYS, Key
from cards.theory.numerals import read_numeral
from cards.voicings.routes import smoothest
from cards.voicings.small import SPREAD
from cards.voicings.voicing import voicings, worth_knowing
from drill.cli import music

TONES = {"R", "b3", "3", "b5", "5", "b7", "7", "2", "6", "9"}


DEGREE_HELP = (
    "write a number 1–7 or a numeral like IV or ii, "
    "with its quality behind it if it is not the key's own, like 2:7 or bVII"
)
KEY_HELP = "a key is a letter A–G with ♯ or ♭, like B♭, and m for minor, like F♯m"


@click.group()
def main() -> None:
    """The command with the music's part alone."""


music.register(main)


def run(*words: str) -> Result:
    return CliRunner().invoke(main, list(words))


def listed(*words: str) -> dict[str, Any]:
    result = run("chord", *words, "--json")
    assert result.exit_code == 0, result.stderr
    data: dict[str, Any] = json.loads(result.stdout)
    return data


def refused(*words: str) -> str:
    """The one line on stderr of a command that ends with 2."""
    result = run(*words)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.exception is None or isinstance(result.exception, SystemExit)
    line = result.stderr
    assert line.endswith("\n")
    assert line.count("\n") == 1
    return line.strip()


# drill chord in the terminal


def test_the_four_of_a_flat_in_box_one() -> None:
    result = run("chord", "Ab", "4", "--box", "1")
    assert result.exit_code == 0
    assert result.stderr == ""
    head, notes, empty, first, *diagram = result.stdout.splitlines()[:11]
    assert head == "D♭: the four of A♭ (IV), box 1, frets 1–4"
    assert notes == "D♭ F A♭"
    assert empty == ""
    assert first.startswith("1. C shape, root in the bass, stretch 97 mm (wide), effort ")
    assert diagram == [
        "    6  5  4  3  2  1",
        "    ×              ×",
        "  1 │  │  │  5  │  │",
        "  2 │  │  │  │  R  │",
        "  3 │  │  3  │  │  │",
        "  4 │  R  │  │  │  │",
        "       4  3  1  2      fingers",
    ]


def test_box_one_unless_told_otherwise() -> None:
    assert run("chord", "Ab", "4").stdout == run("chord", "Ab", "4", "--box", "1").stdout
    assert run("sheet", "Ab").stdout == run("sheet", "Ab", "--box", "1").stdout


@pytest.mark.parametrize("key", ["Ab", "A♭", "ab", "a♭"])
@pytest.mark.parametrize("degree", ["4", "IV"])
def test_key_and_degree_in_every_spelling(key: str, degree: str) -> None:
    assert run("chord", key, degree).stdout == run("chord", "Ab", "4").stdout


def test_the_answer_says_what_is_left_out_and_what_lies_outside() -> None:
    everything = run("chord", "Ab", "3", "--seventh", "--all").stdout
    assert "one fret outside the region" in everything
    assert "without the fifth" in everything
    assert "in the bass" in everything


def test_partials_say_what_they_are_part_of() -> None:
    shown = run("chord", "Ab", "4").stdout
    assert "C shape, third in the bass, part of voicing 1" in shown


@pytest.mark.parametrize("key", [*MAJOR_KEYS, *MINOR_KEYS, *BLUES_KEYS], ids=str)
def test_every_chord_of_every_box_is_shown(key: Key) -> None:
    for box in BOXES:
        for degree in key.degrees:
            result = run("chord", str(key), str(degree), "--box", str(box))
            assert result.exit_code == 0
            assert result.stdout.startswith(f"{key.chord(degree)}: the ")


# drill chord --json


def test_the_json_has_the_parts_in_their_order() -> None:
    data = listed("Ab", "4")
    assert list(data)[:7] == ["key", "degree", "numeral", "chord", "tones", "region", "voicings"]
    assert list(data)[7:] == ["capo", "fretted", "tuning"]
    assert data["key"] == "A♭"
    assert data["degree"] == 4
    assert data["numeral"] == "IV"
    assert data["chord"] == "D♭"
    assert data["tones"] == ["D♭", "F", "A♭"]
    assert data["region"] == {"box": 1, "low": 1, "high": 4}
    first = data["voicings"][0]
    assert list(first) == [
        *("strings", "barres", "shapes", "left_out", "bass", "stretch_mm", "wide", "effort", "outside"),
        *("position", "moves", "hand_stays", "drop", "called", "part_of", "becomes"),
    ]
    assert first["strings"] == [
        {"string": 6, "fret": None, "finger": None, "tone": None},
        {"string": 5, "fret": 4, "finger": 4, "tone": "R"},
        {"string": 4, "fret": 3, "finger": 3, "tone": "3"},
        {"string": 3, "fret": 1, "finger": 1, "tone": "5"},
        {"string": 2, "fret": 2, "finger": 2, "tone": "R"},
        {"string": 1, "fret": None, "finger": None, "tone": None},
    ]
    assert first["shapes"] == ["C"]
    assert first["barres"] == []
    assert first["bass"] == "R"
    assert first["outside"] == 0
    assert first["part_of"] is None


def test_a_barre_in_the_json() -> None:
    main_voicing = listed("Ab", "6")["voicings"][0]
    assert main_voicing["barres"] == [{"finger": 1, "fret": 1, "from": 6, "to": 1}]


def test_an_open_string_is_fret_0_without_a_finger() -> None:
    string_3 = listed("G", "1")["voicings"][0]["strings"][3]
    assert string_3 == {"string": 3, "fret": 0, "finger": None, "tone": "R"}


def test_the_seventh_of_seven_is_half_diminished() -> None:
    data = listed("Ab", "7", "--seventh")
    assert (data["numeral"], data["chord"], data["tones"]) == ("viiø7", "Gm7♭5", ["G", "B♭", "D♭", "F"])


def strummed(data: dict[str, Any]) -> list[dict[str, Any]]:
    """The listed voicings but for the spread triads at the end, which are plucked."""
    return [each for each in data["voicings"] if sounding(each) not in SPREAD]


def sounding(voicing: dict[str, Any]) -> tuple[int, ...]:
    return tuple(each["string"] for each in voicing["strings"] if each["tone"])


def frets_of(voicing: dict[str, Any]) -> tuple[int | None, ...]:
    return tuple(string["fret"] for string in voicing["strings"])


def test_the_main_voicing_comes_first_then_rising_effort() -> None:
    for words in (("Ab", "4"), ("E", "5", "--seventh"), ("G", "7", "--box", "4")):
        key, degree = Key.read(words[0]), int(words[1])
        box = 4 if "--box" in words else 1
        found = voicings(key.chord(degree, "--seventh" in words), anchor_region(key, box))
        data = listed(*words, "--all")
        assert [frets_of(each) for each in strummed(data)] == [voicing.frets for voicing in found]
        efforts = [each["effort"]["total"] for each in strummed(data)[1:]]
        assert efforts == sorted(efforts)


def test_spread_triads_come_last() -> None:
    data = listed("Ab", "4")
    assert sounding(data["voicings"][-1]) in SPREAD
    assert data["voicings"][: len(strummed(data))] == strummed(data)
    assert strummed(listed("Ab", "4", "--seventh")) == listed("Ab", "4", "--seventh")["voicings"]


def test_where_the_full_grip_moves_the_index_one_that_does_not_is_listed_beside_it() -> None:
    found = listed("C", "2", "--seventh", "--box", "2")["voicings"]
    called = {each["called"]: each for each in found if each["called"]}
    assert frets_of(called["full"]) == (10, None, 10, 10, 10, None)
    assert (called["full"]["position"], called["full"]["moves"], called["full"]["drop"]) == (9, 2, 3)
    assert frets_of(called["hand stays"]) == (10, 8, 10, 7, None, None)
    assert called["hand stays"]["hand_stays"]
    assert called["hand stays"]["moves"] == 0
    printed = run("chord", "C", "2", "--seventh", "--box", "2").stdout
    assert "1. full, drop 3, E shape" in printed
    assert "index at 9, moves up 2" in printed
    assert "hand stays" in printed


def test_without_all_there_are_the_main_voicing_and_what_is_worth_knowing() -> None:
    key = Key.read("Ab")
    found = voicings(key.chord(4), anchor_region(key, 1))
    frets = [frets_of(each) for each in strummed(listed("Ab", "4"))]
    assert frets == [found[0].frets, *(voicing.frets for voicing in worth_knowing(found))]
    assert len(strummed(listed("Ab", "4", "--all"))) == len(found) > len(frets)


@pytest.mark.parametrize(
    "words",
    [
        ("Ab", "4"),
        ("C", "7", "--seventh"),
        ("G", "1"),
        ("F#", "3", "--box", "3"),
        ("F#m", "V7"),
        ("Eb", "b7"),
        ("A", "4/5"),
        ("Bb", "2:m7b5"),
        ("C", "1:6/9"),
        ("A blues", "4"),
        ("D", "1", "--tuning", "drop D"),
        ("A", "4", "--capo", "2"),
        ("D", "1/3", "--thumb"),
    ],
)
def test_every_voicing_in_the_json_is_told_rightly(words: tuple[str, ...]) -> None:
    data = listed(*words, "--all")
    for each in data["voicings"]:
        assert [string["string"] for string in each["strings"]] == [6, 5, 4, 3, 2, 1]
        tones = [string["tone"] for string in each["strings"] if string["fret"] is not None]
        assert set(tones) <= TONES
        assert each["bass"] == tones[0]
        for string in each["strings"]:
            assert (string["finger"] is None) == (not string["fret"])
            assert string["finger"] in (None, 1, 2, 3, 4, "T")
        parts = dict(each["effort"])
        total = parts.pop("total")
        assert set(parts) == {"stretch", "fingers", "barre", "mutes", "place"}
        assert total == pytest.approx(sum(parts.values()), abs=0.001)
        low, high = data["region"]["low"], data["region"]["high"]
        frets = [string["fret"] for string in each["strings"] if string["fret"] is not None]
        assert each["outside"] == max(max(low - fret, fret - high, 0) for fret in frets)
        if each["part_of"] is not None:
            whole = data["voicings"][each["part_of"]]["strings"]
            pairs = list(zip(each["strings"], whole, strict=True))
            assert all(mine["fret"] in (None, its["fret"]) for mine, its in pairs)
            assert any(mine["fret"] is None and its["fret"] is not None for mine, its in pairs)


def test_names_print_the_trades_glyphs() -> None:
    result = run("chord", "G#", "7", "--json")
    data = json.loads(result.stdout)
    assert data["chord"] == "F𝄪°"
    assert "F𝄪" in result.stdout


# What is wrong


def test_a_theoretical_key_is_answered_with_the_practical_name_as_a_hint() -> None:
    result = run("chord", "G#", "4")
    assert result.exit_code == 0
    assert result.stdout.startswith("C♯: the four of G♯ (IV)")
    assert result.stderr == "G♯ major is usually written A♭.\n"


@pytest.mark.parametrize(
    ("degree", "said"),
    [
        ("VIIb", 'no degree "VIIb": the accidental stands in front, write ♭VII'),
        ("7b", 'no degree "7b": the accidental stands in front, write ♭VII'),
        ("8", f'no degree "8": {DEGREE_HELP}'),
        ("four", f'no degree "four": {DEGREE_HELP}'),
        ("", f'no degree "": {DEGREE_HELP}'),
        ("2:foo", 'no chord "2:foo": "foo" is no quality; write m, 7, maj7 or m7b5'),
        ("4/9", 'no bass "9" in "4/9": write a degree 1–7, like 4/5'),
    ],
)
def test_a_wrong_degree_in_one_line(degree: str, said: str) -> None:
    assert refused("chord", "Ab", degree) == said
    assert refused("chord", "Ab", degree, "--json") == said


@pytest.mark.parametrize(
    ("degree", "head", "said"),
    [
        ("iv", "D♭m: the iv of A♭ (iv)", "iv is read as D♭m, a borrowed chord; the key's own is IV, D♭."),
        ("II", "B♭: the II of A♭ (II)", "II is read as B♭, a borrowed chord; the key's own is ii, B♭m."),
        ("VII", "G: the VII of A♭ (VII)", "VII is read as G, a borrowed chord; the key's own is vii°, G°."),
    ],
)
def test_a_borrowed_chord_is_shown_and_what_it_was_taken_for_is_said(degree: str, head: str, said: str) -> None:
    result = run("chord", "Ab", degree)
    assert result.exit_code == 0
    assert result.stdout.startswith(head)
    assert result.stderr == f"{said}\n"


@pytest.mark.parametrize("degree", ["iv", "v", "III", "VI", "V7/IV", "IV/V", "V/VII", "V7/C"])
def test_chord_and_route_read_a_degree_alike(degree: str) -> None:
    assert listed("C", degree)["chord"] == routed(degree, "--key", "C")["steps"][0]["chord"]


def test_the_other_reading_of_a_slash_is_one_option_away() -> None:
    asked = run("chord", "C", "V7/IV")
    assert asked.stdout.startswith("C7: the V7/IV of C")
    assert asked.stderr == "V7/IV is read as C7, which leads to the chord behind the slash; as a bass it is G7/F.\n"
    other = run("chord", "C", "V7/IV", "--slash", "bass")
    assert other.stdout.startswith("G7/F: the V7/4 of C")
    assert other.stderr == "V7/IV is read as G7/F: a bass behind the slash; leading there it is C7.\n"
    assert routed("V7/IV", "--key", "C", "--slash", "bass")["steps"][0]["chord"] == "G7/F"


@pytest.mark.parametrize(
    ("key", "named"),
    [
        ("A Blues", "A blues"),
        ("B flat", "B♭"),
        ("F sharp minor", "F♯m"),
        ("Fis", "F♯"),
        ("C dur", "C"),
        ("H", "B"),
    ],
)
def test_keys_as_players_write_them(key: str, named: str) -> None:
    result = run("chord", key, "4")
    assert result.exit_code == 0
    assert result.stdout == run("chord", named, "4").stdout
    assert result.stderr == ("H is read as B major, by its German letters.\n" if key == "H" else "")


def test_what_is_long_is_not_repeated_whole() -> None:
    long = "x" * 500
    for words in (("chord", long, "4"), ("chord", "C", long), ("route", long, "--key", "C"), ("sheet", long)):
        assert long not in refused(*words)
    assert long not in refused("chord", "C", "4", "--tuning", long)
    assert long not in refused("route", "1", "--key", "C", "--keep", long)


@pytest.mark.parametrize("key", ["X", "", "Bb7", "4"])
def test_a_wrong_key_in_one_line(key: str) -> None:
    assert refused("chord", key, "4") == f'no key "{key}": {KEY_HELP}'
    assert refused("sheet", key) == f'no key "{key}": {KEY_HELP}'
    assert refused("route", "1 4", "--key", key) == f'no key "{key}": {KEY_HELP}'


NAMED_TUNINGS = ", ".join(TUNINGS)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--capo", "12"), "a capo lies on fret 0 (none) to 11, not 12"),
        (
            ("--tuning", "D A D G B"),
            f'no tuning "D A D G B": name one ({NAMED_TUNINGS}), or six notes low to high, like D A D G B E',
        ),
    ],
)
def test_a_guitar_that_there_is_not_in_one_line(words: tuple[str, ...], said: str) -> None:
    assert refused("chord", "Ab", "4", *words) == said
    assert refused("route", "1 4", "--key", "Ab", *words) == said


def test_a_seventh_is_for_the_keys_own_chords() -> None:
    said = "--seventh is for the key's own chords: write the quality, like b7:7, instead"
    assert refused("chord", "E", "b7", "--seventh") == said


def test_a_hand_is_one_of_three() -> None:
    result = run("chord", "Ab", "4", "--hand", "huge")
    assert result.exit_code == 2
    assert "'small', 'medium', 'large'" in result.stderr


@pytest.mark.parametrize("box", ["0", "6", "-1"])
def test_a_wrong_box_in_one_line(box: str) -> None:
    assert refused("chord", "Ab", "4", "--box", box) == f'no box "{box}": a box is a number from 1 to 5, or "open"'
    assert refused("sheet", "Ab", "--box", box) == f'no box "{box}": a box is a number from 1 to 5, or "open"'


def test_a_missing_word_is_a_usage_error() -> None:
    result = run("chord", "Ab")
    assert result.exit_code == 2
    assert "Missing argument 'DEGREE'" in result.stderr


# Any degree, key, guitar and hand


@pytest.mark.parametrize(
    ("words", "numeral", "chord", "tones"),
    [
        (("F#m", "V7"), "V7", "C♯7", "C♯ E♯ G♯ B"),
        (("F#m", "5"), "v", "C♯m", "C♯ E G♯"),
        (("Eb", "b7"), "♭VII", "D♭", "D♭ F A♭"),
        (("A", "4/5"), "IV/5", "D/E", "D F♯ A E"),
        (("Bb", "2:m7b5"), "iiø7", "Cm7♭5", "C E♭ G♭ B♭"),
        (("A blues", "4"), "IV7", "D7", "D F♯ A C"),
        (("C", "V7/vi"), "V7/vi", "E7", "E G♯ B D"),
        (("Am", "vii°7"), "vii°7", "G♯°7", "G♯ B D F"),
    ],
)
def test_any_degree_of_any_key(words: tuple[str, ...], numeral: str, chord: str, tones: str) -> None:
    data = listed(*words)
    assert (data["numeral"], data["chord"], " ".join(data["tones"])) == (numeral, chord, tones)
    assert data["voicings"]


def test_a_capo_shows_both_names() -> None:
    shown = run("chord", "A", "4", "--capo", "2").stdout
    assert "capo 2: sounding D in A, fretted as C in G; frets count from the capo" in shown
    data = listed("A", "4", "--capo", "2")
    assert (data["chord"], data["capo"]) == ("D", 2)
    assert data["fretted"] == {"key": "G", "chord": "C"}
    plain = listed("G", "4")
    assert data["region"] == plain["region"]
    assert [each["fret"] for each in data["voicings"][0]["strings"]] == [
        each["fret"] for each in plain["voicings"][0]["strings"]
    ]
    assert plain["fretted"] == {"key": "G", "chord": "C"}


def test_another_tuning_changes_the_frets_and_names_no_shape() -> None:
    data = listed("D", "1", "--tuning", "drop D", "--all")
    assert data["tuning"] == [38, 45, 50, 55, 59, 64]
    region = anchor_region(Key.read("D"), 1, Neck(TUNINGS["drop D"]))
    assert data["region"] == {"box": 1, "low": region.low, "high": region.high}
    for each in data["voicings"]:
        if each["strings"][0]["fret"] is not None:
            assert not {"E", "G"} & set(each["shapes"])
    assert "shape" not in run("chord", "D", "1", "--tuning", "drop D").stdout


def test_a_hand_changes_what_is_offered_and_wide_stretches_are_marked() -> None:
    key = Key.read("Ab")
    counts = []
    for hand in ("small", "medium", "large"):
        data = listed("Ab", "4", "--all", "--hand", hand)
        assert len(strummed(data)) == len(voicings(key.chord(4), anchor_region(key, 1), Hand(hand)))
        counts.append(len(data["voicings"]))
    assert counts == sorted(counts)
    assert counts[0] < counts[-1]
    held = {voicing.frets for voicing in voicings(key.chord(4), anchor_region(key, 1), Hand("small"))}
    for each in strummed(listed("Ab", "4", "--all")):
        # What is not marked wide, a small hand holds as well.
        assert each["wide"] or tuple(string["fret"] for string in each["strings"]) in held
    assert any(each["wide"] for each in listed("Ab", "4", "--all")["voicings"])
    assert "(wide)" in run("chord", "Ab", "4", "--all").stdout


def test_what_is_offered_where_there_is_no_voicing_helps() -> None:
    small = ("chord", "F#", "1:13", "--hand", "small")
    shown = run(*small, "--box", "4").stdout
    mend = re.search(r"No voicing here for this hand: try box (\d), or a medium hand\.", shown)
    assert mend
    assert "No voicing" not in run(*small, "--box", mend[1]).stdout
    assert "No voicing" not in run("chord", "F#", "1:13", "--hand", "medium", "--box", "4").stdout
    nowhere = run("chord", "C", "4", "--tuning", "E E E E E E").stdout
    assert "No voicing for this hand here or in another box, and none for a larger hand." in nowhere


def test_a_thumb_is_finger_t() -> None:
    fingers = {
        string["finger"]
        for each in listed("D", "1/3", "--box", "4", "--all", "--thumb")["voicings"]
        for string in each["strings"]
    }
    plain = {
        string["finger"] for each in listed("D", "1/3", "--box", "4", "--all")["voicings"] for string in each["strings"]
    }
    assert "T" in fingers
    assert "T" not in plain


# drill route


def routed(*words: str) -> dict[str, Any]:
    result = run("route", *words, "--json")
    assert result.exit_code == 0, result.stderr
    data: dict[str, Any] = json.loads(result.stdout)
    return data


def test_the_smoothest_way_through_one_six_two_five() -> None:
    data = routed("1 6- 2-7 5", "--key", "Eb", "--box", "1")
    assert list(data) == ["key", "region", "steps", "travel_mm", "cost", "manner", "name", "why", "others"]
    assert data["region"] == {"box": 1, "low": 8, "high": 11}
    assert [(step["numeral"], step["chord"]) for step in data["steps"]] == [
        ("I", "E♭"),
        ("vi", "Cm"),
        ("ii7", "Fm7"),
        ("V", "B♭"),
    ]
    key = Key.read("Eb")
    chords = tuple(read_numeral(text, key).chord(key) for text in ("1", "6-", "2-7", "5"))
    way = smoothest(chords, anchor_region(key, 1))
    assert (data["travel_mm"], data["cost"]) == (way.travel_mm, way.cost)
    for step, voicing in zip(data["steps"], way.voicings, strict=True):
        assert tuple(string["fret"] for string in step["voicing"]["strings"]) == voicing.frets
        assert list(step["voicing"])[:3] == ["strings", "barres", "shapes"]
    assert "change" not in data["steps"][0]
    for step, moved in zip(data["steps"][1:], way.changes, strict=True):
        assert list(step["change"]) == [
            *("travel_mm", "held", "new_fingers", "shape", "cost"),
            *("lifted", "index", "top", "bass", "ringing", "why"),
        ]
        assert step["change"]["held"] == moved.held


def test_a_way_in_the_terminal() -> None:
    result = run("route", "1 6- 2-7 5", "--key", "Eb", "--box", "1")
    assert result.exit_code == 0
    assert result.stderr == ""
    lines = result.stdout.splitlines()
    assert lines[0].startswith("Box 1, frets 8–11: fingers travel ")
    heads = [line.partition(":")[0] for line in lines if line.split(" ")[0] in ("I", "vi", "ii7", "V")]
    assert heads == ["I E♭", "vi Cm", "ii7 Fm7", "V B♭"]
    assert result.stdout.count("fingers\n") == 4


def codes(data: dict[str, Any]) -> list[str]:
    """The ways as codes: a is fret ten, b eleven, c twelve."""
    return [code(tuple(string["fret"] for string in step["voicing"]["strings"])) for step in data["steps"]]


def test_the_way_where_the_hand_stays_and_the_one_whose_top_voice_falls() -> None:
    asked = ("1 5 6- 4", "--key", "Eb", "--manner", "small")
    stays, falls = routed(*asked, "--hand-stays"), routed(*asked, "--top-voice")
    assert (stays["name"], codes(stays)) == ("Hand stays.", ["xx888x", "xxxaba", "xxx888", "xxx898"])
    assert (falls["name"], codes(falls)) == ("Top voice falls by steps.", ["xxxcbb", "xxxaba", "xxx888", "xxx898"])
    assert stays["why"] == ["Top voice G D C C.", "Index at 8 9 8 8.", "One finger stays."]
    assert [other["name"] for other in stays["others"]] == ["Small.", "Top voice falls by steps."]
    assert stays["steps"][1]["change"]["why"] == [
        "Index at 9, moves up 1.",
        "Three fingers are set down anew.",
        "Top voice up to D.",
    ]
    shown = run("route", *asked, "--hand-stays").stdout
    assert "Hand stays. Top voice G D C C. Index at 8 9 8 8. One finger stays.\n" in shown
    said = "Another way: xxx(12)(11)(11) xxx(10)(11)(10) xxx888 xxx898. Top voice falls by steps.\n"
    assert shown.endswith(said)


def test_open_grips_are_kept_whole() -> None:
    data = routed("6- 4 1 5", "--key", "C", "--box", "4", "--strings", "4")
    assert codes(data) == ["x02210", "xx3211", "x32010", "320003"]


def test_a_note_is_kept_on_top() -> None:
    data = routed("6- 1 4maj7 5", "--key", "G", "--box", "3", "--keep", "B")
    assert data["why"][0] == "B on top in 3 of 4."
    assert refused("route", "1 4", "--key", "G", "--keep", "X").startswith('no note "X"')


def test_the_manners_of_playing() -> None:
    for manner, fewest, most in (("strum", 4, 6), ("comp", 4, 4), ("small", 3, 3)):
        data = routed("1 6- 4 5", "--key", "A", "--box", "2", "--manner", manner)
        assert data["manner"] == manner
        assert all(fewest <= 6 - each.count("x") <= most for each in codes(data))
    assert "'strum', 'comp', 'small'" in run("route", "1", "--key", "A", "--manner", "rock").stderr


def test_the_hand_and_the_top_voice_do_not_lead_both() -> None:
    said = "--hand-stays and --top-voice are two ways: ask for one of them"
    assert refused("route", "1 4", "--key", "A", "--hand-stays", "--top-voice") == said


@pytest.mark.parametrize("text", ["1-5-6-4", "1,5,6-,4", "1, 5, 6-, 4", "1 5 6- 4", "1 – 5 – 6 – 4", "|1|5|6-|4|"])
def test_a_progression_as_players_type_it(text: str) -> None:
    steps = routed(text, "--key", "C")["steps"]
    assert [step["chord"] for step in steps] == ["C", "G", "Am", "F"]


def test_a_lone_pair_says_that_it_was_taken_for_two_chords() -> None:
    assert run("route", "1-6", "--key", "C").stderr == "1-6 is two chords; it could be 1:m6.\n"


def test_bars_are_no_chords() -> None:
    assert run("route", "| 1 | 4 | 5 |", "--key", "G").stdout == run("route", "1 4 5", "--key", "G").stdout


def test_a_way_with_as_many_strings_as_are_asked_for() -> None:
    """Where no voicing of a chord has so many, the ones that there are."""
    key = Key.read("A")
    for strings in (3, 4, 5):
        data = routed("1 4 5 1", "--key", "A", "--strings", str(strings))
        for step in data["steps"]:
            found = voicings(key.chord(step["degree"]), anchor_region(key, 1))
            most = max(voicing.strings for voicing in found)
            sounding = sum(string["fret"] is not None for string in step["voicing"]["strings"])
            assert sounding >= strings or most < strings


def test_a_way_above_a_capo_and_for_another_hand() -> None:
    capo = routed("1 4 5", "--key", "A", "--capo", "2")
    assert capo["region"] == routed("1 4 5", "--key", "G")["region"]
    for progression in ("1 4 5", "1 6- 2-7 5"):
        small = routed(progression, "--key", "A", "--hand", "small")
        assert not any(step["voicing"]["wide"] for step in small["steps"])


@pytest.mark.parametrize(
    ("progression", "said"),
    [
        ("", 'no chords: write numbers or numerals with spaces between, like "1 6- 2-7 5"'),
        (" | ", 'no chords: write numbers or numerals with spaces between, like "1 6- 2-7 5"'),
        ("1 9", f'no degree "9": {DEGREE_HELP}'),
        ("1 4/", 'no bass "" in "4/": write a degree 1–7, like 4/5'),
    ],
)
def test_a_wrong_progression_in_one_line(progression: str, said: str) -> None:
    assert refused("route", progression, "--key", "Eb") == said
    assert refused("route", progression, "--key", "Eb", "--json") == said


def test_a_way_in_a_box_that_does_not_exist() -> None:
    refusal = refused("route", "1 4", "--key", "Eb", "--box", "6")
    assert refusal == 'no box "6": a box is a number from 1 to 5, or "open"'


# drill sheet


@pytest.mark.parametrize(
    ("key", "title"),
    [("Am", "A minor (C major), box 1, frets 5–8"), ("A blues", "A blues (A minor box), box 1, frets 5–8")],
)
def test_a_sheet_of_a_minor_key_and_of_a_blues(key: str, title: str) -> None:
    result = run("sheet", key)
    assert result.exit_code == 0
    assert ElementTree.fromstring(result.stdout)[0].text == title


def test_a_sheet_goes_to_the_terminal() -> None:
    result = run("sheet", "Bb", "--box", "2")
    assert result.exit_code == 0
    svg = ElementTree.fromstring(result.stdout)
    assert svg[0].text == "B♭ major (G minor), box 2, frets 5–8"


def test_a_sheet_goes_to_a_file(tmp_path: Path) -> None:
    file = tmp_path / "bb.svg"
    result = run("sheet", "Bb", "-o", str(file))
    assert result.exit_code == 0
    assert result.stdout == f"Wrote {file}.\n"
    assert file.read_text(encoding="utf-8") == run("sheet", "Bb").stdout.rstrip("\n")
    ElementTree.parse(file)


def test_a_file_that_cannot_be_written_is_one_line(tmp_path: Path) -> None:
    file = tmp_path / "missing" / "bb.svg"
    assert refused("sheet", "Bb", "-o", str(file)).startswith(f"cannot write {file}: ")


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    assert refused("sheet", "Bb", "-o", str(tmp_path)).startswith(f"cannot write {tmp_path}: ")


def test_small_voicings_of_a_triad_are_its_inversions_close_and_spread() -> None:
    found = listed("Bb", "4", "--small")["voicings"]
    assert {voicing["bass"] for voicing in found} == {"R", "3", "5"}
    for voicing in found:
        strings = sounding(voicing)
        assert strings in SPREAD or strings == tuple(range(strings[0], strings[0] - 3, -1))
        assert voicing["becomes"] == []


def test_small_voicings_of_a_seventh_chord_are_shells_and_what_a_part_becomes() -> None:
    found = listed("Bb", "2", "--seventh", "--small")["voicings"]
    assert ["5"] in [voicing["left_out"] for voicing in found], "a shell: root, third, seventh"
    assert next(voicing["becomes"] for voicing in found if voicing["left_out"] == ["R"]) == ["E♭"]
    assert "without the root, which makes it E♭" in run("chord", "Bb", "2", "--seventh", "--small").output
