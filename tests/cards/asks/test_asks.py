"""Every card there is: its id, what it asks without giving it away, what it accepts and refuses."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cards.asks import (
    ASKS,
    MODES,
    Card,
    CardError,
    Given,
    Setting,
    allowance,
    answer,
    beats,
    code,
    difficulty,
    judge,
    path,
    question,
    read_card,
)
from cards.asks.placing import find
from cards.guitar.fingering import HAND_SCALE
from cards.guitar.regions import BOXES
from cards.theory.keys import DEGREES, Key, Mode
from cards.theory.numerals import own_numeral
from drill.words import say
from tests.cards import oracle
from tests.cards.everything import CARDS, PLAIN, asked, frets_of, of, told, words_of

GOLDEN = Path(__file__).with_name("golden_ids.txt")
RICHER = Setting(richer=True)
NUMERALS = {"I", "II", "III", "IV", "V", "VI", "VII", "i", "ii", "iii", "iv", "v", "vi", "vii"}
FIRST_ASKS = ("name", "place", "name-place", "number", "hands-on")
"""The asks of the first drill: their cards in major keys are the first 3,822."""


def major(*asks: str) -> list[Card]:
    return [card for card in of(*asks) if card.key.mode == Mode.MAJOR]


# Ids


def test_the_ids_are_the_golden_ones() -> None:
    """A changed id would cut players off from what they learnt: this list only ever grows."""
    assert [card.id for card in CARDS] == GOLDEN.read_text(encoding="ascii").splitlines()


def test_the_ids_of_the_first_drill_are_still_there() -> None:
    ids = {card.id for card in CARDS}
    first = {
        f"{ask}:{key.replace('#', 's')}:{degree}{seventh}{box}"
        for ask in FIRST_ASKS
        for key in oracle.KEYS
        for degree in DEGREES
        for seventh in ("", ".7")
        for box in ([""] if ask == "name" else [f":box{box}" for box in BOXES])
    }
    assert len(first) == 3822
    assert first <= ids
    assert {card.id for card in major(*FIRST_ASKS) if not card.is_open} == first


def test_ids_are_unique_ascii_and_safe_in_an_address() -> None:
    ids = [card.id for card in CARDS]
    assert len(set(ids)) == len(ids) == 18234
    assert all(re.fullmatch(r"[A-Za-z0-9:._~-]+", card_id) for card_id in ids)


def test_every_card_is_read_back_from_its_id() -> None:
    assert all(read_card(card.id) == card for card in CARDS)


@pytest.mark.parametrize(
    "card_id",
    [
        "",
        "name",
        "name:Ab",
        "name:Ab:8",
        "name:Ab:0",
        "name:Ab:4:box1",
        "place:Ab:4",
        "place:Ab:4:box6",
        "place:Ab:4:box0",
        "place:Gs:4:box1",
        "place:H:4:box1",
        "place:A♭:4:box1",
        "place:ab:4:box1",
        "place:Ab:4.9:box1",
        "sing:Ab:4:box1",
        "place:Ab:4:box1\n",
        " place:Ab:4:box1",
        "place:Abm:4:box1",
        "place:A-blues:2:box1",
        "place:C:b7_major:box1",
        "borrowed:C:4:box1",
        "number:A-blues:1:box1",
        "run:C:1~4:box1",
        "run:C:1~4~5~1:box1:three",
        "tone:C:1:box1:seventh",
        "tone:C:1:box1",
        "bend:C:1:9",
        "whose-key:Am:box1",
        "place:C:4_major:box1",
        "place:C:4:open",
        "place:D:4:boxopen",
        "borrowed:C:b7_major:open",
        "hands-on:Eb:b7_major:open",
        "whose-key:D:open",
    ],
)
def test_what_is_no_card_is_refused_with_an_example(card_id: str) -> None:
    with pytest.raises(CardError, match=r"a card id looks like place:Ab:4:box1 or name:Ab:4\.7"):
        read_card(card_id)


def test_a_card_is_about_the_chord_its_id_says() -> None:
    for card in major(*FIRST_ASKS):
        assert str(card.chord) == oracle.chord_name(card.key.tonic.ascii, card.degree, card.seventh)
    assert str(read_card("place:Am:5_7:box1").chord) == "E7"
    assert str(read_card("place:Am:7_dim7:box1").chord) == "G♯°7"
    assert str(read_card("place:Am:7:box1").chord) == "G"
    assert str(read_card("place:A-blues:4:box1").chord) == "D7"
    assert str(read_card("borrowed:E:b7_major:box1").chord) == "D"
    assert [str(chord) for chord in read_card("run:Am:1~4~5_7~1:box1").chords] == ["Am", "Dm", "E7", "Am"]


# Skills, difficulty, order


def test_skills_say_what_cards_have_in_common() -> None:
    assert read_card("place:Ab:4:box1").skills == (
        "ask:place",
        "key:Ab",
        "degree:4",
        "quality:major",
        "box:1",
        "shape:C",
    )
    assert read_card("name:Fs:7.7").skills == ("ask:name", "key:Fs", "degree:7", "quality:m7b5")
    for card in major(*FIRST_ASKS):
        kinds = [skill.split(":")[0] for skill in card.skills]
        wanted = ["ask", "key", "degree", "quality"] + (["box"] if card.box is not None else [])
        if card.box is not None and card.voicings(PLAIN)[0].shapes:
            wanted.append("shape")
        assert kinds == wanted
    for card in CARDS:
        assert all(skill.isascii() for skill in card.skills)
        assert card.skills[:2] == (f"ask:{card.ask}", f"key:{card.key.slug}")
        assert (f"mode:{card.key.mode}" in card.skills) == (card.key.mode != Mode.MAJOR)
        place = "open" if card.is_open else card.box
        assert (f"box:{place}" in card.skills) == (card.box is not None)
        assert len(set(card.skills)) == len(card.skills)
    assert read_card("borrowed:E:b7_major:box1").skills[2:5] == ("degree:b7", "quality:major", "box:1")


def test_difficulty_is_a_modest_logit_and_harder_where_players_find_it_harder() -> None:
    assert all(-5 < difficulty(card) < 2 for card in CARDS)

    def head_start(card_id: str) -> float:
        return difficulty(read_card(card_id))

    assert head_start("name:C:4") > head_start("name:Gb:4")
    assert head_start("name:C:1") > head_start("name:C:7")
    assert head_start("name:C:4") > head_start("name:C:4.7")
    assert head_start("place:C:4:box1") > head_start("name-place:C:4:box1")
    assert head_start("name:C:4") > head_start("place:C:4:box1")
    assert head_start("place:C:5_7:box1".replace("C:5_7", "C:5.7")) > head_start("place:Am:5_7:box1")
    assert head_start("place:E:5:box1") > head_start("borrowed:E:b7_major:box1")
    assert head_start("change:C:1~4:box1") > head_start("run:C:1~4~5~1:box1")
    for ask in ASKS:
        easy = [difficulty(card) for card in of(ask)]
        assert max(easy) > min(easy)


def test_new_cards_come_as_songs_need_them() -> None:
    places = sorted((card for card in of("place") if card.key == Key.read("C")), key=path)
    assert [card.degree for card in places if card.box == 1 and not card.seventh] == [1, 4, 5, 6, 2, 3, 7]
    assert [(card.box, card.seventh) for card in places[::7]] == [  # C has no open position but its box 4.
        (box, seventh) for box in range(1, 6) for seventh in (False, True)
    ]


# Questions


def test_a_question_has_at_most_eight_words() -> None:
    for card in CARDS:
        words = words_of(card).split()
        assert len(words) <= 8, words


@pytest.mark.parametrize(
    ("card_id", "words"),
    [
        ("name:Ab:4", "Name the four of A♭."),
        ("name:Ab:4.7", "Name the four seventh of A♭."),
        ("place:Eb:4:box2", "E♭, box 2: place the four."),
        ("name-place:Eb:4.7:box2", "E♭, box 2, four seventh: name, place."),
        ("number:Fs:4:box2", "Which number is this in F♯?"),
        ("hands-on:Bb:6:box1", "B♭, box 1: play the six."),
        ("place:D:4:open", "D, open position: place the four."),
        ("name-place:D:4.7:open", "D, open position, four seventh: name, place."),
        ("hands-on:D:4:open", "D, open position: play the four."),
        ("number:D:4:open", "Which number is this in D?"),
        ("change:D:1~4:open", "D, open position: play the change."),
        ("run:D:1~4~5~1:open", "D, open position: play the run."),
        ("name:Am:3.7", "Name the flat three seventh of Am."),
        ("name:Am:5_7", "Name the V7 of Am."),
        ("place:A-blues:4:box1", "A blues, box 1: place the IV7."),
        ("borrowed:E:b7_major:box1", "E, box 1: place the ♭VII."),
        ("shape:Ab:4:box1", "Which shape is this?"),
        ("tone:Ab:4:box1:third", "Tap every third of this D♭."),
        ("bend:Ab:4:maj7", "D♭ to D♭maj7: which tone moves?"),
        ("left-out:Ab:1.7:box1:root", "Part of A♭maj7: what is missing?"),
        ("whose-key:Ab:box1", "Box 1 starts at fret 1: whose key?"),
        ("whose-key:Ab:box1:fret", "Box 1 of A♭ starts at which fret?"),
        ("spell:Ab:4.7", "Spell D♭maj7, root first."),
        ("box-notes:Ab:box1", "Tap the scale of A♭, box 1."),
        ("box-notes:Ab:4:box1", "Tap the four of A♭, box 1."),
        ("run:Ab:1~4~5~1:box1", "A♭, box 1: play the run."),
        ("change:Ab:1~4:box1", "A♭, box 1: play the change."),
        ("guide-tones:Ab:2.7~5.7~1.7:box1", "A♭, box 1: thirds and sevenths."),
    ],
)
def test_a_question_is_put_as_on_stage(card_id: str, words: str) -> None:
    assert words_of(read_card(card_id)) == words


def test_a_question_says_its_number_key_and_box_and_nothing_more() -> None:
    """Cards that share ask, number, key and box would read alike: the words hold no other music."""
    for card in major(*FIRST_ASKS):
        words = words_of(card)
        own = {str(card.key), str(card.box)}
        music = [word.strip(".,:?") for word in words.split()]
        notes = {word for word in music if re.fullmatch(r"[A-G][♯♭𝄪]*(m|°|7|maj7|m7|m7♭5)?", word)}
        assert notes == {str(card.key)}
        assert not (set(music) & NUMERALS) - own
        assert [word for word in music if word.isdigit()] == (
            [str(card.box)] if card.box and card.ask != "number" else []
        )


def test_what_is_asked_is_what_the_parts_say() -> None:
    parts = {ask: asked(of(ask)[0]).parts for ask in ASKS}
    assert parts == {
        "name": ("name",),
        "place": ("frets",),
        "name-place": ("name", "frets"),
        "number": ("number",),
        "hands-on": ("hands",),
        "shape": ("choice",),
        "tone": ("spots",),
        "spell": ("notes",),
        "whose-key": ("choice",),
        "box-notes": ("spots",),
        "change": ("marks",),
        "bend": ("choice",),
        "left-out": ("choice", "name"),
        "run": ("marks",),
        "guide-tones": ("spots",),
        "borrowed": ("frets",),
    }
    for card in CARDS:
        assert asked(card).parts == parts[card.ask]


def test_only_asks_about_a_drawing_show_one() -> None:
    for card in CARDS:
        assert (asked(card).drawing is not None) == (card.ask in ("number", "shape", "tone", "left-out"))


def test_the_region_is_a_hint_where_frets_are_asked_for() -> None:
    for card in CARDS:
        hint = asked(card).hint
        if card.ask in ("place", "name-place", "borrowed", "box-notes", "guide-tones"):
            minor = card.key.tonic.ascii + ("" if card.key.mode == Mode.MAJOR else "m")
            assert hint == ((0, 3) if card.is_open else oracle.region(minor, card.box or 0))
        else:
            assert hint is None


def test_a_number_question_does_not_say_the_number_or_the_seventh() -> None:
    for card in of("number"):
        sent = asked(card).as_json()
        assert sent["number"] is None
        assert sent["seventh"] is False
        assert not {"degree", "numeral", "chord"} & set(sent)


@pytest.mark.parametrize("left_handed", [False, True])
def test_a_questions_drawing_gives_nothing_away(left_handed: bool) -> None:
    for card in of("number", "shape", "tone", "left-out"):
        put = question(card, Setting(left_handed=True)) if left_handed else asked(card)
        drawing = put.drawing or ""
        svg = ElementTree.fromstring(drawing)
        kinds = {element.get("class") for element in svg.iter()} - {None, "drawing"}
        assert kinds <= {"neck-string", "neck-fret", "neck-nut", "region", "dot", "open", "muted", "fret-number"}
        texts = {tag: [] for tag in ("title", "desc", "text")}
        for element in svg.iter():
            tag = element.tag.rpartition("}")[2]
            if tag in texts:
                texts[tag].append(element.text or "")
        titles = {
            "number": f"A chord in {card.key}",
            "shape": "A chord",
            "tone": f"{card.calls and card.chord}, played",
            "left-out": f"Part of {card.calls and card.chord}",
        }
        assert texts["title"] == [titles[card.ask]]
        words = set(re.split(r"[\s,;]+", texts["desc"][0]))
        assert {word for word in words if not word.isdigit()} <= {"string", "fret", "open", "muted"}
        signs = [text for text in texts["text"] if text != "×"]
        assert len(signs) == 1
        assert signs[0].isdigit()


def test_the_same_dots_are_drawn_alike_whatever_they_are_called() -> None:
    """F♯ and G♭ have the same frets: their drawings differ by the key's name and nothing else."""
    for card in of("number"):
        if card.key != Key.read("F#"):
            continue
        twin = read_card(card.id.replace(":Fs:", ":Gb:"))
        ours, theirs = asked(card).drawing or "", asked(twin).drawing or ""
        assert ours.replace("F♯", "G♭") == theirs


# Answers


def test_the_answer_is_the_chord_with_its_notes() -> None:
    for card in major(*FIRST_ASKS):
        ours = told(card)
        assert ours.chord == oracle.chord_name(card.key.tonic.ascii, card.degree, card.seventh)
        assert list(ours.notes) == oracle.chord_notes(card.key.tonic.ascii, card.degree, card.seventh)
        assert ours.chord in say(ours.words)
        assert " ".join(ours.notes) in say(ours.words)
        assert (ours.drawing is None) == (card.ask == "name")


@cache
def every_right_code(key: str, box: int, degree: int, seventh: bool, hand: str = "medium") -> frozenset[str]:
    low, high = oracle.region(key, box)
    places = [(low, high)] + ([(low + 12, high + 12)] if high + 13 <= 22 else [])
    chord = oracle.tones(key, degree, seventh)
    return frozenset(
        code(frets)
        for place in places
        for every in (oracle.every_voicing_of, oracle.every_spread)
        for frets in every(chord, *place, hand)
    )


@pytest.mark.parametrize(("key", "box"), [("Ab", 1), ("G", 1), ("E", 3), ("F#", 5)])
def test_what_a_page_may_accept_at_once_is_every_right_voicing(key: str, box: int) -> None:
    for degree in DEGREES:
        for seventh in (False, True):
            card = Card("place", Key.read(key), (own_numeral(Key.read(key), degree, seventh),), box)
            right = every_right_code(key, box, degree, seventh)
            assert told(card).frets == tuple(sorted(right))
            richer = right | (frozenset() if seventh else every_right_code(key, box, degree, True))
            assert answer(card, RICHER).frets == tuple(sorted(richer))


def test_name_and_place_accepts_the_same_voicings_as_place() -> None:
    for card in of("name-place"):
        twin = read_card(card.id.replace("name-place:", "place:"))
        assert told(card).frets == told(twin).frets


@pytest.mark.parametrize("hand", sorted(HAND_SCALE))
def test_every_hand_has_a_main_voicing_and_it_is_right(hand: str) -> None:
    setting = Setting(hand=hand)
    for card in of("place"):
        assert find(card, card.voicings(setting)[0].frets, setting).right


def test_nothing_given_and_shown_are_never_right() -> None:
    for card in CARDS[::31]:
        for empty in (Given(), Given(shown=True), Given(name="", number=" ", frets=(None,) * 6)):
            verdict = judge(card, empty, PLAIN)
            assert not verdict.right
            assert verdict.messages
            said = " ".join(map(say, verdict.messages))
            assert told(card).chord.split()[0] in said or say(told(card).words) in said


def test_every_number_whose_chord_is_drawn_is_accepted_and_no_other() -> None:
    for card in major("number"):
        notes = set(oracle.sounding(card.voicings(PLAIN)[0].frets))
        right = set()
        for degree in DEGREES:
            for seventh in (False, True):
                _, tones, must = oracle.tones(card.key.tonic.ascii, degree, seventh)
                if must <= notes <= tones:
                    right.add(str(degree))
        assert set(told(card).numbers) == right
        assert str(card.degree) in right


def test_a_numeral_is_a_number_too() -> None:
    card = read_card("number:Ab:2:box1")
    assert judge(card, Given(number="ii"), PLAIN).right
    assert judge(read_card("number:Am:5_7:box1"), Given(number="V7"), PLAIN).right


def test_in_a_minor_key_both_sevens_are_the_seven() -> None:
    """The page has the numbers one to seven; a numeral says which."""
    flat, leading = read_card("number:Am:7:box1"), read_card("number:Am:7_dim7:box1")
    assert told(flat).numbers == ("♭7", "7")
    assert told(leading).numbers == ("7",)
    for card in (flat, leading):
        assert judge(card, Given(number="7"), PLAIN).right
    assert judge(flat, Given(number="bVII"), PLAIN).right
    assert not judge(flat, Given(number="vii°7"), PLAIN).right
    assert judge(leading, Given(number="vii°7"), PLAIN).right
    assert not judge(leading, Given(number="bVII"), PLAIN).right


def test_what_is_no_number_says_what_would_be() -> None:
    card = read_card("number:Ab:2:box1")
    unread = judge(card, Given(number="nine"), PLAIN)
    assert not unread.right
    assert 'no degree "nine"' in say(unread.messages[0])
    assert say(judge(card, Given(number="4"), PLAIN).messages[0]) == "The four of A♭ is D♭: not this one."


# Names


@pytest.mark.parametrize("name", ["Gm", "G-", "Gmin", "gm", " G m ", "G minor", "Gmi"])
def test_every_spelling_of_the_name_counts(name: str) -> None:
    verdict = judge(read_card("name:F:2"), Given(name=name), PLAIN)
    assert verdict.right
    assert say(verdict.messages[0]) == "Right: Gm."


@pytest.mark.parametrize(
    ("card_id", "name", "said"),
    [
        ("name:D:3", "Gbm", "G♭m sounds the same, but in D its root is written F♯."),
        ("name:D:3", "Gb", "G♭ is not a chord of D."),
        ("name:Ab:4", "Dbm", "The root is right, but D♭m is not D♭."),
        ("name:Ab:4", "Eb", "E♭ is the five of A♭."),
        ("name:Ab:4", "Dbmaj7", "Right chord, and you added the seventh: that is D♭maj7. Settings can accept it."),
        ("name:Ab:4.7", "Db", "Something is missing: that is D♭, not D♭maj7."),
        ("name:Am:5_7", "E", "The root is right, but E is not E7."),
        ("name:Am:3", "Dm", "Dm is the four of Am."),
        ("name:Am:4", "C", "C is the flat three of Am."),
        ("name:A-blues:1", "A", "The root is right, but A is not A7."),
        ("name:Ab:4", "B", "B is not a chord of A♭."),
        ("name:Ab:4", "", "No chord name was given."),
        ("name:Gb:4", "B", "B sounds the same, but in G♭ its root is written C♭."),
    ],
)
def test_a_wrong_name_is_explained_by_what_it_is(card_id: str, name: str, said: str) -> None:
    verdict = judge(read_card(card_id), Given(name=name), PLAIN)
    assert not verdict.right
    assert say(verdict.messages[0]) == said
    assert say(verdict.messages[-1]).startswith("The ")


def test_an_unreadable_name_says_what_would_be_read() -> None:
    verdict = judge(read_card("name:Ab:4"), Given(name="Hm"), PLAIN)
    assert not verdict.right
    assert say(verdict.messages[0]) == ('Not read: no chord "Hm": a chord starts with a letter A–G, like B♭ or F♯m7.')


def test_a_setting_accepts_the_richer_name() -> None:
    card = read_card("name:Ab:4")
    assert answer(card, RICHER).names == ("D♭", "D♭maj7")
    assert answer(read_card("name:A-blues:1"), RICHER).names == ("A7",)
    verdict = judge(card, Given(name="Dbmaj7"), RICHER)
    assert verdict.right
    assert say(verdict.messages[0]) == "Right, and you added the seventh: D♭maj7."


# Name and place, hands-on


def test_name_and_place_needs_both() -> None:
    card = read_card("name-place:Ab:4:box1")
    main = card.voicings(PLAIN)[0].frets
    assert judge(card, Given(name="Db", frets=main), PLAIN).right
    no_name = judge(card, Given(frets=main), PLAIN)
    assert not no_name.right
    assert say(no_name.messages[0]) == "No chord name was given."
    no_frets = judge(card, Given(name="Db"), PLAIN)
    assert not no_frets.right
    assert say(no_frets.messages[0]) == "Nothing was put down."
    neither = judge(card, Given(name="Eb", frets=frets_of("43111x")), PLAIN)
    assert [say(message) for message in neither.messages] == [
        "E♭ is the five of A♭.",
        "The four of A♭ is D♭: D♭ F A♭.",
        "You put down A♭ C E♭: that is the one; the four is D♭ F A♭.",
    ]


def test_name_and_place_right_says_so_once() -> None:
    card = read_card("name-place:Ab:4:box1")
    verdict = judge(card, Given(name="Db", frets=frets_of("xx312x")), PLAIN)
    assert [say(message) for message in verdict.messages] == ["Right: D♭.", "Right, with the third in the bass."]


def test_on_the_guitar_the_players_word_counts() -> None:
    card = read_card("hands-on:Ab:4:box1")
    assert judge(card, Given(right=True), PLAIN).right
    assert not judge(card, Given(right=False), PLAIN).right
    unsaid = judge(card, Given(), PLAIN)
    assert not unsaid.right
    assert say(unsaid.messages[0]) == "You did not say whether it was right."


def test_a_small_hand_is_told_when_it_gets_three_strings() -> None:
    small = Setting(hand="small")
    assert say(answer(read_card("place:Eb:1:box3"), small).words) == (
        "The one of E♭ is E♭: E♭ G B♭. For your hand: 3 strings, the fifth in the bass."
    )
    assert say(answer(read_card("place:Eb:1:box3"), PLAIN).words) == "The one of E♭ is E♭: E♭ G B♭."


# What comes in


@pytest.mark.parametrize(
    "given",
    [
        {},
        {"name": "Db", "frets": [None, 4, 3, 1, 2, None]},
        {"number": "4", "hinted": True},
        {"right": False},
        {"shown": True},
        {"choice": ["root", "-1"]},
        {"spots": [[[1, 4], [5, 4]], [], [[6, 0]]]},
        {"notes": ["D♭", "F", "A♭"]},
        {"marks": [True, False, True]},
        {"choice": ["root"], "name": "Cm"},
    ],
)
def test_an_answer_travels_as_json(given: dict[str, object]) -> None:
    assert Given.read(given).as_json() == given


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"nmae": "Db"}, "an answer has no part nmae"),
        ({"name": 4}, "name must be a text"),
        ({"name": "x" * 41}, "at most 40 characters"),
        ({"frets": [1, 2, 3]}, "frets must be six values"),
        ({"frets": [1, 2, 3, 4, 5, 25]}, "frets must be six values"),
        ({"frets": [1, 2, 3, 4, 5, -1]}, "frets must be six values"),
        ({"frets": [1, 2, 3, 4, 5, True]}, "frets must be six values"),
        ({"frets": [1, 2, 3, 4, 5, 1.5]}, "frets must be six values"),
        ({"frets": "x43120"}, "frets must be six values"),
        ({"right": "yes"}, "right must be true or false"),
        ({"hinted": 1}, "hinted must be true or false"),
        ({"choice": "C"}, "choice must be a list"),
        ({"choice": ["x" * 41]}, "choice must hold texts of at most 40 characters"),
        ({"choice": ["C"] * 65}, "choice must be a list of at most 64 texts"),
        ({"notes": [1]}, "notes must hold texts"),
        ({"marks": [1]}, "marks must be a list of at most 64 times true or false"),
        ({"marks": [True] * 65}, "marks must be a list of at most 64"),
        ({"spots": [[1, 4]]}, "each step of spots must be a list of"),
        ({"spots": [[[7, 4]]]}, "each step of spots must be a list of"),
        ({"spots": [[[0, 4]]]}, "each step of spots must be a list of"),
        ({"spots": [[[1, 25]]]}, "each step of spots must be a list of"),
        ({"spots": [[[1, None]]]}, "each step of spots must be a list of"),
        ({"spots": [[[True, 1]]]}, "each step of spots must be a list of"),
        ({"spots": [[[1, 1]] * 200]}, "each step of spots must be a list of"),
        ({"spots": {}}, "spots must be a list of at most 64 steps"),
    ],
)
def test_a_broken_answer_is_refused_by_its_part(given: dict[str, object], said: str) -> None:
    with pytest.raises(CardError, match=said):
        Given.read(given)


# Allowance


def test_the_allowance_counts_taps_and_keys() -> None:
    name, place = read_card("name:Ab:4"), read_card("place:Ab:4:box1")
    assert allowance(name, Given(), "touch") == pytest.approx(2.2)
    assert allowance(name, Given(name="D♭"), "keyboard") == pytest.approx(0.84)
    assert allowance(place, Given(frets=frets_of("x4312x")), "touch") == pytest.approx(5.5)
    assert allowance(place, Given(frets=frets_of("43111x")), "touch") == pytest.approx(6.6)


def test_every_card_has_an_allowance_in_every_mode() -> None:
    for card in CARDS[::17]:
        for mode in MODES:
            # A long progression is tapped with the keyboard in about a minute; nothing is tapped while playing.
            assert 0 < allowance(card, Given(), mode) < 60
    with pytest.raises(CardError, match='no input mode "voice"'):
        allowance(CARDS[0], Given(), "voice")


def test_a_run_lasts_as_long_as_its_bars() -> None:
    assert beats(read_card("place:Ab:4:box1")) == 4
    assert beats(read_card("run:Ab:1~4~5~1:box1")) == 16
    assert beats(read_card("run:Ab:1~4~5~1:box1:two")) == 8
    assert beats(read_card("change:Ab:1~4:box1")) == 32


any_frets = st.tuples(*[st.one_of(st.none(), st.integers(0, 24))] * 6)


some_spots = st.lists(st.tuples(st.integers(1, 6), st.integers(0, 24)), max_size=6).map(
    lambda at: tuple(sorted(set(at)))
)


@settings(max_examples=500, deadline=None)
@given(
    st.sampled_from(ASKS).flatmap(lambda ask: st.sampled_from(of(ask))),
    st.builds(
        Given,
        name=st.one_of(st.none(), st.text(max_size=40)),
        frets=st.one_of(st.none(), any_frets),
        number=st.one_of(st.none(), st.text(max_size=40), st.sampled_from(["1", "ii", "IV", "vii°"])),
        right=st.one_of(st.none(), st.booleans()),
        choice=st.one_of(
            st.none(), st.lists(st.sampled_from(["C", "E", "root", "third", "-1", "Ab", "8"]), max_size=3).map(tuple)
        ),
        spots=st.one_of(st.none(), st.lists(some_spots, max_size=4).map(tuple)),
        notes=st.one_of(st.none(), st.lists(st.sampled_from(["C", "E♭", "G", "H", ""]), max_size=4).map(tuple)),
        marks=st.one_of(st.none(), st.lists(st.booleans(), max_size=9).map(tuple)),
        shown=st.booleans(),
        hinted=st.booleans(),
    ),
    st.builds(
        Setting,
        hand=st.sampled_from(sorted(HAND_SCALE)),
        left_handed=st.booleans(),
        richer=st.booleans(),
        thumb=st.booleans(),
        band=st.booleans(),
    ),
)
def test_no_answer_breaks_a_judge(card: Card, given: Given, setting: Setting) -> None:
    verdict = judge(card, given, setting)
    assert verdict.messages
    assert all(say(message) for message in verdict.messages)
    if verdict.drawing is not None:
        ElementTree.fromstring(verdict.drawing)
    for mode in MODES:
        assert allowance(card, given, mode) > 0


def test_a_box_that_is_the_open_position_says_so_unless_that_is_asked() -> None:
    assert question(read_card("place:G:4:box1"), PLAIN).at_nut
    assert question(read_card("run:C:1~4~5~1:box4"), PLAIN).at_nut
    assert not question(read_card("place:G:4:box2"), PLAIN).at_nut
    assert not question(read_card("place:D:4:open"), PLAIN).at_nut, "its own words say it"
    assert not question(read_card("place:G:4:box1"), Setting(capo=2)).at_nut, "the shapes are those of F"
    assert not any(question(card, PLAIN).at_nut for card in of("whose-key"))
