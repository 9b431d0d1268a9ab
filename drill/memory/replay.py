"""A player's memory as a running total of the log, from any checkpoint.

Conventions. The canonical order is (answered at, id), whatever the order in which answers arrive. A
:class:`Checkpoint` is memory after all answers up to its place in that order. An answer that arrives late, or
that is taken back as a mis-tap, is corrected by replaying from a checkpoint before it. The resulting rows are
equal from any such checkpoint, and in chunks of any size.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime

from drill.memory.parameters import START, Parameters
from drill.memory.recall import learn
from drill.memory.rows import Features, Outcome, Row

LogPlace = tuple[datetime, str]
FIRST: LogPlace = (datetime.min.replace(tzinfo=UTC), "")
#: Answers between two checkpoints. A late answer replays at most these and the answers that came after it.
EVERY = 500


@dataclass(frozen=True)
class Logged:
    """One answer of the log: its id, the features of its card, and its outcome."""

    id: str
    features: Features
    outcome: Outcome

    @property
    def place(self) -> LogPlace:
        """Its place in the canonical order."""
        return self.outcome.at, self.id


@dataclass(frozen=True)
class Checkpoint:
    """Memory after ``answers`` answers, the last of them at ``place``."""

    rows: Mapping[str, Row] = field(default_factory=dict)
    place: LogPlace = FIRST
    answers: int = 0


def replay(
    start: Checkpoint,
    log: Iterable[Logged],
    *,
    taken_back: Collection[str] = (),
    parameters: Parameters = START,
) -> Checkpoint:
    """Return memory after the answers of ``log`` that come after ``start``, without those taken back.

    ``log`` may be in any order and may hold an answer twice. Answers before ``start`` are skipped.
    """
    rows, place, answers = dict(start.rows), start.place, start.answers
    for logged in sorted(log, key=lambda logged: logged.place):
        if logged.place <= place:
            continue
        place = logged.place
        if logged.id not in taken_back:
            rows.update(learn(rows, logged.features, logged.outcome, parameters))
            answers += 1
    return Checkpoint(rows, place, answers)


def last_checkpoint_before(checkpoints: Sequence[Checkpoint], place: LogPlace) -> Checkpoint:
    """Return the last checkpoint before ``place``, from which an answer there can be put in or left out."""
    return max(
        (checkpoint for checkpoint in checkpoints if checkpoint.place < place),
        key=lambda checkpoint: checkpoint.place,
        default=Checkpoint(),
    )


def is_checkpoint_due(before: int, after: int) -> bool:
    """Whether to keep a checkpoint when the number of answers grows from ``before`` to ``after``.

    >>> is_checkpoint_due(498, 499), is_checkpoint_due(499, 500), is_checkpoint_due(499, 503)
    (False, True, True)
    """
    return after // EVERY > before // EVERY


def checkpoints_to_keep(checkpoints: Collection[int]) -> set[int]:
    """Return which checkpoints to keep, by their numbers of answers.

    The older they are, the fewer are kept. To go back n answers then takes a replay of about 2 n at most, and
    even a long log has few checkpoints.

    >>> sorted(checkpoints_to_keep([500 * n for n in range(1, 21)]))
    [500, 3000, 7000, 9000, 10000]
    """
    newest = max(checkpoints, default=0)
    oldest_of_age: dict[int, int] = {}
    for answers in sorted(checkpoints, reverse=True):
        oldest_of_age[((newest - answers) // EVERY + 1).bit_length()] = answers
    return set(oldest_of_age.values())
