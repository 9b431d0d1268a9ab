"""Chords: their roots, qualities and basses, their tones, and how their names are read and printed.

Conventions. A quality lists its tones as intervals above the root. It says which of them must sound; a voicing
may leave out the others. The reader builds a quality from a third, a fifth, a seventh and added tones, so it
reads any name that players build and needs no list of names. Each quality is printed in one spelling only:
``B♭maj7``, ``F♯m7♭5``, ``E♭°7``, ``C+``, ``A7sus4``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property, lru_cache

from cards.messages import RefusalError, echo
from cards.theory.pitch import Interval, Note, PitchError

ROOT = Interval(1)
MAJOR_THIRD = Interval(3)
MINOR_THIRD = Interval(3, -1)
FIFTH = Interval(5)
DIM_FIFTH = Interval(5, -1)
AUG_FIFTH = Interval(5, 1)
MAJOR_SEVENTH = Interval(7)
MINOR_SEVENTH = Interval(7, -1)
DIM_SEVENTH = Interval(7, -2)
NINTH = Interval(9)


class ChordError(RefusalError, ValueError):
    """A chord name that cannot be read; the message says what would be right.

    ``column`` is the index of the first character that could not be read.
    """

    def __init__(self, sentence: str, column: int = 0, /, **values: object) -> None:
        super().__init__(sentence, **values)
        self.column = column


@dataclass(frozen=True, order=True)
class Quality:
    """The quality of a chord.

    ``tones`` are intervals above the root, in ascending order. ``loose_third`` marks a chord that guitarists write
    with a bare 2, such as C2: its third is optional.

    >>> Quality.of([ROOT, MINOR_THIRD, DIM_FIFTH, MINOR_SEVENTH]).suffix
    'm7♭5'
    """

    tones: tuple[Interval, ...]
    loose_third: bool = False

    @classmethod
    def of(cls, tones: Iterable[Interval], loose_third: bool = False) -> Quality:
        """Return the quality with these tones, given in any order.

        A seventh chord with a natural eleventh or thirteenth and no ninth gets the ninth too.
        """
        stack = set(tones)
        if any(tone.number == 7 for tone in stack) and {11, 13} & {tone.number for tone in stack}:
            natural = {Interval(11), Interval(13)} & stack
            if natural and not any(tone.number == 9 for tone in stack):
                stack.add(NINTH)
        return cls(tuple(sorted(stack)), loose_third)

    def _find_tone(self, number: int) -> Interval | None:
        """Return the lowest tone with this number, or None if there is none."""
        return next((tone for tone in self.tones if tone.number == number), None)

    @property
    def third(self) -> Interval | None:
        """Its third, or None for suspended chords and power chords."""
        return self._find_tone(3)

    @property
    def fifth(self) -> Interval | None:
        """Its fifth, plain or altered, or None if it has no fifth."""
        return self._find_tone(5)

    @property
    def seventh(self) -> Interval | None:
        """Its seventh, or None if it has no seventh."""
        return self._find_tone(7)

    @property
    def suspended(self) -> Interval | None:
        """The fourth or second that replaces the third, or None. If the chord has both, this is the fourth."""
        return self._find_tone(4) or self._find_tone(2)

    @property
    def is_minor(self) -> bool:
        """Whether its third is minor. Its Roman numeral is then in lower case."""
        return self.third == MINOR_THIRD

    @cached_property
    def omissible(self) -> frozenset[Interval]:
        """The tones that a voicing may leave out.

        - A triad, a chord with an added tone and a sixth chord keep all their tones.
        - A seventh chord or a larger one may leave out a perfect fifth. 7sus4 keeps it; without it the chord would
          be IVsus4.
        - Of several natural extensions, such as 9, 11 and 13, only the highest must sound.
        - A chord whose highest natural extension is the eleventh may leave out a major third, because the two clash.
        - 6/9 may leave out its fifth, and a chord with a bare 2 its third.
        """
        optional: set[Interval] = set()
        if self.loose_third and self.third:
            optional.add(self.third)
        if {Interval(6), NINTH} <= set(self.tones):
            optional.add(FIFTH)
        if self.seventh is not None:
            stacked = [tone for tone in self.tones if tone.number > 7 and tone.alteration == 0]
            optional |= set(stacked[:-1])
            if not self.suspended or self.tones[-1].number > 7:
                optional.add(FIFTH)
            if stacked and stacked[-1] == Interval(11):
                optional.add(MAJOR_THIRD)
        return frozenset(optional) & frozenset(self.tones)

    @cached_property
    def must_sound(self) -> tuple[Interval, ...]:
        """The tones that a voicing needs. Without one of them it would be another chord."""
        return tuple(tone for tone in self.tones if tone not in self.omissible)

    @property
    def simpler(self) -> tuple[Quality, ...]:
        """The plainer qualities that bands play instead: without the extensions, then without the seventh too.

        >>> [quality.suffix for quality in read_quality("13").simpler]
        ['7', '']
        """
        triad = {1, 2, 3, 4, 5}
        plainer = (Quality.of(tone for tone in self.tones if tone.number in kept) for kept in (triad | {7}, triad))
        return tuple(quality for quality in dict.fromkeys(plainer) if quality != self)

    @cached_property
    def suffix(self) -> str:
        """The part of a chord name that follows the root."""
        printed = _print_suffix(self)
        return f"({printed})" if printed[:1] in ("♭", "♯") else printed

    @property
    def name(self) -> str:
        """Its name in ASCII, for card ids and skills: ``major``, ``m7b5``, ``6/9``."""
        plain = self.suffix.replace("♭", "b").replace("♯", "#").replace("°", "dim")
        return {"": "major", "m": "minor", "+": "aug"}.get(plain, plain)


def _print_suffix(quality: Quality) -> str:
    """Build the suffix from its parts."""
    third, fifth, seventh = quality.third, quality.fifth, quality.seventh
    added = [tone for tone in quality.tones if tone.number in (6, 9, 11, 13)]
    altered = [tone for tone in added if tone.alteration]
    plain = [tone.number for tone in added if not tone.alteration]
    if quality.tones == (ROOT, FIFTH):
        return "5"
    if quality.loose_third:
        return ("m" if quality.is_minor else "") + "2"
    base, altered_fifth = _print_base(quality)
    if seventh is not None:
        stack = [number for number in plain if number != 6]
        major = "maj" if seventh == MAJOR_SEVENTH else ""
        major = major.capitalize() if major and base else major
        base += major + str(max(stack, default=7))
        # The name 13 does not include the 11, which clashes with the third, so a sounding 11 is named.
        extra = [str(number) for number in plain if number == 6 or (number == 11 and 13 in plain)]
    elif set(plain) >= {6, 9}:
        base += "6/9"
        extra = [str(number) for number in plain if number not in (6, 9)]
    else:
        base += "6" if 6 in plain else ""
        extra = [str(number) for number in plain if number != 6]
    if quality.suspended:
        base += "".join(f"sus{tone.number}" for tone in quality.tones if tone.number in (2, 4))
    base += altered_fifth
    mark = "" if seventh is not None else "add"
    base += "".join((mark if tone.number > 6 else "") + str(tone) for tone in altered)
    base += "".join(f"add{number}" for number in extra)
    if third is None and quality.suspended is None:
        base += "no3"
    return base + ("no5" if fifth is None else "")


def _print_base(quality: Quality) -> tuple[str, str]:
    """Return (mark of the triad, altered fifth). The second is "" if the mark already implies the fifth."""
    fifth, seventh = quality.fifth, quality.seventh
    if quality.is_minor and fifth == DIM_FIFTH and seventh != MINOR_SEVENTH:
        return "°", ""
    if quality.third == MAJOR_THIRD and fifth == AUG_FIFTH and seventh is None:
        return "+", ""
    altered = fifth if fifth is not None and fifth != FIFTH else ""
    return "m" if quality.is_minor else "", str(altered)


@dataclass
class _Suffix:
    """The suffix of a chord name while it is read, token by token.

    For each kind of token in ``_TOKENS`` there is a method ``_take_…`` that changes the tones. It returns False if
    the token makes no sense after the ones before it.
    """

    third: Interval | None = MAJOR_THIRD
    fifth: Interval | None = FIFTH
    seventh: Interval | None = None
    suspended: list[Interval] = field(default_factory=list)
    added: set[Interval] = field(default_factory=set)
    loose_third: bool = False
    major_seventh: bool = False
    dim: bool = False
    taken: set[tuple[str, str, bool]] = field(default_factory=set)

    def quality(self) -> Quality:
        """Return the quality that the tokens so far mean."""
        third = [] if self.suspended else [self.third]
        altered = {tone.number for tone in self.added if tone.alteration}
        added = [tone for tone in self.added if tone.alteration or tone.number not in altered]
        body = [ROOT, *third, *self.suspended, self.fifth, self.seventh, *added]
        tones = {tone for tone in body if tone is not None}
        # The third is optional only if nothing but the 2 is added: C26 is C6/9.
        loose = self.loose_third and self.third is not None and tones == {ROOT, self.third, FIFTH, NINTH}
        return Quality.of(tones, loose)

    def take(self, kind: str, text: str) -> bool:
        """Take one token. Return False if it makes no sense here, or repeats an earlier token."""
        token = (kind, text, self.major_seventh)  # C7maj7 has two sevens, and the second is major
        if token in self.taken:
            return False
        taken = getattr(self, f"_take_{kind}")(text)
        self.taken.add(token)
        triad = (self.third, self.fifth, self.suspended) == (MINOR_THIRD, DIM_FIFTH, [])
        return taken is not False and (triad or not self.dim)

    def _take_triangle(self, text: str) -> None:
        self.major_seventh = True
        self.seventh = MAJOR_SEVENTH

    def _take_major(self, text: str) -> None:
        self.major_seventh = True
        if self.seventh == MINOR_SEVENTH:
            self.seventh = MAJOR_SEVENTH

    def _take_dominant(self, text: str) -> None:
        """Change nothing: ``dom7`` means ``7``."""

    def _take_minor(self, text: str) -> None:
        self.third = MINOR_THIRD

    def _take_half_dim(self, text: str) -> None:
        self.third, self.fifth, self.seventh = MINOR_THIRD, DIM_FIFTH, MINOR_SEVENTH

    def _take_dim(self, text: str) -> bool | None:
        if self.dim:
            return False
        self.third, self.fifth, self.dim = MINOR_THIRD, DIM_FIFTH, True
        return None

    def _take_aug(self, text: str) -> None:
        self.fifth = AUG_FIFTH

    def _take_alt(self, text: str) -> None:
        self.fifth, self.seventh = AUG_FIFTH, MINOR_SEVENTH
        self.added.add(Interval(9, 1))

    def _take_sus(self, text: str) -> None:
        digits = text[3:].replace("sus", "") or "4"
        self.suspended += [Interval(int(digit)) for digit in digits]

    def _take_seven_four(self, text: str) -> None:
        self.seventh = MINOR_SEVENTH
        self.suspended.append(Interval(4))

    def _take_six_nine(self, text: str) -> None:
        self.added |= {Interval(6), NINTH}

    def _take_seven_over(self, text: str) -> None:
        extension = text.partition("/")[2]
        self._take_number("7")
        if extension == "6":
            self._take_number("13")
        elif extension.isdigit():
            self._take_number(extension)
        else:
            self._take_altered(extension)

    def _take_add(self, text: str) -> None:
        digits = text[3:]
        number = int(digits.lstrip("b♭#♯+-"))
        sign = _sum_signs(digits[: len(digits) - len(str(number))])
        number += 7 if number in (2, 4) else 0
        self.added.add(Interval(number, sign))

    def _take_without(self, text: str) -> None:
        if "5" in text:
            self.fifth = None
            return
        self.third = None
        if self.loose_third:
            self.added.discard(NINTH)
            self.suspended.append(Interval(2))

    def _take_number(self, text: str) -> bool | None:
        number = int(text)
        if number == 5:
            if self.taken:
                return False
            self.third = None
        elif number == 2:
            self.added.add(NINTH)
            self.loose_third = True
        elif number == 4:
            self.suspended.append(Interval(4))
        elif number == 6:
            self.added.add(Interval(6))
        else:
            self._add_stack(number)
        return None

    def _add_stack(self, number: int) -> None:
        """Add a seventh if there is none yet, and above it the ninth and the tone with this number."""
        if self.major_seventh:
            self.seventh = MAJOR_SEVENTH
        elif number == 9 and Interval(6) in self.added and self.seventh is None:
            pass  # C6(9) is C6/9
        elif self.dim:
            self.seventh = DIM_SEVENTH
        elif self.seventh is None:
            self.seventh = MINOR_SEVENTH
        if number > 7:
            self.added |= {NINTH, Interval(number)}

    def _take_altered(self, text: str) -> bool | None:
        sign, number = _sum_signs(text[0]), int(text[1:])
        if text[0] in "-+" and number != 5 and self.seventh is None:
            # C-9 is Cm9 and C+9 is C9♯5. The sign alters the number only behind a seventh.
            self.third = MINOR_THIRD if sign < 0 else self.third
            self.fifth = AUG_FIFTH if sign > 0 else self.fifth
            return self._take_number(text[1:])
        if number == 5:
            self.fifth = Interval(5, sign)
        else:
            self.added.add(Interval(number, sign))
        return None


def _sum_signs(text: str) -> int:
    """Return the alteration in semitones that a row of accidentals makes."""
    return sum(1 if mark in "#♯+" else -1 for mark in text)


# The patterns are tried in this order at each place. A kind names the method of _Suffix that takes the token.
_TOKENS = tuple(
    (re.compile(pattern), kind)
    for kind, pattern in (
        ("skip", r"[(), ]+"),
        ("half_dim", r"(?i:half-?dim(?:inished)?)7?|[øØ]7?"),
        ("triangle", r"[Δ△^]7?"),
        ("major", r"(?i:major|maj)|[Mm]a(?![a-z])|M(?![iI])|j(?=7)"),
        ("minor", r"(?i:minor|min)|[Mm]i|m"),
        ("dim", r"(?i:diminished|dim)|°|o(?!mit)"),
        ("aug", r"(?i:augmented|aug)|5\+|\+5"),
        ("dominant", r"(?i:dom)(?=7|9|11|13)"),
        ("sus", r"sus2sus4|sus24|sus2|sus4|sus"),
        ("add", r"add(?:[b♭#♯]?(?:13|11|9|6)|2|4)"),
        ("without", r"(?:no|omit)(?:3|5)(?:rd|th)?"),
        ("alt", r"alt"),
        ("six_nine", r"6/9|9/6|69|6add9"),
        ("seven_four", r"4/7|7/4"),
        ("seven_over", r"7/(?:[b♭#♯]?(?:13|11|9)|[b♭]6|6)"),
        ("altered", r"[b♭#♯+-](?:13|11|9|6(?!/9)|5)"),
        ("number", r"13|11|9|7|6|5|4|2"),
        ("aug", r"\+"),
        ("minor", r"-"),
    )
)
_ROOT = re.compile(r"[A-Ga-g](?:𝄪|𝄫|##|♯♯|bb|♭♭|[#♯b♭])?")
_GERMAN_ROOT = re.compile(r"(?:[Hh]|[CDEFGAcdefga](?:is|es|s(?!us))|[Bb])(?:is|es|[#♯b♭]){0,2}")
_GERMAN_MARKS = {"is": 1, "es": -1, "s": -1, "#": 1, "♯": 1, "b": -1, "♭": -1, "𝄪": 2, "𝄫": -2}
_GERMAN_MARK = re.compile("|".join(_GERMAN_MARKS))
_EXAMPLES = "{0}, {0}m, {0}7, {0}maj7, {0}m7 or {0}m7♭5"


@lru_cache(maxsize=4096)
def _read_suffix(text: str) -> tuple[Quality | None, int]:
    """Read a suffix up to its end or up to the slash before a bass.

    Return (quality, number of characters read). The quality is None if a character cannot be read.
    """
    suffix, at = _Suffix(), 0
    while at < len(text) and text[at] != "/":
        for pattern, kind in _TOKENS:
            match = pattern.match(text, at)
            if match is None:
                continue
            if kind == "skip" or suffix.take(kind, match[0]):
                at = match.end()
                break
        else:
            return None, at
    return suffix.quality(), at


def read_quality(text: str) -> Quality:
    """Read the quality that a suffix means: ``""``, ``m``, ``maj7``, ``7(b9)``, ``ø``.

    Raises ChordError with the column of the character that cannot be read.

    >>> read_quality("-7b5").suffix, read_quality("o").suffix, read_quality("7alt").suffix
    ('m7♭5', '°', '7♯5♯9')
    """
    quality, read = _read_suffix(text)
    if quality is None or read < len(text):
        raise ChordError(
            'no quality "{text}": "{rest}" is not read; write m7, 7 or maj7',
            read,
            text=echo(text),
            rest=echo(text[read:]),
        )
    return quality


@dataclass(frozen=True)
class Chord:
    """A chord: its root, its quality and, in a slash chord, its bass.

    >>> str(Chord(Note.read("Db"), read_quality("maj7")))
    'D♭maj7'
    """

    root: Note
    quality: Quality
    bass: Note | None = None

    @property
    def notes(self) -> tuple[Note, ...]:
        """Its spelled notes, in the order of the quality's tones. A bass that is no chord tone comes last."""
        own = tuple(self.root.above(tone) for tone in self.quality.tones)
        return own if self.bass is None or self.bass in own else (*own, self.bass)

    @cached_property
    def tones(self) -> tuple[Interval, ...]:
        """Its tones as intervals above the root. A bass that is no chord tone comes last."""
        own = self.quality.tones
        return own if len(self.notes) == len(own) else (*own, self.bass_tone)

    @property
    def must_sound(self) -> tuple[Interval, ...]:
        """The tones that a voicing needs, including the bass of a slash chord."""
        required = self.quality.must_sound
        bass = self.bass_tone
        return required if bass in required or self.bass is None else (*required, bass)

    @property
    def bass_tone(self) -> Interval:
        """The tone in the bass, as an interval above the root."""
        if self.bass is None:
            return ROOT
        own = (tone for tone in self.quality.tones if self.root.above(tone) == self.bass)
        return next(own, Interval.from_fifths(self.bass.fifths - self.root.fifths))

    def tone_at(self, pitch_class: int) -> Interval | None:
        """Return the chord tone that sounds as a pitch class (0–11), or None if it is no chord tone."""
        return self._tones_by_class.get(pitch_class)

    @cached_property
    def _tones_by_class(self) -> dict[int, Interval]:
        root = self.root.pitch_class
        return {(root + tone.semitones) % 12: tone for tone in reversed(self.tones)}

    def __str__(self) -> str:
        slash = "" if self.bass is None else f"/{self.bass}"
        return f"{self.root}{self.quality.suffix}{slash}"


def read_chord(text: str, german: bool = False) -> Chord:
    """Read a chord name in any spelling that players use. A slash may put another note in the bass.

    With ``german``, H is B, B is B♭, and ``Es``, ``As``, ``Cis`` … are notes.
    Raises ChordError with the column of the character that cannot be read.

    >>> [str(read_chord(name)) for name in ("Gmin", "F#-7b5", "B♭Δ", "C7sus", "D/F#", "Am7-5")]
    ['Gm', 'F♯m7♭5', 'B♭maj7', 'C7sus4', 'D/F♯', 'Am7♭5']
    >>> str(read_chord("H7", german=True))
    'B7'
    """
    name = text.rstrip()
    at = len(name) - len(name.lstrip())
    furthest = ChordError(
        'no chord "{text}": a chord starts with a letter A–G, like B♭ or F♯m7', at, text=echo(text.strip())
    )
    for end, root in _roots(name, at, german):
        quality, read = _read_suffix(name[end:])
        if quality is None:
            if end + read >= furthest.column:
                furthest = _explain_unread(text, name[at:end], end + read)
            continue
        if end + read == len(name):
            return Chord(root, quality)
        bass = _read_bass(name, end + read + 1, german)
        if bass is not None:
            return Chord(root, quality, bass)
        furthest = _explain_unread(text, name[at:end], end + read + 1)
    raise furthest


def _roots(name: str, at: int, german: bool) -> list[tuple[int, Note]]:
    """Return (index of the root's end, root) for each possible reading, the usual reading first.

    ``Bbb5`` can be B♭ with a flat five or a B𝄫 power chord, in this order.
    """
    match = (_GERMAN_ROOT.match(name, at) if german else None) or _ROOT.match(name, at)
    if match is None:
        return []
    ends = [match.end()]
    if match.end() - at == 3 and not german:
        ends.insert(0, at + 2)
    readings = []
    for end in ends:
        root = _german_note(name[at:end]) if german else Note.read(name[at:end])
        readings.append((end, root))
    return readings


def _german_note(text: str) -> Note:
    """Read a German note name such as H, B, Es, As or Cis. Accidentals are read too, as in Bb.

    >>> str(_german_note("Es")), str(_german_note("B")), str(_german_note("Fis"))
    ('E♭', 'B♭', 'F♯')
    """
    letter, marks = text[0].upper(), _GERMAN_MARK.findall(text[1:])
    if "".join(marks) != text[1:]:
        raise PitchError(
            'no note "{text}": a German note is a letter A–H with is or es behind it, like Es', text=echo(text)
        )
    alteration = sum(_GERMAN_MARKS[mark] for mark in marks)
    if letter == "H":
        letter = "B"
    elif letter == "B" and not marks:
        alteration = -1
    return Note.read(letter + ("#" if alteration > 0 else "b") * abs(alteration))


def _read_bass(name: str, at: int, german: bool) -> Note | None:
    """Read the note behind the slash. Return None if there is no note, or if something follows it."""
    rest = name[at:].strip()
    try:
        return _german_note(rest) if german else Note.read(rest)
    except (PitchError, IndexError):
        return None


def _explain_unread(text: str, root: str, column: int) -> ChordError:
    rest = text[column:].strip()
    if not rest:
        return ChordError(
            'no chord "{text}": nothing stands behind the slash; write a note, like {root}/E',
            column,
            text=echo(text.strip()),
            root=root,
        )
    return ChordError(
        'no chord "{text}": "{rest}" (character {column}) is not read behind {root}; write for example {examples}',
        column,
        text=echo(text.strip()),
        rest=echo(rest),
        column=column + 1,
        root=root,
        examples=_EXAMPLES.format(root),
    )
