"""Finds the key of a song from its chords.

Conventions. The finder hears a chord as a root (a pitch class) and a kind, with its beats. Spelling counts only for the
name of the key that is found. Each major, minor and blues key gets the log probability of the song in it. Four parts
add up to it:

- The chords: the beats of each chord, compared with songs in such a key. In charts with a declared key 93 % of the
  chords belong to the key in major and 90 % in minor. The borrowed chords share the rest in the proportions that were
  counted in these charts. The proportions of the key's own chords are our estimate. A song repeats itself, so all its
  beats together count as ``EVIDENCE`` independent chords, however long the song is.
- The first chord, which is the tonic in 74 % of songs, and the last, which is the tonic in 47 %. The first chords of
  the other sections count in the same way, with less weight.
- The changes: V and IV resolve to the tonic.
- A weak prior: the keys that guitarists play in.

The idea of key profiles that are matched by probability: Temperley, *Music and Probability*, MIT Press 2007, ch. 6.
Here chords take the place of notes.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from functools import cache
from itertools import pairwise

from cards.charts.chart import KeyFit
from cards.theory.chords import AUG_FIFTH, DIM_FIFTH, MAJOR_SEVENTH, MINOR_SEVENTH, ROOT, Chord
from cards.theory.keys import BLUES_KEYS, MAJOR_KEYS, MINOR_KEYS, Key, Mode

EVIDENCE = 9.0
"""The number of independent chords that a whole song counts as: more than the five different chords that a song has in
the median, far fewer than all the chords that it plays."""
_FIRST_IS_TONIC, _LAST_IS_TONIC = 0.74, 0.47
_SECTION_WEIGHT = 0.3  # A section's first chord is the tonic less often than the song's.
_RESOLUTION = 4.0  # If every change of a song were V to I, the song would be e⁴ times likelier in that key.
_PRIOR_WEIGHT = 0.35  # The prior comes from other songs, so it only breaks ties.
_NEVER = 0.0004  # The probability of a chord that no song in the key uses. It makes the key unlikely, not impossible.

Passage = Sequence[tuple[Chord, float]]
"""The chords of a section in order, each with its beats."""

Heard = tuple[int, str]
"""A chord as the finder hears it: (pitch class or semitones above a tonic, kind). The kinds are M major, m minor,
7 dominant seventh, j major seventh, d diminished or augmented, and s without a third."""

# Percentages of a song's beats, by semitones above the tonic and kind.
_OWN: dict[Mode, dict[Heard, float]] = {
    Mode.MAJOR: {
        (0, "M"): 33,
        (7, "M"): 21,
        (5, "M"): 20.5,
        (9, "m"): 10.5,
        (2, "m"): 5,
        (4, "m"): 2.7,
        (11, "d"): 0.3,
    },
    Mode.MINOR: {
        (0, "m"): 35,
        (5, "m"): 9,
        (7, "m"): 4,
        (2, "d"): 1,
        (10, "M"): 17,
        (8, "M"): 14,
        (3, "M"): 10,
    },
    Mode.BLUES: {
        (0, "7"): 42,
        (5, "7"): 23,
        (7, "7"): 17,
        (0, "M"): 5,
        (7, "M"): 3,
        (5, "M"): 3,
    },
}
_BORROWED: dict[Mode, dict[Heard, float]] = {
    Mode.MAJOR: {
        (2, "M"): 1.5,
        (10, "M"): 1.3,
        (9, "M"): 0.6,
        (4, "M"): 0.4,
        (11, "M"): 0.3,
        (3, "M"): 0.2,
        (8, "M"): 0.2,
        (0, "7"): 0.35,
        (5, "7"): 0.3,
        (2, "7"): 0.5,
        (4, "7"): 0.3,
        (9, "7"): 0.35,
        (7, "m"): 0.2,
        (5, "m"): 0.3,
        (10, "s"): 0.2,
    },
    Mode.MINOR: {
        (7, "7"): 2.5,
        (5, "7"): 0.4,
        (11, "d"): 0.3,
        (5, "M"): 2.4,
        (7, "M"): 1.5,
        (1, "M"): 0.8,
        (0, "M"): 0.3,
    },
    Mode.BLUES: {
        (2, "7"): 1,
        (9, "7"): 1,
        (8, "7"): 0.5,
        (2, "m"): 1,
        (9, "m"): 0.5,
        (10, "M"): 0.5,
        (6, "d"): 0.5,
    },
}
# The shares of a key's own chords that are played with a seventh, or without a third. _DOMINANT is for V with a minor
# seventh, _MAJOR_SEVENTH for I and IV (and for III and VI of a minor key) with a major one, _NO_THIRD for any chord.
_DOMINANT, _MAJOR_SEVENTH, _NO_THIRD = 0.3, 0.07, 0.05
# The chords that resolve to the tonic, with the weight of each resolution.
_RESOLVING: dict[Mode, dict[Heard, float]] = {
    Mode.MAJOR: {(7, "M"): 1.0, (7, "7"): 1.3, (5, "M"): 0.6, (10, "M"): 0.2},
    Mode.MINOR: {(7, "M"): 1.0, (7, "7"): 1.3, (7, "m"): 0.7, (10, "M"): 0.8, (5, "m"): 0.6, (8, "M"): 0.3},
    Mode.BLUES: {(7, "7"): 1.0, (5, "7"): 0.8},
}
_MET = {"G": 27, "C": 23, "D": 12, "A": 8, "Am": 7, "Em": 6, "E": 6}
_SELDOM_MET = 0.65
_MOST_FITS = 3


def hear(chord: Chord) -> Heard:
    """Return the root and the kind of a chord."""
    return chord.root.pitch_class, _kind_of(chord)


def _kind_of(chord: Chord) -> str:
    quality = chord.quality
    if quality.third is None:
        return "s"
    if quality.is_minor:
        return "d" if quality.fifth == DIM_FIFTH else "m"
    if quality.fifth == AUG_FIFTH and quality.seventh is None:
        return "d"
    return {MINOR_SEVENTH: "7", MAJOR_SEVENTH: "j"}.get(quality.seventh or ROOT, "M")


def find_keys(passages: Iterable[Passage]) -> tuple[KeyFit, ...]:
    """Return every key with its probability, the likeliest first, or () if the song has no chords.

    >>> from cards.theory.chords import read_chord
    >>> def found(chords):
    ...     return str(find_keys([[(read_chord(name), 4.0) for name in chords.split()]])[0].key)
    >>> [found(chords) for chords in ("Em C G D Em C D Em", "D C G D", "G C D G", "A7 D7 A7 E7 D7 A7")]
    ['Em', 'D', 'G', 'A blues']
    """
    song = _Song([passage for passage in passages if passage])
    if not song.beats:
        return ()
    keys = [song.spelled(key) for key in _CANDIDATES]
    scores = [song.score(key) for key in keys]
    highest = max(scores)
    weights = [math.exp(score - highest) for score in scores]
    fits = [KeyFit(key, song.share(key), weight / sum(weights)) for key, weight in zip(keys, weights, strict=True)]
    return tuple(sorted(fits, key=lambda fit: -fit.confidence))


_CANDIDATES = (*MAJOR_KEYS[1:], *MINOR_KEYS[1:], *BLUES_KEYS[1:])


class _Song:
    """The counts of a song that are the same for all keys."""

    def __init__(self, passages: Sequence[Passage]) -> None:
        heard = [[hear(chord) for chord, _ in passage] for passage in passages]
        self.beats: defaultdict[Heard, float] = defaultdict(float)
        self.steps: Counter[tuple[Heard, Heard]] = Counter()
        fifths = 0.0
        for passage, chords in zip(passages, heard, strict=True):
            self.steps.update(pairwise(chords))
            for (chord, beats), sound in zip(passage, chords, strict=True):
                self.beats[sound] += beats
                fifths += beats * chord.root.fifths
        self.total = sum(self.beats.values()) or 1.0
        self.changes = sum(count for (before, after), count in self.steps.items() if before != after) or 1
        self.firsts = [chords[0] for chords in heard]
        self.last = heard[-1][-1] if heard else None
        self.flat = fifths < 0

    def spelled(self, key: Key) -> Key:
        """Return G♭ for F♯, or E♭m for D♯m, if the song is written with flats, else the key itself."""
        if key.signature == 6 and self.flat:
            return Key(MAJOR_KEYS[0].relative.tonic if key.is_minor else MAJOR_KEYS[0].tonic, key.mode)
        return key

    def share(self, key: Key) -> float:
        """Return the share of the beats (0–1) whose chords belong to the key."""
        own = _own_chords(key.mode)
        tonic = key.tonic.pitch_class
        own_beats = (beats for (root, kind), beats in self.beats.items() if ((root - tonic) % 12, kind) in own)
        return sum(own_beats) / self.total

    def score(self, key: Key) -> float:
        """Return the log probability of the song in a key, up to a constant."""
        tonic = key.tonic.pitch_class
        profile = _profile(key.mode)
        log_chords = sum(
            beats * math.log(profile.get(((root - tonic) % 12, kind), _NEVER))
            for (root, kind), beats in self.beats.items()
        )
        at_home = [_is_tonic(chord, key) for chord in self.firsts]
        log_first = _log_odds(at_home[0], _FIRST_IS_TONIC)
        log_sections = sum(_log_odds(home, _FIRST_IS_TONIC) for home in at_home[1:]) / max(len(at_home) - 1, 1)
        log_last = _log_odds(self.last is not None and _is_tonic(self.last, key), _LAST_IS_TONIC)
        log_prior = math.log(
            _MET.get(str(Key(key.tonic, Mode.MAJOR if key.mode == Mode.BLUES else key.mode)), _SELDOM_MET)
        )
        return (
            EVIDENCE * log_chords / self.total
            + log_first
            + _SECTION_WEIGHT * log_sections
            + log_last
            + _RESOLUTION * self._resolved_share(key)
            + _PRIOR_WEIGHT * log_prior
        )

    def _resolved_share(self, key: Key) -> float:
        """Return the share of the changes that resolve to the tonic, each with its weight."""
        tonic = key.tonic.pitch_class
        weights = _RESOLVING[key.mode]
        weighted = sum(
            count * weights.get(((before[0] - tonic) % 12, before[1]), 0.0)
            for (before, after), count in self.steps.items()
            if _is_tonic(after, key)
        )
        return weighted / self.changes


def _log_odds(home: bool, expected: float) -> float:
    """Return the log probability of a chord at a place where the tonic is expected.

    ``home`` says whether the chord is the tonic, ``expected`` how often it is (0–1). If it is not, six other chords are
    equally likely.
    """
    return math.log(expected if home else (1 - expected) / 6)


def _is_tonic(chord: Heard, key: Key) -> bool:
    """Return whether a chord can be the tonic chord of a key: it has the right root, and its third fits if it has
    one."""
    return chord[0] == key.tonic.pitch_class and chord[1] in ("ms" if key.is_minor else "Mj7s")


@cache
def _profile(mode: Mode) -> dict[Heard, float]:
    """Return the probability of each chord in a key of a mode, by semitones above the tonic and kind."""
    probability: defaultdict[Heard, float] = defaultdict(float)
    for (step, kind), share in (*_OWN[mode].items(), *_BORROWED[mode].items()):
        kinds = {kind: 1.0}
        if (step, kind) in _OWN[mode] and kind in "Mm":
            kinds["s"] = _NO_THIRD
            if kind == "M" and mode != Mode.BLUES:
                kinds["7" if (step, mode) == (7, Mode.MAJOR) else "j"] = _DOMINANT if step == 7 else _MAJOR_SEVENTH
        kinds[kind] = 1.0 - sum(part for other, part in kinds.items() if other != kind)
        for played, part in kinds.items():
            probability[step, played] += share * part / 100
    return dict(probability)


@cache
def _own_chords(mode: Mode) -> frozenset[Heard]:
    """Return the chords that belong to a key: its triads, sevenths and suspended chords, in minor also V and V7."""
    own = set(_OWN[mode])
    if mode == Mode.MAJOR:
        own |= {(7, "7"), (0, "j"), (5, "j")}
    elif mode == Mode.MINOR:
        own |= {(7, "M"), (7, "7"), (3, "j"), (8, "j"), (10, "7"), (11, "d")}
    return frozenset(own | {(step, "s") for step, kind in own if kind != "d"})


def best_three(fits: Sequence[KeyFit], taken: Key) -> tuple[KeyFit, ...]:
    """Return three keys: the key ``taken`` if it is among them, then the likeliest others."""
    taken_fit = [fit for fit in fits if fit.key == taken]
    return tuple((*taken_fit, *(fit for fit in fits if fit.key != taken))[:_MOST_FITS])
