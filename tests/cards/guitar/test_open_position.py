"""The open position: which keys have it as a place of its own, where it lies, and the grips that are shown there."""

from __future__ import annotations

import pytest

from cards.asks import Card, Setting, code, fits, groups, judge, path, question, read_card, requires
from cards.asks.answers import Given
from cards.asks.path import OPEN_POSITION
from cards.drawings.region import draw_region, region_title
from cards.guitar.neck import STANDARD, TUNINGS, Neck
from cards.guitar.regions import BOXES, OPEN, anchor_region, has_open_position, open_position
from cards.theory.keys import Key
from cards.theory.numerals import read_numeral
from cards.voicings.voicing import voicings
from drill.words import say
from tests.cards.everything import CARDS, PLAIN, frets_of, told

OPEN_KEYS = ("C", "G", "D", "A", "E", "Am", "Em", "Dm")
OPEN_CARDS = [card for card in CARDS if card.box == OPEN]

# Key, degree, the grip that beginners' books show, and its chord. Where a box is the open position it is that box.
GRIPS = """
C   I    x32010   C
C   ii   xx0231   Dm
C   iii  022000   Em
C   IV   xx3211   F: beside open grips nobody needs the barre over six strings
C   iv   xx3111   Fm
C   V    320003   G
C   V7   320001   G7
C   vi   x02210   Am
G   I    320003   G
G   ii   x02210   Am
G   iii  x24432   Bm: the usual barre, one fret beyond the place
G   IV   x32010   C
G   V    xx0232   D
G   V7   xx0212   D7
G   vi   022000   Em
D   I    xx0232   D
D   Imaj7 xx0222  Dmaj7
D   ii   022000   Em
D   iii  xx4222   F♯m: the small one, as for F
D   IV   320003   G
D   V    x02220   A
D   V7   x02020   A7
D   vi   x24432   Bm
A   I    x02220   A
A   Imaj7 x02120  Amaj7
A   ii   x24432   Bm
A   IV   xx0232   D
A   IVmaj7 xx0222 Dmaj7
A   V    022100   E
A   V7   020100   E7
A   vi   xx4222   F♯m
E   I    022100   E
E   ii   xx4222   F♯m
E   IV   x02220   A
E   V7   x21202   B7
Am  i    x02210   Am
Am  iv   xx0231   Dm
Am  V    022100   E
Am  V7   020100   E7
Am  III  x32010   C
Am  VI   xx3211   F
Am  VII  320003   G
Em  i    022000   Em
Em  iv   x02210   Am
Em  V7   x21202   B7
Em  III  320003   G
Em  VI   x32010   C
Em  VII  xx0232   D
Dm  i    xx0231   Dm
Dm  III  xx3211   F
Dm  V    x02220   A
Dm  V7   x02020   A7
Dm  VII  x32010   C
"""
TABLE = [line.split(maxsplit=3) for line in GRIPS.strip().splitlines()]


def place(name: str) -> tuple[Key, int]:
    """A key, and the box that is its open position; OPEN if none is."""
    key = Key.read(name)
    return key, next((box for box in BOXES if anchor_region(key, box).is_open), OPEN)


def test_a_box_is_the_open_position_where_one_lies_at_the_nut_and_otherwise_it_is_a_place_of_its_own() -> None:
    assert {name: place(name)[1] for name in OPEN_KEYS} == {
        "C": 4,
        "G": 1,
        "D": OPEN,
        "A": OPEN,
        "E": OPEN,
        "Am": 4,
        "Em": 1,
        "Dm": 2,
    }
    for name in OPEN_KEYS:
        assert has_open_position(Key.read(name)) == (place(name)[1] == OPEN)


def test_no_other_key_has_one() -> None:
    """F has a box at the nut, but its B♭ is no open grip."""
    keys = {card.key for card in CARDS} - {Key.read(name) for name in OPEN_KEYS}
    assert len(keys) == 31
    assert not any(has_open_position(key) for key in keys)
    assert not any(anchor_region(key, box).is_open for key in keys for box in BOXES)
    assert anchor_region(Key.read("F"), 2).low == 0


@pytest.mark.parametrize("name", ["D", "A", "E"])
def test_it_covers_frets_nought_to_three_with_the_notes_of_the_pentatonic(name: str) -> None:
    region = open_position(Key.read(name))
    assert (region.low, region.high, region.reach, region.place) == (0, 3, (0, 4), 1)
    scale = {note.note for note in anchor_region(Key.read(name), 1).notes}
    assert {note.note for note in region.notes} == scale
    for note in region.notes:
        assert STANDARD.pitch(note.string, note.fret) % 12 == note.note.pitch_class
    in_frets = {
        (string, fret)
        for string in range(1, 7)
        for fret in range(4)
        if STANDARD.pitch(string, fret) % 12 in {note.pitch_class for note in scale}
    }
    assert {(note.string, note.fret) for note in region.notes} == in_frets


def test_the_capo_decides_which_key_is_fretted() -> None:
    assert has_open_position(Key.read("F#"), Neck(capo=2))
    assert has_open_position(Key.read("E"), Neck(capo=2))
    assert not has_open_position(Key.read("D"), Neck(capo=2))
    assert anchor_region(Key.read("A"), 1, Neck(capo=2)).is_open
    assert has_open_position(Key.read("Db"), Neck(TUNINGS["half step down"]))
    card = read_card("place:D:1:open")
    assert fits(card, PLAIN)
    assert not fits(card, Setting(capo=2))
    assert fits(read_card("place:E:1:open"), Setting(capo=2))


@pytest.mark.parametrize(("name", "numeral", "grip", "reason"), TABLE, ids=[f"{row[0]}-{row[1]}" for row in TABLE])
def test_the_grips_that_are_shown_in_open_position(name: str, numeral: str, grip: str, reason: str) -> None:
    key, box = place(name)
    card = Card("place", key, (read_numeral(numeral, key),), box)
    assert str(card.chord) == reason.partition(":")[0]
    assert code(card.voicings(PLAIN)[0].frets) == grip


@pytest.mark.parametrize("barre", ["none", "three", "full"])
def test_the_small_f_comes_first_whatever_barres_a_player_plays_and_the_big_one_is_right_too(barre: str) -> None:
    card = read_card("place:C:4:box4")
    assert code(card.voicings(Setting(barre=barre))[0].frets) == "xx3211"
    assert judge(card, Given(frets=frets_of("133211")), PLAIN).right


def test_the_same_f_is_the_barre_where_the_place_is_not_the_open_position() -> None:
    assert code(read_card("place:C:4:box5").voicings(PLAIN)[0].frets) == "133211"
    assert code(read_card("place:F:1:box2").voicings(PLAIN)[0].frets) == "133211"


def test_every_open_string_lies_at_the_nut_of_the_drawing() -> None:
    region = open_position(Key.read("D"))
    for left_handed in (False, True):
        drawing = draw_region(region, left_handed)
        assert "neck-nut" in drawing
        assert "D major (B minor), open position, frets 0–3" in drawing
        assert "open E" in drawing


def test_a_box_that_is_the_open_position_is_called_so_as_well() -> None:
    assert region_title(anchor_region(Key.read("G"), 1)) == "G major (E minor), box 1, frets 0–3, open position"
    assert region_title(anchor_region(Key.read("Am"), 4)) == "A minor (C major), box 4, frets 0–3, open position"
    assert region_title(anchor_region(Key.read("F"), 2)) == "F major (D minor), box 2, frets 0–3"
    assert not anchor_region(Key.read("G"), 1).octave_up().is_open


def test_its_cards_are_of_the_three_keys_and_have_a_group_of_their_own() -> None:
    assert {card.key.slug for card in OPEN_CARDS} == {"D", "A", "E"}
    assert {card.ask for card in OPEN_CARDS} == {"place", "name-place", "number", "hands-on", "change", "run"}
    for card in OPEN_CARDS:
        assert ":open" in card.id
        assert read_card(card.id) is not None
        assert OPEN_POSITION in groups(card)
        assert not any(group.startswith("box:") for group in groups(card))
        assert "box:open" in card.skills
        assert all(read_card(needed).box in (None, OPEN) for needed in requires(card))
        assert len(card.places(PLAIN)) == 1
    assert path(read_card("place:D:1:open")) < path(read_card("place:D:1:box1"))


def test_what_its_questions_and_drawings_say() -> None:
    card = read_card("place:D:4:open")
    assert say(question(card, PLAIN).words) == "D, open position: place the four."
    assert question(card, PLAIN).hint == (0, 3)
    assert "G in D, open position" in (told(card).drawing or "")
    assert "320003" in told(card).frets
    run = read_card("run:D:1~4~5~1:open")
    assert say(question(run, PLAIN).words) == "D, open position: play the run."
    assert "D G A D, open position" in (told(run).drawing or "")


def test_the_voicings_at_the_nut_are_those_of_any_region_there() -> None:
    """The open position is no special case of the search: G box 1 and the same frets in D hold the same grips."""
    chord = Key.read("D").chord(4)
    boxed, own = anchor_region(Key.read("G"), 1), open_position(Key.read("D"))
    assert [each.frets for each in voicings(chord, boxed)] == [each.frets for each in voicings(chord, own)]
