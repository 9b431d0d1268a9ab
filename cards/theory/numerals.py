"""Chords called by number: any degree of any key with any quality, bass or target.

Conventions. A numeral's root, bass and target are intervals above the tonic, counted in the major
scale whatever the key, so ♭VII is the same thing in every key. It is read from numbers (``4``,
``6-``, ``2-7``, ``b7``, ``4/5``, ``2:m7b5``) or Roman numerals (``ii7``, ``V7``, ``V/vi``); a bare
number is the key's own chord. The case of a Roman numeral is its third: ``iv`` in a major key is the
borrowed minor chord.

Behind a slash a digit or a note name is the bass. A Roman numeral there is the target of V, V7, V9 …, vii°,
vii°7, viiø7, ii, ii7 and ♭II7, the chords that lead somewhere: ``V7/IV`` in C is C7. It is the bass of a
plain triad V or ii whose third it would be (``V/VII`` is G/B), and of any other chord (``IV/V`` is F/G).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from cards.messages import Message, echo, message
from cards.theory.chords import MINOR_SEVENTH, Chord, ChordError, Quality, read_quality
from cards.theory.keys import ROMANS, Key, KeyNameError, Mode, roman
from cards.theory.pitch import Interval, Note

_ACCIDENTALS = {"b": -1, "♭": -1, "#": 1, "♯": 1, "x": 1, "": 0}
_NUMBER = re.compile(r"([b♭#♯]?)([1-7]):?(.*)\Z")
_ROMAN = re.compile(r"([b♭#♯]?)(VII|VI|IV|V|III|II|I|vii|vi|iv|v|iii|ii|i):?(.*)\Z")
_SLUG = re.compile(r"([bx]?)([1-7])(?:(\.7)|_([0-9a-zA-Z-]+?)(?:_on([bx]?[1-7]))?)?\Z")
_OWN_THIRD = re.compile(r"m(?!aj)|-(?!maj)|min|dim|°|o|ø|half")
_BEHIND_FIGURE = re.compile(r"(VII|VI|IV|V|III|II|I|[1-7])([b♭#♯])(?!5|9|1[13])", re.IGNORECASE)
_NOTE = re.compile(r"[A-G][b♭#♯]?\Z")
_SUSPENDED_SEVENTH = re.compile(r"(?:7|9|11|13)/4\Z")

TARGET = "target"
BASS = "bass"
SLASHES = (TARGET, BASS)
"""What a Roman numeral behind a slash may be."""


@dataclass(frozen=True)
class Numeral:
    """A chord by number: a root and perhaps a bass, as intervals above the tonic, and a quality.

    ``target`` is the figure behind the slash of a secondary dominant such as V/vi or vii°/V. It names the degree
    that the figure before the slash is counted from.

    >>> key = Key.read("E")
    >>> str(read_numeral("b7", key)), str(read_numeral("b7", key).chord(key))
    ('♭VII', 'D')
    """

    root: Interval
    quality: Quality
    bass: Interval | None = None
    target: str | None = None

    def chord(self, key: Key) -> Chord:
        """Return the chord that the numeral means in a key."""
        bass = None if self.bass is None else key.tonic.above(self.bass)
        return Chord(key.tonic.above(self.root), self.quality, bass)

    @property
    def number(self) -> str:
        """Its degree without the quality, as players say it: ``4``, ``♭7``."""
        return _print_figure(self.root)

    def own(self, key: Key) -> tuple[int, bool] | None:
        """Return (degree, seventh) if it is a diatonic chord of the key in root position, else None.

        ``seventh`` is True for a seventh chord and False for a triad.
        """
        if self.bass is not None or self.root not in key.intervals:
            return None
        degree = key.intervals.index(self.root) + 1
        for seventh in (False, True):
            if degree in key.degrees and key.chord(degree, seventh).quality == self.quality:
                return degree, seventh
        return None

    @property
    def simpler(self) -> tuple[Numeral, ...]:
        """This chord and its substitutes, from the fullest to the plainest: without the bass, then the seventh
        chord, then the triad.

        >>> [str(numeral) for numeral in read_numeral("5:13/3", Key.read("C")).simpler]
        ['V13/3', 'V13', 'V7', 'V']
        """
        bare = replace(self, bass=None)
        plainer = (replace(bare, quality=quality) for quality in self.quality.simpler)
        return tuple(dict.fromkeys((self, bare, *plainer)))

    def slug(self, key: Key) -> str:
        """Return its name in card ids.

        A diatonic triad is ``4`` and a diatonic seventh chord ``4.7``. Any other chord is named by degree, quality
        and bass: ``b7_major``, ``2_m7b5``, ``4_major_on5``.
        """
        own = self.own(key)
        if own is not None:
            return f"{own[0]}.7" if own[1] else str(own[0])
        bass = "" if self.bass is None else f"_on{_print_ascii(self.bass)}"
        quality = self.quality.name.replace("#", "x").replace("/", "-").translate(_NO_BRACKETS)
        return f"{_print_ascii(self.root)}_{quality}{bass}"

    def __str__(self) -> str:
        if self.target is not None:
            steps = self.root.fifths - _read_figure_root(self.target).fifths
            return f"{roman(Interval.from_fifths(steps), self.quality)}/{self.target}"
        return roman(self.root, self.quality) + ("" if self.bass is None else f"/{_print_figure(self.bass)}")


_NO_BRACKETS = str.maketrans("", "", "()")


def _print_figure(interval: Interval) -> str:
    return "1" if interval == Interval(1) else str(interval)


def _read_figure_root(figure: str) -> Interval:
    """Read the root of a printed Roman numeral, as an interval above the tonic."""
    bare = figure.lstrip("♭♯")
    accidental = figure[: len(figure) - len(bare)]
    return Interval(ROMANS.index(bare.upper()) + 1, _ACCIDENTALS[accidental])


def _print_ascii(interval: Interval) -> str:
    return _print_figure(interval).replace("♭", "b").replace("♯", "x")


def own_numeral(key: Key, degree: int, seventh: bool = False) -> Numeral:
    """Return the diatonic triad or seventh chord on a degree (1–7) of the key's scale."""
    return Numeral(key.intervals[degree - 1], key.chord(degree, seventh).quality)


def numeral_from_slug(slug: str, key: Key) -> Numeral:
    """Read a numeral from its :meth:`Numeral.slug`. Raises KeyNameError if the key has no such numeral."""
    match = _SLUG.match(slug)
    if match is None:
        raise KeyNameError('no numeral "{slug}" in {key}', slug=echo(slug), key=key)
    accidental, number, seventh, quality, bass = match.groups()
    if quality is None:
        if accidental or int(number) not in key.degrees:
            raise KeyNameError('no numeral "{slug}" in {key}', slug=echo(slug), key=key)
        return own_numeral(key, int(number), seventh is not None)
    root = Interval(int(number), _ACCIDENTALS[accidental])
    low = None if bass is None else Interval(int(bass[-1]), _ACCIDENTALS[bass[:-1]])
    try:
        numeral = Numeral(root, read_quality(quality.replace("x", "#").replace("6-9", "6/9")), low)
    except ChordError as error:
        raise KeyNameError(error.sentence, **error.values) from error
    if numeral.slug(key) != slug:
        raise KeyNameError(
            'no numeral "{slug}" in {key}: it is written {right}', slug=echo(slug), key=key, right=numeral.slug(key)
        )
    return numeral


def read_numeral(text: str, key: Key, slash: str | None = None) -> Numeral:
    """Read a chord called by number in a key.

    ``slash`` says what a Roman numeral behind a slash is, its target or its bass; None leaves it to the rule.
    Raises KeyNameError saying what would be right.

    >>> [str(read_numeral(n, Key.read("A"))) for n in ("4", "2-7", "4/5", "V/vi", "2:m7b5", "1:6/9")]
    ['IV', 'ii7', 'IV/5', 'V/vi', 'iiø7', 'I6/9']
    >>> [str(read_numeral(n, Key.read("C")).chord(Key.read("C"))) for n in ("V7/IV", "V7/4", "V7/F", "V/VII")]
    ['C7', 'G7/F', 'G7/F', 'G/B']
    """
    stripped = text.strip().replace("𝄫", "bb")
    for cut in range(len(stripped), 0, -1):
        if cut < len(stripped) and stripped[cut] != "/":
            continue
        if cut == len(stripped) and _SUSPENDED_SEVENTH.search(stripped):
            continue  # a digit behind the slash of a numeral is its bass
        try:
            numeral = _read_plain(stripped[:cut], key)
        except KeyNameError:
            if "/" not in stripped[:cut]:
                raise
            continue
        return numeral if cut == len(stripped) else _over(numeral, stripped, cut, key, slash)
    raise _no_degree(text)


def slash_reading(text: str, key: Key, slash: str | None = None) -> Message | None:
    """What a Roman numeral behind a slash was taken for, and what the other reading is; None if there is none.

    Raises KeyNameError as :func:`read_numeral` does.
    """
    if _ROMAN.match(text.rpartition("/")[2].strip()) is None or "/" not in text:
        return None
    taken = read_numeral(text, key, slash)
    was_target = taken.target is not None
    other = read_numeral(text, key, BASS if was_target else TARGET)
    if other.chord(key) == taken.chord(key):
        return None
    values = {"text": text.strip(), "chord": taken.chord(key), "other": other.chord(key)}
    return message("numeral.target", **values) if was_target else message("numeral.bass", **values)


def _no_degree(text: str) -> KeyNameError:
    shifted = _BEHIND_FIGURE.match(text.strip())
    if shifted:
        figure = shifted[1] if shifted[1].isalpha() else ROMANS[int(shifted[1]) - 1]
        right = ("♭" if shifted[2] in "bB♭" else "♯") + figure + text.strip()[shifted.end() :]
        return KeyNameError(
            'no degree "{text}": the accidental stands in front, write {right}', text=echo(text), right=echo(right)
        )
    return KeyNameError(
        'no degree "{text}": write a number 1–7 or a numeral like IV or ii, with its quality behind it if it is not'
        " the key's own, like 2:7 or bVII",
        text=echo(text),
    )


def _read_plain(text: str, key: Key) -> Numeral:
    """Read a numeral that has no slash. Raises KeyNameError."""
    as_number, as_roman = _NUMBER.match(text), _ROMAN.match(text)
    match = as_number or as_roman
    if match is None:
        raise _no_degree(text)
    accidental, figure, suffix = match.groups()
    number = int(figure) if as_number else ROMANS.index(figure.upper()) + 1
    root = Interval(number, _ACCIDENTALS[accidental]) if accidental else key.intervals[number - 1]
    try:
        if as_roman:
            if key.is_minor and figure == "vii" and not accidental:
                root = Interval(7)  # the harmonic minor's leading tone
            small = figure.islower() and not _OWN_THIRD.match(suffix)
            mark = "dim" if not suffix and _is_diminished(root, key) else "m "
            return Numeral(root, read_quality((mark if small else "") + suffix))
        if suffix:
            return Numeral(root, read_quality(suffix))
    except ChordError as error:
        if not accidental and _BEHIND_FIGURE.match(text):
            raise _no_degree(text) from error
        raise KeyNameError(
            'no chord "{text}": "{suffix}" is no quality; write m, 7, maj7 or m7b5',
            text=echo(text),
            suffix=echo(suffix),
        ) from error
    if root in key.intervals and (not accidental or key.is_minor):
        return Numeral(root, key.chord(key.intervals.index(root) + 1).quality)
    return Numeral(root, read_quality("dim" if root == Interval(4, 1) else ""))


def _is_diminished(root: Interval, key: Key) -> bool:
    """Return whether the diatonic triad on a root is diminished.

    A bare vii is vii°, and in a minor key a bare ii is ii°.
    """
    if root == Interval(7):
        return key.mode != Mode.BLUES
    return root in key.intervals and key.chord(key.intervals.index(root) + 1).quality == read_quality("dim")


def _over(numeral: Numeral, text: str, cut: int, key: Key, slash: str | None) -> Numeral:
    """The numeral with what stands behind its slash: a bass or a target."""
    behind = text[cut + 1 :].strip()
    as_roman = _ROMAN.match(behind)
    if as_roman and not as_roman[3].strip("°o"):
        other = _read_plain(behind, key)
        if slash == TARGET or (slash is None and _leads(numeral) and not _is_over_third(numeral, other.root)):
            quality = read_quality("m") if text[:cut].strip() == "ii" else numeral.quality
            root = Interval.from_fifths(other.root.fifths + numeral.root.fifths)
            return Numeral(root, quality, target=str(other))
        return Numeral(numeral.root, numeral.quality, None if other.root == numeral.root else other.root)
    if _NOTE.match(behind):
        return Numeral(numeral.root, numeral.quality, _of_note(Note.read(behind), key))
    match = _NUMBER.match(behind)
    if match is None or match[3]:
        raise KeyNameError(
            'no bass "{behind}" in "{text}": write a degree 1–7, like 4/5', behind=echo(behind), text=echo(text)
        )
    degree = int(match[2])
    bass = Interval(degree, _ACCIDENTALS[match[1]]) if match[1] else key.intervals[degree - 1]
    return Numeral(numeral.root, numeral.quality, bass)


def _leads(numeral: Numeral) -> bool:
    """Whether it is one of the chords that lead to another: V, V7 …, vii°, vii°7, viiø7, ii, ii7 or ♭II7."""
    quality = numeral.quality
    is_dominant = MINOR_SEVENTH in quality.tones and not quality.is_minor
    if numeral.root == Interval(5):
        return is_dominant or quality in (read_quality(""), read_quality("aug"))
    if numeral.root == Interval(7):
        return quality in map(read_quality, ("dim", "dim7", "m7b5"))
    if numeral.root == Interval(2):
        return quality in map(read_quality, ("m", "m7", "m9", "m11", "dim", "m7b5"))
    return numeral.root == Interval(2, -1) and is_dominant


def _is_over_third(numeral: Numeral, bass: Interval) -> bool:
    """Whether it is the plain triad V or ii over its own third."""
    third = numeral.quality.third
    is_plain = len(numeral.quality.tones) == 3 and numeral.root in (Interval(5), Interval(2))
    return is_plain and third is not None and bass.fifths == numeral.root.fifths + third.fifths


def _of_note(note: Note, key: Key) -> Interval:
    """A note as an interval above the tonic: as the scale spells it if it is in the scale, else as written."""
    spelled = next((own for own in key.scale if own.pitch_class == note.pitch_class), note)
    interval = Interval.from_fifths(spelled.fifths - key.tonic.fifths)
    if abs(interval.alteration) > 1:
        return Interval.from_fifths(key.spell(note.pitch_class).fifths - key.tonic.fifths)
    return interval


def borrowed_reading(text: str, key: Key) -> Message | None:
    """What a bare Roman numeral was taken for if its case is not that of the key's own chord; None if it is.

    In a minor key V and IV are played as well as v and iv. Raises KeyNameError.

    >>> dict(borrowed_reading("iv", Key.read("Ab")).values)["own_chord"], borrowed_reading("IV", Key.read("Ab"))
    ('D♭', None)
    """
    match = _ROMAN.match(text.strip())
    if match is None or match[1] or match[3].strip("°o"):
        return None
    degree = ROMANS.index(match[2].upper()) + 1
    if degree not in key.degrees or key.mode == Mode.BLUES or (key.is_minor and degree in (4, 5)):
        return None
    own = key.chord(degree)
    if match[2].islower() == own.quality.is_minor:
        return None
    taken = read_numeral(text, key).chord(key)
    return message("numeral.borrowed", text=text.strip(), chord=taken, key=key, own=key.numeral(degree), own_chord=own)
