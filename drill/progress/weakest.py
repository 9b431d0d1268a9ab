"""The weakest of everything in one list, for the terminal: chords, keys, degrees, skills."""

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
class Together:
    """The cells of a key or a degree together; ``skill`` names it."""

    skill: str
    p: float
    sd: float
    answers: int


@dataclass(frozen=True)
class Weakest:
    """What is weakest, of each kind the weakest first."""

    chords: tuple[Cell, ...]
    keys: tuple[Together, ...]
    degrees: tuple[Together, ...]
    skills: tuple[Estimate, ...]
    words: tuple[Message, ...]

    def as_json(self) -> dict[str, Any]:
        """The list as plain data: shares from 0 to 1, intervals that hold nine times out of ten."""
        return {
            "chords": [
                {"key": str(cell.key), "number": cell.called, "chord": cell.chord, **_share(cell)}
                for cell in self.chords
            ],
            "keys": [{"key": say_skill(each.skill), **_share(each)} for each in self.keys],
            "degrees": [{"degree": each.skill.partition(":")[2], **_share(each)} for each in self.degrees],
            "skills": [estimate_json(each) for each in self.skills],
            "words": [say(message) for message in self.words],
        }

    def as_text(self) -> str:
        """The list to read."""
        lines = [say(message) for message in self.words]
        for title, rows in (
            (_("Weakest chords"), [_line(_chord(cell), cell) for cell in self.chords]),
            (_("Weakest keys"), [_line(say_skill(each.skill), each) for each in self.keys]),
            (_("Weakest degrees"), [_line(say_skill(each.skill), each) for each in self.degrees]),
            (_("Skills that cost most"), [_skill_line(each) for each in self.skills]),
        ):
            if rows:
                lines += ["", title, *rows]
        return "\n".join(lines)


def weakest(store: Store, player_id: int, now: datetime) -> Weakest:
    """What a player is weakest in at ``now``, in major keys and their relative minors."""
    maps = [key_map(store, player_id, View(mode), now) for mode in (Mode.MAJOR, Mode.MINOR)]
    cells = [cell for each in maps for cell in each.cells if cell.p is not None]
    reasons = why(store, player_id, now)
    costing = sorted((each for kind in KINDS for each in reasons.weak(kind)), key=lambda each: each.gain)
    return Weakest(
        tuple(sorted((cell for cell in cells if cell.sure), key=lambda cell: cell.p or 0.0)[:NAMED]),
        _together(cells, lambda cell: f"key:{cell.key.slug}"),
        _together(cells, lambda cell: f"degree:{cell.called.replace('♭', 'b').replace('♯', 'x')}"),
        tuple(costing[:NAMED]),
        reasons.words(),
    )


def _together(cells: Iterable[Cell], name: Callable[[Cell], str]) -> tuple[Together, ...]:
    by_name: dict[str, list[Cell]] = {}
    for cell in cells:
        by_name.setdefault(name(cell), []).append(cell)
    found = (_joined(skill, group) for skill, group in by_name.items())
    return tuple(sorted((each for each in found if each.answers >= ENOUGH_ANSWERS), key=lambda each: each.p)[:NAMED])


def _joined(skill: str, cells: Sequence[Cell]) -> Together:
    """Cells weigh by their cards; their deviations are taken to go together."""
    count = sum(len(cell.cards) for cell in cells)
    p = sum((cell.p or 0.0) * len(cell.cards) for cell in cells) / count
    sd = sum(cell.sd * len(cell.cards) for cell in cells) / count
    return Together(skill, p, sd, sum(cell.answers for cell in cells))


def estimate_json(each: Estimate) -> dict[str, Any]:
    """What a skill does, as plain data."""
    low, high = ends(each)
    return {
        "skill": each.skill,
        "gain": round(each.gain, 4),
        "low": round(low, 4),
        "high": round(high, 4),
        "answers": each.answers,
    }


def _share(each: Cell | Together) -> dict[str, float]:
    low, high = interval(each.p or 0.0, each.sd)
    return {"p": round(each.p or 0.0, 4), "low": round(low, 4), "high": round(high, 4), "answers": each.answers}


def _line(name: str, each: Cell | Together) -> str:
    low, high = interval(each.p or 0.0, each.sd)
    answers = ngettext("{count} answer", "{count} answers", each.answers).format(count=each.answers)
    told = _("{percent} of 100 clean ({low} to {high}), {answers}").format(
        percent=f"{100 * (each.p or 0.0):3.0f}", low=f"{100 * low:.0f}", high=f"{100 * high:.0f}", answers=answers
    )
    return f"  {name:{_COLUMN}}{told}"


def _chord(cell: Cell) -> str:
    return _("{called} of {key}, {chord}").format(called=cell.called, key=cell.key, chord=cell.chord)


def _skill_line(each: Estimate) -> str:
    low, high = ends(each)
    told = _("{percent} of 100 clean ({low} to {high})").format(
        percent=f"{100 * each.gain:+3.0f}", low=f"{100 * low:+.0f}", high=f"{100 * high:+.0f}"
    )
    return f"  {say_skill(each.skill):{_COLUMN}}{told.replace('-', '−')}"
