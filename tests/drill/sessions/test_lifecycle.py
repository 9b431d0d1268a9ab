"""A session as a guitarist goes through it, over the API."""

from __future__ import annotations

from datetime import timedelta

import pytest
from flask.testing import FlaskClient

from drill.sessions import lifecycle
from drill.store import Store
from tests.conftest import Clock, Guitarist

pytestmark = pytest.mark.both_databases


def running(client: FlaskClient) -> dict[str, object] | None:
    return client.get("/api/player").json["running"]


def test_one_tap_starts_five_minutes_of_new_cards(guitarist: Guitarist, client: FlaskClient) -> None:
    assert client.get("/api/player").json["first_visit"] is True
    session = guitarist.start()
    assert (session["minutes"], session["tempo"], session["beat_seconds"]) == (5, 80, 0.75)
    assert [each["question"] for each in session["questions"]] == list(range(len(session["questions"])))
    assert len(session["questions"]) >= 15
    assert client.get("/api/player").json["first_visit"] is False
    first = session["questions"][0]
    assert first["reason"].startswith("New in ")
    assert first["review"] is None
    assert first["allowed"]["touch"] > 3.0


def test_a_longer_session_has_more_cards(guitarist: Guitarist) -> None:
    short = len(guitarist.start(2)["questions"])
    guitarist.end()
    assert len(guitarist.start(20)["questions"]) > 3 * short


def test_what_the_player_set_is_what_the_session_uses(guitarist: Guitarist, client: FlaskClient) -> None:
    settings = {"keys": ["E♭"], "tempo": 120, "hand": "small", "barre": "none", "left_handed": True, "minutes": 2}
    assert client.put("/api/settings", json=settings).status_code == 200
    reply = client.post("/api/sessions", json={"tab": "tab"})
    assert (reply.json["minutes"], reply.json["tempo"], reply.json["settings"]["hand"]) == (2, 120, "small")
    assert reply.json["settings"]["barre"] == "none"
    assert all(each["prompt"]["key"] == "E♭" for each in reply.json["questions"][:3])


def test_settings_changed_meanwhile_wait_for_the_next_session(guitarist: Guitarist, client: FlaskClient) -> None:
    guitarist.start()
    client.put("/api/settings", json={"tempo": 200, "left_handed": True, "barre": "three"})
    now = client.get(guitarist.address).json
    assert (now["tempo"], now["settings"]["left_handed"], now["settings"]["barre"]) == (80, False, "full")


def test_a_second_session_is_offered_the_first(guitarist: Guitarist, client: FlaskClient) -> None:
    session = guitarist.start()
    guitarist.answer(0)
    reply = client.post("/api/sessions", json={"tab": "other"})
    assert reply.status_code == 409
    assert reply.json["running"] == running(client)
    assert (reply.json["running"]["id"], reply.json["running"]["answered"]) == (session["id"], 1)


def test_another_tab_takes_over_and_the_first_one_loses_nothing(guitarist: Guitarist, client: FlaskClient) -> None:
    guitarist.start()
    taken = client.post(f"{guitarist.address}/here", json={"tab": "other"})
    assert taken.json["tab"] == "other"
    reply = guitarist.send(guitarist.review(0))
    assert reply["here"] is False
    assert reply["items"][0]["status"] == "accepted"
    client.post(f"{guitarist.address}/here", json={"tab": guitarist.tab})
    assert guitarist.send(guitarist.review(1))["here"] is True


def test_after_a_reload_the_answers_are_there(guitarist: Guitarist, client: FlaskClient) -> None:
    guitarist.start()
    clean, missed = guitarist.answer(0), guitarist.answer(1, {"shown": True})
    session = client.get(f"{guitarist.address}?tab=tab").json
    reviews = {each["question"]: each["review"] for each in session["questions"] if each["review"]}
    assert {number: review["outcome"] for number, review in reviews.items()} == {0: "clean", 1: "missed"}
    for item, review in ((clean, reviews[0]), (missed, reviews[1])):
        assert (item["id"], item["words"], item["drawing"]) == (review["id"], review["words"], review["drawing"])
    assert session["visible_seconds"] == 12


def test_a_missed_card_comes_back_three_cards_later(guitarist: Guitarist, client: FlaskClient) -> None:
    planned = len(guitarist.start()["questions"])
    guitarist.answer(0)
    guitarist.answer(1, {"shown": True})
    again = guitarist.question(planned)
    assert (again["card"], again["after"]) == (guitarist.question(1)["card"], 4)
    assert again["reason"] == "Missed a moment ago: once more."
    order = [each["question"] for each in client.get(guitarist.address).json["questions"]]
    assert order[:7] == [0, 1, 2, 3, 4, planned, 5]
    guitarist.answer(planned, {"shown": True})
    assert len(guitarist.session["questions"]) == planned + 1, "once more, not for ever"


def test_a_quick_player_gets_more_cards_until_the_time_is_up(guitarist: Guitarist) -> None:
    planned = len(guitarist.start(2)["questions"])
    number = over = 0
    while not over:
        guitarist.clock.go_on(seconds=3)
        guitarist.visible += 3
        over = guitarist.send(guitarist.review(number, seconds=1.0))["over"]
        number += 1
    assert 38 <= number <= 40, "the last answer is looked at, too"
    assert number > planned
    cards = [each["card"] for each in guitarist.session["questions"]]
    assert len(cards) == len(set(cards)), "no card twice unless it was missed"


def test_only_visible_time_counts(guitarist: Guitarist, client: FlaskClient) -> None:
    guitarist.start(2)
    guitarist.clock.go_on(hours=2)
    assert guitarist.send(guitarist.review(0))["over"] is False
    assert running(client) is not None
    guitarist.visible = 120
    assert guitarist.send(guitarist.review(1))["over"] is True
    assert running(client) is None


def test_a_session_whose_time_is_up_makes_way_for_the_next(guitarist: Guitarist) -> None:
    first = guitarist.start(2)
    guitarist.visible = 121
    guitarist.send(guitarist.review(0))
    assert guitarist.start(2)["id"] != first["id"]


@pytest.mark.parametrize(("hours", "there"), [(9, True), (11, False)])
def test_a_session_can_be_resumed_until_four_in_the_morning(
    guitarist: Guitarist, client: FlaskClient, hours: float, there: bool
) -> None:
    """It is six in the evening, UTC."""
    guitarist.start()
    guitarist.clock.go_on(hours=hours)
    assert (running(client) is not None) is there
    assert client.post("/api/sessions", json={"tab": "tab"}).status_code == (409 if there else 201)


def test_an_answer_that_was_kept_overnight_is_taken(guitarist: Guitarist, client: FlaskClient) -> None:
    guitarist.start()
    review = guitarist.review(0)
    answered = guitarist.clock.instant
    guitarist.clock.go_on(hours=14)
    before, guitarist.session = dict(guitarist.session), guitarist.session
    assert client.post("/api/sessions", json={"tab": "tab"}).status_code == 201
    guitarist.session = before
    reply = guitarist.send(review)
    assert (reply["items"][0]["status"], reply["over"], reply["next"]) == ("accepted", True, [])
    assert client.get("/api/player").json["known"] == 1
    assert client.get("/api/player").json["today"]["seen"] == 0, f"it was answered at {answered}, yesterday"


def test_today_counts_minutes_and_cards_of_the_players_day(guitarist: Guitarist, client: FlaskClient) -> None:
    guitarist.start()
    for number in range(5):
        guitarist.answer(number)
    assert client.get("/api/player").json["today"] == {"minutes": 0.5, "seen": 5}
    guitarist.clock.go_on(days=1)
    assert client.get("/api/player").json["today"] == {"minutes": 0, "seen": 0}


def test_ending_twice_is_ending_once(guitarist: Guitarist, client: FlaskClient) -> None:
    guitarist.start()
    guitarist.answer(0)
    first = guitarist.end()
    guitarist.visible = 60
    assert guitarist.end() == first
    assert first["seconds"] == 6
    assert client.get(guitarist.address).json["ended"] is True


def test_the_closing_page_tells_clean_late_and_missed_with_what_comes_next(
    guitarist: Guitarist, client: FlaskClient
) -> None:
    guitarist.start()
    guitarist.answer(0)
    guitarist.answer(1, seconds=60.0)
    guitarist.answer(2, {"shown": True})
    again = max(each["question"] for each in guitarist.session["questions"])
    guitarist.answer(again)
    closing = guitarist.end()
    assert closing == client.get(f"{guitarist.address}/closing").json
    cards = [[each["card"] for each in closing[outcome]] for outcome in ("clean", "late", "missed")]
    assert cards == [[guitarist.question(number)["card"]] for number in (0, 1, 2)]
    late = closing["late"][0]
    assert late["sentence"] == guitarist.question(1)["answer"]["description"]
    missed = closing["missed"][0]
    assert closing["next"][0] == f"First the ones you missed: {missed['number']} in {missed['key']}."


def test_the_missed_come_first_next_time(guitarist: Guitarist) -> None:
    guitarist.start()
    for number in range(6):
        guitarist.answer(number, {"shown": True} if number in (2, 4) else None)
    missed = {guitarist.question(number)["card"] for number in (2, 4)}
    guitarist.end()
    guitarist.clock.go_on(days=1)
    questions = guitarist.start()["questions"]
    assert {questions[0]["card"], questions[1]["card"]} == missed
    assert questions[0]["reason"] == "Missed last time."


def test_somebody_elses_session_is_not_there(guitarist: Guitarist, client: FlaskClient) -> None:
    guitarist.start()
    nowhere = "/api/sessions/" + "0" * 32
    replies = [
        client.get(nowhere),
        client.get(f"{nowhere}/closing"),
        client.post(f"{nowhere}/here", json={"tab": "tab"}),
        client.post(f"{nowhere}/end", json={"visible_seconds": 0}),
        client.post(f"{nowhere}/mistaps", json={"review": "0" * 32}),
        client.post(f"{nowhere}/reviews", json={"tab": "tab", "sent_at": 0, "visible_seconds": 0, "reviews": []}),
    ]
    assert {reply.status_code for reply in replies} == {404}
    assert replies[0].json["error"] == "there is no such session: start one from the first page"


def test_two_tabs_that_start_at_once_start_one_session(client: FlaskClient, app: object, clock: Clock) -> None:
    import threading

    from flask import Flask

    assert isinstance(app, Flask)
    replies: list[int] = []

    def start(tab: str) -> None:
        replies.append(app.test_client().post("/api/sessions", json={"tab": tab}).status_code)

    threads = [threading.Thread(target=start, args=(tab,)) for tab in "abcd"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(replies) == [201, 409, 409, 409]


def test_after_days_away_the_first_page_says_what_comes(guitarist: Guitarist, client: FlaskClient) -> None:
    assert client.get("/api/player").json["away"] is None
    guitarist.start()
    for number in range(6):
        guitarist.answer(number)
    guitarist.end()
    guitarist.clock.go_on(days=2)
    assert client.get("/api/player").json["away"] is None
    guitarist.clock.go_on(days=7)
    assert client.get("/api/player").json["away"] == "9 days away: we start with what fades first."
    assert guitarist.start()["questions"][0]["reason"] == "Fading: 9 days."


def test_days_off_are_no_absence(guitarist: Guitarist, client: FlaskClient) -> None:
    client.put("/api/settings", json={"days": ["fri"]})
    guitarist.start()
    guitarist.answer(0)
    guitarist.clock.go_on(days=14)
    assert client.get("/api/player").json["away"] is None


def test_a_focus_and_a_horizon_reach_the_plan_and_its_rest(guitarist: Guitarist, store: Store) -> None:
    focus = ["ask:name", "key:G"]
    session_id = lifecycle.start_with_focus(
        store, 1, 2, "tab", guitarist.clock.instant, focus=focus, horizon=timedelta(days=3)
    )
    sheet = lifecycle.session_view(store, 1, session_id)
    assert {"name:G:1", "name:G:4", "name:G:5"} <= {question.card for question in sheet.questions}
    assert (sheet.session.focus, sheet.session.horizon_days) == (focus, 3.0)


def test_where_settings_leave_no_card_a_start_says_so(client: FlaskClient) -> None:
    groups = [each["name"] for each in client.get("/api/player").json["groups"]]
    off = [name for name in groups if name.startswith("ask:") and name != "ask:place"]
    assert client.put("/api/settings", json={"switched_off": off, "capo": 11, "highest": 5}).status_code == 200
    refused = client.post("/api/sessions", json={"minutes": 5, "tab": "a"})
    assert refused.status_code == 422
    assert "switch something on" in refused.json["error"]
    assert client.get("/api/player").json["running"] is None
