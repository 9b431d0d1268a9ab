"""Which cards a player may be asked: switched on, fitting the guitar, within reach on the path."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

import pytest

from cards.asks import KEYS, Card, Setting, fits, groups, path, read_card, requires, universe
from cards.theory.keys import Key
from drill.planning.repertoire import (
    entry,
    features,
    frontier,
    group_sizes,
    is_switched_on,
    order_keys,
    playable,
    starting_keys,
    steps,
)

PLAIN = Setting()


def offered(
    outcomes: dict[str, str], keys: Iterable[str] = ("G",), setting: Setting = PLAIN, off: Iterable[str] = ()
) -> list[Card]:
    """The new cards that a plan is offered."""
    return [step.card for step in frontier(outcomes, tuple(keys), setting, tuple(off))]


def in_key(cards: Iterable[Card], key: str) -> list[str]:
    return [card.id for card in cards if card.key == Key.read(key)]


@pytest.mark.parametrize("key", KEYS, ids=str)
def test_the_steps_of_a_key_are_its_cards_along_the_path(key: Key) -> None:
    own = steps(key)
    assert [step.path for step in own] == sorted(step.path for step in own)
    assert {step.card.id for step in own} == {card.id for card in universe() if card.key == key}
    for step in own[::17]:
        assert step.requires == requires(step.card)
        assert step.groups == frozenset(groups(step.card))


def test_a_new_player_begins_with_naming_and_placing_the_one_in_box_one() -> None:
    first = in_key(offered({}), "G")
    assert first[:2] == ["name:G:1", "place:G:1:box1"]
    for card_id in first:
        assert requires(read_card(card_id)) == ()


def test_what_was_seen_is_no_longer_new() -> None:
    assert "name:G:1" not in in_key(offered({"name:G:1": "missed"}), "G")
    assert "name:G:1" not in in_key(offered({"name:G:1": "clean"}), "G")


@pytest.mark.parametrize(("outcome", "is_open"), [("clean", True), ("late", True), ("missed", False)])
def test_a_card_opens_when_what_it_requires_was_right_the_last_time(outcome: str, is_open: bool) -> None:
    new = in_key(offered({"place:G:1:box1": outcome}), "G")
    assert ("name-place:G:1:box1" in new) is is_open
    assert ("shape:G:1:box1" in new) is is_open


def test_a_change_waits_for_both_its_chords() -> None:
    change = "change:G:1~4:box1"
    one = {"place:G:1:box1": "clean"}
    assert change not in in_key(offered(one), "G")
    assert change in in_key(offered({**one, "place:G:4:box1": "clean"}), "G")


def test_everything_opens_in_the_end() -> None:
    """A player who answers all that is offered meets every card of the key, each after what it requires."""
    outcomes: dict[str, str] = {}
    for key in ("G", "Em", "G blues"):
        while new := in_key(offered(outcomes, [key]), key):
            for card_id in new:
                assert all(outcomes[each] == "clean" for each in requires(read_card(card_id)))
            outcomes |= dict.fromkeys(new, "clean")
        assert {step.card.id for step in steps(Key.read(key))} <= set(outcomes)


def test_new_cards_come_nearest_on_the_path_first() -> None:
    outcomes = dict.fromkeys(in_key(offered({}), "G"), "clean")
    new = [card for card in offered(outcomes) if card.key == Key.read("G")]
    assert [path(card) for card in new] == sorted(path(card) for card in new)


def test_the_players_own_keys_are_offered_more_of_and_come_first() -> None:
    new = offered({}, ["B♭", "E♭m"])
    count = Counter(str(card.key) for card in new)
    assert [str(key) for key in dict.fromkeys(card.key for card in new)][:3] == ["B♭", "E♭m", "G"]
    assert max(count, key=lambda key: count[key]) in ("B♭", "E♭m")
    assert all(count[other] <= 8 for other in count if other not in ("B♭", "E♭m"))
    assert all(number <= 40 for number in count.values())


def test_keys_come_in_the_order_of_the_player_then_of_songs() -> None:
    order = [str(key) for key in order_keys([Key.read("A♭")])]
    assert order[:8] == ["A♭", "G", "C", "D", "A", "Am", "Em", "E"]
    assert sorted(order) == sorted(map(str, KEYS))
    assert starting_keys(()) == ("G", "C", "D", "A", "E")
    assert starting_keys(("A♭",)) == ("A♭",)


# Switched off


def test_what_is_switched_off_is_not_offered() -> None:
    outcomes = dict.fromkeys((card.id for card in offered({})), "clean")
    for off in ("sevenths", "minor keys", "blues", "box:1", "ask:name", "ask:shape"):
        assert not [card.id for card in offered(outcomes, off=[off]) if off in groups(card)]


def test_nothing_waits_for_a_card_that_is_switched_off() -> None:
    """Without naming, spelling is open at once; without box 1, box 2 is."""
    assert "spell:G:1" not in in_key(offered({}), "G")
    assert "spell:G:1" in in_key(offered({}, off=["ask:name"]), "G")
    assert "place:G:1:box2" in in_key(offered({}, off=["box:1"]), "G")


def test_the_groups_and_their_sizes() -> None:
    assert dict(group_sizes()) == dict(Counter(group for card in universe() for group in groups(card)))


def test_a_card_is_on_when_none_of_its_groups_is_off() -> None:
    card = read_card("place:G:4.7:box3")
    assert is_switched_on(card, ())
    for off in ("ask:place", "box:3", "sevenths"):
        assert not is_switched_on(card, (off,))
    assert is_switched_on(card, ("box:1", "ask:name", "minor keys"))


# The guitar


def test_only_cards_that_fit_the_guitar_are_offered() -> None:
    """Box 1 of G♭ starts at fret 11: on a neck with a highest comfortable fret of 12 it is not asked."""
    low = Setting(highest=12)
    first = offered({}, ["G♭"])
    assert "place:Gb:1:box1" in in_key(first, "G♭")
    for card in offered({}, ["G♭"], low):
        assert fits(card, low)
    assert "place:Gb:1:box1" not in in_key(offered({}, ["G♭"], low), "G♭")


def test_what_was_practised_is_asked_again_only_where_it_is_on_and_fits() -> None:
    practised = ["place:G:1:box1", "place:Gb:1:box1", "name:Am:4", "sing:G:4", "place:G:4.7:box1"]
    assert list(playable(practised, PLAIN, ())) == [
        "place:G:1:box1",
        "place:Gb:1:box1",
        "name:Am:4",
        "place:G:4.7:box1",
    ]
    assert list(playable(practised, Setting(highest=12), ("minor keys", "sevenths"))) == ["place:G:1:box1"]


def test_what_memory_needs_to_know_of_a_card() -> None:
    card = read_card("borrowed:E:b7_major:box1")
    known = features(card)
    assert (known.card_id, known.ask, known.skills) == (card.id, "borrowed", card.skills)


def test_full_barres_are_a_step_of_their_own() -> None:
    barred, plain = entry("place:Bb:1:box4"), entry("place:Bb:4:box4")
    cards = [entry(card.id) for card in universe() if card.ask == "hands-on" and card.key == Key.read("Bb")]
    tiring = [card for card in cards if card.is_tiring]
    assert 0 < len(tiring) < len(cards)
    for card in tiring:
        before = [other for other in cards if other.path[:4] == card.path[:4] and not other.is_tiring]
        assert all(other.path < card.path for other in before)
    assert {barred.is_tiring, plain.is_tiring} == {False}, "tapping tires no hand"
