"""Any chord that a tune may hold has its cards, also one from outside its key."""

from __future__ import annotations

import pytest

from cards.asks import KEYS, CardError, Given, Setting, answer, fits, for_chord, judge, question, read_card, requires
from cards.charts.forms import FORMS, form
from cards.theory.keys import Key
from cards.theory.numerals import read_numeral

SETTING = Setting()


def ids(key: str, numeral: str, box: int = 1, setting: Setting = SETTING) -> list[str]:
    """The cards of a chord called by number."""
    home = Key.read(key)
    return [card.id for card in for_chord(home, read_numeral(numeral, home), box, setting)]


def test_a_chord_of_the_key_has_the_cards_that_everybody_has() -> None:
    assert ids("Bb", "4") == ["hands-on:Bb:4:box1", "place:Bb:4:box1"]
    assert ids("A blues", "4") == ["hands-on:A-blues:4:box1", "place:A-blues:4:box1"]


@pytest.mark.parametrize(
    ("called", "slug"),
    [("b7", "b7_major"), ("2:7", "2_7"), ("V/vi", "3_major"), ("4:m", "4_minor"), ("4/5", "4_major_on5")],
)
def test_a_chord_from_outside_has_cards_of_its_own(called: str, slug: str) -> None:
    assert ids("E", called) == [f"hands-on:E:{slug}:box1", f"borrowed:E:{slug}:box1"]


def test_a_key_that_nobody_writes_is_asked_as_players_write_it() -> None:
    assert ids("G#", "4") == ["hands-on:Ab:4:box1", "place:Ab:4:box1"]


@pytest.mark.parametrize("called", ["2:13", "5:7#9", "1:6/9", "5/7", "3:m11", "#4:dim7"])
def test_its_cards_are_asked_answered_and_judged(called: str) -> None:
    for card_id in ids("Eb", called, box=2):
        card = read_card(card_id)
        assert card.id == card_id
        right = answer(card, SETTING)
        assert question(card, SETTING).number == card.called
        on_guitar = card.ask == "hands-on"
        given = Given(right=True) if on_guitar else Given(frets=tuple(map(_fret, right.frets[0])))
        assert judge(card, given, SETTING).right


def _fret(mark: str) -> int | None:
    return None if mark == "x" else int(mark, 36)


def test_on_the_guitar_it_comes_after_the_same_by_tapping() -> None:
    on_guitar, tapped = (read_card(card_id) for card_id in ids("E", "b7"))
    assert requires(on_guitar) == (tapped.id,)


def test_every_chord_of_every_form_has_cards_in_every_box_and_key() -> None:
    for key in KEYS[::5]:
        for name in FORMS:
            for section, change in form(name, key).changes:
                assert change.numeral is not None
                assert all(for_chord(section.key, change.numeral, box, SETTING) for box in range(1, 6))


def test_a_guitar_without_room_for_the_box_has_no_card() -> None:
    assert ids("Ab", "1", box=4, setting=Setting(highest=5)) == []


@pytest.mark.parametrize(
    "card_id", ["borrowed:E:4:box1", "borrowed:E:b7_major", "place:E:b7_major:box1", "hands-on:E:9_7:box1"]
)
def test_there_are_no_other_cards(card_id: str) -> None:
    with pytest.raises(CardError, match="no card"):
        read_card(card_id)


def test_fitting_is_known_of_them_too() -> None:
    assert fits(read_card("borrowed:E:4_9:box1"), SETTING)
