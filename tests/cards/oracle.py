"""An independent reading of the theory, plain and slow, to hold against ``cards``.

Nothing here imports ``cards``. Notes are pitch classes (semitones above C, 0–11), keys are ASCII
names like ``Bb``, frets six values with string 6 first (None muted, 0 open), lengths mm.
"""

from __future__ import annotations

from functools import cache
from itertools import combinations, product

# Major keys; for each its relative minor, written with a small m.
KEYS = ("Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#")
MINOR_KEYS = ("Ebm", "Bbm", "Fm", "Cm", "Gm", "Dm", "Am", "Em", "Bm", "F#m", "C#m", "G#m", "D#m")
LETTERS = "CDEFGAB"
NATURALS = dict(zip(LETTERS, (0, 2, 4, 5, 7, 9, 11), strict=True))
MAJOR_STEPS = (0, 2, 4, 5, 7, 9, 11)
MINOR_STEPS = (0, 2, 3, 5, 7, 8, 10)
OPEN = (40, 45, 50, 55, 59, 64)
SCALE_MM = 648.0

QUALITY_BY_SEMITONES = {
    (0, 4, 7): "major",
    (0, 3, 7): "minor",
    (0, 3, 6): "dim",
    (0, 4, 7, 11): "maj7",
    (0, 3, 7, 10): "m7",
    (0, 4, 7, 10): "7",
    (0, 3, 6, 10): "m7b5",
    (0, 3, 6, 9): "dim7",
}
SUFFIX = {"major": "", "minor": "m", "dim": "°", "maj7": "maj7", "m7": "m7", "7": "7", "m7b5": "m7♭5", "dim7": "°7"}
MAY_LEAVE_OUT = {"maj7": {7}, "m7": {7}, "7": {7}}
"""Semitones above the root that a voicing may leave out."""

LIMITS_MM = {(1, 2): 70.0, (2, 3): 60.0, (3, 4): 64.0, (1, 3): 95.0, (2, 4): 92.0, (1, 4): 110.0}
"""As in theory.md, but 3–4 must be 64: at 62 the x4212x that the same page asks for (63.0 mm) fails."""
HANDS = {"small": 0.85, "medium": 1.0, "large": 1.1}

Frets = tuple[int | None, ...]


def pitch_class(name: str) -> int:
    """``Bb`` or ``B♭`` in semitones above C."""
    marks = {"#": 1, "♯": 1, "𝄪": 2, "b": -1, "♭": -1, "𝄫": -2}
    return (NATURALS[name[0]] + sum(marks[mark] for mark in name[1:])) % 12


def spelled(letter: str, wanted: int) -> str:
    """The letter with the sharps or flats that bring it to a pitch class."""
    off = (wanted - NATURALS[letter] + 6) % 12 - 6
    return letter + {0: "", 1: "♯", 2: "𝄪", -1: "♭", -2: "𝄫"}[off]


def scale(key: str) -> list[str]:
    """The scale, natural for a minor key: seven letters in a row, each altered to its step."""
    first, tonic = LETTERS.index(key[0]), pitch_class(key.rstrip("m"))
    steps = MINOR_STEPS if key.endswith("m") else MAJOR_STEPS
    return [spelled(LETTERS[(first + n) % 7], (tonic + step) % 12) for n, step in enumerate(steps)]


def chord_notes(key: str, degree: int, seventh: bool) -> list[str]:
    """Every second note of the scale from the degree up."""
    notes = scale(key)
    return [notes[(degree - 1 + step) % 7] for step in ((0, 2, 4, 6) if seventh else (0, 2, 4))]


def quality(key: str, degree: int, seventh: bool) -> str:
    """The quality's name, from the semitones above the root."""
    notes = [pitch_class(note) for note in chord_notes(key, degree, seventh)]
    return QUALITY_BY_SEMITONES[tuple((note - notes[0]) % 12 for note in notes)]


def chord_name(key: str, degree: int, seventh: bool) -> str:
    """Root and suffix as printed."""
    return chord_notes(key, degree, seventh)[0] + SUFFIX[quality(key, degree, seventh)]


def tones(key: str, degree: int, seventh: bool) -> tuple[int, set[int], set[int]]:
    """Root, all tones, and the tones that must sound, as pitch classes."""
    notes = [pitch_class(note) for note in chord_notes(key, degree, seventh)]
    may = {(notes[0] + semitones) % 12 for semitones in MAY_LEAVE_OUT.get(quality(key, degree, seventh), set())}
    return notes[0], set(notes), set(notes) - may


def tones_of_name(name: str) -> tuple[int, set[int], set[int]]:
    """As :func:`tones`, of a chord by its printed name."""
    length = next(end for end in (3, 2, 1) if not name[1:end].strip("♯♭𝄪𝄫"))
    root, suffix = pitch_class(name[:length]), name[length:]
    kind = next(kind for kind, printed in SUFFIX.items() if printed == suffix)
    steps = next(steps for steps, named in QUALITY_BY_SEMITONES.items() if named == kind)
    may = MAY_LEAVE_OUT.get(kind, set())
    return root, {(root + step) % 12 for step in steps}, {(root + step) % 12 for step in steps if step not in may}


def box(key: str, number: int) -> list[tuple[int, int]]:
    """(string, fret) of the twelve notes of a box: of the relative minor's pentatonic, of a minor key's own."""
    minor = pitch_class(key.rstrip("m")) if key.endswith("m") else (pitch_class(key) + 9) % 12
    pentatonic = [(minor + step) % 12 for step in (0, 3, 5, 7, 10)]
    start = pentatonic[number - 1]
    for octave in (0, 12):
        first = OPEN[0] + (start - OPEN[0]) % 12 + octave
        pitches = [pitch for pitch in range(first, first + 40) if pitch % 12 in pentatonic][:12]
        notes = [(6 - step // 2, pitch - OPEN[step // 2]) for step, pitch in enumerate(pitches)]
        if all(fret >= 0 for _, fret in notes):
            return notes
    raise AssertionError("a box fits within an octave")


def region(key: str, number: int) -> tuple[int, int]:
    """Lowest and highest fret of a box."""
    frets = [fret for _, fret in box(key, number)]
    return min(frets), max(frets)


def reach(low: int, high: int) -> tuple[int, int]:
    """One fret more on either side, never below the nut."""
    return max(low - 1, 0), high + 1


def sounding(frets: Frets) -> list[int]:
    """Pitch classes that sound, string 6 first."""
    return [(OPEN[index] + fret) % 12 for index, fret in enumerate(frets) if fret is not None]


def right_notes(frets: Frets, root: int, all_tones: set[int], must: set[int]) -> bool:
    """Rule 1, the bass, and at least three strings."""
    notes = sounding(frets)
    if len(notes) < 3 or not must <= set(notes) <= all_tones:
        return False
    lowest = next(index for index, fret in enumerate(frets) if fret is not None)
    return lowest > 1 or notes[0] == root


def in_reach(frets: Frets, low: int, high: int) -> bool:
    """Rule 2."""
    bottom, top = reach(low, high)
    return all(fret is None or bottom <= fret <= top for fret in frets)


def mutes_held(frets: Frets) -> bool:
    """Rule 4: one muted string inside at most, and a finger presses beside it."""
    played = [index for index, fret in enumerate(frets) if fret is not None]
    inside = [index for index in range(played[0], played[-1]) if frets[index] is None]
    return len(inside) <= 1 and all(frets[i - 1] or frets[i + 1] for i in inside)


def mm(fret: int) -> float:
    """A fret's distance from the nut."""
    return SCALE_MM - SCALE_MM / 2 ** (fret / 12)


def _uncrossed(one: tuple[int, int, int], other: tuple[int, int, int]) -> bool:
    """Whether two pressed strings, each (index, fret, finger), can be held by these fingers."""
    (index, fret, finger), (next_index, next_fret, next_finger) = sorted((one, other))
    if finger == next_finger:
        return fret == next_fret
    if fret == next_fret:
        return (index < next_index) == (finger < next_finger)
    return (fret < next_fret) == (finger < next_finger)


def _close(held: list[tuple[int, int, int]], hand: float) -> bool:
    return all(
        abs(mm(fret) - mm(other_fret)) <= LIMITS_MM[min(finger, other), max(finger, other)] * hand + 1e-9
        for (_, fret, finger), (_, other_fret, other) in combinations(held, 2)
        if finger != other
    )


def _barres_hold(frets: Frets, held: list[tuple[int, int, int]]) -> bool:
    """Rule 3's barres: what they cover, how long they are, no open string behind a long one."""
    by_index = {index: finger for index, _, finger in held}
    for finger in {finger for _, _, finger in held}:
        covered = [index for index, _, each in held if each == finger]
        first, last = min(covered), max(covered)
        if first == last:
            continue
        if finger > 1 and last - first + 1 > 3:
            return False
        if last - first + 1 >= 4 and 0 in frets[last + 1 :]:
            return False
        at = frets[first]
        for index in range(first, last + 1):
            fret = frets[index]
            if fret is None:
                others = [by_index.get(index - 1), by_index.get(index + 1)]
                if not any(other not in (None, finger) for other in others):
                    return False
            elif fret < at:
                return False
    return True


@cache
def assignments(frets: Frets, hand: float | None) -> tuple[tuple[int | None, ...], ...]:
    """Every way to give the pressed strings fingers 1–4 (hand None: however wide)."""
    pressed = [(index, fret) for index, fret in enumerate(frets) if fret]
    found = []

    def extend(held: list[tuple[int, int, int]]) -> None:
        if len(held) == len(pressed):
            if _barres_hold(frets, held) and (hand is None or _close(held, hand)):
                fingers = {index: finger for index, _, finger in held}
                found.append(tuple(fingers.get(index) for index in range(6)))
            return
        index, fret = pressed[len(held)]
        for finger in (1, 2, 3, 4):
            new = (index, fret, finger)
            if all(_uncrossed(old, new) for old in held):
                extend([*held, new])

    extend([])
    return tuple(found)


def playable(frets: Frets, hand: str = "medium") -> bool:
    """Rules 3 and 4: one hand can hold it and keep quiet what must be."""
    return mutes_held(frets) and bool(assignments(frets, HANDS[hand]))


def right(frets: Frets, key: str, degree: int, seventh: bool, low: int, high: int, hand: str = "medium") -> bool:
    """All four rules and the bass."""
    return right_chord(frets, tones(key, degree, seventh), low, high, hand)


def right_chord(frets: Frets, chord: tuple[int, set[int], set[int]], low: int, high: int, hand: str = "medium") -> bool:
    """All four rules and the bass, for a chord's root, tones and tones that must sound."""
    return right_notes(frets, *chord) and in_reach(frets, low, high) and playable(frets, hand)


def right_spread(
    frets: Frets, chord: tuple[int, set[int], set[int]], low: int, high: int, hand: str = "medium"
) -> bool:
    """A spread triad over its root: each of three tones once, on strings 6 4 2 or 5 3 1, plucked.

    Nothing between its strings is muted, as if they lay side by side.
    """
    played = tuple(index for index, fret in enumerate(frets) if fret is not None)
    if played not in ((0, 2, 4), (1, 3, 5)) or len(chord[1]) != 3 or not in_reach(frets, low, high):
        return False
    side_by_side = (*(frets[index] for index in played), None, None, None)
    notes = sounding(frets)
    return notes[0] == chord[0] and set(notes) == chord[1] and bool(assignments(side_by_side, HANDS[hand]))


def every_spread(chord: tuple[int, set[int], set[int]], low: int, high: int, hand: str = "medium") -> set[Frets]:
    """All spread triads over the root, by trying every fret of the reach."""
    bottom, top = reach(low, high)
    found = set()
    for first, three in product((0, 1), product(range(bottom, top + 1), repeat=3)):
        frets: list[int | None] = [None] * 6
        frets[first], frets[first + 2], frets[first + 4] = three
        if right_spread(tuple(frets), chord, low, high, hand):
            found.add(tuple(frets))
    return found


def every_voicing(key: str, degree: int, seventh: bool, low: int, high: int, hand: str = "medium") -> set[Frets]:
    """All right voicings, by trying every chord tone and mute on every string."""
    return every_voicing_of(tones(key, degree, seventh), low, high, hand)


def every_voicing_of(chord: tuple[int, set[int], set[int]], low: int, high: int, hand: str = "medium") -> set[Frets]:
    """All right voicings of a chord's root, tones and tones that must sound."""
    bottom, top = reach(low, high)
    rows = [[None, *(fret for fret in range(bottom, top + 1) if (pitch + fret) % 12 in chord[1])] for pitch in OPEN]
    return {frets for frets in product(*rows) if right_chord(frets, chord, low, high, hand)}
