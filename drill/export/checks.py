"""What the tables of an export must hold beyond their types: cards that there are, charts that can be
read, outcomes that agree with themselves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from cards.asks import MODES, CardError, Given, read_card
from cards.charts import ChartError, from_plain
from cards.guitar.neck import NeckError
from cards.guitar.regions import BOXES
from cards.messages import Message
from cards.theory.keys import Key, KeyNameError
from drill.incoming.reading import HEX_ID, finite
from drill.learning.parameter_versions import are_sound
from drill.players.preferences import HANDS, read_setting
from drill.store.models import KINDS, DrillSession, Fit, Jam, Question, Review, SetListEntry, Tune
from drill.words import say

FASTEST: Final = 1000
OUTCOMES: Final = ("clean", "late", "missed")

Rows = Sequence[dict[str, Any]]


class ArchiveError(ValueError):
    """A document that is not taken in; the message says what is wrong and where."""


def check_contents(tables: Mapping[str, Rows]) -> None:
    """Check cards, settings, outcomes, answers, charts, ids. Raises ArchiveError."""
    sessions = tables[DrillSession.__tablename__]
    for number, row in enumerate(sessions):
        _check(HEX_ID.match(row["id"]), f"sessions[{number}].id", "32 digits of 0–9 and a–f")
        _check(0 < row["tempo"] <= FASTEST, f"sessions[{number}].tempo", f"from 1 to {FASTEST}")
        for name, least in (("minutes", 1), ("visible_seconds", 0), ("horizon_days", 0), ("highest", 1)):
            _check(row[name] >= least, f"sessions[{number}].{name}", f"{least} or more")
        _check(row["kind"] in KINDS, f"sessions[{number}].kind", f"one of {', '.join(KINDS)}")
        _check(row["hand"] in HANDS, f"sessions[{number}].hand", f"one of {', '.join(HANDS)}")
        try:
            _ = read_setting(DrillSession(**row)).neck
        except NeckError as error:
            raise ArchiveError(f"sessions[{number}]: {error}") from error
    open_ones = sum(row["ended_at"] is None for row in sessions)
    _check(open_ones <= 1, "sessions", "one at most is running")
    cards = {}
    for number, row in enumerate(tables[Question.__tablename__]):
        cards[row["session_id"], row["question"]] = row["card"]
        _check(row["beats"] is None or row["beats"] > 0, f"questions[{number}].beats", "more than 0, or null")
        _reason_holds(row, f"questions[{number}]")
        try:
            read_card(row["card"])
        except CardError as error:
            raise ArchiveError(f"questions[{number}].card: {error}") from error
    for number, row in enumerate(tables[Review.__tablename__]):
        _review_holds(row, cards[row["session_id"], row["question"]], f"reviews[{number}]")
    _set_lists_hold(tables)


def _reason_holds(row: Mapping[str, Any], where: str) -> None:
    values = row["reason_values"]
    _check(isinstance(values, dict), f"{where}.reason_values", "an object")
    _check(str(row["reason"]).startswith("why-"), f"{where}.reason", "a reason for a card, like why-fading")
    try:
        say(Message(row["reason"], tuple(values.items())))
    except (KeyError, ValueError, TypeError) as error:
        raise ArchiveError(f"{where}.reason: nothing can be said of it ({error})") from error


def check_fits(tables: Mapping[str, Rows], in_force: int) -> None:
    """Check the parameters, and that the player's own are among them. Raises ArchiveError."""
    fits = tables[Fit.__tablename__]
    for number, row in enumerate(fits):
        _check(row["version"] > 0, f"fits[{number}].version", "1 or more")
        _check(are_sound(row["parameters"]), f"fits[{number}].parameters", "what the model can be worked out by")
    _check(in_force in {0, *(row["version"] for row in fits)}, "player.fit", "0 or the version of one of fits")


def _set_lists_hold(tables: Mapping[str, Rows]) -> None:
    for table in (Tune, Jam, SetListEntry):
        for number, row in enumerate(tables[table.__tablename__]):
            _check(HEX_ID.match(row["id"]), f"{table.__tablename__}[{number}].id", "32 digits of 0–9 and a–f")
    for number, row in enumerate(tables[Tune.__tablename__]):
        try:
            from_plain(row["chart"])
        except ChartError as error:
            raise ArchiveError(f"tunes[{number}].chart: {error}") from error
    for number, row in enumerate(tables[Jam.__tablename__]):
        boxes = row["boxes"]
        right = isinstance(boxes, list) and boxes and all(type(box) is int and box in BOXES for box in boxes)
        _check(right, f"jams[{number}].boxes", "a list of boxes, 1 to 5")
    for number, row in enumerate(tables[SetListEntry.__tablename__]):
        tempo = row["tempo"]
        _check(tempo is None or 0 < tempo <= FASTEST, f"set_list[{number}].tempo", f"from 1 to {FASTEST}, or null")
        try:
            _ = row["key"] is None or Key.read(row["key"])
        except KeyNameError as error:
            raise ArchiveError(f"set_list[{number}].key: {error}") from error


def _review_holds(row: Mapping[str, Any], card: str, where: str) -> None:
    _check(HEX_ID.match(row["id"]), f"{where}.id", "32 digits of 0–9 and a–f")
    _check(row["card"] == card, f"{where}.card", f"its question's card, {card}")
    _check(row["outcome"] in OUTCOMES, f"{where}.outcome", f"one of {', '.join(OUTCOMES)}")
    right = row["outcome"] != "missed"
    _check(row["right"] == right, f"{where}.right", f"{str(right).lower()} where the outcome is {row['outcome']}")
    _check(row["mode"] in MODES, f"{where}.mode", f"one of {', '.join(MODES)}")
    _check(row["seconds"] is None or row["seconds"] >= 0, f"{where}.seconds", "0 or more")
    _check(row["allowance"] >= 0, f"{where}.allowance", "0 or more")
    _check(0 < row["tempo"] <= FASTEST, f"{where}.tempo", f"from 1 to {FASTEST}")
    drawn = row["drawn"]
    _check(isinstance(drawn, dict), f"{where}.drawn", "an object")
    beats = drawn.get("beats")
    holds = beats is None or (finite(beats) or 0) > 0
    _check(holds, f"{where}.drawn.beats", "more than 0, or null")
    try:
        Given.read(row["given"])
    except (CardError, TypeError, AttributeError) as error:
        raise ArchiveError(f"{where}.given: {error}") from error


def _check(holds: object, where: str, says: str) -> None:
    if not holds:
        raise ArchiveError(f"{where} must be {says}")
