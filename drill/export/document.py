"""Export everything of a player as one JSON document, and import it; export the reviews as CSV.

Conventions. The document holds what cannot be worked out: the player's settings, sessions with their questions, the
log. Memory is worked out again on import, so all figures come out equal. A document is imported whole or not at all,
and only into an empty store. An error names the place (``reviews[17].answered_at``). The README beside this module
describes the format.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Final, NoReturn

from sqlalchemy import Column, ForeignKeyConstraint, String, Table, UniqueConstraint

from cards.asks import OPEN_POSITION, CardError, read_card
from cards.messages import Refusal, refusal
from drill.export.checks import ArchiveError, check_contents, check_fits
from drill.incoming.reading import finite
from drill.learning.learn import relearn_within
from drill.players.preferences import PreferenceError, Preferences
from drill.store import Store
from drill.store.log import log_with_mistaps
from drill.store.models import DrillSession, Player, Question, Review
from drill.store.sittings import is_empty
from drill.store.whole import TABLES, columns, dump, dump_player, load, player_columns
from drill.words.language import ENGLISH

FORMAT: Final = "anchor-drill"
VERSION: Final = 4
READS: Final = (2, 3, 4)
"""The versions that can be read. Version 2 did not have the player's language; version 3 had no barres, no pins,
no tired hand, no questions that were dropped and no cards of the open position."""
ANY_BARRE: Final = "full"
"""The barres of players and sessions from before there was a choice."""
_SINCE_4: Final[Mapping[str, Mapping[str, object]]] = {
    DrillSession.__tablename__: {"barre": ANY_BARRE, "pins": [], "tired": False},
    Question.__tablename__: {"dropped": False},
}
CENTURY: Final = (2000, 2099)

CSV_COLUMNS: Final = (
    "answered_at",
    "card",
    "ask",
    "key",
    "number",
    "box",
    "outcome",
    "right",
    "seconds",
    "allowance",
    "tempo",
    "mode",
    "mistap",
)

Rows = Sequence[dict[str, Any]]


@dataclass(frozen=True)
class Document:
    """A document that was read and checked: the player's row, and the rows of every table."""

    player: Mapping[str, Any]
    tables: Mapping[str, Rows]


def export(store: Store, player_id: int, now: datetime) -> dict[str, Any]:
    """Return everything of a player as plain data."""
    with store.reading() as db:
        return {
            "format": FORMAT,
            "version": VERSION,
            "exported_at": now.isoformat(),
            "player": dump_player(db.get_one(Player, player_id)),
            **{table.name: dump(db, player_id, table) for table in TABLES},
        }


def export_csv(store: Store, player_id: int) -> Iterator[str]:
    """Return the player's reviews as lines of CSV in the order of the answers, with mis-taps marked."""
    yield _csv_line(CSV_COLUMNS)
    with store.reading() as db:
        for review, mistap in log_with_mistaps(db, player_id):
            yield _csv_line(_csv_row(review, mistap))


def take_in(store: Store, player_id: int, text: str) -> int:
    """Import a document into an empty store and work out memory, all or nothing.

    Return the number of reviews. Raises ArchiveError.
    """
    document = read(text)
    with store.writing(player_id) as (db, player):
        if not is_empty(db):
            raise ArchiveError("there is something here already: an export goes into an empty installation")
        for name, value in document.player.items():
            setattr(player, name, value)
        for table in TABLES:
            load(db, player_id, table, document.tables[table.name])
        db.flush()
        return relearn_within(db, player)


def read(text: str) -> Document:
    """Read and check a document. Raises ArchiveError."""
    try:
        # Some editors put a byte order mark before the first character.
        document = json.loads(text.removeprefix("\ufeff"), parse_constant=_refuse_constant)
    except json.JSONDecodeError as error:
        raise ArchiveError(
            "line {line}, column {column}: not JSON ({reason})",
            line=error.lineno,
            column=error.colno,
            reason=error.msg,
        ) from error
    except RecursionError as error:
        raise ArchiveError("not JSON that anybody wrote: too many brackets in each other") from error
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        raise ArchiveError('this is no export of Anchor Drill: one begins with "format": "{format}"', format=FORMAT)
    if document.get("version") not in READS:
        raise ArchiveError(
            "version: this installation reads {versions}, not {other}",
            versions=", ".join(map(str, READS)),
            other=repr(document.get("version")),
        )
    document = _in_this_version(document)
    parts = {"format", "version", "exported_at", "player", *(table.name for table in TABLES)}
    _check_names(parts, document, refusal("the document"))
    tables = {table.name: _read_rows(table, document[table.name]) for table in TABLES}
    for table in TABLES:
        _check_keys(table, tables)
    checked = Document(_read_player(document["player"]), tables)
    check_contents(tables)
    check_fits(tables, checked.player["fit"])
    return checked


def _refuse_constant(text: str) -> NoReturn:
    raise ArchiveError("{number} is no number", number=text)


def _check_names(wanted: set[str], given: Mapping[str, object], where: str | Refusal) -> None:
    """Check that an object has the wanted names and no others. Raises ArchiveError."""
    for name in sorted(wanted - set(given)):
        raise ArchiveError("{where} has no {name}", where=where, name=name)
    for name in sorted(set(given) - wanted):
        raise ArchiveError("{where} has {name}, which is not known here", where=where, name=name)


def _read_rows(table: Table, rows: object) -> list[dict[str, Any]]:
    if not isinstance(rows, list):
        raise ArchiveError("{where} is not a list", where=table.name)
    return [_read_row(columns(table), row, f"{table.name}[{number}]") for number, row in enumerate(rows)]


def _read_row(wanted: Sequence[Column[Any]], row: object, where: str) -> dict[str, Any]:
    if not isinstance(row, dict):
        raise ArchiveError("{where} is not an object", where=where)
    _check_names({column.name for column in wanted}, row, where)
    return {column.name: _read_value(column, row[column.name], f"{where}.{column.name}") for column in wanted}


def _read_value(column: Column[Any], value: object, where: str) -> Any:
    """Read a value of a column, checked against its type. Raises ArchiveError."""
    if value is None and column.nullable:
        return None
    kind = column.type.python_type
    read, wanted = _READERS[kind]
    checked = read(value)
    if checked is None:
        raise ArchiveError("{where} is {value}: {says}", where=where, value=_shortly(value), says=wanted)
    if isinstance(column.type, String) and column.type.length and len(checked) > column.type.length:
        raise ArchiveError("{where} is longer than {length} characters", where=where, length=column.type.length)
    return checked


def _shortly(value: object) -> str:
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 40 else f"{text[:40]}…"


def _instant(value: object) -> datetime | None:
    """Read an instant of this century, or return None: pages go through all weeks from the first to the last."""
    try:
        instant = datetime.fromisoformat(value) if isinstance(value, str) else None
        in_utc = instant.astimezone(UTC) if instant and instant.tzinfo else None
    except (ValueError, OverflowError):
        return None
    return in_utc if in_utc and CENTURY[0] <= in_utc.year <= CENTURY[1] else None


def _text(value: object) -> str | None:
    """Read a text that every database can store, without NUL and unpaired surrogates, or return None."""
    if not isinstance(value, str) or "\0" in value:
        return None
    return None if any("\ud800" <= sign <= "\udfff" for sign in value) else value


def _whole(value: object) -> int | None:
    number = finite(value)
    return int(number) if number is not None and number == int(number) and abs(number) < 2**31 else None


_READERS: Final[dict[type, tuple[Callable[[object], Any], Refusal]]] = {
    datetime: (
        _instant,
        refusal(
            "an instant with its zone, like 2026-05-01T18:00:00+00:00, from {first} to {last}",
            first=CENTURY[0],
            last=CENTURY[1],
        ),
    ),
    bool: (lambda value: value if isinstance(value, bool) else None, refusal("true or false")),
    int: (_whole, refusal("a whole number")),
    float: (finite, refusal("a number")),
    str: (_text, refusal("a text")),
    dict: (lambda value: value if isinstance(value, dict | list) else None, refusal("an object or a list")),
}


def _check_keys(table: Table, tables: Mapping[str, Rows]) -> None:
    """Check that no row is there twice, and that every row that another refers to is there. Raises ArchiveError."""
    rows = tables[table.name]
    for constraint in table.constraints:
        if isinstance(constraint, ForeignKeyConstraint):
            _check_references(table, constraint, tables)
        elif isinstance(constraint, UniqueConstraint) or constraint is table.primary_key:
            names = [column.name for column in constraint.columns if column.name != "player_id"]
            seen: set[tuple[Any, ...]] = set()
            for number, row in enumerate(rows):
                key = tuple(row[name] for name in names)
                if key in seen:
                    raise ArchiveError(
                        "{where}: there twice, by its {names}",
                        where=f"{table.name}[{number}]",
                        names=" and ".join(names),
                    )
                seen.add(key)


def _check_references(table: Table, constraint: ForeignKeyConstraint, tables: Mapping[str, Rows]) -> None:
    other = constraint.referred_table.name
    if other not in tables:  # the player
        return
    pairs = [(element.parent.name, element.column.name) for element in constraint.elements]
    referred = {tuple(row[theirs] for _, theirs in pairs) for row in tables[other]}
    for number, row in enumerate(tables[table.name]):
        if tuple(row[ours] for ours, _ in pairs) not in referred:
            names = " and ".join(ours for ours, _ in pairs)
            raise ArchiveError("{where}: no such row in {table}", where=f"{table.name}[{number}].{names}", table=other)


def _read_player(given: object) -> dict[str, Any]:
    """Read the player's row; its settings are checked as on the Settings page. Raises ArchiveError."""
    row = _read_row(player_columns(), given, "player")
    settings = Preferences().as_json()
    try:
        checked = Preferences().changed({name: row[name] for name in settings}).as_json()
    except PreferenceError as error:
        raise ArchiveError("{where}: {reason}", where=f"player.{error.field}", reason=error) from error
    return {**row, **{name: list(value) if isinstance(value, tuple) else value for name, value in checked.items()}}


def _in_this_version(document: dict[str, Any]) -> dict[str, Any]:
    """Return a document as this version has it. What an older one lacks gets what was so for everybody then."""
    version, player = document["version"], document.get("player")
    tables = {name: document.get(name) for name in (DrillSession.__tablename__, Question.__tablename__)}
    if version < 3 and isinstance(player, dict):
        player = {"language": ENGLISH, **player}
    if version < 4 and isinstance(player, dict):
        player = {"barre": ANY_BARRE, "pins": [], **player}
        if isinstance(player.get("switched_off"), list):
            player = {**player, "switched_off": [*player["switched_off"], OPEN_POSITION]}
    if version < 4:
        tables = {name: _with_columns(rows, _SINCE_4[name]) for name, rows in tables.items()}
    changed = {"player": player, **tables}
    return {**document, **{name: part for name, part in changed.items() if name in document}}


def _with_columns(rows: object, more: Mapping[str, object]) -> object:
    """Return rows with more columns, as far as they are rows."""
    return [{**more, **row} if isinstance(row, dict) else row for row in rows] if isinstance(rows, list) else rows


def _csv_row(review: Review, mistap: bool) -> tuple[object, ...]:
    try:
        card = read_card(review.card)
    except CardError:  # a card of an older version
        ask, key, number = review.card.partition(":")[0], "", ""
        box: int | str | None = None
    else:
        ask, key, number = card.ask, str(card.key), card.called if card.calls else ""
        box = "open" if card.is_open else card.box
    judged = (review.outcome, review.right, review.seconds, review.allowance, review.tempo, review.mode)
    return (review.answered_at.isoformat(), review.card, ask, key, number, box, *judged, mistap)


def _csv_line(values: Sequence[object]) -> str:
    line = io.StringIO()
    csv.writer(line).writerow([str(value).lower() if isinstance(value, bool) else value for value in values])
    return line.getvalue()
