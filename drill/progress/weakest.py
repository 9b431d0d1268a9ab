"""The weakest chords, keys, degrees and skills of a player in one list, for the terminal."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from cards.asks import Message
from cards.theory.keys import Mode
from drill.memory.shares import interval
from drill.planning.focus import KINDS
from drill.progress.key_map import ENOUGH_ANSWERS, NAMED, Cell, View, key_map
from drill.progress.skills import Estimate
from drill.progress.why import ends, why
from drill.store import Store
from drill.words import gettext as _
from drill.words import ngettext, say, say_skill

_COLUMN: Final = 30


@dataclass(frozen=True)
class CellGroup:
    """The cells of a key or a degree taken together; ``skill`` names the key or degree."""

    skill: str
    p: float
    sd: float
    answers: int


@dataclass(frozen=True)
class Weakest:
    """The weakest of each kind, the weakest first."""

    chords: tuple[Cell, ...]
    keys: tuple[CellGroup, ...]
    degrees: tuple[CellGroup, ...]
    skills: tuple[Estimate, ...]
    words: tuple[Message, ...]

    def as_json(self) -> dict[str, Any]:
        """Return the list as plain data: shares from 0 to 1, with 90 % intervals."""
        return {
            "chords": [
                {"key": str(cell.key), "number": cell.called, "chord": cell.chord, **_share(cell)}
                for cell in self.chords
            ],
            "keys": [{"key": say_skill(group.skill), **_share(group)} for group in self.keys],
            "degrees": [{"degree": group.skill.partition(":")[2], **_share(group)} for group in self.degrees],
            "skills": [estimate_json(estimate) for estimate in self.skills],
            "words": [say(message) for message in self.words],
        }

    def as_text(self) -> str:
        """Return the list as text for the terminal."""
        lines = [say(message) for message in self.words]
        for title, rows in (
            (_("Weakest chords"), [_line(_chord(cell), cell) for cell in self.chords]),
            (_("Weakest keys"), [_line(say_skill(group.skill), group) for group in self.keys]),
            (_("Weakest degrees"), [_line(say_skill(group.skill), group) for group in self.degrees]),
            (_("Skills that cost most"), [_skill_line(estimate) for estimate in self.skills]),
        ):
            if rows:
                lines += ["", title, *rows]
        return "\n".join(lines)


def weakest(store: Store, player_id: int, now: datetime) -> Weakest:
    """Return what a player is weakest in at ``now``, in major keys and their relative minors."""
    maps = [key_map(store, player_id, View(mode), now) for mode in (Mode.MAJOR, Mode.MINOR)]
    cells = [cell for drawn in maps for cell in drawn.cells if cell.p is not None]
    reasons = why(store, player_id, now)
    costing = sorted((skill for kind in KINDS for skill in reasons.weak(kind)), key=lambda skill: skill.gain)
    return Weakest(
        tuple(sorted((cell for cell in cells if cell.sure), key=lambda cell: cell.p or 0.0)[:NAMED]),
        _weakest_groups(cells, lambda cell: f"key:{cell.key.slug}"),
        _weakest_groups(cells, lambda cell: f"degree:{cell.called.replace('♭', 'b').replace('♯', 'x')}"),
        tuple(costing[:NAMED]),
        reasons.words(),
    )


def _weakest_groups(cells: Iterable[Cell], name: Callable[[Cell], str]) -> tuple[CellGroup, ...]:
    """Group cells by name, and return the weakest groups that have enough answers."""
    by_name: dict[str, list[Cell]] = {}
    for cell in cells:
        by_name.setdefault(name(cell), []).append(cell)
    groups = (_join(skill, members) for skill, members in by_name.items())
    answered = (group for group in groups if group.answers >= ENOUGH_ANSWERS)
    return tuple(sorted(answered, key=lambda group: group.p)[:NAMED])


def _join(skill: str, cells: Sequence[Cell]) -> CellGroup:
    """Take cells together, weighted by their cards; their deviations are taken to be fully correlated."""
    count = sum(len(cell.cards) for cell in cells)
    p = sum((cell.p or 0.0) * len(cell.cards) for cell in cells) / count
    sd = sum(cell.sd * len(cell.cards) for cell in cells) / count
    return CellGroup(skill, p, sd, sum(cell.answers for cell in cells))


def estimate_json(estimate: Estimate) -> dict[str, Any]:
    """Return the estimate of a skill as plain data."""
    low, high = ends(estimate)
    return {
        "skill": estimate.skill,
        "gain": round(estimate.gain, 4),
        "low": round(low, 4),
        "high": round(high, 4),
        "answers": estimate.answers,
    }


def _share(cells: Cell | CellGroup) -> dict[str, float]:
    low, high = interval(cells.p or 0.0, cells.sd)
    return {"p": round(cells.p or 0.0, 4), "low": round(low, 4), "high": round(high, 4), "answers": cells.answers}


def _line(name: str, cells: Cell | CellGroup) -> str:
    low, high = interval(cells.p or 0.0, cells.sd)
    answers = ngettext("{count} answer", "{count} answers", cells.answers).format(count=cells.answers)
    share = _("{percent} of 100 clean ({low} to {high}), {answers}").format(
        percent=f"{100 * (cells.p or 0.0):3.0f}", low=f"{100 * low:.0f}", high=f"{100 * high:.0f}", answers=answers
    )
    return f"  {name:{_COLUMN}}{share}"


def _chord(cell: Cell) -> str:
    return _("{called} of {key}, {chord}").format(called=cell.called, key=cell.key, chord=cell.chord)


def _skill_line(estimate: Estimate) -> str:
    low, high = ends(estimate)
    gain = _("{percent} of 100 clean ({low} to {high})").format(
        percent=f"{100 * estimate.gain:+3.0f}", low=f"{100 * low:+.0f}", high=f"{100 * high:+.0f}"
    )
    return f"  {say_skill(estimate.skill):{_COLUMN}}{gain.replace('-', '−')}"
