"""What aiming at a jam brings: ``python -m tests.bench.aim [--small]``.

Simulated players (:mod:`tests.bench.learners`, of forms that are not the product's) drill five minutes a day
for 14 days, twice from the same start, with the same dice: once by the ordinary plan, once aimed at a
jam on the evening of the 14th day. Before that they drill five days by the ordinary plan. The jam has four
tunes of ready-made forms in keys that the player has, two of them outside what the player calls their own;
tempos from slow to fast, one box. What counts is true readiness: the share of its changes truly clean
on the night, by the learner's own probabilities and in the seconds that each change lasts; and
that the rest does not rot: the cards outside the jam truly clean then.

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
from cards.keys import Key
from drill.aim import NO_AIM, Aim, aim_of
from drill.changes import Called, called, cards_for, changes_of
from drill.forecast import Floats
from drill.jams import Entry, Night
from drill.plan import plan
from drill.projection import Start, runs
from drill.readiness import Known, together
from drill.store.models import Jam
from tests.bench.learners import BAR, DAY, FAMILIES, TRANSFERS, World
from tests.bench.learning import EPOCH, SESSION, Diary, ThisPlanner, drill_with, introduction
from tests.bench.machine import machine
from tests.bench.published.planning import Seen

WARM_UP, DAYS = 5, 14
OWN_KEYS = 2
TUNES = (("cycle 1 5 6 4", 96), ("cycle 1 3 4 5", 132), ("cycle 1 4 6 5", 72), ("vamp 1 4", 160))
TEMPO = 80


def night_of(keys: Sequence[str]) -> Night:
    """The jam: a tune in the first of these keys, one in the second, two in the others."""
    at = EPOCH + timedelta(days=WARM_UP + DAYS)
    charts = [form(name, Key.from_slug(slug)) for (name, _), slug in zip(TUNES, keys, strict=True)]
    entries = (
        Entry(str(n), str(n), chart.title or "", chart, chart.key, tempo)
        for n, (chart, (_, tempo)) in enumerate(zip(charts, TUNES, strict=True))
    )
    jam = Jam(id="a" * 32, player_id=1, name="Open jam", at=at, place="", boxes=[1], made_at=EPOCH)
    return Night(jam, tuple(entries))


class Aimed(ThisPlanner):
    """The product's plan, aimed from the day on which the jam is set; never if ``aims`` is False."""

    def __init__(self, world: World, aims: bool) -> None:
        super().__init__(world)
        self.aims = aims
        self.nights = [night_of(keys) for keys in world.keys]
        self.changes = [changes_of(night, Setting()) for night in self.nights]

    def known(self, who: int) -> Known:
        reviews = {card.features.card_id: card.reviews for card in self.cards[who]}
        return Known(self.changes[who], reviews, self.rows[who], ())

    def start(self, who: int) -> Start:
        """What the service would tell readiness from."""
        aim, known, night = self.aim(who), self.known(who), self.nights[who]
        return Start(known, self.rows[who], tuple(self.cards[who]), aim.first(self._own(who)), TEMPO, aim, night.jam.at)

    def aim(self, who: int) -> Aim:
        return aim_of(self.changes[who], self.known(who).outlook(self.nights[who].jam.at))

    def _own(self, who: int) -> tuple[str, ...]:
        return tuple(str(Key.from_slug(slug)) for slug in self.world.keys[who][:OWN_KEYS])

    def _plan(self, who: int, at: float, left: float) -> list[int]:
        now, jam_at = EPOCH + timedelta(seconds=at), self.nights[who].jam.at
        aim = self.aim(who) if self.aims and self.day >= WARM_UP else NO_AIM
        allowed = dict(zip(self.number[who], self.world.allowed[who].tolist(), strict=True))
        planned = plan(
            (c for n, c in enumerate(self.cards[who]) if n not in self.asked[who]),
            self.rows[who],
            now,
            left / 60.0,
            keys=aim.first(self._own(who)),
            allowed=allowed.__getitem__,
            seed=who,
            **({"aim": aim.weights, "horizon": jam_at - now} if aim.weights else {}),
        )
        return [self.number[who][p.card_id] for p in planned]



@dataclass(frozen=True)
class Evening:
    """How it stands on the night, by learner: true readiness on the guitar, by the cards that show the
    changes, and by the better of a chord's two cards; cards outside the jam truly clean."""

    on_guitar: Floats
    shown: Floats
    better: Floats
    outside: Floats


def evening(planner: Aimed, world: World) -> Evening:
    """The truth on the night."""
    at = np.full(world.learners, (WARM_UP + DAYS) * DAY)
    lasting = {each.lasts for changes in planner.changes for each in changes}
    within = {lasts: world.truly_clean(at, world.allowed - BAR + lasts) for lasts in lasting}
    bare = world.truly_clean(at)
    rows = []
    for who, changes in enumerate(planner.changes):
        number, reviews = planner.number[who], planner.known(who).reviews
        ways = [
            [within[each.change.lasts][who, number[card.id]] for card in (*each.change.cards, each.card)]
            for each in called(changes, reviews, ())
        ]
        on_guitar, tapped, shown = np.array(ways).T
        inside = [number[card.id] for card in cards_for(changes)]
        outside = bare[who].sum() - bare[who, inside].sum()
        rows.append((on_guitar.mean(), shown.mean(), np.maximum(on_guitar, tapped).mean(), outside))
    return Evening(*np.array(rows).T)


def drilled(family: str, transfer: float, learners: int, seed: int, aims: bool, told: bool) -> tuple[Evening, Floats]:
    """The night after 14 days of drill; what was told of it on the first evening (learners, 2): undrilled, and
    with the planned minutes."""
    world, diary = World(family, transfer, learners, seed), Diary.drawn(learners, WARM_UP + DAYS, seed)
    diary.drills[:] = True
    planner, seen = Aimed(world, aims), Seen.nothing(*introduction(world))
    said = np.zeros((learners, 2))
    for day in range(WARM_UP + DAYS):
        if told and day == WARM_UP:
            begin = EPOCH + timedelta(days=WARM_UP)
            sessions = [begin + timedelta(days=n) for n in range(DAYS)]
            for who in range(learners):
                start = planner.start(who)
                ahead = together([start.known.outlook(start.at)]), together(runs(start, sessions, SESSION / 60.0))
                said[who] = [share.mean if share else 0.0 for share in ahead]
        drill_with(planner, world, diary, seen, day)
    return evening(planner, world), said


def interval(differences: Floats) -> str:
    """The mean with its 95 % interval."""
    mean, error = differences.mean(), 1.96 * differences.std(ddof=1) / np.sqrt(len(differences))
    return f"{100 * mean:+.1f} [{100 * (mean - error):+.1f}, {100 * (mean + error):+.1f}]"


def main(argv: Sequence[str] | None = None) -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description="What aiming at a jam brings.")
    parser.add_argument("--learners", type=int, default=4, help="learners per family, transfer and seed")
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--small", action="store_true", help="1 learner of each family, 1 seed: to see that it runs")
    args = parser.parse_args(argv)
    learners, seeds = (1, 1) if args.small else (args.learners, args.seeds)
    transfers = (0.3,) if args.small else TRANSFERS
    print(machine())
    print("| family, transfer | told undrilled | told drilled | ordinary | aimed | aimed − ordinary | others ordinary | others aimed |")
    print(f"|{' --- |' * 8}")
    every: list[tuple[Evening, Evening, Floats]] = []
    for family, transfer in product(FAMILIES, transfers):
        found = []
        for seed in range(2026, 2026 + seeds):
            ordinary, _ = drilled(family, transfer, learners, seed, aims=False, told=False)
            aimed, said = drilled(family, transfer, learners, seed, aims=True, told=True)
            found.append((ordinary, aimed, said))
        every += found
        _print(f"{family}, {transfer:g}", found)
    _print("all", every)


def _print(name: str, found: Sequence[tuple[Evening, Evening, Floats]]) -> None:
    said = np.concatenate([each for *_, each in found])
    both = [[np.concatenate([getattr(pair[n], part) for pair in found]) for n in (0, 1)] for part in PARTS]
    cells = [f"{100 * said[:, 0].mean():.1f}", f"{100 * said[:, 1].mean():.1f}"]
    for ordinary, aimed in both[:-1]:
        cells += [f"{100 * ordinary.mean():.1f}", f"{100 * aimed.mean():.1f}", interval(aimed - ordinary)]
    cells += [f"{both[-1][0].mean():.1f}", f"{both[-1][1].mean():.1f}"]
    print(f"| {name} | {' | '.join(cells)} |", flush=True)


PARTS = ("on_guitar", "shown", "better", "outside")

if __name__ == "__main__":
    main()
