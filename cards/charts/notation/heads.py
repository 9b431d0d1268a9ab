"""The head of a song: the title, key, capo, tempo, metre and feel that it gives before and between its chords."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from cards.charts.chart import Place, Unread
from cards.charts.notation.marks import Kind, Mark
from cards.theory.keys import Key, KeyNameError

LONGEST_NAME = 60
"""The longest title or section name that is kept, in characters."""

_KEY = re.compile(
    r"\s*(?P<tonic>[A-Ha-h](?:es|is|s(?!u)|[#♯b♭])?|(?:DO|RE|MI|FA|SOL|LA|SI|Do|Re|Mi|Fa|Sol|La|Si)[#♯b♭]?)"
    r"\s*(?P<mode>m(?![a-z])|mi(?![a-z])|min\w*|moll|-(?=\s|\Z)|M\b|maj\w*|dur|blues)?(?![a-zA-Z])",
)
_MINOR = ("mi", "mol", "-")
_SYLLABLES = {"DO": "C", "RE": "D", "MI": "E", "FA": "F", "SOL": "G", "LA": "A", "SI": "B"}
_METRE = re.compile(r"(?<!\d)(\d{1,2})/(1|2|4|8|16)(?!\d)")
_ROMAN_FRETS = {"i": 1, "ii": 2, "iii": 3, "iv": 4, "v": 5, "vi": 6, "vii": 7, "viii": 8, "ix": 9}
_CAPO_WORDS = {"first": 1, "second": 2, "third": 3, "fourth": 4, "fifth": 5, "sixth": 6, "seventh": 7}
_HIGHEST_CAPO = 12
_TEMPI = (20.0, 400.0)
_MOST_BEATS = 24
_FEELS = {"shuffle": "shuffle", "swing": "shuffle", "swung": "shuffle", "straight": "straight"}


@dataclass(frozen=True)
class KeyText:
    """A key as it is written. The letters (English or German) are not decided yet."""

    text: str
    place: Place


@dataclass
class Head:
    """The values read so far. The first readable value of each counts.

    ``capo`` is a fret and ``tempo`` is in beats a minute.
    """

    title: str | None = None
    heading: str | None = None
    """The line above the song, which may be its title or its first words."""
    key: KeyText | None = None
    capo: int = 0
    tempo: float | None = None
    time: str | None = None
    feel: str | None = None
    other_keys: list[str] = field(default_factory=list)
    unread: list[Unread] = field(default_factory=list)

    def take(self, name: str, value: str, place: Place, started: bool) -> list[Mark]:
        """Take one value. Return the marks of a change of key or metre.

        A key is a change once chords have ``started``. A metre always gives a mark.
        """
        if name in ("title", "t"):
            self.title = self.title or value.strip()[:LONGEST_NAME] or None
        elif name == "key":
            return self._take_key(value, place, started)
        elif name == "capo":
            self.capo = self.capo or read_capo(value)
        elif name in ("tempo", "bpm", "feel"):
            self.tempo = self.tempo or read_tempo(value)
            self.feel = self.feel or read_feel(value)
        elif name == "time":
            return self._take_time(value, place, started)
        return []

    def _take_key(self, value: str, place: Place, started: bool) -> list[Mark]:
        """Take the first key as the song's, and list others. Once chords have started, return a change of key."""
        if not value.strip():
            return []
        if read_key(value) is None:
            self.unread.append(Unread(place, value.strip()[:LONGEST_NAME]))
        elif started:
            return [Mark(Kind.KEY, place, value)]
        elif self.key is None:
            self.key = KeyText(value, place)
        else:
            self.other_keys.append(value.strip()[:LONGEST_NAME])
        return []

    def _take_time(self, value: str, place: Place, started: bool) -> list[Mark]:
        """Take the first metre as the song's if no chords have started. Return the mark of the metre."""
        metre = read_metre(value)
        if metre is None:
            return []
        if not started:
            self.time = self.time or f"{metre[0]}/{metre[1]}"
        return [Mark(Kind.METRE, place, f"{metre[0]}/{metre[1]}", metre[0])]


def read_key(text: str, names: str = "letters") -> Key | None:
    """Read a key in any spelling, with any text behind it. Return None if there is no key.

    ``names`` are the letters of the song, as in :class:`cards.charts.chart.Options`.

    >>> [str(read_key(text)) for text in ("G", "Em", "f#", "A:", "B♭ major", "Hm", "G, later A", "LAm")]
    ['G', 'Em', 'F♯', 'A', 'B♭', 'Bm', 'G', 'Am']
    >>> str(read_key("B", "german")), read_key("fast")
    ('B♭', None)
    """
    match = _KEY.match(text.strip().removeprefix("Key of ").removeprefix("key of "))
    if match is None:
        return None
    tonic, mode = match["tonic"], (match["mode"] or "").lower()
    letter = tonic.rstrip("#♯b♭") if len(tonic) > 1 else tonic
    if letter.upper() in _SYLLABLES:
        tonic = _SYLLABLES[letter.upper()] + tonic[len(letter) :]
    elif tonic[0] in "Hh":
        tonic = "B" + tonic[1:]
    elif names == "german" and tonic in ("B", "b"):
        tonic = "Bb"
    tonic = re.sub(r"(?<=.)is\Z", "#", tonic)
    tonic = re.sub(r"(?<=.)e?s\Z", "b", tonic)
    minor = match["mode"] == "m" or mode.startswith(_MINOR)
    try:
        return Key.read(tonic + (" blues" if mode == "blues" else "m" if minor else ""))
    except KeyNameError:
        return None


def read_capo(text: str) -> int:
    """Read the fret of a capo. Return 0 if there is none, or if it is above fret 12.

    >>> read_capo("2"), read_capo("on the 3rd fret"), read_capo("IV"), read_capo("none")
    (2, 3, 4, 0)
    """
    digits = re.search(r"\d{1,2}", text)
    if digits:
        fret = int(digits[0])
        return fret if fret <= _HIGHEST_CAPO else 0
    frets = (_ROMAN_FRETS.get(word.lower()) or _CAPO_WORDS.get(word.lower()) for word in re.findall(r"\w+", text))
    return next((fret for fret in frets if fret), 0)


def read_tempo(text: str) -> float | None:
    """Read a tempo in beats a minute. Return None for a word like ``Medium``, or outside 20–400.

    >>> read_tempo("79.02"), read_tempo("♩ = 96 bpm"), read_tempo("Medium")
    (79.02, 96.0, None)
    """
    digits = re.search(r"\d{2,3}(?:\.\d{1,2})?(?!\d)", text)
    tempo = float(digits[0]) if digits else 0.0
    return tempo if _TEMPI[0] <= tempo <= _TEMPI[1] else None


def read_feel(text: str) -> str | None:
    """Read a feel. Return ``shuffle``, ``straight`` or None."""
    words = re.findall(r"[a-z]+", text.lower())
    return next((_FEELS[word] for word in words if word in _FEELS), None)


def read_metre(text: str) -> tuple[int, int] | None:
    """Read a metre such as ``3/4``, ``4/4 (6/8 in the bridge)`` or C, which is 4/4.

    Return (beats, unit), or None if there is no metre.
    """
    if text.strip() == "C":
        return 4, 4
    match = _METRE.search(text)
    if match is None or not 1 <= int(match[1]) <= _MOST_BEATS:
        return None
    return int(match[1]), int(match[2])
