"""Every card there is, walked: nothing of it is sampled.

A prompt of at most eight words that gives nothing away, an answer that the judge accepts, a drawing
where the ask has one; and no judge accepts a foreign note, a missing defining tone or a hand that
nobody has. What the search finds is held against the rules written anew: tried out on every string
once for each distinct search, and for all regions that share it by shifting them.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator

import pytest

from cards.asks import ASKS, Answer, Card, Given, Setting, answer, code, drawn, fits, judge, question
from cards.asks.path import path
from cards.asks.placing import find, main_voicing, shown_voicing
from cards.asks.running import beats
from cards.guitar.fingering import Frets
from cards.guitar.neck import STRINGS, TUNINGS
from cards.guitar.regions import Region
from cards.theory.chords import ROOT, Chord
from cards.voicings.search import search_for, stops
from cards.voicings.voicing import voicings
from drill.words import say
from tests.cards import oracle
from tests.cards.everything import CARDS, PLACING, PLAIN, asked, frets_of, of, told, words_of

COUNTS = {
    "name": 468,
    "place": 2382,
    "name-place": 2382,
    "number": 2187,
    "hands-on": 2382,
    "shape": 455,
    "tone": 1820,
    "spell": 468,
    "whose-key": 130,
    "box-notes": 520,
    "change": 668,
    "bend": 507,
    "left-out": 1690,
    "run": 1070,
    "guide-tones": 195,
    "borrowed": 910,
}
UNDRAWN = ("name", "spell", "bend")
"""Asks without a drawing in the answer: they are about names."""


def right_given(card: Card, told: Answer) -> Given:
    """The right answer as a player would give it, put together from what the page is told."""
    parts = {
        "name": lambda: {"name": told.names[0]},
        "frets": lambda: {"frets": frets_of(told.frets[0])},
        "number": lambda: {"number": told.numbers[0]},
        "hands": lambda: {"right": True},
        "choice": lambda: {"choice": told.choices[0]},
        "spots": lambda: {"spots": told.spots[0]},
        "notes": lambda: {"notes": told.notes},
        "marks": lambda: {"marks": (True,) * len(beats(card))},
    }
    given: dict[str, object] = {}
    for part in asked(card).parts:
        given |= parts[part]()
    return Given(**given)  # type: ignore[arg-type]


def test_the_universe_is_counted_ask_by_ask() -> None:
    assert {ask: len(of(ask)) for ask in ASKS} == COUNTS
    assert len(CARDS) == sum(COUNTS.values()) == 18234


@pytest.mark.parametrize("ask", ASKS)
def test_every_card_asks_something_short(ask: str) -> None:
    for card in of(ask):
        words = words_of(card)
        assert 2 < len(words.split()) <= 8, words
        assert words.endswith((".", "?"))


@pytest.mark.parametrize("ask", ASKS)
def test_every_card_has_an_answer_that_its_judge_accepts_and_draws(ask: str) -> None:
    for card in of(ask):
        right = told(card)
        assert (right.drawing is None) == (ask in UNDRAWN)
        assert right.drawing is None or right.drawing.startswith("<svg")
        assert len(say(right.words)) > 5
        verdict = judge(card, right_given(card, right), PLAIN)
        assert verdict.right, (card.id, [say(message) for message in verdict.messages])
        assert (verdict.drawing is None) == (ask in UNDRAWN)
        assert all(say(message) for message in verdict.messages)
        assert fits(card, PLAIN)
        assert path(card)


def _musical(text: str) -> set[str]:
    return set(re.findall(r"[A-G][♯♭𝄪𝄫]*(?:maj7|m7♭5|m7|m6|m|°7|°|7|6|sus4|sus2|\+)?(?![a-z♯♭])", text))


@pytest.mark.parametrize("ask", ASKS)
def test_no_question_gives_its_answer_away(ask: str) -> None:
    """The words and the drawing's title name no chord, number, note or fret that is asked for."""
    for card in of(ask):
        put = asked(card)
        title, desc = re.findall(r"<(?:title|desc)>([^<]*)<", put.drawing) if put.drawing else ("", "")
        said = f"{words_of(card)} {title.removeprefix('A chord')}"
        right = told(card)
        if ask in ("name", *PLACING):
            assert _musical(said) <= {str(card.key), str(card.key.tonic)}
        if ask == "number":
            assert _musical(said) <= {str(card.key)}
            assert put.number is None
            assert not put.seventh
        if ask == "shape":
            assert put.key is None
            assert put.box is None
            assert put.number is None
            assert not _musical(said)
        if ask in ("spell", "tone", "left-out"):
            assert _musical(said) <= {str(card.chord)}
            assert not {"root", "third", "fifth", "seventh"} & set(desc.split())
        if ask == "left-out":
            assert card.detail not in said.split()
        if ask == "whose-key" and not card.detail:
            assert put.key is None
            assert not _musical(said)
        if ask == "whose-key" and card.detail:
            assert put.number is None
            assert set(re.findall(r"\d+", said)) == {str(card.box)}
        if ask == "bend":
            assert not {"root", "third", "fifth", "up", "down"} & set(said.split())
        if ask == "guide-tones":
            assert put.steps == tuple(str(numeral) for numeral in card.calls)
        # What is accepted is never among what the question carries, but for what there is to choose from.
        apart = ("drawing", "choices", "spots", "key")
        sent = {name: value for name, value in put.as_json().items() if name not in apart}
        for name in right.names:
            assert name not in map(str, sent.values())
        for accepted in right.frets:
            assert accepted not in str(sent)


def test_a_choice_offers_the_right_answer_among_the_same_options_for_all_cards() -> None:
    """Options that differ from card to card would tell."""
    for ask in ("shape", "whose-key", "bend", "left-out"):
        seen = defaultdict(set)
        for card in of(ask):
            put = asked(card)
            for choice in told(card).choices:
                assert len(choice) == len(put.choices)
                for option, group in zip(choice, put.choices, strict=True):
                    assert option in dict(group.options)
            seen[card.detail if ask == "whose-key" else ""].add(put.choices)
        assert all(len(choices) == 1 for choices in seen.values())


# Voicings


def searches() -> dict[object, list[tuple[Chord, Region]]]:
    """The chords and regions of all cards that ask for a voicing, by the search that they share."""
    found: dict[object, dict[tuple[Chord, Region], None]] = defaultdict(dict)
    for card in of("place", "borrowed"):
        region = card.region(PLAIN)
        found[search_for(card.chord, region), region.low - region.reach[0]][card.chord, region] = None
    return {key: list(each) for key, each in found.items()}


SEARCHES = searches()


def test_regions_share_their_searches() -> None:
    assert sum(map(len, SEARCHES.values())) > 2 * len(SEARCHES)


def test_every_distinct_search_finds_what_trying_everything_finds() -> None:
    for same in SEARCHES.values():
        chord, region = same[0]
        ours = {voicing.frets for voicing in voicings(chord, region)}
        assert ours == oracle.every_voicing_of(oracle.tones_of_name(str(chord)), region.low, region.high), chord


def test_what_shares_a_search_differs_by_a_shift_alone() -> None:
    for same in SEARCHES.values():
        first_chord, first = same[0]
        lowest = {
            tuple(None if fret is None else fret - first.reach[0] for fret in frets)
            for frets in stops(first_chord, first)
        }
        for chord, region in same[1:]:
            low = region.reach[0]
            assert {
                tuple(None if fret is None else fret - low for fret in frets) for frets in stops(chord, region)
            } == lowest


def test_what_a_hand_holds_below_it_holds_further_up() -> None:
    """Frets lie closer up the neck; and what it cannot hold is too wide, not forbidden otherwise."""
    for same in SEARCHES.values():
        by_place = sorted(same, key=lambda each: each[1].low)
        before: set[Frets] = set()
        for chord, region in by_place:
            low = region.reach[0]
            here = {
                tuple(None if fret is None else fret - low for fret in voicing.frets)
                for voicing in voicings(chord, region)
            }
            assert before <= here
            before = here


@pytest.mark.parametrize("ask", ["place", "borrowed"])
def test_every_voicing_that_is_accepted_keeps_the_rules_and_the_judge_takes_it(ask: str) -> None:
    for card in of(ask):
        chord, region = oracle.tones_of_name(str(card.chord)), card.region(PLAIN)
        accepted = told(card).frets
        assert code(main_voicing(card, PLAIN).frets) in accepted
        for each in accepted:
            frets = frets_of(each)
            octave = 12 if min(fret for fret in frets if fret is not None) > region.reach[1] else 0
            place = region.low + octave, region.high + octave
            assert oracle.right_chord(frets, chord, *place) or oracle.right_spread(frets, chord, *place), (
                card.id,
                each,
            )
            assert find(card, frets, PLAIN).right, (card.id, each)


def _wrong_ones(card: Card) -> Iterator[tuple[str, Frets]]:
    """The main voicing spoilt in every way: a foreign note on each string, each defining tone left out."""
    frets = main_voicing(card, PLAIN).frets
    _, tones, must = oracle.tones_of_name(str(card.chord))
    for index, fret in enumerate(frets):
        if fret is not None:
            near = next(f for f in range(fret + 1, fret + 5) if (oracle.OPEN[index] + f) % 12 not in tones)
            yield f"a foreign note on string {STRINGS[index]}", (*frets[:index], near, *frets[index + 1 :])
    for tone in must:
        yield (
            f"without {tone}",
            tuple(
                None if fret is None or (pitch + fret) % 12 == tone else fret
                for pitch, fret in zip(oracle.OPEN, frets, strict=True)
            ),
        )


@pytest.mark.parametrize("ask", ["place", "borrowed"])
def test_no_foreign_note_and_no_missing_tone_is_accepted(ask: str) -> None:
    for card in of(ask):
        accepted = set(told(card).frets)
        for why, frets in _wrong_ones(card):
            assert not find(card, frets, PLAIN).right, (card.id, why, frets)
            assert code(frets) not in accepted


def test_no_impossible_hand_is_accepted() -> None:
    """Of all ways to stop the strings with the right notes, the judge takes those a hand can hold:
    once per distinct search."""
    cards = {(card.chord, card.region(PLAIN)): card for card in of("place", "borrowed")}
    refused = 0
    for same in SEARCHES.values():
        chord, region = same[0]
        card = cards[chord, region]
        for frets in stops(chord, region):
            right = find(card, frets, PLAIN).right
            assert right == oracle.playable(frets), (card.id, frets)
            refused += not right
    assert refused > 1000


def test_two_strings_are_no_chord() -> None:
    for card in of("place", "borrowed"):
        frets = main_voicing(card, PLAIN).frets
        last = [index for index, fret in enumerate(frets) if fret is not None][-2:]
        finding = find(card, tuple(fret if index in last else None for index, fret in enumerate(frets)), PLAIN)
        assert not finding.right
        assert finding.messages[0].key == "wrong.few"


def test_the_right_shape_five_frets_away_is_wrong() -> None:
    """The same box belongs to one place and its octave: elsewhere the notes are another chord's."""
    for card in of("place", "borrowed"):
        frets = main_voicing(card, PLAIN).frets
        moved = tuple(None if fret is None else fret + 5 for fret in frets)
        assert not find(card, moved, PLAIN).right


def test_name_and_place_judges_the_frets_as_place_does() -> None:
    for card in of("name-place"):
        name = told(card).names[0]
        for _, frets in list(_wrong_ones(card))[:1]:
            assert not judge(card, Given(name=name, frets=frets), PLAIN).right
        assert not judge(card, Given(name="C♯♯", frets=main_voicing(card, PLAIN).frets), PLAIN).right


# Other wrong answers


def test_no_other_choice_is_accepted() -> None:
    for card in of("shape", "whose-key"):
        right = set(told(card).choices)
        for option, _ in asked(card).choices[0].options:
            assert judge(card, Given(choice=(option,)), PLAIN).right is ((option,) in right)


def test_no_other_move_is_accepted() -> None:
    for card in of("bend"):
        right = set(told(card).choices)
        tones, steps = asked(card).choices
        for tone, _ in tones.options:
            for step, _ in steps.options:
                assert judge(card, Given(choice=(tone, step)), PLAIN).right is ((tone, step) in right)


def test_no_other_missing_tone_is_accepted() -> None:
    for card in of("left-out"):
        right = told(card)
        for tone, _ in asked(card).choices[0].options:
            given = Given(choice=(tone,), name=right.names[0])
            assert (tone == card.detail) is ((tone,) in right.choices)
            if tone != card.detail:
                assert not judge(card, given, PLAIN).right
        assert str(card.chord) not in right.names


def test_one_spot_too_many_or_too_few_is_not_accepted() -> None:
    for card in of("tone", "box-notes", "guide-tones"):
        for steps in told(card).spots:
            first = steps[0]
            less = (first[1:], *steps[1:])
            extra = next(
                (string, fret)
                for string in STRINGS
                for fret in range(1, 20)
                if (string, fret) not in first
                and (not card.calls or card.chord.tone_at((oracle.OPEN[6 - string] + fret) % 12) is None)
            )
            more = ((*first, extra), *steps[1:])
            assert not judge(card, Given(spots=less), PLAIN).right
            assert not judge(card, Given(spots=more), PLAIN).right


def test_no_other_notes_are_accepted() -> None:
    for card in of("spell"):
        notes = told(card).notes
        assert not judge(card, Given(notes=notes[:-1]), PLAIN).right
        assert not judge(card, Given(notes=(*notes, "C♯")), PLAIN).right
        assert not judge(card, Given(notes=(*notes[1:], notes[0])), PLAIN).right
        assert judge(card, Given(notes=(notes[0], *reversed(notes[1:]))), PLAIN).right


def test_no_fumbled_change_is_accepted() -> None:
    for card in of("run", "change"):
        marks = [True] * len(beats(card))
        marks[-1] = False
        break_off = tuple(marks)
        if card.box == 1:
            assert not judge(card, Given(marks=break_off), PLAIN).right
            assert not judge(card, Given(marks=(True,)), PLAIN).right


@pytest.mark.parametrize("ask", ASKS)
def test_left_handed_players_get_the_same_answers(ask: str) -> None:
    """Only the drawing is mirrored."""
    setting = Setting(left_handed=True)
    for card in of(ask)[::37]:
        ours, theirs = told(card), question(card, setting)
        assert theirs.words == asked(card).words
        assert judge(card, right_given(card, ours), setting).right


# Other hands and guitars


GUITARS = {
    "a small hand": Setting(hand="small"),
    "a large hand with the thumb": Setting(hand="large", thumb=True),
    "a band": Setting(band=True),
    "richer chords": Setting(richer=True),
    "a long scale and a small hand": Setting(hand="small", scale_mm=749),
    "a capo": Setting(capo=3),
    "a capo far up": Setting(capo=11),
    "twelve frets": Setting(frets=12, highest=12),
    **{name: Setting(tuning=tuning) for name, tuning in TUNINGS.items() if name != "standard"},
    "a tuning of nobody's": Setting(tuning=(36, 50, 45, 60, 54, 70)),
}


@pytest.mark.parametrize("name", GUITARS)
def test_every_card_that_fits_another_guitar_is_asked_answered_and_judged_there(name: str) -> None:
    setting = GUITARS[name]
    some = [card for card in CARDS[::41] if fits(card, setting)]
    assert len(some) > len(CARDS) / 41 * 0.6
    for card in some:
        put, right = question(card, setting), answer(card, setting)
        assert len(say(put.words).split()) <= 8
        verdict = judge(card, right_given(card, right), setting)
        assert verdict.right, (card.id, [say(message) for message in verdict.messages])
        for each in right.frets:
            frets = frets_of(each)
            assert find(card, frets, setting).right
            assert max(fret for fret in frets if fret is not None) <= setting.frets - setting.capo


def test_where_a_tuning_has_no_shapes_no_shape_is_asked_for() -> None:
    dadgad = Setting(tuning=TUNINGS["D A D G A D"])
    assert not any(fits(card, dadgad) for card in of("shape")[::7])
    assert all(fits(card, dadgad) for card in of("name", "spell", "bend", "whose-key", "box-notes")[::7])


def test_with_bass_or_keys_in_the_band_the_upper_strings_come_first() -> None:
    setting = Setting(band=True)
    for card in of("place")[::19]:
        main = main_voicing(card, setting)
        assert main.frets[:2] == (None, None)
        assert find(card, main.frets, setting).right


def test_with_a_band_seventh_chords_come_without_their_root_and_the_card_says_so() -> None:
    setting = Setting(band=True)
    for card in of("place", "name-place", "hands-on", "borrowed")[::17]:
        put = question(card, setting)
        shown = shown_voicing(card, setting)
        if card.chord.quality.seventh is None:
            assert not put.rootless
            assert ROOT in shown.tones
            continue
        assert put.rootless
        assert "root optional" in say(put.words)
        assert drawn(card, setting) == code(shown.frets)
        if ROOT not in shown.tones:
            assert shown.frets[:2] == (None, None)
            assert set(shown.tones) - {None} == set(card.chord.tones) - {ROOT}
            assert find(card, shown.frets, setting).right
            assert not find(card, shown.frets, PLAIN).right


def test_what_asks_by_a_drawing_keeps_the_root_also_with_a_band() -> None:
    for card in of("tone", "number")[::23]:
        assert drawn(card, Setting(band=True)) == code(main_voicing(card, Setting(band=True)).frets)
        assert ROOT in main_voicing(card, Setting(band=True)).tones
