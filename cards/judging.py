"""What is right or wrong with six frets put down for a chord in a region.

Conventions. An answer is judged by its notes and the rules of a voicing, never by comparing it with
the main voicing: any playable voicing of the right chord in the reach is right, in the region's own
place or an octave up. What is wrong is explained by what was played, the most telling thing first.
"""

from __future__ import annotations

from dataclasses import dataclass

from cards.chords import Chord
from cards.fingering import HAND_SCALE, Frets, Grip, fingering, inner_mutes
from cards.keys import DEGREES, Key
from cards.messages import Message, message
from cards.neck import STANDARD, STRINGS, Neck
from cards.pitch import Interval
from cards.regions import Region
from cards.shapes import ROOT
from cards.voicings import FEWEST_STRINGS, tones_of

FIFTH = Interval(5)


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


def places(region: Region, neck: Neck = STANDARD) -> tuple[Region, ...]:
    """The region, and the same one an octave up where its reach is still on the neck."""
    higher = region.octave_up()
    return (region, higher) if higher.reach[1] <= neck.frets else (region,)


def judge_frets(
    frets: Frets,
    key: Key,
    chord: Chord,
    region: Region,
    hand: str = "medium",
    richer: Chord | None = None,
    neck: Neck = STANDARD,
) -> Finding:
    """Judge frets put down for ``chord`` in ``region`` (or an octave up).

    ``richer`` is a chord with more tones that is accepted in its stead, or None.
    """
    where = min(places(region, neck), key=lambda place: _misplaced(frets, place))
    fingered = fingering(frets, where.low, neck, HAND_SCALE[hand])
    grip = fingered[0] if fingered else None
    for wanted in (chord, richer) if richer else (chord,):
        if not _wrong(frets, key, wanted, where, grip, neck):
            said = _remarks(frets, chord, wanted, where, neck)
            if where != region:
                said.append(message("right.octave"))
            return Finding(True, tuple(said), wanted, where, grip)
    return Finding(False, tuple(_wrong(frets, key, chord, where, grip, neck)), chord, where, grip)


def _wrong(frets: Frets, key: Key, chord: Chord, region: Region, grip: Grip | None, neck: Neck) -> list[Message]:
    """The first kind of fault there is; [] for a right voicing."""
    return (
        _wrong_notes(frets, key, chord, neck)
        or _wrong_place(frets, region)
        or _wrong_hand(frets, region, grip, neck)
        or _wrong_bass(frets, chord, neck)
    )


def _misplaced(frets: Frets, region: Region) -> int:
    low, high = region.reach
    return sum(fret is not None and not low <= fret <= high for fret in frets)


def _wrong_notes(frets: Frets, key: Key, chord: Chord, neck: Neck) -> list[Message]:
    """What keeps the notes from being this chord."""
    sounding = [(s, f) for s, f in zip(STRINGS, frets, strict=True) if f is not None]
    if len(sounding) < FEWEST_STRINGS:
        return [message("wrong.few", sounding=len(sounding), fewest=FEWEST_STRINGS)]
    tones = tones_of(chord, frets, neck)
    foreign = [(string, fret) for (string, fret) in sounding if chord.tone_at(neck.pitch(string, fret) % 12) is None]
    missing = [tone for tone in chord.quality.must_sound if tone not in tones]
    if not foreign and not missing:
        return []
    classes = {neck.pitch(string, fret) % 12 for string, fret in sounding}
    other = _diatonic_name(classes, key, chord)
    if other is not None:
        return [other]
    if not foreign and set(tones) - {None} == {ROOT, FIFTH}:
        return [message("wrong.power")]
    said = [
        message(
            "wrong.foreign" if fret else "wrong.foreign.open",
            string=string,
            fret=fret,
            note=key.spell(neck.pitch(string, fret) % 12),
        )
        for string, fret in foreign
    ]
    return said + [message("wrong.missing", tone=tone.name, chord=chord) for tone in missing]


def _diatonic_name(classes: set[int], key: Key, wanted: Chord) -> Message | None:
    """Say so when the notes are another chord of the key, or this one with or without a seventh."""
    for seventh in (False, True):
        for degree in DEGREES:
            chord = key.chord(degree, seventh)
            must = {chord.root.above(tone).pitch_class for tone in chord.quality.must_sound}
            if not must <= classes <= {note.pitch_class for note in chord.notes}:
                continue
            if chord.root == wanted.root:
                kind = "wrong.added" if seventh else "wrong.triad"
                return message(kind, chord=chord, wanted=wanted)
            return message(
                "wrong.degree",
                notes=" ".join(str(note) for note in chord.notes if note.pitch_class in classes),
                degree=degree,
                seventh=seventh,
                wanted_degree=key.scale.index(wanted.root) + 1,
                wanted_seventh=len(wanted.notes) > 3,
                wanted_notes=" ".join(map(str, wanted.notes)),
            )
    return None


def _wrong_place(frets: Frets, region: Region) -> list[Message]:
    """Which notes lie outside the reach."""
    low, high = region.reach
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


def _wrong_hand(frets: Frets, region: Region, grip: Grip | None, neck: Neck) -> list[Message]:
    """Why one hand cannot play it."""
    if grip is not None:
        return []
    mutes = inner_mutes(frets)
    if len(mutes) > 1:
        strings = " ".join(str(STRINGS[index]) for index in mutes)
        return [message("wrong.mutes", strings=strings)]
    wide = fingering(frets, region.low, neck, None)
    if wide is not None:
        return [message("wrong.stretch", mm=round(wide[0].stretch_mm))]
    for index in mutes:
        if not frets[index - 1] and not frets[index + 1]:
            return [message("wrong.mute", string=STRINGS[index])]
    return [message("wrong.hand")]


def _bass(frets: Frets, chord: Chord, neck: Neck) -> tuple[int, Interval]:
    """String number and tone of the lowest note."""
    tones = tones_of(chord, frets, neck)
    return next((string, tone) for string, tone in zip(STRINGS, tones, strict=True) if tone is not None)


def _wrong_bass(frets: Frets, chord: Chord, neck: Neck) -> list[Message]:
    string, tone = _bass(frets, chord, neck)
    if string >= 5 and tone != ROOT:
        return [message("wrong.bass", tone=tone.name, string=string)]
    return []


def _remarks(frets: Frets, asked: Chord, chord: Chord, region: Region, neck: Neck) -> list[Message]:
    """What to say of a right voicing beyond that it is right."""
    said = [message("right", chord=asked)]
    tone = _bass(frets, chord, neck)[1]
    if tone != ROOT:
        said.append(message("right.inversion", tone=tone.name))
    said += [
        message("right.left_out", tone=tone.name)
        for tone in chord.quality.tones
        if tone not in tones_of(chord, frets, neck)
    ]
    said += [
        message("right.added", tone=tone.name, chord=chord)
        for tone in chord.quality.tones
        if tone not in asked.quality.tones
    ]
    outside = max(region.outside(fret) for fret in frets if fret is not None)
    if outside:
        said.append(message("right.outside", low=region.low, high=region.high))
    return said
