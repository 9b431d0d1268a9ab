"""The records of the asks: each says of its ask what the rest of the program would otherwise compare names for."""

from __future__ import annotations

from statistics import mean

import pytest

from cards.asks import (
    ASKS,
    MODES,
    RECORDS,
    Ask,
    Given,
    Setting,
    allowance,
    beats,
    drawn,
    fits,
    path,
    question,
    read_card,
    requires,
    usual_mode,
    usual_seconds,
)
from tests.cards.everything import CARDS, of

SETTINGS = (Setting(), Setting(band=True))

USUAL_SECONDS = {"name": 4.5, "place": 9.0, "name-place": 12.0, "number": 6.5, "hands-on": 6.0}
"""What an unpractised player of the first five asks takes."""

THINKS_LIKE = {
    "shape": "number",
    "tone": "number",
    "spell": "name",
    "whose-key": "number",
    "box-notes": "place",
    "change": "hands-on",
    "bend": "name-place",
    "left-out": "number",
    "run": "hands-on",
    "guide-tones": "place",
    "borrowed": "place",
}
"""For each other ask the one of the first five that it resembles most."""

each_record = pytest.mark.parametrize("record", RECORDS, ids=lambda record: record.name)


def test_each_ask_has_one_record_and_they_stand_in_the_order_of_introduction() -> None:
    assert tuple(record.name for record in RECORDS) == ASKS
    assert len(set(ASKS)) == len(ASKS)
    for card in CARDS[::101]:
        assert path(card)[-1] == ASKS.index(card.ask)


@each_record
def test_the_cards_of_a_record_are_of_its_ask(record: Ask) -> None:
    assert of(record.name)
    for card in of(record.name):
        assert list(requires(card)) == [required.id for required in record.requires(card)]
        assert beats(card) == record.beats(card) > 0


@each_record
def test_a_question_says_one_of_the_prompts_of_its_record(record: Ask) -> None:
    cards = of(record.name)[::17]
    if record.name == "borrowed":
        # In the open position only tunes call for such chords, so that no card of the universe has them there.
        cards += [read_card("borrowed:D:b7_major:open"), read_card("borrowed:D:b7_7:open")]
    said = {question(card, setting).words.key for setting in SETTINGS for card in cards if fits(card, setting)}
    assert said == set(record.prompts)


@each_record
def test_a_card_draws_one_voicing_if_its_record_says_so(record: Ask) -> None:
    for card in of(record.name)[::53]:
        for setting in SETTINGS:
            assert (drawn(card, setting) is not None) == (record.draws is not None and fits(card, setting))


@each_record
def test_what_is_answered_on_the_guitar_is_put_in_so(record: Ask) -> None:
    for card in of(record.name)[::53]:
        assert usual_mode(card) in MODES
        assert (usual_mode(card) == "hands-on") is record.on_guitar


def tapping(ask: str) -> float:
    """Seconds that it takes to put an answer in, on average over the cards of an ask."""
    return mean(allowance(card, Given(), usual_mode(card)) for card in of(ask))


@each_record
def test_the_usual_seconds_are_the_actions_and_the_thinking_of_an_ask_that_is_like_it(record: Ask) -> None:
    ask = record.name
    assert {usual_seconds(card) for card in of(ask)} == {record.usual_seconds}
    if ask in USUAL_SECONDS:
        assert record.usual_seconds == USUAL_SECONDS[ask]
        return
    known = THINKS_LIKE[ask]
    thinking = USUAL_SECONDS[known] - tapping(known)
    chords = mean(len(card.calls) for card in of(ask)) if ask == "guide-tones" else 1
    assert record.usual_seconds == pytest.approx(tapping(ask) + chords * thinking, abs=0.1)
