"""Made-up songs with the statistics of real charts: nothing here is anybody's song.

Keys, first and last chords, the share and kind of borrowed chords are those counted on public files
(declared keys; tonic first in 74 %, last in 47 %; 67 % of songs in major entirely diatonic, 93 % of
their chords). How chords follow each other is ours: a walk with the usual cadences, repeated as
songs repeat. What the key finder weighs is not used here.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from cards.theory.keys import Key
from cards.theory.numerals import read_numeral

_DECLARED = {"G": 36, "D": 14, "C": 11, "E": 10, "A": 9, "F": 3, "Em": 3, "B": 3, "Bb": 2}
_SELDOM = {"Am": 3, "Bm": 1, "Dm": 1, "F#m": 1, "Eb": 1, "Ab": 1, "Db": 1}
KEYS = _DECLARED | _SELDOM
"""Shares of the declared keys; how the seldom ones divide the rest is ours."""
FIRST_IS_TONIC, LAST_IS_TONIC = 0.74, 0.47
_ALL_DIATONIC = {False: 0.67, True: 0.55}
_BORROWED_RATE = 0.21
_NEXT_MAJOR = {
    "I": {"IV": 30, "V": 30, "vi": 22, "ii": 10, "iii": 5, "I": 3},
    "ii": {"V": 50, "IV": 20, "vi": 15, "I": 15},
    "iii": {"vi": 45, "IV": 45, "ii": 10},
    "IV": {"I": 37, "V": 37, "vi": 12, "ii": 10, "IV": 4},
    "V": {"I": 42, "vi": 22, "IV": 26, "ii": 6, "V": 4},
    "vi": {"IV": 42, "V": 28, "ii": 12, "I": 10, "iii": 8},
}
_NEXT_MINOR = {
    "i": {"bVII": 32, "bVI": 26, "iv": 20, "bIII": 10, "v": 9, "i": 3},
    "bIII": {"bVII": 50, "bVI": 28, "iv": 22},
    "iv": {"i": 42, "bVII": 22, "v": 18, "bVI": 18},
    "v": {"i": 50, "iv": 25, "bVI": 25},
    "bVI": {"bVII": 45, "i": 20, "bIII": 20, "iv": 15},
    "bVII": {"i": 38, "bVI": 28, "bIII": 22, "iv": 12},
}
_BORROWED_TRIADS = {"II": 22, "bVII": 19, "VI": 9, "III": 6, "VII": 4, "v": 3, "bIII": 3, "iv": 3, "bVI": 3}
_BORROWED_MAJOR = _BORROWED_TRIADS | {"I7": 5, "bVIIsus4": 2, "IV7": 3, "II7": 4, "III7": 3, "VI7": 3}
_BORROWED_MINOR = {"V7": 25, "IV": 24, "bII": 8, "V": 4, "IV7": 4}
_V7_RATE = 0.3


@dataclass(frozen=True)
class Song:
    """A song: its key, and sections of chord names, each with a name."""

    key: str
    sections: tuple[tuple[str, tuple[str, ...]], ...]

    def chordpro(self, declared: bool = False) -> str:
        """The song as ChordPro, with words that mean nothing."""
        lines = ["{title: Made up}", *([f"{{key: {self.key}}}"] if declared else [])]
        for name, chords in self.sections:
            lines += ["", f"{{start_of_verse: {name}}}"]
            lines += [
                " ".join(f"[{chord}]la la" for chord in chords[start : start + 4]) for start in range(0, len(chords), 4)
            ]
            lines.append("{end_of_verse}")
        return "\n".join(lines)

    def grid(self) -> str:
        """The song as a grid."""
        lines = []
        for name, chords in self.sections:
            lines += [f"[{name}]", "| " + " | ".join(chords) + " |", ""]
        return "\n".join(lines)

    def sheet(self) -> str:
        """The song with its chords above words."""
        lines = ["Made up", ""]
        for name, chords in self.sections:
            lines.append(name)
            for start in range(0, len(chords), 4):
                lines += ["     ".join(chords[start : start + 4]), "la la la and a word or two"]
            lines.append("")
        return "\n".join(lines)


def songs(count: int, seed: int = 1, keys: Mapping[str, float] | None = None) -> Iterator[Song]:
    """So many songs, the same for the same seed."""
    chance = random.Random(seed)
    for _ in range(count):
        yield _song(chance, _draw(chance, keys or KEYS))


def _song(chance: random.Random, name: str) -> Song:
    key = Key.read(name)
    rate = 0.0 if chance.random() < _ALL_DIATONIC[key.is_minor] else _BORROWED_RATE
    verse, chorus, bridge = (_phrase(chance, key.is_minor, rate) for _ in range(3))
    tonic, following = ("i", _NEXT_MINOR) if key.is_minor else ("I", _NEXT_MAJOR)
    verse[0] = tonic if chance.random() < FIRST_IS_TONIC else _other(chance, following[tonic], tonic)
    order = [("Verse 1", verse * 2), ("Chorus", chorus * 2), ("Verse 2", verse * 2), ("Chorus", chorus * 2)]
    if chance.random() < 0.3:
        order.append(("Bridge", bridge))
    order.append(("Ending", [*chorus]))
    order[-1][1][-1] = tonic if chance.random() < LAST_IS_TONIC else _other(chance, following[tonic], tonic)
    return Song(name, tuple((part, tuple(_name(chance, each, key) for each in chords)) for part, chords in order))


def _phrase(chance: random.Random, minor: bool, rate: float) -> list[str]:
    """Four or eight numerals."""
    following = _NEXT_MINOR if minor else _NEXT_MAJOR
    now = ("i" if minor else "I") if chance.random() < 0.5 else chance.choice(list(following))
    phrase = []
    for _ in range(chance.choice((4, 4, 8))):
        borrowed = chance.random() < rate
        phrase.append(_draw(chance, _BORROWED_MINOR if minor else _BORROWED_MAJOR) if borrowed else now)
        now = _draw(chance, following[now])
    return phrase


def _name(chance: random.Random, numeral: str, key: Key) -> str:
    """The chord of a numeral in ASCII; V sometimes with its seventh."""
    if numeral == "V" and chance.random() < _V7_RATE:
        numeral = "V7"
    return str(read_numeral(numeral, key).chord(key)).replace("♭", "b").replace("♯", "#").replace("𝄪", "##")


def _draw(chance: random.Random, weights: Mapping[str, float]) -> str:
    return chance.choices(list(weights), list(weights.values()))[0]


def _other(chance: random.Random, weights: Mapping[str, float], tonic: str) -> str:
    return _draw(chance, {name: weight for name, weight in weights.items() if name != tonic})
