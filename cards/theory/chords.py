"""Chords: a root, a quality and perhaps another bass; their tones; their names read and written.

Conventions. A quality lists its tones as intervals above the root and says which of them must
sound; the others may be left out of a voicing. A quality is put together from a third, a fifth, a
seventh and what is added, so any name that players build is read, not only those on a list. Names
are printed in one spelling of our own: ``B♭maj7``, ``F♯m7♭5``, ``E♭°7``, ``C+``, ``A7sus4``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property, lru_cache

from cards.messages import RefusalError
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
    """A kind of chord.

    ``tones`` are intervals above the root in the order of stacking. ``loose_third`` is the
    guitarist's bare 2: the third may sound or not.

    >>> Quality.of([ROOT, MINOR_THIRD, DIM_FIFTH, MINOR_SEVENTH]).suffix
    'm7♭5'
    """

    tones: tuple[Interval, ...]
    loose_third: bool = False

    @classmethod
    def of(cls, tones: Iterable[Interval], loose_third: bool = False) -> Quality:
        """The quality with these tones, in any order; a stack above the seventh is completed."""
        found = set(tones)
        if any(tone.number == 7 for tone in found) and {11, 13} & {tone.number for tone in found}:
            natural = {Interval(11), Interval(13)} & found
            if natural and not any(tone.number == 9 for tone in found):
                found.add(NINTH)
        return cls(tuple(sorted(found)), loose_third)

    def _tone(self, number: int) -> Interval | None:
        return next((tone for tone in self.tones if tone.number == number), None)

    @property
    def third(self) -> Interval | None:
        """Its third; None for suspended and power chords."""
        return self._tone(3)

    @property
    def fifth(self) -> Interval | None:
        """Its fifth, plain or altered."""
        return self._tone(5)

    @property
    def seventh(self) -> Interval | None:
        """Its seventh."""
        return self._tone(7)

    @property
    def suspended(self) -> Interval | None:
        """The 2 or 4 that stands for the third."""
        return self._tone(4) or self._tone(2)

    @property
    def is_minor(self) -> bool:
        """Whether its third is minor, so that its Roman numeral is written small."""
        return self.third == MINOR_THIRD

    @cached_property
    def omissible(self) -> frozenset[Interval]:
        """The tones that a voicing may leave out.

        A triad, a chord with an added tone and a sixth chord lose nothing. From the seventh chord
        on the plain fifth may go, except from 7sus4 (without it, it is IVsus4), and of stacked
        extensions all below the highest. The eleventh lets the major third go, which it rubs
        against; 6/9 its fifth; the bare 2 its third.
        """
        free: set[Interval] = set()
        if self.loose_third and self.third:
            free.add(self.third)
        if {Interval(6), NINTH} <= set(self.tones):
            free.add(FIFTH)
        if self.seventh is not None:
            stacked = [tone for tone in self.tones if tone.number > 7 and tone.alteration == 0]
            free |= set(stacked[:-1])
            if not self.suspended or self.tones[-1].number > 7:
                free.add(FIFTH)
            if stacked and stacked[-1] == Interval(11):
                free.add(MAJOR_THIRD)
        return frozenset(free) & frozenset(self.tones)

    @cached_property
    def must_sound(self) -> tuple[Interval, ...]:
        """The tones without which it is another chord."""
        return tuple(tone for tone in self.tones if tone not in self.omissible)

    @property
    def simpler(self) -> tuple[Quality, ...]:
        """What bands play in its stead, ever plainer: without the tones on top, then without the seventh.

        >>> [quality.suffix for quality in read_quality("13").simpler]
        ['7', '']
        """
        triad = {1, 2, 3, 4, 5}
        kept = (Quality.of(tone for tone in self.tones if tone.number in left) for left in (triad | {7}, triad))
        return tuple(each for each in dict.fromkeys(kept) if each != self)

    @cached_property
    def suffix(self) -> str:
        """What is printed behind the root."""
        printed = _print(self)
        return f"({printed})" if printed[:1] in ("♭", "♯") else printed

    @property
    def name(self) -> str:
        """The quality in ASCII, for ids and skills: ``major``, ``m7b5``, ``6/9``."""
        plain = self.suffix.replace("♭", "b").replace("♯", "#").replace("°", "dim")
        return {"": "major", "m": "minor", "+": "aug"}.get(plain, plain)


def _print(quality: Quality) -> str:
    """The suffix, put together from its parts."""
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
        # A 13 is read without the 11, which rubs against the third.
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
    """The triad's mark, and the altered fifth if it is printed by itself."""
    fifth, seventh = quality.fifth, quality.seventh
    if quality.is_minor and fifth == DIM_FIFTH and seventh != MINOR_SEVENTH:
        return "°", ""
    if quality.third == MAJOR_THIRD and fifth == AUG_FIFTH and seventh is None:
        return "+", ""
    altered = fifth if fifth is not None and fifth != FIFTH else ""
    return "m" if quality.is_minor else "", str(altered)


@dataclass
class _Suffix:
    """A chord name's suffix while it is being read, token by token."""

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
        third = [] if self.suspended else [self.third]
        altered = {tone.number for tone in self.added if tone.alteration}
        added = [tone for tone in self.added if tone.alteration or tone.number not in altered]
        body = [ROOT, *third, *self.suspended, self.fifth, self.seventh, *added]
        tones = {tone for tone in body if tone is not None}
        # Only the bare 2 lets its third go: C26 is C6/9.
        loose = self.loose_third and self.third is not None and tones == {ROOT, self.third, FIFTH, NINTH}
        return Quality.of(tones, loose)

    def take(self, kind: str, text: str) -> bool:
        """Take one token; False if it makes no sense here, or says again what was said."""
        token = (kind, text, self.major_seventh)  # C7maj7 has two sevens, and the second is major
        if token in self.taken:
            return False
        taken = getattr(self, f"_{kind}")(text)
        self.taken.add(token)
        triad = (self.third, self.fifth, self.suspended) == (MINOR_THIRD, DIM_FIFTH, [])
        return taken is not False and (triad or not self.dim)

    def _triangle(self, text: str) -> None:
        self.major_seventh = True
        self.seventh = MAJOR_SEVENTH

    def _major(self, text: str) -> None:
        self.major_seventh = True
        if self.seventh == MINOR_SEVENTH:
            self.seventh = MAJOR_SEVENTH

    def _dominant(self, text: str) -> None:
        """``dom7`` is ``7``: the word adds nothing."""

    def _minor(self, text: str) -> None:
        self.third = MINOR_THIRD

    def _half_dim(self, text: str) -> None:
        self.third, self.fifth, self.seventh = MINOR_THIRD, DIM_FIFTH, MINOR_SEVENTH

    def _dim(self, text: str) -> bool | None:
        if self.dim:
            return False
        self.third, self.fifth, self.dim = MINOR_THIRD, DIM_FIFTH, True
        return None

    def _aug(self, text: str) -> None:
        self.fifth = AUG_FIFTH

    def _alt(self, text: str) -> None:
        self.fifth, self.seventh = AUG_FIFTH, MINOR_SEVENTH
        self.added.add(Interval(9, 1))

    def _sus(self, text: str) -> None:
        digits = text[3:].replace("sus", "") or "4"
        self.suspended += [Interval(int(digit)) for digit in digits]

    def _seven_four(self, text: str) -> None:
        self.seventh = MINOR_SEVENTH
        self.suspended.append(Interval(4))

    def _six_nine(self, text: str) -> None:
        self.added |= {Interval(6), NINTH}

    def _seven_over(self, text: str) -> None:
        over = text.partition("/")[2]
        self._number("7")
        if over == "6":
            self._number("13")
        elif over.isdigit():
            self._number(over)
        else:
            self._altered(over)

    def _add(self, text: str) -> None:
        digits = text[3:]
        number = int(digits.lstrip("b♭#♯+-"))
        sign = _signs(digits[: len(digits) - len(str(number))])
        number += 7 if number in (2, 4) else 0
        self.added.add(Interval(number, sign))

    def _without(self, text: str) -> None:
        if "5" in text:
            self.fifth = None
            return
        self.third = None
        if self.loose_third:
            self.added.discard(NINTH)
            self.suspended.append(Interval(2))

    def _number(self, text: str) -> bool | None:
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
            self._stack(number)
        return None

    def _stack(self, number: int) -> None:
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

    def _altered(self, text: str) -> bool | None:
        sign, number = _signs(text[0]), int(text[1:])
        if text[0] in "-+" and number != 5 and self.seventh is None:
            # C-9 is Cm9 and C+9 is C9♯5: only behind a seventh is the sign an alteration.
            self.third = MINOR_THIRD if sign < 0 else self.third
            self.fifth = AUG_FIFTH if sign > 0 else self.fifth
            return self._number(text[1:])
        if number == 5:
            self.fifth = Interval(5, sign)
        else:
            self.added.add(Interval(number, sign))
        return None


def _signs(text: str) -> int:
    return sum(1 if mark in "#♯+" else -1 for mark in text)


# Tried in this order at each place; the name is the method of _Suffix that takes it.
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
    """Read a suffix up to its end or the slash of a bass: the quality (None if some character
    cannot be read) and how far it was read."""
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
    """The quality that a suffix means: ``""``, ``m``, ``maj7``, ``7(b9)``, ``ø``.

    Raises ChordError pointing at the character that cannot be read.

    >>> read_quality("-7b5").suffix, read_quality("o").suffix, read_quality("7alt").suffix
    ('m7♭5', '°', '7♯5♯9')
    """
    quality, read = _read_suffix(text)
    if quality is None or read < len(text):
        raise ChordError(
            'no quality "{text}": "{rest}" is not read; write m7, 7 or maj7', read, text=text, rest=text[read:]
        )
    return quality


@dataclass(frozen=True)
class Chord:
    """A chord: root, quality, and the bass of a slash chord.

    >>> str(Chord(Note.read("Db"), read_quality("maj7")))
    'D♭maj7'
    """

    root: Note
    quality: Quality
    bass: Note | None = None

    @property
    def notes(self) -> tuple[Note, ...]:
        """Its notes, spelled, in the order of the quality's tones; a foreign bass comes last."""
        own = tuple(self.root.above(tone) for tone in self.quality.tones)
        return own if self.bass is None or self.bass in own else (*own, self.bass)

    @cached_property
    def tones(self) -> tuple[Interval, ...]:
        """Its tones above the root, with that of a foreign bass at the end."""
        own = self.quality.tones
        return own if len(self.notes) == len(own) else (*own, self.bass_tone)

    @property
    def must_sound(self) -> tuple[Interval, ...]:
        """The tones without which it is another chord, a slash bass among them."""
        must = self.quality.must_sound
        bass = self.bass_tone
        return must if bass in must or self.bass is None else (*must, bass)

    @property
    def bass_tone(self) -> Interval:
        """The tone that belongs in the bass."""
        if self.bass is None:
            return ROOT
        own = (tone for tone in self.quality.tones if self.root.above(tone) == self.bass)
        return next(own, Interval.from_fifths(self.bass.fifths - self.root.fifths))

    def tone_at(self, pitch_class: int) -> Interval | None:
        """The chord tone that a pitch class (0–11) is in this chord; None if it is foreign."""
        return self._tones_by_class.get(pitch_class)

    @cached_property
    def _tones_by_class(self) -> dict[int, Interval]:
        root = self.root.pitch_class
        return {(root + tone.semitones) % 12: tone for tone in reversed(self.tones)}

    def __str__(self) -> str:
        slash = "" if self.bass is None else f"/{self.bass}"
        return f"{self.root}{self.quality.suffix}{slash}"


def read_chord(text: str, german: bool = False) -> Chord:
    """Read a chord name in any of the spellings players use, with ``/`` before another bass.

    ``german``: H is B and B is B♭; ``Es``, ``As``, ``Cis`` … are read.
    Raises ChordError pointing at the character that cannot be read.

    >>> [str(read_chord(name)) for name in ("Gmin", "F#-7b5", "B♭Δ", "C7sus", "D/F#", "Am7-5")]
    ['Gm', 'F♯m7♭5', 'B♭maj7', 'C7sus4', 'D/F♯', 'Am7♭5']
    >>> str(read_chord("H7", german=True))
    'B7'
    """
    name = text.rstrip()
    at = len(name) - len(name.lstrip())
    furthest = ChordError('no chord "{text}": a chord starts with a letter A–G, like B♭ or F♯m7', at, text=text.strip())
    for end, root in _roots(name, at, german):
        quality, read = _read_suffix(name[end:])
        if quality is None:
            if end + read >= furthest.column:
                furthest = _unread(text, name[at:end], end + read)
            continue
        if end + read == len(name):
            return Chord(root, quality)
        bass = _read_bass(name, end + read + 1, german)
        if bass is not None:
            return Chord(root, quality, bass)
        furthest = _unread(text, name[at:end], end + read + 1)
    raise furthest


def _roots(name: str, at: int, german: bool) -> list[tuple[int, Note]]:
    """Where the root may end, and which note it then is: the usual reading first.

    ``Bbb5`` is B♭ with a flat five before it is a B𝄫 power chord.
    """
    match = (_GERMAN_ROOT.match(name, at) if german else None) or _ROOT.match(name, at)
    if match is None:
        return []
    ends = [match.end()]
    if match.end() - at == 3 and not german:
        ends.insert(0, at + 2)
    found = []
    for end in ends:
        root = _german_note(name[at:end]) if german else Note.read(name[at:end])
        found.append((end, root))
    return found


def _german_note(text: str) -> Note:
    """A German note name: H, B, Es, As, Cis, B♭ in plain letters too.

    >>> str(_german_note("Es")), str(_german_note("B")), str(_german_note("Fis"))
    ('E♭', 'B♭', 'F♯')
    """
    letter, marks = text[0].upper(), _GERMAN_MARK.findall(text[1:])
    if "".join(marks) != text[1:]:
        raise PitchError('no note "{text}": a German note is a letter A–H with is or es behind it, like Es', text=text)
    alteration = sum(_GERMAN_MARKS[mark] for mark in marks)
    if letter == "H":
        letter = "B"
    elif letter == "B" and not marks:
        alteration = -1
    return Note.read(letter + ("#" if alteration > 0 else "b") * abs(alteration))


def _read_bass(name: str, at: int, german: bool) -> Note | None:
    """The note behind the slash, if it is one and nothing follows."""
    rest = name[at:].strip()
    try:
        return _german_note(rest) if german else Note.read(rest)
    except (PitchError, IndexError):
        return None


def _unread(text: str, root: str, column: int) -> ChordError:
    rest = text[column:].strip()
    if not rest:
        return ChordError(
            'no chord "{text}": nothing stands behind the slash; write a note, like {root}/E',
            column,
            text=text.strip(),
            root=root,
        )
    return ChordError(
        'no chord "{text}": "{rest}" (character {column}) is not read behind {root}; write for example {examples}',
        column,
        text=text.strip(),
        rest=rest,
        column=column + 1,
        root=root,
        examples=_EXAMPLES.format(root),
    )
