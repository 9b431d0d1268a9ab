"""Why: what skills do, which are weak, and what repairing them would lift."""

from __future__ import annotations

import json
import random
from datetime import datetime, timedelta

import pytest
from click.testing import CliRunner
from flask.testing import FlaskClient

from cards.asks import Card, universe
from drill.cli.command import main
from drill.learning.fluencies import fluencies_of
from drill.memory.recall import learn
from drill.memory.rows import Fluency, Outcome, Row
from drill.planning.repertoire import features
from drill.progress.skills import Practised, estimate_gains
from drill.progress.why import Why, work_out
from drill.store import Store
from drill.words import say
from tests.drill.logs import lines, write
from tests.drill.rows import NOW

KEYS = ("G", "C", "D", "Bb", "Eb", "Ab")


def practised(wrong: dict[str, float], rounds: int = 12) -> tuple[dict[str, Row], list[Card]]:
    """A player right on nine of ten answers, less often where a card has one of the skills in ``wrong``."""
    chance = random.Random(5)
    cards = [
        card
        for card in universe()
        if card.ask in ("name", "place") and card.key.slug in KEYS and card.box in (None, 1) and not card.seventh
    ]
    rows: dict[str, Row] = {}
    at = NOW - timedelta(days=rounds)
    for _ in range(rounds):
        for card in cards:
            share = min([0.9, *(wrong[skill] for skill in card.skills if skill in wrong)])
            rows |= learn(rows, features(card), Outcome(chance.random() < share, 3.0, at))
            at += timedelta(seconds=20)
        at += timedelta(days=1) - timedelta(seconds=20 * len(cards))
    return rows, cards


def why_of(wrong: dict[str, float]) -> Why:
    rows, cards = practised(wrong)
    fluencies = fluencies_of(rows, cards, NOW, 80)
    return work_out([Practised(card.id, card.skills, 12, fluencies[card.id]) for card in cards])


def skills_in(why: Why, kind: str) -> set[str]:
    return {each.skill for each in why.weak(kind)}


def test_weak_flat_keys_are_found_and_everything_else_is_fine() -> None:
    why = why_of({"key:Eb": 0.3, "key:Ab": 0.3})
    assert skills_in(why, "key") == {"key:Eb", "key:Ab"}
    assert not any(skills_in(why, kind) for kind in ("ask", "degree", "shape", "box"))
    assert {(each.skill, each.cards) for each in why.repairs} == {("key:Eb", 14), ("key:Ab", 14)}
    assert say(why.words()[0]).startswith("Shapes, degrees and asks are fine, it is the flat keys ")


def test_weak_naming_is_found_whatever_the_key() -> None:
    why = why_of({"ask:name": 0.3})
    assert skills_in(why, "ask") == {"ask:name"}
    assert skills_in(why, "key") == set()
    assert say(why.words()[0]) == "Shapes, degrees and keys are fine, it is naming."
    assert say(why.words()[1]).startswith("Repairing naming would lift 42 cards: ")


def test_nothing_weak_is_said_so() -> None:
    why = why_of({})
    assert skills_in(why, "key") == set()
    assert not why.weak("degree")


def a_card(place: int, skills: str, p: float, answers: int = 4) -> Practised:
    return Practised(f"card {place}", tuple(skills.split()), answers, Fluency(p, 0.1, p, 3.0))


def test_too_few_answers_tell_no_skill() -> None:
    why = work_out([a_card(0, "key:Eb ask:name", 0.2)])
    assert why.estimates == ()
    assert say(why.words()[0]) == "Too few answers to tell the skills apart yet: 8 for each at least."


def test_fluencies_are_shared_out_by_hand() -> None:
    """Naming costs four tenths in both keys: it is naming, and no key.

    The mean is .6, naming is .2 below it on six cards: 6 · .2 / (6 + 3). What is left of each card is
    .2 less that, and a skill's variance (.1² + left²) / (6 + 3).
    """
    cards = [
        a_card(place, f"key:{key} ask:{ask}", 0.4 if ask == "name" else 0.8)
        for place, (key, ask) in enumerate([(key, ask) for key in ("Eb", "G") for ask in ("name", "place")] * 3)
    ]
    found = {each.skill: each for each in estimate_gains(cards)}
    assert found["ask:name"].gain == pytest.approx(-0.4 / 3, abs=1e-4)
    assert found["ask:place"].gain == pytest.approx(0.4 / 3, abs=1e-4)
    assert found["key:Eb"].gain == pytest.approx(0, abs=1e-4)
    left = 0.2 - 0.4 / 3
    assert found["ask:name"].sd == pytest.approx(((0.1**2 + left**2) / 9) ** 0.5, abs=1e-4)
    assert (found["ask:name"].cards, found["ask:name"].answers) == (6, 24)
    why = work_out(cards)
    assert [(each.skill, each.cards, round(each.lifted, 2)) for each in why.repairs] == [("ask:name", 6, 0.8)]
    assert say(why.words()[0]) == "Keys are fine, it is naming."


def test_a_key_seen_through_a_weak_ask_alone_is_not_blamed_for_it() -> None:
    """E♭ was only ever asked by name, which is weak everywhere; G by both."""
    cards = [a_card(n, "key:G ask:name", 0.3) for n in range(12)]
    cards += [a_card(12 + n, "key:G ask:place", 0.8) for n in range(12)]
    cards += [a_card(24 + n, "key:Eb ask:name", 0.3) for n in range(12)]
    found = {each.skill: each for each in estimate_gains(cards)}
    assert found["ask:name"].gain < -0.1
    assert found["key:Eb"].gain == pytest.approx(0, abs=0.01)


def test_what_there_is_only_one_of_is_not_called_weak() -> None:
    cards = [a_card(n, "box:1 ask:place", 0.3) for n in range(9)] + [a_card(9 + n, "ask:name", 0.8) for n in range(9)]
    why = work_out(cards)
    assert skills_in(why, "box") == set()
    assert skills_in(why, "ask") == {"ask:place"}


def a_weak_log(at: datetime) -> list[tuple[str, str, float | None, datetime]]:
    log = []
    for number, degree in enumerate((1, 4, 5, 6)):
        log += lines(f"name:Eb:{degree}", "mmmmmm", at + timedelta(minutes=number))
        log += lines(f"name:G:{degree}", "cccccc", at + timedelta(minutes=10 + number), 1.5)
    return sorted(log, key=lambda line: line[3])


@pytest.mark.both_databases
def test_the_page_gets_sentences_and_a_drawing(store: Store, client: FlaskClient) -> None:
    assert client.get("/api/keys/why").json["drawing"] == ""
    write(store, a_weak_log(NOW - timedelta(days=3)))
    body = client.get("/api/keys/why").json
    assert "it is the key of E♭." in body["words"][0]
    assert body["repairs"][0] == {"skill": "key:Eb", "says": "E♭"}
    assert body["drawing"].startswith("<svg")
    assert body["words"][0] in body["drawing"]
    assert {each["kind"] for each in body["skills"]} >= {"key", "ask", "degree"}


def test_the_weakest_are_printed(store: Store, tmp_path: object) -> None:
    write(store, a_weak_log(NOW - timedelta(days=3)))
    said = CliRunner().invoke(main, ["weak", "--data", str(tmp_path)])
    assert said.exit_code == 0, said.output
    assert "it is the key of E♭." in said.output
    keys = said.output.partition("Weakest keys\n")[2].splitlines()
    assert keys[0].split()[0] == "E♭"
    assert "24 answers" in keys[0]


def test_the_weakest_come_as_json(store: Store, tmp_path: object) -> None:
    write(store, a_weak_log(NOW - timedelta(days=3)))
    said = CliRunner().invoke(main, ["weak", "--json", "--data", str(tmp_path)])
    found = json.loads(said.output)
    assert [each["key"] for each in found["keys"]] == ["E♭", "G"]
    assert found["keys"][0]["low"] <= found["keys"][0]["p"] <= found["keys"][0]["high"]
    assert found["skills"][0]["skill"] == "key:Eb"
    assert len(found["chords"]) == 3
    assert {each["key"] for each in found["chords"]} == {"E♭"}


def test_an_empty_log_has_nothing_weak(store: Store, tmp_path: object) -> None:
    said = CliRunner().invoke(main, ["weak", "--data", str(tmp_path)])
    assert said.output.strip().startswith("Too few answers")
