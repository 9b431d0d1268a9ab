"""A chart as a value: a song's bars of degrees in a key, and what the reader had to assume.

Conventions. Numerals are intervals above the tonic of their section's key, counted in the major
scale whatever the key. ``Chart.key`` is the sounding key; with a capo the hand plays the same
numerals in ``shape_key``. Beats are counted in the metre's own unit, so a bar of 6/8 has six. Lines
and columns count from one. Words of songs are not part of a chart.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from typing import Any

from cards.messages import Message, RefusalError
from cards.theory.chords import Chord
from cards.theory.keys import Key
from cards.theory.numerals import Numeral
from cards.theory.pitch import Interval, Note


class ChartError(RefusalError, ValueError):
    """A file that cannot be read as a chart at all; the message says why and what would be right."""


@dataclass(frozen=True, order=True)
class Place:
    """Where something stands in the text."""

    line: int
    column: int


@dataclass(frozen=True)
class Change:
    """One chord of a bar, or a rest where ``numeral`` is None.

    ``written`` is the chord as the file has it. ``pushed`` comes early, ``held`` rings on,
    ``optional`` stood in parentheses.
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
    """A part of a song, its repeats written out, in its own sounding key."""

    name: str
    bars: tuple[Bar, ...]
    key: Key


@dataclass(frozen=True)
class KeyFit:
    """A key that a song may be in.

    ``share`` is the part of the song's beats whose chords are the key's own, ``confidence`` the
    finder's probability that this is the key.
    """

    key: Key
    share: float
    confidence: float


@dataclass(frozen=True)
class Unread:
    """Something that looked like a chord and could not be read."""

    place: Place
    text: str


@dataclass(frozen=True)
class Options:
    """How a song is read; what is None is guessed, and the guess stands in ``Chart.options``.

    - ``key``: the sounding key;
    - ``capo``: the fret of the capo, whatever the song says; the chords are shapes behind it;
    - ``time``: the metre it begins in, like ``3/4``, whatever the song says;
    - ``names``: ``letters``, ``german`` (H is B, B is B♭) or ``italian`` (DO RE MI);
    - ``minor_from``: numbers of a minor song count from its ``tonic`` or from the ``relative`` major;
    - ``bare``: a bare 2, 3 or 6 is the key's ``own`` chord or ``major``;
    - ``seven``: a bare 7 of a major key is ``dim`` (vii°) or ``flat`` (♭VII);
    - ``glued``: a 7 at the end of a run like 1457 is an ``extension`` or a ``chord``;
    - ``slash``: C/G has a ``bass``, or is ``half`` a bar each;
    - ``capo_key``: with a capo, the key given is the ``sounding`` one or that of the ``shapes``;
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
                    given=given,
                    name=name,
                    values=" or ".join(values),
                )

    def choose(self, name: str, value: str) -> Options:
        """These options with one choice made. Raises ChartError for a choice that does not exist."""
        if name not in CHOICES:
            raise ChartError('no choice "{name}": there are {choices}', name=name, choices=", ".join(CHOICES))
        return replace(self, **{name: value})  # type: ignore[arg-type]

    def merged(self, other: Options) -> Options:
        """These options, overruled by what ``other`` says."""
        given = {each.name: getattr(other, each.name) for each in fields(other)}
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
"""What may be chosen per song, the usual reading first."""


@dataclass(frozen=True)
class Guess:
    """A reading that could be another. The other one is ``option`` (a name and a value of Options),
    or ``rewrite`` put in the place of the text at ``place``."""

    message: Message
    place: Place | None = None
    option: tuple[str, str] | None = None
    rewrite: str | None = None


@dataclass(frozen=True)
class Chart:
    """A song as bars of degrees.

    ``keys`` are the best three, the taken one first if it was found and not given. ``tokens`` counts
    everything that looked like a chord (or a key), ``unread`` what of it could not be read. A title is
    ``title_given`` if the song says that it is one: a line that only stands on top may be its first words.
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
        """Every chord in playing order, with its section."""
        for section in self.sections:
            for bar in section.bars:
                for change in bar:
                    yield section, change

    @property
    def chords(self) -> tuple[Chord, ...]:
        """The chords that are heard, each once, in the order in which they come."""
        heard = (self.sounding(*step) for step in self.changes)
        return tuple(dict.fromkeys(chord for chord in heard if chord is not None))

    @property
    def length(self) -> int:
        """How many bars it has, repeats written out."""
        return sum(len(section.bars) for section in self.sections)

    @property
    def shape_key(self) -> Key:
        """The key that the hand plays in, counted from the capo."""
        return self.key.moved(-self.capo)

    def sounding(self, section: Section, change: Change) -> Chord | None:
        """The chord that is heard; None for a rest."""
        return None if change.numeral is None else change.numeral.chord(section.key)

    def shape(self, section: Section, change: Change) -> Chord | None:
        """The chord that the hand plays behind the capo; None for a rest."""
        return None if change.numeral is None else change.numeral.chord(section.key.moved(-self.capo))

    def moved(self, semitones: int) -> Chart:
        """The chart so many semitones up, down if negative; the capo stays where it is."""
        return self._in(lambda key: key.moved(semitones))

    def in_key(self, key: Key) -> Chart:
        """The chart with the key's tonic as its own; a minor song stays minor.

        >>> from cards.charts import read_chart
        >>> song = read_chart("| Am | F G |").in_key(Key.read("C"))
        >>> str(song.key), [str(song.sounding(*step)) for step in song.changes]
        ('Cm', ['Cm', 'A♭', 'B♭'])
        """
        fifths = key.tonic.fifths - self.key.tonic.fifths
        moved = self._in(lambda old: Key(Note(old.tonic.fifths + fifths), old.mode).practical)
        return replace(moved, key=Key(key.tonic, self.key.mode))

    def _in(self, new: Any) -> Chart:
        sections = tuple(replace(section, key=new(section.key)) for section in self.sections)
        keys = tuple(replace(fit, key=new(fit.key)) for fit in self.keys)
        return replace(self, key=new(self.key), sections=sections, keys=keys)

    def with_capo(self, capo: int) -> Chart:
        """The chart sounding the same with the capo elsewhere; the shapes change."""
        return replace(self, capo=capo)

    def as_json(self) -> dict[str, Any]:
        """The chart as ``drill chart --json`` prints it. Degrees and basses are in ASCII (``b7``),
        counted in the major scale above the key's tonic; ``chord`` is the sounding one."""
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
                    "bars": [[_change_json(section, change) for change in bar] for bar in section.bars],
                }
                for section in self.sections
            ],
            "unread": [
                {"line": each.place.line, "column": each.place.column, "text": each.text} for each in self.unread
            ],
            "tokens": self.tokens,
        }


def _change_json(section: Section, change: Change) -> dict[str, Any]:
    beats = int(change.beats) if change.beats == int(change.beats) else round(change.beats, 3)
    numeral = change.numeral
    if numeral is None:
        return {"degree": None, "quality": None, "bass": None, "chord": "N.C.", "beats": beats}
    return {
        "degree": _degree(numeral.root),
        "quality": numeral.quality.name,
        "bass": None if numeral.bass is None else _degree(numeral.bass),
        "chord": str(numeral.chord(section.key)),
        "beats": beats,
    }


def _degree(interval: Interval) -> str:
    return "1" if interval == Interval(1) else interval.ascii
