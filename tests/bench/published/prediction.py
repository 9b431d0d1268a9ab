"""Published models of P(right), each written from its paper, fitted on other learners' logs.

Conventions. A log is a :class:`Log`: rows in time within each learner. A model turns it into features,
one row per answer, from what went before that answer only; weights are fitted by logistic
regression (Newton's method, a small ridge) on the training learners and applied to the held-out
ones. Times are in days.

Sources. Leitner, So lernt man lernen (1972): the box (up when right, back when wrong) and the time
since. Half-life regression: Settles & Meeder, ACL 2016: P = 2^(−days/h), log2 h linear in √rights,
√wrongs and the item; fitted here to the outcomes by log loss. ACT-R: Pavlik & Anderson, Cogn. Sci.
2005: activation ln Σ tᵢ^(−dᵢ), dᵢ = .217·e^(mᵢ₋₁) + .177, of the item; scale and threshold fitted. PFA:
Pavlik, Cen & Koedinger, AIED 2009: per skill easiness, rights and wrongs. DASH: Lindsey et al.,
Psych. Sci. 2014: learner, item, and ln(1 + rights), ln(1 + tries) of the item in five windows. DAS3H:
Choffin et al., EDM 2019: the same windows per skill, with skill easiness.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

WINDOWS = (1 / 24, 1.0, 7.0, 30.0, 1e9)
RIDGE = 1.0


@dataclass(frozen=True)
class Log:
    """Answers in order, learner by learner: numbers of learner and item, skills, days, right."""

    learner: Ints
    item: Ints
    skills: list[tuple[int, ...]]
    days: Floats
    right: Bools
    items: int
    all_skills: int


Features = Callable[[Log], Floats]


def _histories(log: Log, keys: list[tuple[int, ...]]) -> Iterator[list[list[tuple[float, bool]]]]:
    """For every answer in turn, and each of its keys, the (days, right) of the earlier ones with that key."""
    past: dict[tuple[int, int], list[tuple[float, bool]]] = defaultdict(list)
    for n in range(len(log.days)):
        mine = [past[int(log.learner[n]), key] for key in keys[n]]
        yield mine
        for history in mine:
            history.append((float(log.days[n]), bool(log.right[n])))


def _items(log: Log) -> list[tuple[int, ...]]:
    return [(int(item),) for item in log.item]


def _one_hot(numbers: Ints, size: int) -> Floats:
    hot = np.zeros((len(numbers), size))
    hot[np.arange(len(numbers)), numbers] = 1.0
    return hot


def _many_hot(skills: list[tuple[int, ...]], size: int) -> Floats:
    hot = np.zeros((len(skills), size))
    for n, mine in enumerate(skills):
        hot[n, list(mine)] = 1.0
    return hot


def leitner(log: Log) -> Floats:
    """Box and ln of the days since, and whether it was ever seen."""
    rows = []
    for n, (history,) in enumerate(_histories(log, _items(log))):
        box = 0
        for _, right in history:
            box = min(box + 1, 6) if right else 1
        gap = log.days[n] - history[-1][0] if history else 0.0
        rows.append([*(float(box == b) for b in range(7)), np.log1p(gap * 1440.0) * bool(history)])
    return np.array(rows)


def act_r(log: Log) -> Floats:
    """The item's activation, in seconds, and whether it was ever seen."""
    rows = []
    times: dict[tuple[int, int], list[tuple[float, float]]] = defaultdict(list)
    for n in range(len(log.days)):
        past = times[int(log.learner[n]), int(log.item[n])]
        now = log.days[n] * 86_400.0
        m = np.log(sum(max(now - t, 1.0) ** -d for t, d in past)) if past else -9.0
        rows.append([m if past else 0.0, float(not past)])
        past.append((now, 0.217 * np.exp(min(m, 2.0)) + 0.177))
    return np.array(rows)


def pfa(log: Log) -> Floats:
    """Per skill: easiness, rights, wrongs."""
    rights, wrongs = np.zeros((len(log.days), log.all_skills)), np.zeros((len(log.days), log.all_skills))
    for n, mine in enumerate(_histories(log, log.skills)):
        for skill, history in zip(log.skills[n], mine, strict=True):
            good = sum(right for _, right in history)
            rights[n, skill], wrongs[n, skill] = good, len(history) - good
    return np.hstack([_many_hot(log.skills, log.all_skills), rights, wrongs])


def _windows(history: list[tuple[float, bool]], now: float) -> list[float]:
    row = []
    for width in WINDOWS:
        inside = [right for day, right in history if now - day <= width]
        row += [np.log1p(sum(inside)), np.log1p(len(inside))]
    return row


def dash(log: Log) -> Floats:
    """Item easiness; the item's windows. (Held-out learners have no ability of their own.)"""
    windows = [_windows(mine[0], log.days[n]) for n, mine in enumerate(_histories(log, _items(log)))]
    return np.hstack([_one_hot(log.item, log.items), np.array(windows)])


def das3h(log: Log) -> Floats:
    """Item and skill easiness; the windows of all skills, added up."""
    windows = []
    for n, mine in enumerate(_histories(log, log.skills)):
        each = [_windows(history, log.days[n]) for history in mine]
        windows.append(np.sum(each, axis=0) if each else np.zeros(2 * len(WINDOWS)))
    return np.hstack([_one_hot(log.item, log.items), _many_hot(log.skills, log.all_skills), np.array(windows)])


FEATURES: dict[str, Features] = {
    "Leitner boxes": leitner,
    "ACT-R": act_r,
    "PFA": pfa,
    "DASH": dash,
    "DAS3H": das3h,
}


def fit_logistic(x: Floats, y: Floats, ridge: float = RIDGE, around: Floats | None = None) -> Floats:
    """Weights (the intercept last) of a logistic regression by Newton's method.

    The ridge draws towards ``around`` (0 if None); the intercept is free.
    """
    x = np.hstack([x, np.ones((len(x), 1))])
    start = np.zeros(x.shape[1]) if around is None else around
    w, pull = start.copy(), np.full(x.shape[1], ridge)
    pull[-1] = 1e-6
    for _ in range(25):
        p = 1.0 / (1.0 + np.exp(-np.clip(x @ w, -30, 30)))
        slope = x.T @ (p - y) + pull * (w - start)
        bend = (x * (p * (1.0 - p))[:, None]).T @ x + np.diag(pull)
        step = np.linalg.solve(bend, slope)
        w = w - step
        if np.abs(step).max() < 1e-6:
            break
    return w


def logistic(x: Floats, w: Floats) -> Floats:
    """P(right) by these weights."""
    return np.asarray(1.0 / (1.0 + np.exp(-np.clip(x @ w[:-1] + w[-1], -30, 30))))


def half_life(train: Log, test: Log) -> Floats:
    """Half-life regression: fitted by gradient descent (Adagrad) on the training log's log loss."""

    def inputs(log: Log) -> tuple[Floats, Floats, Bools]:
        rows, gaps, seen = [], [], []
        for n, (history,) in enumerate(_histories(log, _items(log))):
            good = sum(right for _, right in history)
            rows.append([np.sqrt(good), np.sqrt(len(history) - good), 1.0])
            gaps.append(log.days[n] - history[-1][0] if history else 0.0)
            seen.append(bool(history))
        return np.array(rows), np.maximum(np.array(gaps), 1e-4), np.array(seen)

    x, gap, seen = inputs(train)
    first = train.right[~seen].mean() if (~seen).any() else 0.5
    w, by_item, seen_squares, item_squares = (
        np.zeros(3),
        np.zeros(train.items),
        np.full(3, 1e-6),
        np.full(train.items, 1e-6),
    )
    x_s, gap_s, y_s, item_s = x[seen], gap[seen], train.right[seen].astype(float), train.item[seen]
    for _ in range(300):
        log_h = np.clip(x_s @ w + by_item[item_s], -10, 10)
        p = np.clip(2.0 ** (-gap_s / 2.0**log_h), 1e-4, 1 - 1e-4)
        # d(log loss)/d(log2 h), with dp/d(log2 h) = p·ln2²·gap/h
        slope = -(y_s - p) / (p * (1 - p)) * p * np.log(2.0) ** 2 * gap_s / 2.0**log_h
        g = x_s.T @ slope + 0.1 * w
        gi = np.bincount(item_s, slope, train.items) + 0.1 * by_item
        seen_squares += g * g
        item_squares += gi * gi
        w -= 0.5 * g / np.sqrt(seen_squares)
        by_item -= 0.5 * gi / np.sqrt(item_squares)
    x, gap, seen = inputs(test)
    recall = 2.0 ** (-gap / 2.0 ** np.clip(x @ w + by_item[test.item], -10, 10))
    return np.where(seen, np.clip(recall, 1e-3, 1 - 1e-3), first)
