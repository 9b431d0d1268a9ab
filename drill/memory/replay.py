"""A player's memory as a running total of the log, in one order, from any checkpoint.

Conventions. The canonical order is (answered at, id), whatever order answers arrive in. A
:class:`Checkpoint` is the memory as it stood after all answers up to its place in that order. What
arrives late, and an answer taken back as a mis-tap, is put right by going on from a checkpoint
before it; from any such checkpoint, and in any chunks, the rows come out equal.
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
#: Answers between two checkpoints: a late arrival goes over no more than these and its lateness.
EVERY = 500


@dataclass(frozen=True)
class Logged:
    """One answer of the log: its id, the features of its card, what came of it."""

    id: str
    features: Features
    outcome: Outcome

    @property
    def place(self) -> LogPlace:
        """Where it stands in the canonical order."""
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
    """Memory after the answers of ``log`` that come after ``start``, those taken back left out.

    ``log`` may be in any order and hold an answer twice; what lies before ``start`` is not read.
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


def before(checkpoints: Sequence[Checkpoint], place: LogPlace) -> Checkpoint:
    """The last checkpoint from which an answer at ``place`` can still be put in or left out."""
    return max(
        (checkpoint for checkpoint in checkpoints if checkpoint.place < place),
        key=lambda checkpoint: checkpoint.place,
        default=Checkpoint(),
    )


def is_due(before: int, after: int) -> bool:
    """Whether memory should be kept as a checkpoint when its answers go from ``before`` to ``after``.

    >>> is_due(498, 499), is_due(499, 500), is_due(499, 503)
    (False, True, True)
    """
    return after // EVERY > before // EVERY


def worth_keeping(checkpoints: Collection[int]) -> set[int]:
    """Which of the checkpoints after so many answers to keep: fewer and fewer the older they are, so
    that going back n answers goes over no more than some two n, and a long log holds few.

    >>> sorted(worth_keeping([500 * n for n in range(1, 21)]))
    [500, 3000, 7000, 9000, 10000]
    """
    newest = max(checkpoints, default=0)
    oldest_of_age: dict[int, int] = {}
    for answers in sorted(checkpoints, reverse=True):
        oldest_of_age[((newest - answers) // EVERY + 1).bit_length()] = answers
    return set(oldest_of_age.values())
