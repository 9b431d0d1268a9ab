"""A chart as a value: the bars of a song as numerals in a key, and what the reader assumed.

Conventions. A numeral is an interval above the tonic of its section's key. It is counted along the major scale in
every key. ``Chart.key`` is the sounding key; with a capo the hand plays the same numerals in ``shape_key``. A beat
is the unit of the metre, so a bar of 6/8 has six beats. Lines and columns count from one. The words of a song are
not part of a chart.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from typing import Any

from cards.messages import Message, RefusalError, echo
from cards.theory.chords import Chord
from cards.theory.keys import Key
from cards.theory.numerals import Numeral
from cards.theory.pitch import Interval, Note


class ChartError(RefusalError, ValueError):
    """A file that cannot be read as a chart at all; the message says why and what would be right."""


@dataclass(frozen=True, order=True)
class Place:
    """A place in the text: a line and a column, both from one."""

    line: int
    column: int


@dataclass(frozen=True)
class Change:
    """One chord of a bar, or a rest if ``numeral`` is None.

    ``written`` is the chord as the file has it. A ``pushed`` chord comes before its beat, a ``held`` one rings on, and
    an ``optional`` one is in parentheses.
    """

    numeral: Numeral | None
    beats: float
    written: str
    place: Place
    pushed: bool = False
    held: bool = False
    optional: bool = False


Bar = tuple[Change, ...]


@dataclass(frozen=True)
class Section:
    """A part of a song in a sounding key of its own. Its repeats are written out."""

    name: str
    bars: tuple[Bar, ...]
    key: Key


@dataclass(frozen=True)
class KeyFit:
    """A key that a song may be in.

    ``share`` is the share of the song's beats (0–1) whose chords belong to the key. ``confidence`` is the probability
    (0–1) that the key finder gives this key.
    """

    key: Key
    share: float
    confidence: float


@dataclass(frozen=True)
class Unread:
    """A text that looks like a chord and cannot be read."""

    place: Place
    text: str


@dataclass(frozen=True)
class Options:
    """How a song is read. The reader guesses each option that is None and records its guess in ``Chart.options``.

    - ``key``: the sounding key.
    - ``capo``: the fret of the capo, which overrules the song. The chords are shapes behind it.
    - ``time``: the metre at the start, like ``3/4``, which overrules the song.
    - ``names``: chord names are in ``letters``, ``german`` (H is B, B is B♭) or ``italian`` (DO RE MI).
    - ``minor_from``: the numbers of a minor song count from its ``tonic`` or from its ``relative`` major.
    - ``bare``: a bare 2, 3 or 6 is the key's ``own`` chord or a ``major`` one.
    - ``seven``: a bare 7 in a major key is ``dim`` (vii°) or ``flat`` (♭VII).
    - ``glued``: a 7 at the end of a run like 1457 is an ``extension`` of the chord before it or a ``chord``.
    - ``slash``: C/G is a chord over a ``bass``, or two chords with ``half`` a bar each.
    - ``capo_key``: the key of a song with a capo is the ``sounding`` one or that of the ``shapes``.
    - ``zero``: B07 is ``half-dim`` or ``dim``.
    """

    key: Key | None = None
    capo: int | None = None
    time: str | None = None
    names: str | None = None
    minor_from: str | None = None
    bare: str | None = None
    seven: str | None = None
    glued: str | None = None
    slash: str | None = None
    capo_key: str | None = None
    zero: str | None = None

    def __post_init__(self) -> None:
        for name, values in CHOICES.items():
            given = getattr(self, name)
            if given is not None and given not in values:
                raise ChartError(
                    'no reading "{given}" for {name}: write {values}',
                    given=echo(given),
                    name=name,
                    values=" or ".join(values),
                )

    def choose(self, name: str, value: str) -> Options:
        """Return these options with one choice made. Raises ChartError for a choice that does not exist."""
        if name not in CHOICES:
            raise ChartError('no choice "{name}": there are {choices}', name=echo(name), choices=", ".join(CHOICES))
        return replace(self, **{name: value})  # type: ignore[arg-type]

    def merged(self, other: Options) -> Options:
        """Return these options with each option of ``other`` that is not None in place of its own."""
        given = {option.name: getattr(other, option.name) for option in fields(other)}
        return replace(self, **{name: value for name, value in given.items() if value is not None})


CHOICES = {
    "names": ("letters", "german", "italian"),
    "minor_from": ("relative", "tonic"),
    "bare": ("own", "major"),
    "seven": ("dim", "flat"),
    "glued": ("extension", "chord"),
    "slash": ("bass", "half"),
    "capo_key": ("sounding", "shapes"),
    "zero": ("half-dim", "dim"),
}
"""The values of each option with a choice, the usual reading first."""


@dataclass(frozen=True)
class Guess:
    """A guess that the reader made, and how to change it.

    Either ``option`` gives the other reading, as the name and the value of an option of :class:`Options`, or
    ``rewrite`` is the text to write at ``place`` instead.
    """

    message: Message
    place: Place | None = None
    option: tuple[str, str] | None = None
    rewrite: str | None = None


@dataclass(frozen=True)
class Chart:
    """A song as bars of numerals.

    ``tempo`` is in beats a minute. ``keys`` are the three likeliest keys; if the key was found and not given, it comes
    first. ``tokens`` is the number of texts that look like a chord or a key, ``unread`` lists those that could not be
    read. ``title_given`` is True if the song marks its title as one; a line that only stands on top may be its first
    words.
    """

    title: str | None
    key: Key
    key_given: bool
    keys: tuple[KeyFit, ...]
    capo: int
    tempo: float | None
    time: str | None
    feel: str | None
    sections: tuple[Section, ...]
    tokens: int
    options: Options
    unread: tuple[Unread, ...] = ()
    guesses: tuple[Guess, ...] = ()
    assumptions: tuple[Message, ...] = ()
    title_given: bool = True

    @property
    def changes(self) -> Iterator[tuple[Section, Change]]:
        """Every change in playing order, with its section."""
        for section in self.sections:
            for bar in section.bars:
                for change in bar:
                    yield section, change

    @property
    def chords(self) -> tuple[Chord, ...]:
        """The chords that are heard, each once, in the order in which they first come."""
        heard = (self.sounding(*step) for step in self.changes)
        return tuple(dict.fromkeys(chord for chord in heard if chord is not None))

    @property
    def length(self) -> int:
        """Its length in bars, with repeats written out."""
        return sum(len(section.bars) for section in self.sections)

    @property
    def shape_key(self) -> Key:
        """The key of the shapes that the hand plays behind the capo."""
        return self.key.moved(-self.capo)

    def sounding(self, section: Section, change: Change) -> Chord | None:
        """Return the chord that is heard, or None for a rest."""
        return None if change.numeral is None else change.numeral.chord(section.key)

    def shape(self, section: Section, change: Change) -> Chord | None:
        """Return the chord that the hand plays behind the capo, or None for a rest."""
        return None if change.numeral is None else change.numeral.chord(section.key.moved(-self.capo))

    def moved(self, semitones: int) -> Chart:
        """Return the chart ``semitones`` higher, or lower if negative. The capo stays at its fret."""
        return self._map_keys(lambda key: key.moved(semitones))

    def in_key(self, key: Key) -> Chart:
        """Return the chart with the tonic of ``key``. A minor song stays minor.

        >>> from cards.charts import read_chart
        >>> song = read_chart("| Am | F G |").in_key(Key.read("C"))
        >>> str(song.key), [str(song.sounding(*step)) for step in song.changes]
        ('Cm', ['Cm', 'A♭', 'B♭'])
        """
        fifths = key.tonic.fifths - self.key.tonic.fifths
        moved = self._map_keys(lambda old: Key(Note(old.tonic.fifths + fifths), old.mode).practical)
        return replace(moved, key=Key(key.tonic, self.key.mode))

    def _map_keys(self, new: Any) -> Chart:
        """Return the chart with ``new(key)`` in place of each of its keys."""
        sections = tuple(replace(section, key=new(section.key)) for section in self.sections)
        keys = tuple(replace(fit, key=new(fit.key)) for fit in self.keys)
        return replace(self, key=new(self.key), sections=sections, keys=keys)

    def with_capo(self, capo: int) -> Chart:
        """Return the chart with the capo at another fret. It sounds the same, and the shapes change."""
        return replace(self, capo=capo)

    def as_json(self) -> dict[str, Any]:
        """Return the chart as ``drill chart --json`` prints it.

        Degrees and basses are in ASCII (``b7``). They count along the major scale from the tonic of the key. ``chord``
        is the sounding chord.
        """
        return {
            "title": self.title,
            "key": str(self.key),
            "key_given": self.key_given,
            "keys": [{"key": str(fit.key), "share": round(fit.share, 3)} for fit in self.keys],
            "capo": self.capo,
            "tempo": self.tempo,
            "time": self.time,
            "sections": [
                {
                    "name": section.name,
                    "bars": [[_change_as_json(section, change) for change in bar] for bar in section.bars],
                }
                for section in self.sections
            ],
            "unread": [
                {"line": unread.place.line, "column": unread.place.column, "text": unread.text}
                for unread in self.unread
            ],
            "tokens": self.tokens,
        }


def _change_as_json(section: Section, change: Change) -> dict[str, Any]:
    beats = int(change.beats) if change.beats == int(change.beats) else round(change.beats, 3)
    numeral = change.numeral
    if numeral is None:
        return {"degree": None, "quality": None, "bass": None, "chord": "N.C.", "beats": beats}
    return {
        "degree": _print_degree(numeral.root),
        "quality": numeral.quality.name,
        "bass": None if numeral.bass is None else _print_degree(numeral.bass),
        "chord": str(numeral.chord(section.key)),
        "beats": beats,
    }


def _print_degree(interval: Interval) -> str:
    return "1" if interval == Interval(1) else interval.ascii
