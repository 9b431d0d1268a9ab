"""Check what the tables of an export must hold beyond their types.

Cards must exist, charts must be readable, and outcomes must agree with each other.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from cards.asks import MODES, CardError, Given, read_card
from cards.charts import ChartError, from_plain
from cards.guitar.fingering import BARRES
from cards.guitar.neck import NeckError
from cards.guitar.regions import BOXES, OPEN
from cards.messages import Message, RefusalError, refusal
from cards.theory.keys import Key, KeyNameError
from drill.incoming.reading import HEX_ID, finite
from drill.learning.parameter_versions import are_sound
from drill.players.pins import PinError
from drill.players.preferences import HANDS, read_setting
from drill.store.models import KINDS, DrillSession, Fit, Jam, Question, Review, SetListEntry, Tune
from drill.words import say

FASTEST: Final = 1000
OUTCOMES: Final = ("clean", "late", "missed")

Rows = Sequence[dict[str, Any]]


class ArchiveError(RefusalError, ValueError):
    """A document that cannot be imported; the message says what is wrong and where."""


def check_contents(tables: Mapping[str, Rows]) -> None:
    """Check cards, settings, outcomes, answers, charts and ids. Raises ArchiveError."""
    sessions = tables[DrillSession.__tablename__]
    for number, row in enumerate(sessions):
        _require(HEX_ID.match(row["id"]), f"sessions[{number}].id", "32 digits of 0–9 and a–f")
        _require(0 < row["tempo"] <= FASTEST, f"sessions[{number}].tempo", "from 1 to {most}", most=FASTEST)
        for name, least in (("minutes", 1), ("visible_seconds", 0), ("horizon_days", 0), ("highest", 1)):
            _require(row[name] >= least, f"sessions[{number}].{name}", "{least} or more", least=least)
        _require(row["kind"] in KINDS, f"sessions[{number}].kind", "one of {names}", names=", ".join(KINDS))
        _require(row["hand"] in HANDS, f"sessions[{number}].hand", "one of {names}", names=", ".join(HANDS))
        _require(row["barre"] in BARRES, f"sessions[{number}].barre", "one of {names}", names=", ".join(BARRES))
        _require(isinstance(row["pins"], list), f"sessions[{number}].pins", "a list of grips")
        try:
            _ = read_setting(DrillSession(**row)).neck
        except (NeckError, PinError) as error:
            raise ArchiveError("{where}: {reason}", where=f"sessions[{number}]", reason=error) from error
    running = sum(row["ended_at"] is None for row in sessions)
    _require(running <= 1, "sessions", "one at most is running")
    cards = {}
    for number, row in enumerate(tables[Question.__tablename__]):
        cards[row["session_id"], row["question"]] = row["card"]
        _require(row["beats"] is None or row["beats"] > 0, f"questions[{number}].beats", "more than 0, or null")
        _check_reason(row, f"questions[{number}]")
        try:
            read_card(row["card"])
        except CardError as error:
            raise ArchiveError("{where}: {reason}", where=f"questions[{number}].card", reason=error) from error
    for number, row in enumerate(tables[Review.__tablename__]):
        _check_review(row, cards[row["session_id"], row["question"]], f"reviews[{number}]")
    _check_set_lists(tables)


def _check_reason(row: Mapping[str, Any], where: str) -> None:
    values = row["reason_values"]
    _require(isinstance(values, dict), f"{where}.reason_values", "an object")
    _require(str(row["reason"]).startswith("why-"), f"{where}.reason", "a reason for a card, like why-fading")
    try:
        say(Message(row["reason"], tuple(values.items())))
    except (KeyError, ValueError, TypeError) as error:
        raise ArchiveError(
            "{where}: no sentence can be made of it ({reason})", where=f"{where}.reason", reason=error
        ) from error


def check_fits(tables: Mapping[str, Rows], in_force: int) -> None:
    """Check the parameters, and that the player's version is one of them. Raises ArchiveError."""
    fits = tables[Fit.__tablename__]
    for number, row in enumerate(fits):
        _require(row["version"] > 0, f"fits[{number}].version", "1 or more")
        _require(are_sound(row["parameters"]), f"fits[{number}].parameters", "what the model can be worked out by")
    _require(in_force in {0, *(row["version"] for row in fits)}, "player.fit", "0 or the version of one of fits")


def _check_set_lists(tables: Mapping[str, Rows]) -> None:
    for table in (Tune, Jam, SetListEntry):
        for number, row in enumerate(tables[table.__tablename__]):
            _require(HEX_ID.match(row["id"]), f"{table.__tablename__}[{number}].id", "32 digits of 0–9 and a–f")
    for number, row in enumerate(tables[Tune.__tablename__]):
        try:
            from_plain(row["chart"])
        except ChartError as error:
            raise ArchiveError("{where}: {reason}", where=f"tunes[{number}].chart", reason=error) from error
    for number, row in enumerate(tables[Jam.__tablename__]):
        boxes = row["boxes"]
        right = isinstance(boxes, list) and boxes and all(type(box) is int and box in (OPEN, *BOXES) for box in boxes)
        _require(right, f"jams[{number}].boxes", "a list of boxes, 1 to 5, 0 for the open position")
    for number, row in enumerate(tables[SetListEntry.__tablename__]):
        tempo = row["tempo"]
        _require(
            tempo is None or 0 < tempo <= FASTEST,
            f"set_list[{number}].tempo",
            "from 1 to {most}, or null",
            most=FASTEST,
        )
        try:
            _ = row["key"] is None or Key.read(row["key"])
        except KeyNameError as error:
            raise ArchiveError("{where}: {reason}", where=f"set_list[{number}].key", reason=error) from error


def _check_review(row: Mapping[str, Any], card: str, where: str) -> None:
    _require(HEX_ID.match(row["id"]), f"{where}.id", "32 digits of 0–9 and a–f")
    _require(row["card"] == card, f"{where}.card", "its question's card, {card}", card=card)
    _require(row["outcome"] in OUTCOMES, f"{where}.outcome", "one of {names}", names=", ".join(OUTCOMES))
    right = row["outcome"] != "missed"
    as_judged = {"right": str(right).lower(), "outcome": row["outcome"]}
    _require(row["right"] == right, f"{where}.right", "{right} where the outcome is {outcome}", **as_judged)
    _require(row["mode"] in MODES, f"{where}.mode", "one of {names}", names=", ".join(MODES))
    _require(row["seconds"] is None or row["seconds"] >= 0, f"{where}.seconds", "0 or more")
    _require(row["allowance"] >= 0, f"{where}.allowance", "0 or more")
    _require(0 < row["tempo"] <= FASTEST, f"{where}.tempo", "from 1 to {most}", most=FASTEST)
    drawn = row["drawn"]
    _require(isinstance(drawn, dict), f"{where}.drawn", "an object")
    beats = drawn.get("beats")
    holds = beats is None or (finite(beats) or 0) > 0
    _require(holds, f"{where}.drawn.beats", "more than 0, or null")
    try:
        Given.read(row["given"])
    except (CardError, TypeError, AttributeError) as error:
        raise ArchiveError("{where}: {reason}", where=f"{where}.given", reason=error) from error


def _require(holds: object, where: str, sentence: str, /, **values: object) -> None:
    """Refuse a document if something does not hold; the sentence says what must be there. Raises ArchiveError."""
    if not holds:
        raise ArchiveError("{where} must be {what}", where=where, what=refusal(sentence, **values))
