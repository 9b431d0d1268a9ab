"""Every card there is: its id, what it asks without giving it away, what it accepts and refuses."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import oracle
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cards.asks import (
    ASKS,
    MODES,
    Answer,
    Card,
    CardError,
    Given,
    Setting,
    allowance,
    answer,
    code,
    judge,
    question,
    read_card,
    universe,
)
from cards.asks.placing import find
from cards.fingering import HAND_SCALE, Frets
from cards.keys import DEGREES, Key
from drill.words import say

GOLDEN = Path(__file__).with_name("golden_ids.txt")
CARDS = list(universe())
PLAIN = Setting()
RICHER = Setting(richer=True)
NUMERALS = {"I", "II", "III", "IV", "V", "VI", "VII", "i", "ii", "iii", "iv", "v", "vi", "vii"}


def of(ask: str) -> list[Card]:
    return [card for card in CARDS if card.ask == ask]


def frets_of(fret_code: str) -> Frets:
    return tuple(None if sign == "x" else int(sign, 36) for sign in fret_code)


@cache
def told(card: Card) -> Answer:
    """The answer for a player without any setting; drawing it takes time."""
    return answer(card, PLAIN)


def words_of(card: Card) -> str:
    return say(question(card, PLAIN).words)


# Ids


def test_the_ids_are_the_golden_ones() -> None:
    """A changed id would cut players off from what they learnt: this list only ever grows."""
    assert [card.id for card in CARDS] == GOLDEN.read_text(encoding="ascii").split()


def test_ids_are_unique_ascii_and_safe_in_an_address() -> None:
    ids = [card.id for card in CARDS]
    assert len(set(ids)) == len(ids) == 182 + 4 * 910
    assert all(re.fullmatch(r"[A-Za-z0-9:.-]+", card_id) for card_id in ids)


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
    ],
)
def test_what_is_no_card_is_refused_with_an_example(card_id: str) -> None:
    with pytest.raises(CardError, match=r"a card id looks like place:Ab:4:box1 or name:Ab:4\.7"):
        read_card(card_id)


def test_a_card_is_about_the_chord_its_id_says() -> None:
    for card in CARDS:
        assert str(card.chord) == oracle.chord_name(card.key.tonic.ascii, card.degree, card.seventh)


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
    for card in CARDS:
        kinds = [skill.split(":")[0] for skill in card.skills]
        wanted = ["ask", "key", "degree", "quality"] + (["box", "shape"] if card.box else [])
        assert kinds == wanted
        assert all(skill.isascii() for skill in card.skills)


def test_difficulty_is_a_modest_logit_and_harder_where_players_find_it_harder() -> None:
    assert all(-4 < card.difficulty < 2 for card in CARDS)

    def ease(card_id: str) -> float:
        return read_card(card_id).difficulty

    assert ease("name:C:4") > ease("name:Gb:4")
    assert ease("name:C:1") > ease("name:C:7")
    assert ease("name:C:4") > ease("name:C:4.7")
    assert ease("place:C:4:box1") > ease("name-place:C:4:box1")
    assert ease("name:C:4") > ease("place:C:4:box1")
    for ask in ASKS:
        easy = [card.difficulty for card in of(ask)]
        assert max(easy) > min(easy)


def test_new_cards_come_as_songs_need_them() -> None:
    places = sorted((card for card in of("place") if card.key == Key.read("C")), key=lambda card: card.path)
    assert [card.degree for card in places if card.box == 1 and not card.seventh] == [1, 4, 5, 6, 2, 3, 7]
    assert [(card.box, card.seventh) for card in places[::7]] == [
        (box, seventh) for box in range(1, 6) for seventh in (False, True)
    ]


def test_in_one_key_no_two_cards_stand_at_the_same_place_of_the_order() -> None:
    for key in {card.key for card in CARDS}:
        paths = [(card.path, card.box) for card in CARDS if card.key == key]
        assert len(set(paths)) == len(paths)


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
        ("place:Eb:4:box2", "Four of E♭, box 2: place it."),
        ("name-place:Eb:4.7:box2", "Four seventh of E♭, box 2: name, place."),
        ("number:Fs:4:box2", "Which number is this in F♯?"),
        ("hands-on:Bb:6:box1", "Six of B♭, box 1: play it."),
    ],
)
def test_a_question_is_put_as_on_stage(card_id: str, words: str) -> None:
    assert words_of(read_card(card_id)) == words


def test_a_question_says_its_number_key_and_box_and_nothing_more() -> None:
    """Cards that share ask, number, key and box would read alike: the words hold no other music."""
    for card in CARDS:
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
    parts = {ask: question(of(ask)[0], PLAIN).parts for ask in ASKS}
    assert parts == {
        "name": ("name",),
        "place": ("frets",),
        "name-place": ("name", "frets"),
        "number": ("number",),
        "hands-on": ("hands",),
    }
    for card in CARDS:
        assert question(card, PLAIN).parts == parts[card.ask]


def test_only_the_number_ask_shows_a_drawing() -> None:
    for card in CARDS:
        assert (question(card, PLAIN).drawing is not None) == (card.ask == "number")


def test_the_region_is_a_hint_where_frets_are_asked_for() -> None:
    for card in CARDS:
        hint = question(card, PLAIN).hint
        if card.ask in ("place", "name-place"):
            assert hint == oracle.region(card.key.tonic.ascii, card.box or 0)
        else:
            assert hint is None


def test_a_number_question_does_not_say_the_number_or_the_seventh() -> None:
    for card in of("number"):
        asked = question(card, PLAIN).as_json()
        assert asked["number"] is None
        assert asked["seventh"] is False
        assert not {"degree", "numeral", "chord"} & set(asked)


@pytest.mark.parametrize("left_handed", [False, True])
def test_a_questions_drawing_gives_nothing_away(left_handed: bool) -> None:
    for card in of("number"):
        drawing = question(card, Setting(left_handed=left_handed)).drawing or ""
        svg = ElementTree.fromstring(drawing)
        kinds = {element.get("class") for element in svg.iter()} - {None, "drawing"}
        assert kinds <= {"neck-string", "neck-fret", "neck-nut", "region", "dot", "open", "muted", "fret-number"}
        texts = {tag: [] for tag in ("title", "desc", "text")}
        for element in svg.iter():
            tag = element.tag.rpartition("}")[2]
            if tag in texts:
                texts[tag].append(element.text or "")
        assert texts["title"] == [f"A chord in {card.key}"]
        words = set(re.split(r"[\s,;]+", texts["desc"][0]))
        assert {word for word in words if not word.isdigit()} <= {"string", "fret", "open", "muted"}
        signs = [text for text in texts["text"] if text != "×"]
        assert len(signs) == 1
        assert signs[0].isdigit()


def test_the_same_dots_are_drawn_alike_whatever_they_are_called() -> None:
    """F♯ and G♭ have the same frets: their drawings differ by the key's name and nothing else."""
    for card in of("number"):
        if card.key.tonic.ascii != "F#":
            continue
        twin = Card(card.ask, Key.read("Gb"), card.degree, card.seventh, card.box)
        ours, theirs = question(card, PLAIN).drawing or "", question(twin, PLAIN).drawing or ""
        assert ours.replace("F♯", "G♭") == theirs


# Answers


def test_the_answer_is_the_chord_with_its_notes() -> None:
    for card in CARDS:
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
    return frozenset(
        code(frets) for place in places for frets in oracle.every_voicing(key, degree, seventh, *place, hand)
    )


@pytest.mark.parametrize(("key", "box"), [("Ab", 1), ("G", 1), ("E", 3), ("F#", 5)])
def test_what_a_page_may_accept_at_once_is_every_right_voicing(key: str, box: int) -> None:
    for degree in DEGREES:
        for seventh in (False, True):
            card = Card("place", Key.read(key), degree, seventh, box)
            right = every_right_code(key, box, degree, seventh)
            assert told(card).frets == tuple(sorted(right))
            richer = right | (frozenset() if seventh else every_right_code(key, box, degree, True))
            assert answer(card, RICHER).frets == tuple(sorted(richer))


def test_the_judge_accepts_every_accepted_voicing_of_every_card() -> None:
    for card in of("place"):
        accepted = told(card).frets
        assert code(card.voicings(PLAIN)[0].frets) in accepted
        for fret_code in accepted:
            assert find(card, frets_of(fret_code), PLAIN).right, (card.id, fret_code)


def test_name_and_place_accepts_the_same_voicings_as_place() -> None:
    for card in of("name-place"):
        twin = Card("place", card.key, card.degree, card.seventh, card.box)
        assert told(card).frets == told(twin).frets


@pytest.mark.parametrize("hand", sorted(HAND_SCALE))
def test_every_hand_has_a_main_voicing_and_it_is_right(hand: str) -> None:
    setting = Setting(hand=hand)
    for card in of("place"):
        assert find(card, card.voicings(setting)[0].frets, setting).right


def test_the_right_answer_of_every_card_is_judged_right() -> None:
    for card in CARDS:
        frets = card.voicings(PLAIN)[0].frets if card.box else None
        name = str(card.chord) if card.ask in ("name", "name-place") else None
        right = Given(
            name=name,
            frets=frets if card.ask in ("place", "name-place") else None,
            number=str(card.degree) if card.ask == "number" else None,
            right=True if card.ask == "hands-on" else None,
        )
        verdict = judge(card, right, PLAIN)
        assert verdict.right, card.id
        assert all(say(message) for message in verdict.messages)


def test_nothing_given_and_shown_are_never_right() -> None:
    for card in CARDS[::7]:
        for empty in (Given(), Given(shown=True), Given(name="", number=" ", frets=(None,) * 6)):
            verdict = judge(card, empty, PLAIN)
            assert not verdict.right
            assert verdict.messages
            assert str(card.chord) in " ".join(map(say, verdict.messages))


def test_every_number_whose_chord_is_drawn_is_accepted_and_no_other() -> None:
    for card in of("number"):
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
    wrong = judge(card, Given(number="II"), PLAIN)
    assert not wrong.right
    assert "the two there is ii (B♭m)" in say(wrong.messages[0])
    assert say(judge(card, Given(number="4"), PLAIN).messages[0]) == "The four of A♭ is D♭: not this one."


# Refusals


def test_one_foreign_note_makes_any_main_voicing_wrong() -> None:
    for card in of("place"):
        frets = card.voicings(PLAIN)[0].frets
        _, tones, _ = oracle.tones(card.key.tonic.ascii, card.degree, card.seventh)
        index = next(index for index, fret in enumerate(frets) if fret is not None)
        fret = frets[index] or 0
        near = next(f for f in (fret + 1, fret + 2) if (oracle.OPEN[index] + f) % 12 not in tones)
        changed = (*frets[:index], near, *frets[index + 1 :])
        assert not find(card, changed, PLAIN).right, card.id


def test_without_a_defining_tone_it_is_not_the_chord() -> None:
    for card in of("place"):
        frets = card.voicings(PLAIN)[0].frets
        _, _, must = oracle.tones(card.key.tonic.ascii, card.degree, card.seventh)
        for tone in must:
            less = tuple(
                None if fret is None or (pitch + fret) % 12 == tone else fret
                for pitch, fret in zip(oracle.OPEN, frets, strict=True)
            )
            assert not find(card, less, PLAIN).right, (card.id, less)


def test_two_strings_are_no_chord() -> None:
    for card in of("place"):
        frets = card.voicings(PLAIN)[0].frets
        last = [index for index, fret in enumerate(frets) if fret is not None][-2:]
        two = tuple(fret if index in last else None for index, fret in enumerate(frets))
        finding = find(card, two, PLAIN)
        assert not finding.right
        assert finding.messages[0].key == "wrong.few"


def test_the_right_chord_five_frets_away_is_in_the_wrong_place() -> None:
    """The same box belongs to one place and its octave: elsewhere the notes are another chord's."""
    for card in of("place"):
        frets = card.voicings(PLAIN)[0].frets
        moved = tuple(None if fret is None else fret + 5 for fret in frets)
        assert not find(card, moved, PLAIN).right


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
        ("name:Ab:4.7", "Db", "No seventh: that is D♭ alone."),
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
    assert say(unsaid.messages[0]) == "Whether it was right was not said."


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
    for card in CARDS[::11]:
        for mode in MODES:
            assert 0 < allowance(card, Given(), mode) < 30
    with pytest.raises(CardError, match='no input mode "voice"'):
        allowance(CARDS[0], Given(), "voice")


any_frets = st.tuples(*[st.one_of(st.none(), st.integers(0, 24))] * 6)


@settings(max_examples=400, deadline=None)
@given(
    st.sampled_from(CARDS),
    st.builds(
        Given,
        name=st.one_of(st.none(), st.text(max_size=40)),
        frets=st.one_of(st.none(), any_frets),
        number=st.one_of(st.none(), st.text(max_size=40), st.sampled_from(["1", "ii", "IV", "vii°"])),
        right=st.one_of(st.none(), st.booleans()),
        shown=st.booleans(),
        hinted=st.booleans(),
    ),
    st.builds(Setting, hand=st.sampled_from(sorted(HAND_SCALE)), left_handed=st.booleans(), richer=st.booleans()),
)
def test_no_answer_breaks_a_judge(card: Card, given: Given, setting: Setting) -> None:
    verdict = judge(card, given, setting)
    assert verdict.messages
    assert all(say(message) for message in verdict.messages)
    if verdict.drawing is not None:
        ElementTree.fromstring(verdict.drawing)
    for mode in MODES:
        assert allowance(card, given, mode) > 0
