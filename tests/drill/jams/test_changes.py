"""Where a night changes its chord, and how long each change may take."""

from __future__ import annotations

import pytest

from cards.asks import Setting
from drill.jams.changes import ChordChange, changes_of, measured_changes
from tests.drill.nights import a_chart, a_night, blues, vamp

SETTING = Setting()


def read(text: str, tempo: int = 60, boxes: tuple[int, ...] = (1,), key: str = "C") -> tuple[ChordChange, ...]:
    return changes_of(a_night(("A tune", a_chart(text, key), tempo), boxes=boxes), SETTING)


def chords(changes: tuple[ChordChange, ...]) -> list[str]:
    return [str(each.numeral.chord(each.key)) for each in changes]


def test_four_bars_of_the_one_are_one_change() -> None:
    changes = changes_of(a_night(("Slow blues", blues(), 60)), SETTING)
    assert chords(changes) == ["B♭7", "E♭7", "B♭7", "F7", "E♭7", "B♭7", "F7"]
    assert [each.bar for each in changes] == [1, 5, 7, 9, 10, 11, 12]
    assert [each.opens for each in changes] == [True] + 6 * [False]


def test_a_change_lasts_as_long_as_its_chord_but_a_bar_at_most() -> None:
    changes = read("| C | C | F G | G | C . . F | F |", tempo=120)
    assert chords(changes) == ["C", "F", "G", "C", "F"]
    assert [each.lasts for each in changes] == [2.0, 1.0, 2.0, 1.5, 2.0]


def test_a_rest_between_two_of_a_kind_is_no_change() -> None:
    assert chords(read("| C | N.C. | C | F |")) == ["C", "F"]


def test_another_bass_is_another_chord() -> None:
    assert chords(read("| C | C/E | F | C |")) == ["C", "C/E", "F", "C"]


def test_what_a_section_repeats_counts_each_time() -> None:
    changes = read("[Verse]\n| Am F | C G | x2\n[Bridge]\n| Bb | C |")
    assert [(each.section, each.bar) for each in changes][-2:] == [("Bridge", 1), ("Bridge", 2)]
    assert len(changes) == 10


def test_every_box_of_the_jam_is_played_through() -> None:
    changes = read("| C | F |", boxes=(1, 3))
    assert [(each.box, str(each.numeral)) for each in changes] == [(1, "I"), (1, "IV"), (3, "I"), (3, "IV")]


def test_open_is_the_place_nearest_to_the_nut_and_counts_once_where_a_box_is_that_place() -> None:
    """In D it is a place of its own, in G it is box 1, in E♭ the nut is nearest in box 3."""
    in_d = read("| 1 | 4 |", boxes=(0,), key="D")
    assert {change.box for change in in_d} == {0}
    assert [card.id for card in in_d[1].cards] == ["hands-on:D:4:open", "place:D:4:open"]
    in_g = read("| 1 | 4 |", boxes=(0, 1, 2), key="G")
    assert [change.box for change in in_g] == [1, 1, 2, 2]
    assert {change.box for change in read("| 1 | 4 |", boxes=(0,), key="Eb")} == {3}


def test_a_chord_from_outside_the_key_has_cards_in_open_position() -> None:
    borrowed = read("| 1 | b7 |", boxes=(0,), key="D")[1]
    assert [card.id for card in borrowed.cards] == ["hands-on:D:b7_major:open", "borrowed:D:b7_major:open"]


def test_tunes_count_in_the_order_of_the_set_list() -> None:
    changes = changes_of(a_night(("Slow blues", blues(), 60), ("Vamp", vamp(), 120)), SETTING)
    assert [(each.entry, each.title) for each in changes][-2:] == [(1, "Vamp"), (1, "Vamp")]
    assert changes[-1].lasts == 2.0


def test_the_card_answered_more_often_shows_it_and_of_two_the_one_on_the_guitar() -> None:
    (one,) = read("| C |")
    assert one.shown_by({}, ()).id == "hands-on:C:1:box1"
    assert one.shown_by({"hands-on:C:1:box1": 2, "place:C:1:box1": 2}, ()).id == "hands-on:C:1:box1"
    assert one.shown_by({"place:C:1:box1": 1}, ()).id == "place:C:1:box1"


def test_what_is_switched_off_shows_it_only_where_nothing_else_can() -> None:
    (one,) = read("| C |")
    assert one.shown_by({"hands-on:C:1:box1": 9}, ("ask:hands-on",)).id == "place:C:1:box1"
    assert one.shown_by({}, ("box:1",)).id == "hands-on:C:1:box1"


def test_a_chord_without_room_on_the_guitar_is_there_without_a_card() -> None:
    changes = changes_of(a_night(("A tune", a_chart("| Ab | Db |", "Ab"), 60), boxes=(1, 4)), Setting(highest=5))
    assert [bool(each.cards) for each in changes] == [True, True, False, False]
    assert [each.change.box for each in measured_changes(changes, {}, ())] == [1, 1]


@pytest.mark.parametrize(("reviews", "granted"), [({}, 1.5), ({"place:C:1:box1": 1}, 5.5)])
def test_the_time_allowed_is_the_changes_and_what_the_ask_grants(reviews: dict[str, int], granted: float) -> None:
    (one,) = measured_changes(read("| C |", tempo=80), reviews, ())
    assert one.allowed == pytest.approx(3.0 + granted)
