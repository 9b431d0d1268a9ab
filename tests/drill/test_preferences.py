"""What a player may set, and what is said to a value that cannot be."""

from __future__ import annotations

import pytest

from drill.preferences import PreferenceError, Preferences


def test_a_b_flat_is_understood_however_it_is_written() -> None:
    assert Preferences().changed({"keys": ["bb", "Bb", "B♭", "F#", "G#"]}).keys == ("B♭", "F♯", "A♭")


def test_what_is_not_named_stays() -> None:
    before = Preferences(keys=("E♭",), tempo=96, left_handed=True)
    assert before.changed({"tempo": 120.0}) == Preferences(keys=("E♭",), tempo=120, left_handed=True)


@pytest.mark.parametrize(
    ("name", "value", "sentence"),
    [
        ("keys", ["H"], 'no key "H": a key is a letter A–G with ♯ or ♭, like B♭'),
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
        ("capo", 2, 'no setting "capo"'),
    ],
)
def test_a_value_that_cannot_be_is_named(name: str, value: object, sentence: str) -> None:
    with pytest.raises(PreferenceError) as caught:
        Preferences().changed({name: value})
    assert caught.value.field == name
    assert str(caught.value).startswith(sentence)
