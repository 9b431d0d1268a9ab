"""Answers: judged, kept exactly once, learnt from; doubled, replayed, in conflict, taken back."""

from __future__ import annotations

import secrets
import threading
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import select

from drill.learning.learn import rebuild
from drill.learning.reviews import outcome_of
from drill.store import Store
from drill.store.memory import last_answers, memory_rows
from drill.store.models import LastAnswer, Mistap, Question, Review
from tests.conftest import Clock, Guitarist

both = pytest.mark.both_databases


def log(store: Store) -> list[Review]:
    with store.reading() as db:
        return list(db.scalars(select(Review).order_by(Review.answered_at, Review.id)))


def memory(store: Store) -> tuple[dict[str, Any], dict[str, Any]]:
    def told(last: LastAnswer) -> tuple[object, ...]:
        return last.reviews, last.answered_at, last.outcome

    with store.reading() as db:
        return memory_rows(db, 1), {card: told(last) for card, last in last_answers(db, 1).items()}


def rebuilt(store: Store) -> tuple[dict[str, Any], dict[str, Any]]:
    rebuild(store)
    return memory(store)


@pytest.mark.parametrize(
    ("right", "hinted", "seconds", "outcome"),
    [
        (True, False, 5.2, "clean"),
        (True, False, 5.21, "late"),
        (True, False, None, "late"),
        (True, True, 1.0, "late"),
        (False, False, 1.0, "missed"),
        (False, False, None, "missed"),
    ],
)
def test_the_clock_decides_between_clean_and_late(
    right: bool, hinted: bool, seconds: float | None, outcome: str
) -> None:
    assert outcome_of(right, hinted, seconds, 5.2) == outcome


@both
def test_a_review_keeps_what_it_was_judged_by(guitarist: Guitarist, store: Store) -> None:
    guitarist.start()
    number = next(each["question"] for each in guitarist.session["questions"] if each["prompt"]["ask"] == "place")
    item = guitarist.answer(number, seconds=4.25, mode="mouse")
    (review,) = log(store)
    assert item["status"] == "accepted"
    assert (review.id, review.outcome, review.right) == (item["id"], item["outcome"], True)
    assert (review.seconds, review.tempo, review.mode) == (4.25, 80, "mouse")
    assert item["allowed"] == 3.0 + review.allowance
    assert review.given == guitarist.right(number)
    assert review.drawn == {
        "tuning": [40, 45, 50, 55, 59, 64],
        "capo": 0,
        "frets": 22,
        "scale_mm": 648.0,
        "highest": 22,
        "hand": "medium",
        "thumb": False,
        "band": False,
        "barre": "full",
        "pins": [],
        "left_handed": False,
        "richer": False,
        "main": review.drawn["main"],
        "beats": None,
    }
    assert review.drawn["main"] in guitarist.question(number)["answer"]["frets"]


@both
def test_a_card_of_a_tune_lasts_as_long_as_its_change(guitarist: Guitarist, store: Store) -> None:
    """Two beats at 80, not the bar of the bare card."""
    guitarist.start()
    with store.writing(1) as (db, _):
        db.get_one(Question, (guitarist.session["id"], 0)).beats = 2.0
    put = guitarist.client.get(guitarist.address).json["questions"][0]
    item = guitarist.answer(0, seconds=put["allowed"]["touch"])
    assert (item["outcome"], item["allowed"]) == ("clean", put["allowed"]["touch"])
    (review,) = log(store)
    assert item["allowed"] == 1.5 + review.allowance
    assert review.drawn["beats"] == 2.0
    again = guitarist.send(guitarist.review(0, id=review.id))["items"][0]
    assert again == {**item, "status": "already answered"}
    bare = guitarist.answer(1)
    assert bare["allowed"] == 3.0 + log(store)[1].allowance


@both
def test_an_answer_is_dated_by_the_servers_clock(guitarist: Guitarist, store: Store) -> None:
    """The phone is an hour ahead, and the answer waited for half a minute."""
    guitarist.start()
    guitarist.clock.go_on(minutes=1)
    ahead = guitarist.clock.ms + 3_600_000
    guitarist.send(guitarist.review(0, answered_at=ahead - 30_000), sent_at=ahead)
    (review,) = log(store)
    assert (guitarist.clock.instant - review.answered_at).total_seconds() == 30
    assert review.received_at == guitarist.clock.instant


@both
def test_an_answer_sent_twice_counts_once(guitarist: Guitarist, store: Store) -> None:
    guitarist.start()
    review = guitarist.review(0)
    first = guitarist.send(review)["items"][0]
    before = memory(store)
    second = guitarist.send(review)["items"][0]
    assert second == {**first, "status": "already answered"}
    assert (len(log(store)), memory(store)) == (1, before)


@both
def test_the_first_answer_to_a_question_stands(guitarist: Guitarist, store: Store) -> None:
    guitarist.start()
    first = guitarist.send(guitarist.review(0))["items"][0]
    other = guitarist.review(0, {"shown": True})
    conflict = guitarist.send(other)["items"][0]
    assert conflict == {**first, "id": other["id"], "status": "already answered"}
    assert len(log(store)) == 1


@both
def test_the_same_id_with_another_body_gets_the_first_verdict(guitarist: Guitarist, store: Store) -> None:
    guitarist.start()
    first = guitarist.send(guitarist.review(0))["items"][0]
    changed = guitarist.review(1, {"shown": True}, id=first["id"])
    assert guitarist.send(changed)["items"][0] == {**first, "status": "already answered"}
    assert [review.question for review in log(store)] == [0]


@both
def test_one_answer_twice_in_a_batch_counts_once(guitarist: Guitarist, store: Store) -> None:
    guitarist.start()
    review = guitarist.review(0)
    other = {**review, "id": secrets.token_hex(16)}
    items = guitarist.send(review, review, other)["items"]
    assert [item["status"] for item in items] == ["accepted", "already answered", "already answered"]
    assert len(log(store)) == 1


@both
def test_a_batch_that_arrives_many_times_at_once_counts_once(guitarist: Guitarist, app: Flask, store: Store) -> None:
    guitarist.start()
    batch = [guitarist.review(number) for number in range(4)]
    statuses: list[str] = []

    def send() -> None:
        once = Guitarist(app.test_client(), guitarist.clock)
        once.session = {**guitarist.session, "questions": list(guitarist.session["questions"])}
        statuses.extend(item["status"] for item in once.send(*batch)["items"])

    threads = [threading.Thread(target=send) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(statuses) == ["accepted"] * 4 + ["already answered"] * 20
    assert len(log(store)) == 4
    assert memory(store) == rebuilt(store)


WRONG = [
    ({"id": "ABC"}, "the id of an answer is 32 digits"),
    ({"id": "\ud800"}, "the id of an answer is 32 digits"),
    ({"id": 7}, "the id of an answer is 32 digits"),
    ({"question": -1}, "the question is a number from 0"),
    ({"question": True}, "the question is a number from 0"),
    ({"question": 999}, "this session has no question 999"),
    ({"card": "place:Ab:4:box1"}, "question 1 is place:"),
    ({"card": None}, "the card is an id like"),
    ({"mode": "telepathy"}, "the mode is one of touch, mouse, keyboard, hands-on"),
    ({"mode": ["touch"]}, "the mode is one of"),
    ({"seconds": -1}, "the seconds of an answer are from 0"),
    ({"seconds": "3"}, "the seconds of an answer must be a number"),
    ({"seconds": 10**400}, "the seconds of an answer must be a number"),
    ({"seconds": float("nan")}, "the seconds of an answer must be a number"),
    ({"answered_at": None}, "answered_at must be a number"),
    ({"given": "D"}, "what was given is an object"),
    ({"given": {"frets": [1, 2]}}, "frets must be six values"),
    ({"given": {"strum": "down"}}, "an answer has no part strum"),
]


@pytest.mark.parametrize(("wrong", "reason"), WRONG)
def test_a_refused_answer_says_why_and_holds_up_no_other(
    guitarist: Guitarist, store: Store, wrong: dict[str, Any], reason: str
) -> None:
    guitarist.start()
    refused, taken = guitarist.review(1, **wrong), guitarist.review(0)
    items = guitarist.send(refused, taken)["items"]
    assert [item["status"] for item in items] == ["refused", "accepted"]
    assert items[0]["id"] == refused["id"]
    assert items[0]["reason"].startswith(reason)
    assert [review.id for review in log(store)] == [taken["id"]]


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.recursive(
        st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=40),
        lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=12), inner, max_size=4),
        max_leaves=8,
    ),
    st.sampled_from(["", "id", "question", "card", "given", "seconds", "mode", "answered_at"]),
)
def test_whatever_is_sent_is_answered(guitarist: Guitarist, store: Store, value: object, part: str) -> None:
    if not guitarist.session:
        guitarist.start()
    item = {**guitarist.review(0), part: value} if part else value
    (reply,) = guitarist.send(item)["items"]
    assert reply["status"] in ("accepted", "already answered", "refused")
    assert len(log(store)) <= 1


@both
def test_memory_is_what_the_log_says(guitarist: Guitarist, store: Store) -> None:
    guitarist.start()
    for number, played in enumerate([None, {"shown": True}, None, {"name": "C"}, None]):
        guitarist.answer(number, played, seconds=None if number == 4 else 2.5)
    before = memory(store)
    assert before == rebuilt(store)
    assert before[1][guitarist.question(1)["card"]][2] == "missed"


@both
def test_answers_that_come_in_the_wrong_order_are_learnt_in_the_right_one(guitarist: Guitarist, store: Store) -> None:
    """One tab was offline while the other went on."""
    guitarist.start()
    guitarist.clock.go_on(seconds=10)
    kept_back = [guitarist.review(0), guitarist.review(1, {"shown": True})]
    guitarist.clock.go_on(seconds=10)
    guitarist.answer(2)
    guitarist.answer(3)
    guitarist.send(*kept_back)
    assert [review.question for review in log(store)][2:] == [2, 3]
    assert memory(store) == rebuilt(store)


@both
def test_a_mistap_is_taken_out_of_memory_and_stays_in_the_log(
    guitarist: Guitarist, client: FlaskClient, store: Store
) -> None:
    guitarist.start()
    guitarist.answer(0)
    before = memory(store)
    slip = guitarist.answer(1, {"name": "F♯m"})
    reply = client.post(f"{guitarist.address}/mistaps", json={"review": slip["id"]})
    assert reply.json == {"status": "accepted"}
    assert memory(store) == before == rebuilt(store)
    assert [review.outcome for review in log(store)] == ["clean", "missed"]
    again = client.post(f"{guitarist.address}/mistaps", json={"review": slip["id"]})
    assert again.json == {"status": "already taken back"}
    reviews = [each["review"] for each in client.get(guitarist.address).json["questions"] if each["review"]]
    assert [review["mistap"] for review in reviews] == [False, True]
    assert guitarist.end()["missed"] == []


def test_only_the_last_answer_of_a_running_session_is_a_mistap(
    guitarist: Guitarist, client: FlaskClient, store: Store
) -> None:
    guitarist.start()
    first, last = guitarist.answer(0), guitarist.answer(1)
    for review in (first["id"], "0" * 32, None, 5, ["x"], "\0"):
        reply = client.post(f"{guitarist.address}/mistaps", json={"review": review})
        assert reply.json["status"] == "refused"
    guitarist.end()
    reply = client.post(f"{guitarist.address}/mistaps", json={"review": last["id"]})
    assert reply.json == {"status": "refused", "reason": "the session has ended: its answers stay as they are"}
    with store.reading() as db:
        assert db.scalars(select(Mistap)).all() == []


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"tab": ""}, "tab"),
        ({"tab": "x" * 65}, "tab"),
        ({"sent_at": "now"}, "sent_at"),
        ({"visible_seconds": -1}, "visible_seconds"),
        ({"visible_seconds": 1e9}, "visible_seconds"),
        ({"reviews": {}}, "reviews"),
        ({"reviews": [{}] * 101}, "reviews"),
    ],
)
def test_a_batch_that_cannot_be_read_is_refused_whole(
    guitarist: Guitarist, client: FlaskClient, clock: Clock, body: dict[str, Any], field: str
) -> None:
    guitarist.start()
    batch = {"tab": "tab", "sent_at": clock.ms, "visible_seconds": 1, "reviews": []}
    reply = client.post(f"{guitarist.address}/reviews", json={**batch, **body})
    assert (reply.status_code, reply.json["field"]) == (422, field)
