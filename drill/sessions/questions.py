"""The questions of a session: planned, stored, and put in order."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from typing import Any, Final

from sqlalchemy.orm import Session

from cards.asks import RECORDS, read_card
from drill import clock
from drill.jams.aim import expected_now, goal_for_jam
from drill.learning.parameter_versions import parameters_of
from drill.memory.columns import Traces
from drill.planning.entry import Planned
from drill.planning.focus import cards_in_focus
from drill.planning.goal import NO_GOAL, Goal
from drill.planning.offered import gather_candidates
from drill.planning.plan import plan, rest_between
from drill.planning.repertoire import allowed_seconds_at, entry, starting_keys
from drill.players.preferences import read_setting
from drill.sessions.last_look import Look, last_look
from drill.store.memory import memory_columns
from drill.store.models import LAST_LOOK, DrillSession, Player, Question

ASKED_FOR: Final = "why-focus"
"""The reason of a question in the session's focus. Its values name the focus."""


NEEDED: Final = "why-jam"
"""The reason of a question that the session's jam calls for. Its value is the title of the tune that needs it
most."""


HAND_GROUPS: Final = tuple(f"ask:{record.name}" for record in RECORDS if record.on_guitar)
"""The groups of the cards that need the fretting hand."""


def order_of_play(places: Sequence[tuple[int, int | None]]) -> list[int]:
    """Return the numbers of questions in the order of play.

    ``places`` are pairs of a number and the number that it comes after (None: in its turn).

    >>> order_of_play([(0, None), (1, None), (2, None), (3, 1), (4, 3), (5, 1)])
    [0, 1, 3, 4, 5, 2]
    """
    behind: dict[int | None, list[int]] = {}
    for number, after in places:
        behind.setdefault(after, []).append(number)

    def following(after: int | None) -> Iterator[int]:
        for number in behind.get(after, ()):
            yield number
            yield from following(number)

    return list(following(None))


def in_order_of_play(questions: Iterable[Question]) -> list[Question]:
    """Return the questions of a session in the order of play."""
    by_number = {question.question: question for question in questions}
    return [by_number[n] for n in order_of_play([(q.question, q.after) for q in by_number.values()])]


def add_questions(
    db: Session,
    player: Player,
    session: DrillSession,
    minutes: float,
    now: datetime,
    *,
    first: int,
    without: Collection[str] = (),
    behind: Sequence[str] = (),
) -> list[Question]:
    """Plan ``minutes`` more and store their questions, numbered from ``first``.

    Cards in ``without`` are left out. ``behind`` are the ids of the cards that the new ones follow. If the
    player's hand is tired, the cards need no hand; those of a last look do, so other cards take their place.
    """
    if session.kind == LAST_LOOK and not session.tired:
        looks = last_look(expected_now(db, player, session.jam_id, read_setting(session), now), minutes * 60.0, without)
        puts = [_question_of_look(look, session.tempo) for look in looks]
    else:
        goal = goal_for_jam(db, player, session.jam_id, read_setting(session), now)
        seed = int(session.id[:8], 16) + first
        cards = plan_cards(db, player, session, minutes, now, seed=seed, without=without, goal=goal)
        puts = [_question_of_card(card, session.focus or (), goal) for card in _follow(cards, behind)]
    questions = [
        Question(session_id=session.id, question=number, player_id=player.id, after=None, **put)
        for number, put in enumerate(puts, start=first)
    ]
    db.add_all(questions)
    return questions


def plan_cards(
    db: Session,
    player: Player,
    session: DrillSession,
    minutes: float,
    now: datetime,
    *,
    seed: int,
    without: Collection[str] = (),
    goal: Goal = NO_GOAL,
) -> Sequence[Planned]:
    """Return the cards on which ``minutes`` of a session are best spent at ``now``, in order."""
    open_cards = gather_candidates(
        db, player, read_setting(session), goal, without, off=HAND_GROUPS if session.tired else ()
    )
    return plan(
        open_cards,
        Traces.read(memory_columns(db, player.id)),
        now,
        minutes,
        keys=goal.prepend_keys(starting_keys(player.keys)),
        allowed=allowed_seconds_at(session.tempo),
        seed=seed,
        focus=cards_in_focus(open_cards, session.focus or ()),
        card_weights=goal.weights,
        horizon=timedelta(days=session.horizon_days),
        parameters=parameters_of(db, player),
    )


def kind_of(card_id: str) -> tuple[str, str]:
    """Return the key and the ask of a card, in which neighbours should differ."""
    card = read_card(card_id)
    return str(card.key), card.ask


def is_tiring(card_id: str) -> bool:
    """Whether a card is played on the guitar with a full barre, so that the hand should rest after two of them."""
    return entry(card_id).is_tiring


def _follow(cards: Sequence[Planned], behind: Sequence[str]) -> Sequence[Planned]:
    """Rotate the cards so that the first is unlike the one before them, and let the hand rest between full barres."""
    kinds = [kind_of(card.card_id) for card in cards]
    last = kind_of(behind[-1]) if behind else None
    ends_meet = kinds[-1:] != kinds[:1]
    begin = next((n for n, kind in enumerate(kinds) if kind != last and (n == 0 or ends_meet)), 0)
    rotated = [*cards[begin:], *cards[:begin]]
    tiring = {n: is_tiring(card.card_id) for n, card in enumerate(rotated)}
    return [rotated[n] for n in rest_between(range(len(rotated)), tiring, [is_tiring(card_id) for card_id in behind])]


def _question_of_card(card: Planned, focus: Sequence[str], goal: Goal) -> dict[str, Any]:
    """Return the values of a planned card's question.

    The reason of a card in the focus is that it was asked for. The reason of a card that the jam calls for is
    the tune that needs it.
    """
    why: dict[str, Any] = {"reason": card.reason, "reason_values": dict(card.values)}
    if focus and set(focus) <= set(read_card(card.card_id).skills):
        why = {"reason": ASKED_FOR, "reason_values": {"skills": " ".join(focus)}}
    elif card.card_id in goal.titles:
        why = {"reason": NEEDED, "reason_values": {"title": goal.titles[card.card_id]}}
    return {"card": card.card_id, **why, "predicted_seconds": card.seconds}


def _question_of_look(look: Look, tempo: int) -> dict[str, Any]:
    """Return the values of the question of a card in a last look. Its time in the tune becomes beats at
    ``tempo``."""
    measured = look.prediction.measured
    return {
        "card": measured.card.id,
        "reason": look.reason,
        "reason_values": {"title": measured.change.title},
        "predicted_seconds": look.seconds,
        "beats": clock.seconds_beats(measured.change.lasts, tempo),
    }
