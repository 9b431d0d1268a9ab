"""The way through the cards: what comes before what, and the groups that can be switched off."""

from __future__ import annotations

from collections import Counter

import pytest

from cards.asks import ASKS, KEYS, Card, groups, path, read_card, requires
from cards.theory.keys import Mode
from tests.cards.everything import CARDS, of

BY_ID = {card.id: card for card in CARDS}


def test_what_a_card_requires_are_cards_and_come_earlier() -> None:
    """Earlier on the path: so nothing can require itself in a circle."""
    for card in CARDS:
        needed = requires(card)
        assert len(set(needed)) == len(needed)
        for each in needed:
            assert each in BY_ID, (card.id, each)
            assert path(BY_ID[each]) < path(card), (card.id, each)


def _first(card: Card) -> set[str]:
    """Everything that comes before a card, however far back."""
    found: set[str] = set()
    open_ones = [card.id]
    while open_ones:
        for each in requires(BY_ID[open_ones.pop()]):
            if each not in found:
                found.add(each)
                open_ones.append(each)
    return found


def test_nothing_waits_for_itself_and_every_key_has_something_to_begin_with() -> None:
    for card in CARDS[::13]:
        assert card.id not in _first(card)
    for key in KEYS:
        own = [card for card in CARDS if card.key == key]
        assert any(not requires(card) for card in own) or all(
            BY_ID[each].key != key for card in own[:1] for each in requires(card)
        )


def test_what_is_required_is_of_the_same_key_or_of_the_major_key_beside_it() -> None:
    for card in CARDS:
        for each in requires(card):
            other = BY_ID[each].key
            beside = {card.key, card.key.relative} if card.key.mode != Mode.BLUES else {card.key}
            assert other in beside or other.tonic == card.key.tonic


@pytest.mark.parametrize(
    ("card_id", "needed"),
    [
        ("name:Ab:4", ()),
        ("place:Ab:4:box1", ()),
        ("name:Ab:4.7", ("name:Ab:4",)),
        ("place:Ab:4:box3", ("place:Ab:4:box2",)),
        ("place:Ab:4.7:box1", ("place:Ab:4:box1",)),
        ("place:Ab:4.7:box2", ("place:Ab:4.7:box1", "place:Ab:4:box2")),
        ("name-place:Ab:4:box1", ("place:Ab:4:box1",)),
        ("hands-on:Ab:4:box1", ("place:Ab:4:box1",)),
        ("shape:Ab:4:box1", ("place:Ab:4:box1",)),
        ("tone:Ab:4:box1:third", ("place:Ab:4:box1",)),
        ("spell:Ab:4", ("name:Ab:4",)),
        ("bend:Ab:4:maj7", ("name:Ab:4",)),
        ("left-out:Ab:1.7:box1:root", ("place:Ab:1.7:box1",)),
        ("box-notes:Ab:4:box2", ("whose-key:Ab:box2",)),
        ("whose-key:Ab:box1", ()),
        ("whose-key:Ab:box2", ("whose-key:Ab:box1",)),
        ("change:Ab:1~4:box1", ("place:Ab:1:box1", "place:Ab:4:box1")),
        ("run:Ab:1~4~5~1:box1", ("place:Ab:1:box1", "place:Ab:4:box1", "place:Ab:5:box1")),
        ("borrowed:E:b7_major:box1", ("place:E:1:box1", "place:E:4:box1", "place:E:5:box1")),
        ("place:D:4:open", ()),
        ("place:D:4.7:open", ("place:D:4:open",)),
        ("hands-on:D:4:open", ("place:D:4:open",)),
        ("change:D:1~4:open", ("place:D:1:open", "place:D:4:open")),
        ("name:Fm:4", ("name:Ab:1",)),
        ("name:A-blues:4", ("name:A:1",)),
    ],
)
def test_what_should_be_settled_before(card_id: str, needed: tuple[str, ...]) -> None:
    assert set(requires(read_card(card_id))) == set(needed)


def test_in_one_key_no_two_cards_of_one_ask_about_the_same_thing_stand_at_the_same_place() -> None:
    """Of the five asks of the first drill no two at all do."""
    first = of("name", "place", "name-place", "number", "hands-on")
    for key in KEYS:
        own = [card for card in first if card.key == key and all(card.own_of(call) for call in card.calls)]
        paths = [(path(card), card.box) for card in own]
        assert len(set(paths)) == len(paths)


def test_major_keys_come_before_minor_ones_and_these_before_blues() -> None:
    modes = [card.key.mode for card in sorted(CARDS, key=path)]
    order = (Mode.MAJOR, Mode.MINOR, Mode.BLUES)
    assert modes == sorted(modes, key=order.index)


def test_box_one_comes_first_and_triads_before_sevenths_before_borrowed_chords() -> None:
    for key in KEYS:
        places = sorted((card for card in of("place", "borrowed") if card.key == key), key=path)
        boxes = [card.box for card in places]
        assert boxes == sorted(boxes, key=int)  # type: ignore[arg-type]
        for box in range(1, 6):
            kinds = [2 if card.own is None else int(card.own[1]) for card in places if card.box == box]
            assert kinds == sorted(kinds)


def test_asks_that_build_on_others_follow_them() -> None:
    def order(key: str, box: int) -> list[str]:
        cards = sorted((card for card in CARDS if card.key.slug == key and card.box in (None, box)), key=path)
        return list(dict.fromkeys(card.ask for card in cards))

    asks = order("G", 1)
    assert asks[:2] == ["name", "place"]
    assert set(asks) == set(ASKS)
    for earlier, later in (
        ("place", "shape"),
        ("place", "tone"),
        ("name", "spell"),
        ("change", "run"),
        ("tone", "left-out"),
    ):
        assert asks.index(earlier) < asks.index(later)


GROUP_COUNTS = {
    "ask:name": 468,
    "ask:place": 2382,
    "ask:name-place": 2382,
    "ask:number": 2187,
    "ask:hands-on": 2382,
    "ask:shape": 455,
    "ask:tone": 1820,
    "ask:spell": 468,
    "ask:whose-key": 130,
    "ask:box-notes": 520,
    "ask:change": 668,
    "ask:bend": 507,
    "ask:left-out": 1690,
    "ask:run": 1070,
    "ask:guide-tones": 195,
    "ask:borrowed": 910,
    "box:1": 3315,
    "box:2": 3315,
    "box:3": 3315,
    "box:4": 3315,
    "box:5": 3315,
    "open position": 216,
    "sevenths": 3971,
    "minor keys": 5889,
    "blues": 988,
}


def test_the_groups_and_how_many_cards_each_holds() -> None:
    assert dict(Counter(group for card in CARDS for group in groups(card))) == GROUP_COUNTS


def test_a_cards_groups_are_its_ask_its_box_and_what_kind_of_music_it_is() -> None:
    for card in CARDS:
        found = groups(card)
        assert found[0] == f"ask:{card.ask}"
        assert (f"box:{card.box}" in found) == (card.box is not None and not card.is_open)
        assert ("open position" in found) == card.is_open
        assert ("minor keys" in found) == (card.key.mode == Mode.MINOR)
        assert ("blues" in found) == (card.key.mode == Mode.BLUES)
        assert ("sevenths" in found) == (
            card.key.mode == Mode.MAJOR and any(call.slug(card.key).endswith(".7") for call in card.calls)
        )
