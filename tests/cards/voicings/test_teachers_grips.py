"""Grips that a good teacher would show, written from the trade: the main voicings must be among them.

Each row is a key, a number, a box, the grips that are right there (string 6 first, ``(10)`` is fret
ten; more than one where teachers differ), and the reason. The rules of ``cards.voicings.main_voicing`` produce
them; nothing there knows this table.
"""

from __future__ import annotations

import re

import pytest

from cards.asks import Setting, code
from cards.asks.card import Pin, read_id
from cards.asks.judging import Wanted, judge_frets
from cards.asks.placing import accepted_frets, find, main_voicing
from cards.guitar.fingering import MEDIUM, Frets, Hand
from cards.guitar.neck import STANDARD, STRINGS
from cards.guitar.regions import BOXES, anchor_region
from cards.theory.keys import BLUES_KEYS, MAJOR_KEYS, MINOR_KEYS, Key
from cards.theory.numerals import read_numeral
from cards.voicings.voicing import Voicing, hand_stays_beside, voicings

TABLE = """
# Open chords, where the region touches the nut
G      I       1  320003               the open G
G      ii      1  x02210               the open Am
G      iii     1  x24432               Bm has no open grip: the A shape with a barre
G      IV      1  x32010               the open C
G      V       1  xx0232               the open D
G      vi      1  022000               the open Em
C      I       4  x32010               the open C
C      ii      4  xx0231               the open Dm
C      iii     4  022000               the open Em
C      V       4  320003               the open G
C      vi      4  x02210               the open Am
E      I       3  022100               the open E
E      IV      3  x02220               the open A
B      IV      5  022100               the open E, where the region begins at fret 1
G      II      1  x02220               the open A
G      VI      1  022100               the open E
F      ii      2  310033               the open Gm, six strings
F      vi      2  xx0231               the open Dm
# Open sevenths
G      V7      1  xx0212               the open D7
G      Imaj7   1  320002               the open Gmaj7
G      ii7     1  x02010               the open Am7
G      IVmaj7  1  x32000               the open Cmaj7
G      vi7     1  020000 022030        the open Em7
G      III7    1  x21202               the open B7, not the barre x24242
Em     V7      1  x21202               the open B7
E      V7      3  x21202               the open B7, where the region begins at fret 1
G      VI7     1  020100               the open E7
C      V7      4  320001               the open G7 with its fifth, not 323003 without it
G blues I7     5  320001               the open G7 in a blues
C      Imaj7   4  x32000               the open Cmaj7
C      vi7     4  x02010               the open Am7
C      iii7    4  020000 022030        the open Em7
C      ii7     4  xx0211               the open Dm7
C      I7      4  x32310               the open C7
C      II7     4  xx0212               the open D7
F      IVmaj7  1  x(13)(12)(10)(10)x   B♭maj7: four strings of the C shape
C      IVmaj7  4  xx3210               the open Fmaj7
E      IVmaj7  3  x02120               the open Amaj7
E      Imaj7   3  021100               the open Emaj7
# Slash, added and suspended chords at the nut
G      V/7     1  2x0232 200232        D/F♯ with the bass on string 6
C      I/3     4  032010               C/E with the bass on string 6
E      I/3     3  4x2400 422100        E/G♯ with open strings
E      IV/6    3  x42220               A/C♯ with open strings
G      I/3     1  x20003 x20033        G/B with the bass on string 5
C      Iadd9   4  x32033               Cadd9: the nine above the third, no second at C3
G      IVadd9  1  x32033               the same in G
G      IIsus4  1  x02230               Asus4 with a fifth over the root
G      VIsus4  1  022200               Esus4 with a fifth over the root
E      Isus4   3  022200               the same in E
G      Vsus4   1  xx0233               the open Dsus4
G      Vsus2   1  xx0230               the open Dsus2
G      IIsus2  1  x02200               the open Asus2
# E and A shapes with a barre: the index in the region, whatever notes it bars
C      IV      5  133211               F: the index lies at fret 1 in 1332xx too
Eb     IV      5  466544               A♭: the same
Ab     IV      5  9(11)(11)(10)99      D♭: the same, not the D shape
F      IV      5  688766               B♭: the same
G      IV      5  8(10)(10)988         C: the same
A      IV      5  (10)(12)(12)(11)(10)(10)  D: the same
Ab     iii     3  8(10)(10)888         Cm: the index lies at fret 8 in xx(10)888 too
G      iii     3  799777               Bm: the same
A      I       2  577655               the E shape of A
C      V       5  355433               the E shape of G
C      vi      1  577555               the E shape of Am
Bb     vi      1  355333               the E shape of Gm
Ab     vi      1  133111               the E shape of Fm
A      IV      2  x57775 x5777x        the A shape of D
C      I       5  x35553 x3555x        the A shape of C
Ab     ii      1  x13321               the A shape of B♭m
Ab     iii     1  x35543               the A shape of Cm, one fret above the region
Ab     V       1  xx1343               the D shape of E♭
C      V       1  xx5787               the D shape of G
C      iii     5  xx2453               the D shape of Em
# G and C shapes beyond the nut: four strings
C      I       1  8755xx               the G shape of C
A      I       1  5422xx               the G shape of A
Bb     I       1  6533xx               the G shape of B♭
D      I       1  (10)977xx            the G shape of D
Ab     I       1  4311xx               the G shape of A♭, not 43111x at 97 mm
Eb     IV      3  4311xx               A♭ there too
D      V       4  5422xx               the G shape of A
C      IV      1  x8756x               the C shape of F
Ab     IV      1  x4312x               the C shape of D♭
A      V       2  x7645x               the C shape of E
D      I       4  x5423x               the C shape of D
C      ii      2  (10)877xx            the minor G shape of Dm
E      ii      2  (14)(12)(11)(11)xx   F♯m: not two barres
G      ii      2  5322xx               the minor G shape of Am
C      ii      5  x5323x               the minor C shape of Dm
# Diminished triads: four strings
E      vii     4  x6787x               D♯°: more strings are not better
C      vii     4  x2343x               B°
# Sevenths: drop 3 with the root on string 6, drop 2 with it on string 5 or 4
Ab     ii7     2  6x666x               B♭m7: one string muted
C      ii7     2  (10)x(10)(10)(10)x   Dm7: the full grip, though the index moves
Am     i7      5  5x555x               Am7: one string muted
Am     im6     5  5x455x               Am6: one string muted
Am     iiø7    1  7x776x               Bø
C      viiø7   1  7x776x               Bø, the same in C
G      I°7     1  3x232x               G°7
Am     iiø7    4  x2323x               Bø: four strings
Cm     iiø7    5  x5656x               Dø: four strings
C      Imaj7   5  x3545x               Cmaj7 with its fifth, not 97 mm without it
D      IVmaj7  3  x(10)(12)(11)(12)x   Gmaj7: drop 2 near the region
C      IVmaj7  2  x8(10)9(10)x         Fmaj7: drop 2
C      Imaj7   1  8x998x               Cmaj7: drop 3
A      Imaj7   2  5x665x               Amaj7: drop 3
C      IVmaj7  5  xx3555               Fmaj7 in the D shape
C      V7      5  353433               G7 with a barre
C      ii7     1  x57565 x5756x        Dm7 in the A shape
C      iii7    5  xx2433               Em7 in the D shape
C      V7      3  x(10)(12)(10)(12)(10) x(10)(12)(10)(12)x  G7 in the A shape
C      V7      2  x(10)9(10)8x         G7 in the C shape
C      V7      1  xx5767               G7 in the D shape
D      V7      4  5x565x 575655        A7
# Blues: whole grips in the region
A blues I7     1  575655               A7 inside frets 5 to 8, not xx7989
A blues IV7    1  x57575 x5757x        D7 in the A shape
A blues V7     2  x79797 x7979x        E7 in the A shape
A blues IV7    4  xx0212               the open D7
A blues I7     4  x02020               the open A7
G blues I7     1  353433               G7 inside frets 3 to 6
G blues IV7    1  x35353 x3535x        C7
E blues I7     1  020100               the open E7
E blues IV7    1  x02020               the open A7
E blues V7     1  x21202               the open B7
D blues IV7    3  353433               G7 inside frets 2 to 6
C blues V7     4  353433               G7 inside the region
# Minor keys
Am     i       1  577555               the E shape
Am     iv      1  x57765 x5776x        the A shape of Dm
Am     V       4  022100               the open E
Am     V7      4  020100               the open E7
Am     i       4  x02210               the open Am
Am     iv      4  xx0231               the open Dm
Em     i       1  022000               the open Em
Em     iv      1  x02210               the open Am
Cm     V7      4  353433               G7 inside the region, not the D shape outside
Cm     i       1  8(10)(10)888         the E shape
# Altered chords and tensions: above the third, nothing crowded in the bass
G      V7#9    2  x5456x               D7♯9, the ♯9 above the third
G      V7#9    3  x5456x               D7♯9, four strings
C      Imaj9   5  x3243x               Cmaj9 without a low second
C      I9      5  x32333 x3233x        C9
C      I6/9    5  x32233               C6/9
C      V13     5  3x345x 353455 353453  G13
C      ii9     5  x5355x               Dm9
"""

_FRET = re.compile(r"\((\d+)\)|(\d)|(x)")
_ROW = re.compile(r"(?P<key>\S+(?: blues)?) +(?P<number>\S+) +(?P<box>[1-5])  (?P<grips>[x\d() ]+?)  +(?P<why>\S.*)")
ROWS = [match.group("key", "number", "box", "grips", "why") for match in map(_ROW.match, TABLE.splitlines()) if match]
NAMES = [f"{key}-{number}-box{box}" for key, number, box, _, _ in ROWS]
NO_BARRE, THREE_STRINGS = Hand(barre="none"), Hand(barre="three")


def frets_of(grip: str) -> Frets:
    """Six frets of a grip as a teacher writes it."""
    return tuple(None if muted else int(high or low) for high, low, muted in _FRET.findall(grip))


def written(frets: Frets) -> str:
    """A grip as a teacher writes it."""
    return "".join("x" if fret is None else str(fret) if fret < 10 else f"({fret})" for fret in frets)


def main_of(key: str, number: str, box: int, hand: Hand = MEDIUM) -> Voicing:
    in_key = Key.read(key)
    return voicings(read_numeral(number, in_key).chord(in_key), anchor_region(in_key, box), hand)[0]


def fingers_of(voicing: Voicing) -> str:
    return "".join(str(finger) for finger in voicing.grip.fingers if finger is not None)


def test_every_row_is_read() -> None:
    lines = [line for line in TABLE.splitlines() if line and not line.startswith("#")]
    assert len(ROWS) == len(set(NAMES)) == len(lines) > 120
    assert all(len(frets_of(grip)) == 6 for *_, grips, _ in ROWS for grip in grips.split())


@pytest.mark.parametrize(("key", "number", "box", "grips", "why"), ROWS, ids=NAMES)
def test_the_main_voicing_is_what_a_teacher_shows(key: str, number: str, box: str, grips: str, why: str) -> None:
    assert written(main_of(key, number, int(box)).frets) in grips.split(), why


@pytest.mark.parametrize(
    ("key", "number", "box", "grip", "fingers"),
    [
        ("G", "ii", 2, "5322xx", "4211"),
        ("Bb", "vi7", 1, "3x333x", "2333"),
        ("Am", "i7", 5, "5x555x", "2333"),
        ("C", "ii7", 4, "xx0211", "211"),
        ("C", "IV", 5, "133211", "134211"),
        ("C", "viiø7", 1, "7x776x", "2341"),
        ("C", "Imaj7", 5, "x3545x", "1324"),
        ("E", "IV/6", 3, "x42220", "4123"),
    ],
)
def test_it_is_fingered_as_a_teacher_does(key: str, number: str, box: int, grip: str, fingers: str) -> None:
    main = main_of(key, number, box)
    assert written(main.frets) == grip
    assert fingers_of(main) == fingers


# Beyond the nut the same grip in all keys


@pytest.mark.parametrize("keys", [MAJOR_KEYS, MINOR_KEYS, BLUES_KEYS], ids=["major", "minor", "blues"])
def test_a_degree_in_a_box_takes_the_same_grip_in_every_key_beyond_the_nut(keys: tuple[Key, ...]) -> None:
    for box in BOXES:
        for degree in keys[0].degrees:
            for seventh in (False, True):
                forms = set()
                for key in keys:
                    region = anchor_region(key, box)
                    frets = voicings(key.chord(degree, seventh), region)[0].frets
                    if region.low > 1:
                        forms.add(tuple(None if fret is None else fret - region.low for fret in frets))
                assert len(forms) == 1, (box, degree, seventh)


def test_a_small_hand_takes_another_grip_only_where_it_must() -> None:
    small = Hand("small")
    for key in MAJOR_KEYS:
        for box in BOXES:
            region = anchor_region(key, box)
            for degree in key.degrees:
                chord = key.chord(degree)
                usual, own = voicings(chord, region)[0].frets, voicings(chord, region, small)
                if own and own[0].frets != usual and region.low > 1:
                    assert usual not in {voicing.frets for voicing in own}, (key, box, degree)


# Position


@pytest.mark.parametrize(
    ("key", "number", "box", "position", "moves"),
    [
        ("C", "IV", 5, 1, -1),
        ("C", "ii7", 2, 9, 2),
        ("Ab", "iii", 3, 8, 3),
        ("C", "Imaj7", 5, 3, 1),
        ("G", "I", 1, 2, 1),
        ("A blues", "I7", 1, 5, 0),
        ("C", "I", 4, 1, 0),
    ],
)
def test_the_position_is_where_the_index_is_or_would_be(
    key: str, number: str, box: int, position: int, moves: int
) -> None:
    main = main_of(key, number, box)
    assert (main.position, main.moves) == (position, moves)
    assert main.hand_stays == (abs(moves) <= 1)


def test_where_the_full_grip_moves_the_hand_one_that_stays_is_shown_beside_it() -> None:
    for name, number, box, full, staying in (
        ("C", "ii7", 2, "(10)x(10)(10)(10)x", "(10)8(10)7xx"),
        ("Ab", "ii7", 2, "6x666x", "6463xx"),
        ("Am", "i7", 5, "5x555x", "5352xx"),
    ):
        key = Key.read(name)
        chord, region = read_numeral(number, key).chord(key), anchor_region(key, box)
        beside = hand_stays_beside(chord, region)
        assert written(voicings(chord, region)[0].frets) == full
        assert beside is not None
        assert beside.hand_stays
        assert written(beside.frets) == staying


def test_a_grip_with_which_the_hand_stays_has_none_beside_it() -> None:
    for key in MAJOR_KEYS:
        for box in BOXES:
            region = anchor_region(key, box)
            for degree in key.degrees:
                main = voicings(key.chord(degree), region)[0]
                beside = hand_stays_beside(key.chord(degree), region)
                assert beside is None or (not main.hand_stays and beside.hand_stays)


# Barres


@pytest.mark.parametrize(
    ("key", "number", "box", "three", "none"),
    [
        ("C", "IV", 5, "1332xx xx3211", "1332xx"),
        ("Eb", "IV", 5, "4665xx xx6544", "4665xx"),
        ("Ab", "iii", 3, "xx(10)888", "8655xx 8(10)(10)8xx xx(10)888"),
        ("G", "iii", 1, "x2443x", "x2443x"),
        ("E", "IV", 3, "x02220", "x02220"),
    ],
)
def test_without_full_barres_the_smaller_grips_are_right(
    key: str, number: str, box: int, three: str, none: str
) -> None:
    smaller = main_of(key, number, box, THREE_STRINGS)
    assert written(smaller.frets) in three.split()
    assert smaller.fingered.barre_strings <= 3
    without = main_of(key, number, box, NO_BARRE)
    assert written(without.frets) in none.split()
    assert without.fingered.barre_strings == 1


@pytest.mark.parametrize("hand", [NO_BARRE, THREE_STRINGS], ids=["none", "three"])
def test_a_barre_setting_puts_grips_that_keep_to_it_first_and_takes_none_away(hand: Hand) -> None:
    for key in MAJOR_KEYS[::4]:
        for box in BOXES:
            region = anchor_region(key, box)
            for degree in key.degrees:
                for seventh in (False, True):
                    chord = key.chord(degree, seventh)
                    found = voicings(chord, region, hand)
                    assert {voicing.frets for voicing in found} == {each.frets for each in voicings(chord, region)}
                    barred = [voicing.fingered.barre_strings > hand.barre_strings for voicing in found]
                    assert barred == sorted(barred)


# A player's own grip


def test_a_pinned_grip_is_shown_first() -> None:
    card = read_id("place:C:4:box5")
    pin = Pin(card.key, card.chord, 5, frets_of("xx3211"))
    setting = Setting(pins=(pin,))
    assert main_voicing(card, setting).frets == pin.frets
    assert main_voicing(card, Setting()).frets == frets_of("133211")
    assert {each.frets for each in card.voicings(setting)} == {each.frets for each in card.voicings(Setting())}


def test_a_pin_counts_for_its_own_chord_key_and_box() -> None:
    card = read_id("place:C:4:box5")
    setting = Setting(pins=(Pin(card.key, card.chord, 5, frets_of("xx3211")),))
    for other in ("place:C:4:box4", "place:C:5:box5", "place:F:1:box5"):
        assert read_id(other).voicings(setting) == read_id(other).voicings(Setting())


def test_a_pin_that_is_no_voicing_there_is_not_shown() -> None:
    card = read_id("place:C:4:box5")
    setting = Setting(pins=(Pin(card.key, card.chord, 5, frets_of("x02210")),))
    assert card.voicings(setting) == card.voicings(Setting())


# The band plays the bass


@pytest.mark.parametrize(
    ("card_id", "grip"),
    [
        ("place:C:1:box1", "8755xx"),
        ("place:C:1:box5", "332xxx"),
        ("place:F:1:box1", "x(12)(10)(10)xx"),
        ("borrowed:C:1_7:box1", "x7858x"),
    ],
)
def test_with_a_band_that_plays_the_bass_an_inversion_on_the_low_strings_is_right(card_id: str, grip: str) -> None:
    card = read_id(card_id)
    frets = frets_of(grip)
    band = Setting(band=True)
    assert find(card, frets, band).right
    assert code(frets) in accepted_frets(card, band)
    is_rooted = card.chord.tone_at(STANDARD.pitch(*_lowest(frets)) % 12) == card.chord.bass_tone
    assert find(card, frets, Setting()).right == is_rooted


def _lowest(frets: Frets) -> tuple[int, int]:
    """String and fret of the lowest string that sounds."""
    return next((string, fret) for string, fret in zip(STRINGS, frets, strict=True) if fret is not None)


def test_a_bass_that_is_asked_for_is_not_left_to_the_band() -> None:
    key = Key.read("C")
    wanted = Wanted(key, read_numeral("I/3", key), (anchor_region(key, 4),), any_bass=True)
    assert judge_frets(frets_of("032010"), wanted).right
    assert not judge_frets(frets_of("x32010"), wanted).right
