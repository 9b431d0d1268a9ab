"""What came of playing a tune: a sitting, stored as reviews of the right cards.

Conventions. One sitting with a tune is a session of kind ``play along``. It is made when its first answers arrive,
and it has ended already: it is over when the player says how it went, so it never runs. The device makes its id and
the ids of its answers. A request that is sent again gets the first verdict. The tempo of the session is the tempo
played, and each of its questions lasts as long as its move (:mod:`cards.charts.moves`).

In a run with the click the tune is the clock. A change that the player leaves marked right came in time, but nobody
measured its seconds. So its outcome is ``clean`` and its seconds are unknown. The seconds of the move would only be a
bound, but memory would take them for the player's speed. When the player is lost and finds the way again, the clock
measures as in a drill.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from sqlalchemy.orm import Session

from cards.asks import HANDS_ON, CardError, Given, Setting, fits, read_card
from cards.messages import Refusal, refusal
from drill import clock
from drill.config import BATCH
from drill.incoming.reading import HEX_ID, finite
from drill.jams.nights import NoJamError
from drill.learning.learn import learn_from
from drill.play_along.score import PlayError
from drill.players.preferences import TEMPO, read_setting
from drill.sessions.answers import LONGEST_SECONDS, Reply, Submitted, judge_again, judge_answer
from drill.sessions.lifecycle import new_session
from drill.store import Store
from drill.store.log import append_reviews, reviews_by_id
from drill.store.models import PLAY_ALONG, DrillSession, Player, Question, Review, Tune
from drill.store.setlists import jam_of
from drill.store.sittings import any_session, progress
from drill.tunes.library import owned_tune

WAYS: Final = {"along": "why-played", "lost": "why-lost"}
"""The ways to play a tune (with its click, or lost and found again), each with the reason of its questions."""

LONGEST_MOVE: Final = 64
"""The most beats that a move may last."""


@dataclass(frozen=True)
class Sound:
    """One answer of a sitting: a card, the beats of its move, and whether it was played right.

    ``seconds`` is None if they were not measured.
    """

    id: str
    card: str
    beats: float
    right: bool
    seconds: float | None


@dataclass(frozen=True)
class SubmittedSitting:
    """A sitting as a page sends it.

    Times in milliseconds are those of the device's clock. ``seconds`` is how long the page was in view.
    """

    session: str
    way: str
    tempo: int
    jam: str | None
    seconds: float
    sent_ms: float
    started_ms: float
    ended_ms: float
    sounds: Sequence[Sound]

    @classmethod
    def read(cls, body: Mapping[str, object]) -> SubmittedSitting:
        """Read a sitting from JSON. Raises PlayError."""
        session, jam, way = body.get("session"), body.get("jam"), body.get("way")
        if not _is_id(session):
            raise PlayError("session", "the session is 32 digits of 0–9 and a–f, made on the device")
        if jam is not None and not _is_id(jam):
            raise PlayError("jam", "jam is the id of one, or null")
        if not isinstance(way, str) or way not in WAYS:
            raise PlayError("way", "the way is one of {ways}", ways=", ".join(WAYS))
        low, high = TEMPO
        tempo_range = refusal("a tempo is from {low} to {high} beats a minute", low=low, high=high)
        tempo = _number_within(body, "tempo", low, high, tempo_range)
        seconds = _number_within(body, "seconds", 0, LONGEST_SECONDS, refusal("the seconds are from 0 to a day"))
        sent, started, ended = (_number(body, name) for name in ("sent_at", "started_at", "ended_at"))
        answers = body.get("answers")
        if not isinstance(answers, list) or not 0 < len(answers) <= BATCH:
            raise PlayError("answers", "answers is a list of 1 to {most}", most=BATCH)
        sounds = [_read_sound(item, f"answers[{number}]", way) for number, item in enumerate(answers)]
        jam_id = None if jam is None else str(jam)
        return cls(str(session), way, round(tempo), jam_id, seconds, sent, started, ended, sounds)


@dataclass(frozen=True)
class Kept:
    """The session of a sitting, and the reply to each of its answers."""

    session: str
    replies: Sequence[Reply]


def take(store: Store, player_id: int, tune_id: str, sitting: SubmittedSitting, now: datetime) -> Kept:
    """Store a sitting with its answers and learn from them, all or nothing.

    Raises NoTuneError, NoJamError, PlayError.
    """
    with store.writing(player_id) as (db, player):
        tune = owned_tune(db, player_id, tune_id)
        if sitting.jam is not None and jam_of(db, player_id, sitting.jam) is None:
            raise NoJamError("there is no such jam")
        session = _session_so_far(db, player, sitting)
        setting = read_setting(session or player)
        known = reviews_by_id(db, {sound.id for sound in sitting.sounds})
        refused = {sound.id: reason for sound in sitting.sounds if (reason := _refusal(sound, known, sitting, setting))}
        if session is None and all(sound.id in refused for sound in sitting.sounds):
            return Kept(sitting.session, [Reply(sound.id, "refused", refused[sound.id]) for sound in sitting.sounds])
        session = session or _new_session(db, player, tune, sitting, now)
        at = clock.answered_at(now, sitting.sent_ms, sitting.ended_ms, session.started_at)
        session.visible_seconds = max(session.visible_seconds, sitting.seconds)
        session.minutes = max(1, math.ceil(session.visible_seconds / 60))
        session.ended_at = max(session.ended_at or at, at)
        replies = []
        for sound in sitting.sounds:
            if sound.id in refused:
                reply = Reply(sound.id, "refused", refused[sound.id])
            elif sound.id in known:
                review = known[sound.id]
                reply = Reply(sound.id, "already answered", review=review, verdict=judge_again(session, review))
            else:
                reply = _accept(db, session, tune, sitting, sound, at, now)
                known |= {sound.id: reply.review} if reply.review else {}
            replies.append(reply)
        new = [reply.review for reply in replies if reply.status == "accepted" and reply.review]
        if new:
            append_reviews(db, new)
            learn_from(db, player, new)
        return Kept(session.id, replies)


def _session_so_far(db: Session, player: Player, sitting: SubmittedSitting) -> DrillSession | None:
    """Return the session that earlier answers of the sitting made, or None. Raises PlayError."""
    session = any_session(db, sitting.session)
    if session and (session.player_id != player.id or session.kind != PLAY_ALONG):
        raise PlayError("session", "this id belongs to another session: make a new one")
    return session


def _new_session(db: Session, player: Player, tune: Tune, sitting: SubmittedSitting, now: datetime) -> DrillSession:
    # A tune is not played before it is made, whatever the device's clock says.
    """Make the session of a sitting."""
    began = clock.answered_at(now, sitting.sent_ms, sitting.started_ms, min(tune.made_at, now))
    session = new_session(player, 1, "", began, sitting.session)
    session.kind, session.jam_id, session.tempo, session.ended_at = PLAY_ALONG, sitting.jam, sitting.tempo, began
    db.add(session)
    db.flush()
    return session


def _accept(
    db: Session, session: DrillSession, tune: Tune, sitting: SubmittedSitting, sound: Sound, at: datetime, now: datetime
) -> Reply:
    """Store the question of a new answer, judge the answer as in a drill, and return the reply."""
    question = Question(
        session_id=session.id,
        question=progress(db, session.id).questions,
        player_id=session.player_id,
        card=sound.card,
        after=None,
        reason=WAYS[sitting.way],
        reason_values={"title": tune.title},
        predicted_seconds=clock.beats_seconds(sound.beats, session.tempo),
        beats=sound.beats,
    )
    db.add(question)
    db.flush()
    hands = Submitted(
        sound.id, question.question, sound.card, Given(right=sound.right), sound.seconds, HANDS_ON, sitting.ended_ms
    )
    review, verdict = judge_answer(session, hands, sound.beats, at, now, by_tune=sitting.way == "along")
    return Reply(sound.id, "accepted", review=review, verdict=verdict)


def _refusal(sound: Sound, known: Mapping[str, Review], sitting: SubmittedSitting, setting: Setting) -> Refusal | None:
    """Return why an answer cannot be taken, or None if it can."""
    if sound.id in known:
        taken = known[sound.id].session_id != sitting.session
        return refusal("this id belongs to another answer: make a new one") if taken else None
    try:
        card = read_card(sound.card)
    except CardError as error:
        return error.refusal
    if card.ask != HANDS_ON:
        return refusal(
            "{card} is not played on the guitar: the card of a tune's chord is like {ask}:Ab:4:box1",
            card=card.id,
            ask=HANDS_ON,
        )
    return None if fits(card, setting) else refusal("the guitar as it is set has no room for {card}", card=card.id)


def _read_sound(item: object, where: str, way: str) -> Sound:
    if not isinstance(item, Mapping):
        raise PlayError(where, "{where} is an object with id, card, beats, right and seconds", where=where)
    review_id, card, right, seconds = (item.get(name) for name in ("id", "card", "right", "seconds"))
    if not _is_id(review_id):
        raise PlayError(where, "{where}: the id is 32 digits of 0–9 and a–f", where=where)
    if not isinstance(card, str):
        raise PlayError(where, "{where}: the card is an id like {ask}:Ab:4:box1", where=where, ask=HANDS_ON)
    if not isinstance(right, bool):
        raise PlayError(where, "{where}: right is true or false", where=where)
    beats = finite(item.get("beats"))
    if beats is None or not 0 < beats <= LONGEST_MOVE:
        raise PlayError(
            where,
            "{where}: a move lasts more than 0 and up to {most} beats",
            where=where,
            most=LONGEST_MOVE,
        )
    if seconds is not None:
        if way == "along":
            raise PlayError(where, "{where}: in a run the tune is the clock, so seconds are null", where=where)
        seconds = finite(seconds)
        if seconds is None or not 0 <= seconds <= LONGEST_SECONDS:
            raise PlayError(
                where, "{where}: seconds are from 0 to a day, or null where they are not known", where=where
            )
    return Sound(str(review_id), card, beats, right, seconds)


def _is_id(value: object) -> bool:
    return isinstance(value, str) and HEX_ID.match(value) is not None


def _number_within(body: Mapping[str, object], name: str, low: float, high: float, says: Refusal) -> float:
    number = finite(body.get(name))
    if number is None or not low <= number <= high:
        raise PlayError(name, says.sentence, **dict(says.values))
    return number


def _number(body: Mapping[str, object], name: str) -> float:
    number = finite(body.get(name))
    if number is None:
        raise PlayError(name, "{name} must be a number", name=name)
    return number
