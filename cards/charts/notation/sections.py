"""The names of sections, such as verse and chorus, and the letters that stand for them."""

from __future__ import annotations

import re

_WORDS = (
    # English
    *("intro", "introduction", "verse", "vs", r"pre[- ]?chorus", r"post[- ]?chorus", "chorus", "refrain", "bridge"),
    *(r"middle(?: ?(?:8|eight))?", "solo", "instrumental", "instr", "interlude", "break(?:down)?", "outro", "ending"),
    *("end", "coda", "tag", "turn ?around", "vamp", "hook", "riff", "head", "channel", "lead(?: break)?", "fill"),
    *("part", "section", "link", r"ad[- ]?lib"),
    # Italian, French, Spanish
    *("introduzione", "strofa", "ritornello", "rit", "inciso", "ponte", "assolo", "strumentale", "finale"),
    *("couplet", "pont", "estrofa", "coro", "estribillo", "puente"),
    # German, Czech
    *("strophe", "zwischenspiel", "vorspiel", "zwischenteil", "schluss"),
    *("sloka", "refr[ée]n", "ref", "rec", "p[řr]edehra", "mezihra", "dohra", r"z[áa]v[ěe]r"),
)
_BEFORE = r"(?:(?:final|last|first|second|third|half|double|main|guitar|piano|repeat|\d\.)\s+)?"
_NAME = re.compile(
    rf"\W*(?P<name>{_BEFORE}(?:{'|'.join(_WORDS)})(?:(?=\d)|\b)\.?(?:\s*#?(?:\d{{1,2}}|[IVX]{{1,4}}|[A-D])\b)?)(?P<rest>.*)",
    re.IGNORECASE,
)
TIMES = re.compile(r"[\(\[]?\s*(?:[x×]\s?(?P<after>\d{1,2})|(?P<before>\d{1,2})\s?[x×])\b\s*[\)\]]?", re.IGNORECASE)
_LETTERS = {
    "I": "Intro",
    "IN": "Intro",
    "V": "Verse",
    "C": "Chorus",
    "CH": "Chorus",
    "PC": "Pre-chorus",
    "B": "Bridge",
    "BR": "Bridge",
    "S": "Solo",
    "T": "Tag",
    "O": "Outro",
    "R": "Refrain",
}
_LETTER = re.compile(r"(PC|IN|CH|BR|[A-Z])(\d{0,2})\Z")
_LONGEST_REST = 4


def section_name(text: str, loose: bool = False) -> tuple[str, int] | None:
    """Return (name, times) if the text is the name of a section, else None.

    Only punctuation or a number of times may follow the name. With ``loose`` a remark of up to four words may follow
    too; it is dropped.

    >>> section_name("[Verse 2]"), section_name("Chorus (x2)"), section_name("Bridge over the river")
    (('Verse 2', 1), ('Chorus', 2), None)
    >>> section_name("chorus softly", loose=True)
    ('chorus', 1)
    """
    match = _NAME.match(text)
    if match is None:
        return None
    rest, times = match["rest"], 1
    counted = TIMES.search(rest)
    if counted:
        times = times_of(counted)
        rest = rest[: counted.start()] + rest[counted.end() :]
    remark = [word for word in rest.split() if any(letter.isalnum() for letter in word)]
    if remark and not (loose and len(remark) <= _LONGEST_REST):
        return None
    return " ".join(match["name"].split()), times


def times_of(match: re.Match[str]) -> int:
    """Return the number of times that a match of TIMES gives."""
    return int(match["after"] or match["before"])


def is_letter(text: str) -> bool:
    """Return whether the text can be the letter of a section, with or without a number: V, V2, PC, A."""
    return _LETTER.match(text) is not None


def spelled_out(names: list[str]) -> list[str]:
    """Spell out the letters of sections if the song uses V for its verses. Otherwise A and B stay letters.

    >>> spelled_out(["V1", "C", "B"]), spelled_out(["A", "B", "C"])
    (['Verse 1', 'Chorus', 'Bridge'], ['A', 'B', 'C'])
    """
    matches = [_LETTER.match(name) for name in names]
    if not any(match and match[1] == "V" for match in matches):
        return names
    return [
        f"{_LETTERS[match[1]]} {match[2]}".rstrip() if match and match[1] in _LETTERS else name
        for name, match in zip(names, matches, strict=True)
    ]
