"""What a player may set, and what is said to a value that cannot be."""

from __future__ import annotations

import pytest

from cards.asks import Setting
from cards.guitar.neck import TUNINGS
from drill.planning.repertoire import group_sizes
from drill.players.preferences import PreferenceError, Preferences, read_setting


def test_a_b_flat_is_understood_however_it_is_written() -> None:
    assert Preferences().changed({"keys": ["bb", "Bb", "B♭", "F#", "G#"]}).keys == ("B♭", "F♯", "A♭")


def test_minor_keys_and_blues_are_keys_too() -> None:
    assert Preferences().changed({"keys": ["Am", "f# minor", "Abm", "a blues"]}).keys == ("Am", "F♯m", "G♯m", "A blues")


def test_the_guitar_the_hand_and_the_band_are_what_the_music_depends_on() -> None:
    body = {
        "hand": "large",
        "thumb": True,
        "band": True,
        "barre": "three",
        "tuning": "D A D G B E",
        "capo": 2,
        "frets": 20,
        "scale_mm": 628,
        "highest": 14,
        "richer": True,
        "left_handed": True,
    }
    preferences = Preferences().changed(body)
    assert read_setting(preferences) == Setting(
        hand="large",
        left_handed=True,
        richer=True,
        thumb=True,
        band=True,
        barre="three",
        tuning=TUNINGS["drop D"],
        capo=2,
        frets=20,
        scale_mm=628.0,
        highest=14,
    )
    assert preferences.as_json() | body == preferences.as_json()
    assert read_setting(Preferences()) == Setting()


@pytest.mark.parametrize("tuning", [*TUNINGS, "DADGAD", " open g ", "Eb Ab Db Gb Bb Eb"])
def test_a_tuning_is_kept_as_it_was_written(tuning: str) -> None:
    preferences = Preferences().changed({"tuning": tuning})
    assert preferences.tuning == tuning.strip()
    assert read_setting(preferences).neck.tuning


def test_any_group_can_be_switched_off_and_each_says_how_many_cards_it_holds() -> None:
    sizes = group_sizes()
    assert sizes["sevenths"] == 3971
    assert sizes["ask:run"] == 1070
    assert sizes["open position"] == 216
    assert Preferences().switched_off == ("open position",)
    assert all(count > 0 for count in sizes.values())
    off = ("sevenths", "minor keys", "box:3", "ask:run")
    assert Preferences().changed({"switched_off": [*off, "sevenths"]}).switched_off == off
    assert Preferences(switched_off=off).changed({"switched_off": []}).switched_off == ()


def test_one_kind_of_question_stays_on() -> None:
    asks = [group for group in group_sizes() if group.startswith("ask:")]
    assert Preferences().changed({"switched_off": asks[1:]}).switched_off == tuple(asks[1:])
    with pytest.raises(PreferenceError, match="one kind of question at least has to stay on"):
        Preferences().changed({"switched_off": asks})


def test_what_is_not_named_stays() -> None:
    before = Preferences(keys=("E♭",), tempo=96, left_handed=True)
    assert before.changed({"tempo": 120.0}) == Preferences(keys=("E♭",), tempo=120, left_handed=True)


@pytest.mark.parametrize(
    ("name", "value", "sentence"),
    [
        ("keys", ["X"], 'no key "X": a key is a letter A–G with ♯ or ♭, like B♭, and m for minor, like F♯m'),
        ("keys", "E", 'keys are a list of names, like ["B♭", "E♭"]'),
        ("keys", [4], 'keys are a list of names, like ["B♭", "E♭"]'),
        ("left_handed", "yes", '"left_handed" is true or false'),
        ("hand", "huge", "a hand is small, medium or large"),
        ("tempo", 300, "a tempo is from 30 to 240 beats a minute, not 300"),
        ("tempo", float("nan"), "a tempo is from 30 to 240 beats a minute, written as a number"),
        ("minutes", 1, "a session lasts from 2 to 20 minutes, not 1"),
        ("minutes", 2.5, "a session lasts from 2 to 20 minutes, not 2.5"),
        ("minutes", True, "a session lasts from 2 to 20 minutes, written as a number"),
        ("day_start", 24, "a day starts at an hour from 0 to 23, not 24"),
        ("zone", "Middle/Earth", 'no time zone "Middle/Earth": it is a name like Europe/Rome'),
        ("zone", "../../etc/passwd", 'no time zone "../../etc/passwd": it is a name like Europe/Rome'),
        ("zone", None, 'no time zone "None": it is a name like Europe/Rome'),
        ("keys", ["B♭7"], 'no key "B♭7": a key is a letter A–G'),
        ("capo", 12, "a capo lies on fret 0 (none) to 11, not 12"),
        ("capo", -1, "a capo lies on fret 0 (none) to 11, not -1"),
        ("capo", "2", "a capo lies on fret 0 (none) to 11, written as a number"),
        ("frets", 11, "a neck has 12 to 24 frets, not 11"),
        ("frets", 25, "a neck has 12 to 24 frets, not 25"),
        ("frets", 21.5, "a neck has 12 to 24 frets, not 21.5"),
        ("highest", 4, "the highest comfortable fret is from 5 to 24, not 4"),
        ("highest", 25, "the highest comfortable fret is from 5 to 24, not 25"),
        ("scale_mm", 499, "a scale length is from 500 to 750 mm"),
        ("scale_mm", 751, "a scale length is from 500 to 750 mm"),
        ("scale_mm", "648", "a scale length is from 500 to 750 mm"),
        ("tuning", "D A D G B", 'no tuning "D A D G B": name one (standard, drop D'),
        ("tuning", 4, "a tuning is its name, or six notes low to high, like D A D G B E"),
        ("tuning", "", 'no tuning ""'),
        ("thumb", 1, '"thumb" is true or false'),
        ("barre", "half", "barres are none, three (strings) or full"),
        ("barre", ["full"], "barres are none, three (strings) or full"),
        ("band", None, '"band" is true or false'),
        ("switched_off", ["ask:sing"], 'no group "ask:sing": there are ask:name, '),
        ("switched_off", "sevenths", "groups switched off are a list of names"),
        ("switched_off", [3], "groups switched off are a list of names"),
        ("strings", 7, 'no setting "strings": there are keys, left_handed, hand'),
    ],
)
def test_a_value_that_cannot_be_is_named(name: str, value: object, sentence: str) -> None:
    with pytest.raises(PreferenceError) as caught:
        Preferences().changed({name: value})
    assert caught.value.field == name
    assert str(caught.value).startswith(sentence)


def test_the_days_of_practice_are_kept_in_the_order_of_the_week() -> None:
    assert Preferences().days == ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
    assert Preferences().changed({"days": ["sat", "mon", "sat"]}).days == ("mon", "sat")
    for wrong in ([], ["monday"], "mon", [1]):
        with pytest.raises(PreferenceError, match="one at least of mon, tue"):
            Preferences().changed({"days": wrong})


def test_cards_say_why_they_are_asked_only_if_wanted() -> None:
    assert Preferences().why is False
    assert Preferences().changed({"why": True}).why is True
