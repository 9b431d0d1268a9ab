"""What aiming at a jam brings: ``python -m tests.bench.aim [--small]``.

Simulated players (:mod:`tests.bench.learners`, of forms that are not the product's) drill five minutes a day
for 14 days, missed cards coming back as in the service, twice from the same start and with the same dice:
once by the ordinary plan, once aimed at a jam on the evening of the 14th day. Before that they drill five days
by the ordinary plan. The jam has four tunes of ready-made forms in keys that the player has, two of them outside
what the player calls their own; tempos from slow to fast, one box. What counts is true readiness: the
share of its changes truly clean on the night, by the learner's own probabilities and in the seconds that
each change lasts; and that the rest does not rot: the cards outside the jam truly clean then.

Printed beside it is what the service told on the first evening, undrilled and with the planned minutes.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import product

import numpy as np

from cards.asks import Setting
from cards.charts.forms import form
from cards.theory.keys import Key
from drill.jams.aim import goal_for_changes
from drill.jams.changes import cards_for, changes_of, measured_changes
from drill.jams.nights import Night, NightTune
from drill.jams.practice_ahead import Start, runs
from drill.jams.readiness import NightKnowledge, together
from drill.memory.batch import Floats
from drill.planning.candidates import Candidates, catalogue
from drill.planning.goal import NO_GOAL, Goal
from drill.planning.plan import plan
from drill.store.models import Jam
from tests.bench.coming_back import AsInTheService
from tests.bench.learners import BAR, DAY, FAMILIES, TRANSFERS, World
from tests.bench.learning import SESSION, Diary, drill_with
from tests.bench.machine import machine
from tests.bench.published.planning import Seen
from tests.bench.this_planner import EPOCH, ThisPlanner, introduction

WARM_UP, DAYS = 5, 14
OWN_KEYS = 2
TUNES = (("cycle 1 5 6 4", 96), ("cycle 1 3 4 5", 132), ("cycle 1 4 6 5", 72), ("vamp 1 4", 160))
TEMPO = 80


def night_of(keys: Sequence[str]) -> Night:
    """The jam: a tune in the first of these keys, one in the second, two in the others."""
    at = EPOCH + timedelta(days=WARM_UP + DAYS)
    charts = [form(name, Key.from_slug(slug)) for (name, _), slug in zip(TUNES, keys, strict=True)]
    entries = (
        NightTune(str(n), str(n), chart.title or "", chart, chart.key, tempo, None, None)
        for n, (chart, (_, tempo)) in enumerate(zip(charts, TUNES, strict=True))
    )
    jam = Jam(id="a" * 32, player_id=1, name="Open jam", at=at, place="", boxes=[1], made_at=EPOCH)
    return Night(jam, tuple(entries), at, past=False, days=DAYS)


class Aimed(ThisPlanner):
    """The product's plan, aimed from the day on which the jam is set; never if ``aims`` is False."""

    def __init__(self, world: World, aims: bool) -> None:
        super().__init__(world, SESSION)
        self.aims = aims
        self.nights = [night_of(keys) for keys in world.keys]
        self.changes = [changes_of(night, Setting()) for night in self.nights]

    def known(self, who: int) -> NightKnowledge:
        return NightKnowledge(self.changes[who], self.reviews[who], self.rows[who], ())

    def start(self, who: int) -> Start:
        """What the service would tell readiness from."""
        aim, known, night = self.aim(who), self.known(who), self.nights[who]
        cards = Candidates.of(catalogue().cards(self.ids[who]), self.last[who])
        return Start(known, self.rows[who], cards, aim.prepend_keys(self._own(who)), TEMPO, aim, night.jam.at)

    def aim(self, who: int) -> Goal:
        return goal_for_changes(self.changes[who], self.known(who).outlook(self.nights[who].jam.at))

    def _own(self, who: int) -> tuple[str, ...]:
        return tuple(str(Key.from_slug(slug)) for slug in self.world.keys[who][:OWN_KEYS])

    def _plan(self, who: int, at: float, left: float) -> list[int]:
        now, jam_at = EPOCH + timedelta(seconds=at), self.nights[who].jam.at
        aim = self.aim(who) if self.aims and self.day >= WARM_UP else NO_GOAL
        allowed = dict(zip(self.number[who], self.world.allowed[who].tolist(), strict=True))
        planned = plan(
            self.candidates(who),
            self.rows[who],
            now,
            left / 60.0,
            keys=aim.prepend_keys(self._own(who)),
            allowed=allowed.__getitem__,
            seed=who,
            **({"card_weights": aim.weights, "horizon": jam_at - now} if aim.weights else {}),
        )
        return [self.number[who][p.card_id] for p in planned]


@dataclass(frozen=True)
class Evening:
    """How it stands on an evening, by learner: true readiness on the guitar, and by the cards that show the
    changes to the service; cards outside the jam truly clean."""

    on_guitar: Floats
    shown: Floats
    outside: Floats


@dataclass(frozen=True)
class Compared:
    """The night after the ordinary and after the aimed plan, by learner; what was told of it on the first
    evening, (learners, 4): undrilled, drilled, and between what the latter may lie; cards outside the jam truly
    clean when it was set."""

    ordinary: Evening
    aimed: Evening
    said: Floats
    begun: Floats


def evening(planner: Aimed, day: int) -> Evening:
    """The truth on an evening."""
    world = planner.world
    at = np.full(world.learners, day * DAY)
    lasting = {each.lasts for changes in planner.changes for each in changes}
    within = {lasts: world.truly_clean(at, world.allowed - BAR + lasts) for lasts in lasting}
    bare = world.truly_clean(at)
    rows = []
    for who, changes in enumerate(planner.changes):
        number = planner.number[who]
        shown = measured_changes(changes, planner.known(who).reviews, ())
        ways = [
            [within[each.change.lasts][who, number[card.id]] for card in (each.change.cards[0], each.card)]
            for each in shown
        ]
        inside = [number[card.id] for card in cards_for(changes)]
        rows.append((*np.array(ways).mean(axis=0), bare[who].sum() - bare[who, inside].sum()))
    return Evening(*np.array(rows).T)


def told(planner: Aimed) -> Floats:
    """What the service tells of the night when the jam is set: undrilled, and with the planned minutes, with the
    ends of its interval."""
    begin = EPOCH + timedelta(days=WARM_UP)
    sessions = [begin + timedelta(days=n) for n in range(DAYS)]
    said = []
    for who in range(planner.world.learners):
        start = planner.start(who)
        ways = [start.known.outlook(start.at)], runs(start, sessions, SESSION / 60.0)
        undrilled, drilled = (share for each in ways if (share := together(each)))
        said.append((undrilled.mean, drilled.mean, *drilled.interval))
    return np.array(said)


def compared(family: str, transfer: float, learners: int, seed: int) -> Compared:
    """Drill the same learners twice, by the same diary."""
    diary = Diary.drawn(learners, WARM_UP + DAYS, seed)
    diary.drills[:] = True
    nights, begun, said = [], np.zeros(learners), np.zeros((learners, 4))
    for aims in (False, True):
        world = World(family, transfer, learners, seed)
        planner, seen = Aimed(world, aims), Seen.nothing(*introduction(world))
        for day in range(WARM_UP + DAYS):
            if aims and day == WARM_UP:
                begun, said = evening(planner, day).outside, told(planner)
            back = AsInTheService((world.learners, world.cards), SESSION)
            drill_with(planner, world, diary, seen, day, back)
        nights.append(evening(planner, WARM_UP + DAYS))
    return Compared(nights[0], nights[1], said, begun)


def interval(differences: Floats) -> str:
    """The mean with its 95 % interval."""
    mean, error = differences.mean(), 1.96 * differences.std(ddof=1) / np.sqrt(len(differences))
    return f"{100 * mean:+.1f} [{100 * (mean - error):+.1f}, {100 * (mean + error):+.1f}]"


def main(argv: Sequence[str] | None = None) -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description="What aiming at a jam brings.")
    parser.add_argument("--learners", type=int, default=4, help="learners per family, transfer and seed")
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--small", action="store_true", help="2 learners of two families: to see that it runs")
    args = parser.parse_args(argv)
    learners, seeds = (2, 1) if args.small else (args.learners, args.seeds)
    families, transfers = (tuple(FAMILIES)[:2], (0.3,)) if args.small else (tuple(FAMILIES), TRANSFERS)
    print(machine())
    print(f"| {' | '.join(HEADS)} |\n|{' --- |' * len(HEADS)}")
    every: list[Compared] = []
    for family, transfer in product(families, transfers):
        found = []
        for seed in range(2026, 2026 + seeds):
            found.append(compared(family, transfer, learners, seed))
        every += found
        _print(f"{family}, {transfer:g}", found)
    _print("all", every)


HEADS = (
    "family, transfer", "told undrilled", "told drilled", "truth within", "ordinary", "aimed",
    "aimed − ordinary [95 %]", "the same by what shows it", "others at first", "others ordinary", "others aimed",
)  # fmt: skip


def _print(name: str, found: Sequence[Compared]) -> None:
    """A row: means over all learners, of 100 changes; the others in cards."""

    def of(part: str, way: str) -> Floats:
        return np.concatenate([getattr(getattr(each, part), way) for each in found])

    said, begun = np.concatenate([each.said for each in found]), np.concatenate([each.begun for each in found])
    low, high = said[:, 2:].T
    within = (low <= of("aimed", "shown")) & (of("aimed", "shown") <= high)
    shares = [*said[:, :2].T, within, of("ordinary", "on_guitar"), of("aimed", "on_guitar")]
    gains = [of("aimed", way) - of("ordinary", way) for way in ("on_guitar", "shown")]
    others = [begun, of("ordinary", "outside"), of("aimed", "outside")]
    cells = [f"{100 * share.mean():.1f}" for share in shares] + [interval(gain) for gain in gains]
    cells += [f"{cards.mean():.1f}" for cards in others]
    print(f"| {name} | {' | '.join(cells)} |", flush=True)


if __name__ == "__main__":
    main()
