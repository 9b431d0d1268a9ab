"""The spellings of a chord's quality that the page reads by itself, made from what ``cards`` reads.

Run as a program, ``python -m tests.spellings`` writes ``static/js/lib/spellings.js``, which the page uses, and
``tests/js/names.json``, whole names with what the service calls them, which the unit tests of the page use.
``tests/test_spellings.py`` proves both fresh.

The page knows the qualities that cards are named by. Any other spelling it leaves to the service.
"""

from __future__ import annotations

import json
from itertools import product
from pathlib import Path
from typing import Final

from cards.asks import Setting, answer, question, universe
from cards.theory.chords import ChordError, read_chord, read_quality

ROOT: Final = Path(__file__).parents[1]
TABLE: Final = ROOT / "static" / "js" / "lib" / "spellings.js"
NAMES: Final = ROOT / "tests" / "js" / "names.json"

# What players write for each part of a quality, in the order in which it is written.
_MAJOR: Final = ("maj", "Maj", "MAJ", "major", "Major", "ma", "Ma", "M", "Δ", "△", "^", "j")
_MINOR: Final = ("m", "-", "min", "Min", "MIN", "minor", "Minor", "mi", "Mi")
_DIM: Final = ("dim", "Dim", "DIM", "°", "o", "diminished", "Diminished")
_HALF_DIM: Final = ("ø", "Ø", "half-dim", "halfdim", "half-diminished", "halfdiminished")
_FIFTHS: Final = ("b5", "♭5", "-5")
_SEVENTHS: Final = ("7", "dom7", "7M", "7maj", *(f"{major}7" for major in _MAJOR), "Δ", "△", "^")
_WITHOUT: Final = ("no3", "omit3", "no3rd", "omit3rd")
_FAMILIES: Final = (
    (("", *_MAJOR, *_MINOR, *_DIM, *_HALF_DIM), ("", "7")),
    (_MINOR, ("", "7"), _FIFTHS),
    (("5", *_SEVENTHS),),
    (("", "5", *_SEVENTHS), _WITHOUT),
)

# Names that the page leaves to the service, or that a careless reading gets wrong.
_OTHERS: Final = (
    "C6", "C9", "Cmaj9", "Csus4", "C7sus4", "C+", "Caug", "CmMaj7", "C7#9", "C7alt", "D/F#", "Cadd9", "C2", "C13",
    "Bbb5", "Bbb7", "Bbbm7b5", "Bbb", "B𝄫7", "F##m7", "F𝄪m7", "F♯♯dim", "Ebb", "CM7B5", "CMI7", "CM7b5", "Cx7", "Ch",
    "H7", "C maj 7", " F# m7 (b5) ", "B♭ (maj7)", "bb", "bbm", "ab^7", "Gma", "Ab^7", "Bmi7b5", "Abj7", "Ab7M",
    "AbMaj7", "Bdim(7)", "Eb7,", "C7 (no3)", "G Major", "A min 7", "g", "",
)  # fmt: skip
_KEYS: Final = ("C", "Am", "A blues")  # a quality that one key has, all of its mode have
_ROOTS: Final = ("C", "B♭", "F#", "ab")


def qualities() -> tuple[str, ...]:
    """The suffixes of every name that is right somewhere, in alphabetical order."""
    setting = Setting(richer=True)
    named = (card for card in universe() if str(card.key) in _KEYS and "name" in question(card, setting).parts)
    names = {name for card in named for name in answer(card, setting).names}
    return tuple(sorted({read_chord(name).quality.suffix for name in names}))


def table() -> dict[str, list[str]]:
    """The spellings of each quality, by the suffix that is printed; in the page's form, without blanks and brackets."""
    found: dict[str, list[str]] = {suffix: [] for suffix in qualities()}
    for spelling in ("".join(parts) for family in _FAMILIES for parts in product(*family)):
        try:
            suffix = read_quality(spelling).suffix
        except ChordError:
            continue
        if suffix in found and spelling not in found[suffix]:
            found[suffix].append(spelling)
    return found


def names() -> list[tuple[str, str | None]]:
    """Written names with what the service prints for them, None where it reads no chord."""
    written = [root + spelling for root in _ROOTS for spellings in table().values() for spelling in spellings]
    return [(name, _printed(name)) for name in dict.fromkeys([*written, *_OTHERS])]


def _printed(name: str) -> str | None:
    try:
        return str(read_chord(name))
    except ChordError:
        return None


def as_module() -> str:
    """The table as the page imports it."""
    rows = "".join(
        f"  {json.dumps(suffix, ensure_ascii=False)}: {json.dumps(' '.join(spellings), ensure_ascii=False)},\n"
        for suffix, spellings in table().items()
    )
    return (
        "// Made by tests/spellings.py from what the service reads; not to be changed by hand.\n\n"
        "/**\n * The spellings of each quality, parted by blanks, by the suffix that is printed.\n"
        " * @type {Record<string, string>}\n */\n"
        f"export const SPELLINGS = {{\n{rows}}};\n"
    )


def as_names() -> str:
    """The names as the unit tests read them."""
    rows = ",\n".join(json.dumps(row, ensure_ascii=False) for row in names())
    return f"[\n{rows}\n]\n"


if __name__ == "__main__":
    TABLE.write_text(as_module())
    NAMES.write_text(as_names())
