"""How well answers are foreseen: ``python -m tests.bench.memory [--log FILE.tsv] [--learners N]``.

Every model predicts each answer of a held-out learner from that learner's earlier answers alone, with
weights fitted on the other learners (two halves, each predicted from the other). The product's model
runs as it is, ``drill.memory.recall``: with the weights it starts from, and refitted by
``drill.memory.estimation`` on the other half.
Without a file the learners are generated (:mod:`tests.bench.learners`, all families and transfers,
half of them drilled by the product's plan and half by Spaced Selection, in sessions as the service
has them). A file has the columns
``learner item skills timestamp correct [seconds]``, tab separated, with a header, skills joined by ``|``,
timestamps in seconds; items' difficulty then comes from the other half.

Printed: log loss and AUC, expected calibration error (15 bins of equal count), µs for one answer's
prediction and update where a model keeps a state, and by how much this model's log loss is lower, with
a 95 % interval by bootstrap over learners.
"""

from __future__ import annotations

import argparse
import csv
import platform
import time
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np

from drill.memory.estimation import LoggedAnswer, collect_inputs, log_loss, predict_right, refit, stage_two_weights
from drill.memory.parameters import START, Parameters
from drill.memory.recall import fluency, learn
from drill.memory.rows import Features, Outcome, Row
from drill.planning.repertoire import features as features_of
from tests.bench.coming_back import AsInTheService
from tests.bench.learners import DAY, FAMILIES, TRANSFERS, Answers, Bools, Floats, Ints, World
from tests.bench.learning import SELECTION, SESSION, Diary, drill_with
from tests.bench.published.planning import Planner, Seen, SpacedSelection
from tests.bench.published.prediction import FEATURES, Log, fit_logistic, half_life, logistic
from tests.bench.this_planner import EPOCH, ThisPlanner, introduction

DAYS = 24
#: In a log that names no seconds, as many as nobody needs.
NO_LIMIT = 1e6
#: A log names no asks; seconds are read from it alone.
USUAL_SECONDS = 7.0


@dataclass(frozen=True)
class Entry:
    """One answer: the learner's number, the answer, and the seconds within which it counts as clean."""

    learner: int
    answered: LoggedAnswer
    allowed: float = NO_LIMIT


class _Recorded:
    """A planner whose answers are kept."""

    def __init__(self, planner: Planner, world: World, first: int) -> None:
        self.planner, self.world, self.first = planner, world, first
        self.entries: list[Entry] = []

    def scores(self, seen: Seen, who: Ints, at: Floats, day: int) -> Floats:
        return self.planner.scores(seen, who, at, day)

    def answered(self, seen: Seen, who: Ints, card: Ints, at: Floats, answers: Answers) -> None:
        self.planner.answered(seen, who, card, at, answers)
        for n, (w, c) in enumerate(zip(who.tolist(), card.tolist(), strict=True)):
            one = self.world.pools[w][c]
            outcome = Outcome(
                bool(answers.right[n]), float(answers.seconds[n]), EPOCH + timedelta(seconds=float(at[n]))
            )
            features = features_of(one)
            self.entries.append(Entry(self.first + w, LoggedAnswer(features, outcome), float(self.world.allowed[w, c])))


def generated(learners: int, seed: int = 11) -> list[Entry]:
    """The logs of so many generated learners, sorted by learner and time."""
    cells = [(family, transfer) for family in FAMILIES for transfer in TRANSFERS]
    entries: list[Entry] = []
    first = 0
    for n, (family, transfer) in enumerate(cells * 2):
        size = learners * (n + 1) // (2 * len(cells)) - first
        if size == 0:
            continue
        world = World(family, transfer, size, seed + n)
        order, key = introduction(world)
        rng = np.random.default_rng(seed + n)
        shape = (size, world.cards)
        planner = ThisPlanner(world, SESSION) if n % 2 else SpacedSelection(shape, rng, *SELECTION)
        recorded = _Recorded(planner, world, first)
        diary, seen = Diary.drawn(size, DAYS, seed + n), Seen.nothing(order, key)
        for day in range(DAYS):
            drill_with(recorded, world, diary, seen, day, AsInTheService(shape, SESSION))
        entries += recorded.entries
        first += size
    return sorted(entries, key=lambda entry: (entry.learner, entry.answered.outcome.at))


def read_log(path: str, learners: int | None) -> list[Entry]:
    """The answers of a file (the first ``learners`` learners of it), sorted by learner and time."""
    entries: list[Entry] = []
    numbers: dict[str, int] = {}
    with open(path, encoding="utf-8", newline="") as file:
        for line in csv.DictReader(file, delimiter="\t"):
            number = numbers.setdefault(line["learner"], len(numbers))
            if learners is not None and number >= learners:
                continue
            at = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=float(line["timestamp"]))
            seconds = float(line["seconds"]) if line.get("seconds") else None
            skills = tuple(skill for skill in line["skills"].split("|") if skill)
            features = Features(line["item"], skills, 0.0, "", USUAL_SECONDS)
            outcome = Outcome(float(line["correct"]) >= 0.5, seconds, at)
            entries.append(Entry(number, LoggedAnswer(features, outcome)))
    return sorted(entries, key=lambda entry: (entry.learner, entry.answered.outcome.at))


def as_arrays(entries: Sequence[Entry], every: Sequence[Entry]) -> Log:
    """The entries for the published models, numbered as in ``every``."""
    features = [entry.answered.features for entry in every]
    items = {name: n for n, name in enumerate(sorted({f.card_id for f in features}))}
    skills = {name: n for n, name in enumerate(sorted({skill for f in features for skill in f.skills}))}
    mine = [entry.answered for entry in entries]
    return Log(
        np.array([entry.learner for entry in entries]),
        np.array([items[a.features.card_id] for a in mine]),
        [tuple(skills[skill] for skill in a.features.skills) for a in mine],
        np.array([a.outcome.at.timestamp() / DAY for a in mine]),
        np.array([a.outcome.right for a in mine]),
        len(items),
        len(skills),
    )


def with_difficulty(entries: Sequence[Entry], others: Sequence[Entry]) -> list[Entry]:
    """The entries with the logit of their item's being right among the others, drawn towards the mean."""
    counts: dict[str, list[float]] = defaultdict(lambda: [0.0, 0.0])
    for entry in others:
        count = counts[entry.answered.features.card_id]
        count[0] += entry.answered.outcome.right
        count[1] += 1.0
    mean = sum(c[0] for c in counts.values()) / max(sum(c[1] for c in counts.values()), 1.0)
    found = []
    for entry in entries:
        features = entry.answered.features
        rights, tries = counts.get(features.card_id, (0.0, 0.0))
        p = (rights + 5.0 * mean) / (tries + 5.0)
        known = replace(features, difficulty=float(np.log(p / (1.0 - p))))
        found.append(replace(entry, answered=replace(entry.answered, features=known)))
    return found


def by_learner(entries: Sequence[Entry]) -> list[list[LoggedAnswer]]:
    """One log per learner."""
    logs: dict[int, list[LoggedAnswer]] = defaultdict(list)
    for entry in entries:
        logs[entry.learner].append(entry.answered)
    return list(logs.values())


def this_model(entries: Sequence[Entry], parameters: Parameters) -> Floats:
    """The product's P(right) before every answer."""
    weights = stage_two_weights(parameters)
    return np.concatenate([predict_right(collect_inputs(log, parameters)[0], weights) for log in by_learner(entries)])


def fluencies(entries: Sequence[Entry], parameters: Parameters) -> tuple[Floats, Floats]:
    """The product's fluency before every answer, and whether it was clean."""
    p, clean = [], []
    rows: dict[str, Row] = {}
    learner = -1
    for entry in entries:
        if entry.learner != learner:
            rows, learner = {}, entry.learner
        features, outcome = entry.answered.features, entry.answered.outcome
        p.append(fluency(rows, features, outcome.at, entry.allowed, parameters).p)
        in_time = outcome.seconds is not None and outcome.seconds <= entry.allowed
        clean.append(float(outcome.right and in_time))
        rows.update(learn(rows, features, outcome, parameters))
    return np.array(p), np.array(clean)


def auc(p: Floats, y: Floats) -> float:
    """The area under the ROC curve, ties counted half."""
    _, place, counts = np.unique(p, return_inverse=True, return_counts=True)
    ranks = (np.cumsum(counts) - (counts - 1) / 2.0)[place]
    good = y > 0.5
    n, m = good.sum(), (~good).sum()
    return float((ranks[good].sum() - n * (n + 1) / 2.0) / (n * m))


def calibration(p: Floats, y: Floats, bins: int = 15) -> float:
    """Expected calibration error over bins of equal count."""
    parts = np.array_split(np.argsort(p, kind="stable"), bins)
    return float(sum(len(part) * abs(p[part].mean() - y[part].mean()) for part in parts) / len(p))


def interval(values: Sequence[float]) -> str:
    """The middle 95 % of bootstrap values."""
    low, high = np.quantile(values, (0.025, 0.975))
    return f"[{low:.4f}, {high:.4f}]"


def resampled(learner: Ints, rounds: int, seed: int = 3) -> list[Ints]:
    """Row numbers of ``rounds`` samples of whole learners, with replacement."""
    rng = np.random.default_rng(seed)
    rows = [np.flatnonzero(learner == who) for who in np.unique(learner)]
    return [np.concatenate([rows[n] for n in rng.integers(0, len(rows), len(rows))]) for _ in range(rounds)]


def compared(entries: list[Entry], known_difficulty: bool) -> dict[str, Floats]:
    """Each model's prediction of every answer, two halves of the learners predicting each other."""
    half: Bools = np.array([entry.learner % 2 == 0 for entry in entries])
    found: dict[str, Floats] = defaultdict(lambda: np.zeros(len(entries)))
    for test_rows in (half, ~half):
        train = [entry for entry, held in zip(entries, test_rows, strict=True) if not held]
        test = [entry for entry, held in zip(entries, test_rows, strict=True) if held]
        train_log, test_log = as_arrays(train, entries), as_arrays(test, entries)
        right = train_log.right.astype(float)
        for name, features in FEATURES.items():
            found[name][test_rows] = logistic(features(test_log), fit_logistic(features(train_log), right))
        found["half-life regression"][test_rows] = half_life(train_log, test_log)
        if not known_difficulty:
            train, test = with_difficulty(train, train), with_difficulty(test, train)
        found["this model, start values"][test_rows] = this_model(test, START)
        fitted = refit(by_learner(train))
        found["this model, refitted"][test_rows] = this_model(test, fitted)
        if known_difficulty:
            found["fluency"][test_rows], found["clean"][test_rows] = fluencies(test, fitted)
    return found


def main(argv: Sequence[str] | None = None) -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description="How well answers are foreseen.")
    parser.add_argument("--log", help="a file of answers instead of generated learners")
    parser.add_argument("--learners", type=int, help="how many learners (generated: 36 unless given)")
    args = parser.parse_args(argv)
    entries = read_log(args.log, args.learners) if args.log else generated(args.learners or 36)
    print(f"{platform.machine()}, Python {platform.python_version()}, numpy {np.__version__}")
    print(f"{len({entry.learner for entry in entries})} learners, {len(entries)} answers\n")
    found = compared(entries, known_difficulty=args.log is None)
    right = np.array([float(entry.answered.outcome.right) for entry in entries])
    learner = np.array([entry.learner for entry in entries])
    samples = resampled(learner, 200)
    ours = found["this model, refitted"]
    print("| model | log loss | AUC | calibration error | this model's log loss is lower by |")
    print("| --- | --- | --- | --- | --- |")
    for name, p in found.items():
        if name in ("fluency", "clean"):
            continue
        gain = interval([log_loss(p[s], right[s]) - log_loss(ours[s], right[s]) for s in samples])
        if name == "this model, refitted":
            gain = "—"
        print(f"| {name} | {log_loss(p, right):.4f} | {auc(p, right):.3f} | {calibration(p, right):.4f} | {gain} |")
    if "fluency" in found:
        p, clean = found["fluency"], found["clean"]
        spread = interval([calibration(p[s], clean[s]) for s in samples])
        print(f"\nfluency (clean) after refit: log loss {log_loss(p, clean):.4f}, AUC {auc(p, clean):.3f}, ", end="")
        print(f"calibration error {calibration(p, clean):.4f} {spread}")
    some = entries[: min(len(entries), 3000)]
    began = time.perf_counter()
    fluencies(some, START)
    print(f"one prediction and update: {1e6 * (time.perf_counter() - began) / len(some):.0f} µs")


if __name__ == "__main__":
    main()
