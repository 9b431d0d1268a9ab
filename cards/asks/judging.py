"""What is right or wrong with six frets put down for a chord in a region.

Conventions. An answer is judged by its notes and the rules of a voicing, never by comparing it with
the main voicing: any playable voicing of the right chord in the reach is right, in the region's own
place or an octave up. A spread triad is plucked, so that nothing between its strings has to be muted.
What is wrong is explained by what was played, the most telling thing first.
"""

from __future__ import annotations

from dataclasses import dataclass

from cards.guitar.fingering import MEDIUM, Frets, Grip, Hand, fingering, inner_mutes
from cards.guitar.neck import STANDARD, STRINGS, Neck
from cards.guitar.regions import Region
from cards.messages import Message, message
from cards.theory.chords import FIFTH, ROOT, Chord
from cards.theory.keys import Key
from cards.theory.numerals import Numeral, own_numeral
from cards.theory.pitch import Interval
from cards.voicings.search import FEWEST_STRINGS
from cards.voicings.small import is_spread_triad
from cards.voicings.voicing import tones_of


@dataclass(frozen=True)
class Finding:
    """The judgement of six frets: whether they are right, what to say, where they were taken to lie.

    ``chord`` is the chord they were judged as (the richer one where that was accepted); ``grip`` is
    None when no hand can hold them.
    """

    right: bool
    messages: tuple[Message, ...]
    chord: Chord
    region: Region
    grip: Grip | None


@dataclass(frozen=True)
class Wanted:
    """What frets are judged against: a numeral in a key, in any of ``places`` (the region's own first).

    ``richer`` is a chord with more tones that is accepted in its stead, or None; ``rootless`` says that
    the chord's root may be left out, because somebody else plays it, and ``any_bass`` that any tone may
    be lowest on strings 6 and 5 too, because the band plays the bass.
    """

    key: Key
    numeral: Numeral
    places: tuple[Region, ...]
    hand: Hand = MEDIUM
    richer: Chord | None = None
    neck: Neck = STANDARD
    rootless: bool = False
    any_bass: bool = False

    @property
    def chord(self) -> Chord:
        """The chord asked for."""
        return self.numeral.chord(self.key)


def judge_frets(frets: Frets, wanted: Wanted) -> Finding:
    """Judge frets put down for a chord in a region, or an octave up."""
    where = min(wanted.places, key=lambda place: _misplaced(frets, place))
    plucked = is_spread_triad(wanted.chord, frets, wanted.neck)
    fingered = fingering(frets, where.low, wanted.neck, wanted.hand, plucked)
    grip = fingered.grip if fingered else None
    for chord in (wanted.chord, wanted.richer) if wanted.richer else (wanted.chord,):
        if not _wrong(frets, wanted, chord, where, grip):
            said = _remarks(frets, wanted, chord, where)
            if where != wanted.places[0]:
                said.append(message("right.octave"))
            return Finding(True, tuple(said), chord, where, grip)
    wrong = _wrong(frets, wanted, wanted.chord, where, grip)
    return Finding(False, tuple(wrong), wanted.chord, where, grip)


def _wrong(frets: Frets, wanted: Wanted, chord: Chord, region: Region, grip: Grip | None) -> list[Message]:
    """The first kind of fault there is; [] for a right voicing."""
    return (
        _wrong_notes(frets, wanted, chord)
        or _wrong_place(frets, region, wanted.neck)
        or _wrong_hand(frets, region, grip, wanted)
        or _wrong_bass(frets, wanted, chord)
    )


def _misplaced(frets: Frets, region: Region) -> int:
    low, high = region.reach
    return sum(fret is not None and not low <= fret <= high for fret in frets)


def _wrong_notes(frets: Frets, wanted: Wanted, chord: Chord) -> list[Message]:
    """What keeps the notes from being this chord."""
    neck = wanted.neck
    sounding = [(s, f) for s, f in zip(STRINGS, frets, strict=True) if f is not None]
    if len(sounding) < FEWEST_STRINGS:
        return [message("wrong.few", sounding=len(sounding), fewest=FEWEST_STRINGS)]
    tones = tones_of(chord, frets, neck)
    foreign = [(s, f) for (s, f) in sounding if chord.tone_at(neck.pitch(s, f) % 12) is None]
    missing = [tone for tone in chord.must_sound if tone not in tones]
    if wanted.rootless and ROOT in missing:
        missing.remove(ROOT)
    if not foreign and not missing:
        return []
    other = _own_name({neck.pitch(string, fret) % 12 for string, fret in sounding}, wanted)
    if other is not None:
        return [other]
    if not foreign and set(tones) - {None} == {ROOT, FIFTH}:
        return [message("wrong.power")]
    said = []
    if foreign:
        places = [f"{string}:{fret}:{wanted.key.spell(neck.pitch(string, fret) % 12)}" for string, fret in foreign]
        said.append(message("wrong.foreign", places=" ".join(places)))
    return said + [message("wrong.missing", tone=tone.name, chord=chord) for tone in missing]


def _own_name(classes: set[int], wanted: Wanted) -> Message | None:
    """Say so when the notes are another of the key's own chords, or this one with or without a
    seventh."""
    key, right = wanted.key, wanted.chord
    for seventh in (False, True):
        for degree in key.degrees:
            chord = key.chord(degree, seventh)
            must = {chord.root.above(tone).pitch_class for tone in chord.must_sound}
            if not must <= classes <= {note.pitch_class for note in chord.notes}:
                continue
            if chord.root == right.root:
                return message(_beside(set(chord.tones), set(right.tones)), chord=chord, wanted=right)
            return message(
                "wrong.degree",
                notes=" ".join(str(note) for note in chord.notes if note.pitch_class in classes),
                called=own_numeral(key, degree).number + (" seventh" if seventh else ""),
                wanted_called=_called(wanted),
                wanted_notes=" ".join(map(str, right.notes)),
            )
    return None


def _beside(tones: set[Interval], wanted: set[Interval]) -> str:
    """What to say of a chord on the right root by its tones: more, fewer, or others."""
    if tones > wanted:
        return "wrong.added"
    return "wrong.without" if tones < wanted else "wrong.quality"


def _called(wanted: Wanted) -> str:
    own = wanted.numeral.own(wanted.key)
    if own is None:
        return str(wanted.numeral)
    return wanted.numeral.number + (" seventh" if own[1] else "")


def _wrong_place(frets: Frets, region: Region, neck: Neck) -> list[Message]:
    """Which notes lie outside the reach, or beyond the last fret."""
    low, high = region.reach[0], min(region.reach[1], neck.free_frets)
    beyond = [
        (string, fret)
        for string, fret in zip(STRINGS, frets, strict=True)
        if fret is not None and not low <= fret <= high
    ]
    if not beyond:
        return []
    if all(fret == 0 for _, fret in beyond):
        return [message("wrong.open", low=region.low, high=region.high)]
    if len(beyond) == sum(fret is not None for fret in frets):
        return [message("wrong.elsewhere", low=region.low, high=region.high)]
    strings = " ".join(str(string) for string, _ in beyond)
    return [message("wrong.reach", strings=strings, low=low, high=high)]


def _wrong_hand(frets: Frets, region: Region, grip: Grip | None, wanted: Wanted) -> list[Message]:
    """Why one hand cannot play it."""
    if grip is not None:
        return []
    mutes = inner_mutes(frets)
    if len(mutes) > 1:
        strings = " ".join(str(STRINGS[index]) for index in mutes)
        return [message("wrong.mutes", strings=strings)]
    wide = fingering(frets, region.low, wanted.neck, None)
    if wide is not None:
        return [message("wrong.stretch", mm=round(wide.grip.stretch_mm))]
    for index in mutes:
        if not frets[index - 1] and not frets[index + 1]:
            return [message("wrong.mute", string=STRINGS[index])]
    return [message("wrong.hand")]


def _bass(frets: Frets, chord: Chord, neck: Neck) -> tuple[int, Interval]:
    """String number and tone of the lowest note."""
    tones = tones_of(chord, frets, neck)
    return next((string, tone) for string, tone in zip(STRINGS, tones, strict=True) if tone is not None)


def _without_root(frets: Frets, wanted: Wanted, chord: Chord) -> bool:
    """Whether these frets leave out a root that may be left out."""
    return wanted.rootless and ROOT not in tones_of(chord, frets, wanted.neck)


def _wrong_bass(frets: Frets, wanted: Wanted, chord: Chord) -> list[Message]:
    string, tone = _bass(frets, chord, wanted.neck)
    if tone == chord.bass_tone or _without_root(frets, wanted, chord):
        return []
    if chord.bass is not None:
        return [message("wrong.slash", chord=chord, bass=chord.bass)]
    if wanted.any_bass or string < 5:
        return []
    return [message("wrong.bass", tone=tone.name, string=string)]


def _remarks(frets: Frets, wanted: Wanted, chord: Chord, region: Region) -> list[Message]:
    """What to say of a right voicing beyond that it is right."""
    asked, sounding = wanted.chord, tones_of(chord, frets, wanted.neck)
    said = [message("right", chord=asked)]
    tone = _bass(frets, chord, wanted.neck)[1]
    rootless = _without_root(frets, wanted, chord)
    if rootless:
        said.append(message("right.rootless"))
    elif tone != chord.bass_tone:
        said.append(message("right.inversion", tone=tone.name))
    said += [
        message("right.left_out", tone=each.name)
        for each in chord.tones
        if each not in sounding and not (rootless and each == ROOT)
    ]
    said += [
        message("right.added", tone=each.name, chord=chord)
        for each in chord.quality.tones
        if each not in asked.quality.tones
    ]
    outside = max(region.outside(fret) for fret in frets if fret is not None)
    if outside:
        said.append(message("right.outside", low=region.low, high=region.high))
    return said
