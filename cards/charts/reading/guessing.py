"""The guesses of the reader where a song does not say how it is to be read: letters, key, numbers.

Each function that chooses takes the song's options and keeps an option that is given. It returns the choice, and
the guess to show to the player or None.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from cards.charts.chart import Guess, KeyFit, Options, Place
from cards.charts.notation.names import is_german, is_italian, read_name
from cards.charts.notation.numbers import leading_there
from cards.charts.notation.symbols import Figure, Symbol, Word
from cards.charts.reading.assembly import PartDraft
from cards.charts.reading.keyfinding import Passage, find_keys
from cards.messages import Message, message
from cards.theory.chords import Chord
from cards.theory.keys import Key
from cards.theory.pitch import Note

_CENTRAL = re.compile(r"[ěščřžýůďťňľĺŕäöüß]", re.IGNORECASE)
_B = Note(5)
_SHAPES_ODDS = 9.0  # The key given beside a capo is nearly always the sounding one.


def choose_letters(words: Sequence[str], text: str, options: Options) -> tuple[str, Guess | None]:
    """Choose in which letters the names of a song are written: ``letters``, ``german`` or ``italian``.

    ``text`` is the whole song, whose letters can show that its language is Central European.
    """
    if options.names:
        return options.names, None
    italian = sum(is_italian(word) for word in words)
    if italian > sum(read_name(word) is not None and not is_italian(word) for word in words):
        return "italian", Guess(message("chart.names-italian"), option=("names", "letters"))
    if any(is_german(word) for word in words):
        return "german", Guess(message("chart.names-german"), option=("names", "letters"))
    if _CENTRAL.search(text) and any(_has_b(word) for word in words):
        best_share = {
            names: max((fit.share for fit in _find_keys_of_words(words, names)), default=0.0)
            for names in ("letters", "german")
        }
        if best_share["german"] > best_share["letters"]:
            return "german", Guess(message("chart.names-german"), option=("names", "letters"))
        return "letters", Guess(message("chart.names-letters"), option=("names", "german"))
    return "letters", None


def _has_b(word: str) -> bool:
    """Return whether a word is another chord in German letters."""
    english, german = read_name(word), read_name(word, "german")
    return english is not None and german is not None and english.symbols != german.symbols


def _find_keys_of_words(words: Sequence[str], names: str) -> tuple[KeyFit, ...]:
    words_read = [read_name(word, names) for word in words]
    chords = [symbol.what for word in words_read if word for symbol in word.symbols]
    return find_keys([[(chord, 1.0) for chord in chords if isinstance(chord, Chord)]])


def symbols_of(parts: Iterable[PartDraft]) -> Iterator[Symbol]:
    """Return every chord as it is written, in playing order."""
    return (piece.symbol for part in parts for bar in part.bars for piece in bar)


def passages(parts: Iterable[PartDraft]) -> list[Passage]:
    """Return the chords that are written by name, in the form that the key finder takes."""
    return [
        [(piece.symbol.what, piece.beats) for bar in part.bars for piece in bar if isinstance(piece.symbol.what, Chord)]
        for part in parts
    ]


def choose_capo_key(given: Key, capo: int, fits: Sequence[KeyFit], options: Options) -> tuple[str, Guess]:
    """Choose whether a key given beside a capo is the ``sounding`` one or that of the ``shapes``.

    ``fits`` are the keys found for the shapes.
    """
    confidence = {(fit.key.tonic.pitch_class, fit.key.is_minor): fit.confidence for fit in reversed(fits)}

    def confidence_in(key: Key) -> float:
        return confidence.get((key.tonic.pitch_class, key.is_minor), 0.0)

    likely_shapes = confidence_in(given) > _SHAPES_ODDS * confidence_in(given.moved(-capo))
    taken = options.capo_key or ("shapes" if likely_shapes else "sounding")
    if taken == "shapes":
        reading = message("chart.capo-shapes", key=given, capo=capo, sounding=given.moved(capo))
        return taken, Guess(reading, option=("capo_key", "sounding"))
    reading = message("chart.capo-sounding", key=given, capo=capo, shapes=given.moved(-capo))
    return taken, Guess(reading, option=("capo_key", "shapes"))


def choose_key(figures: Sequence[Figure]) -> Key:
    """Choose the key of a number chart that gives none.

    It is Am if most chords on 1 are minor, a blues in C if most chords on 1 and 4 are dominant sevenths, and else C.
    """
    ones = [figure for figure in figures if figure.degree == 1 and not figure.accidental]
    if sum(figure.minor for figure in ones) * 2 > len(ones):
        return Key.read("Am")
    fours = [figure for figure in figures if figure.degree == 4 and not figure.accidental]
    dominant = [re.match(r"\w+:(?:7|9|13)", figure.text) is not None for figure in (*ones, *fours)]
    blues = ones and fours and sum(dominant) * 2 > len(dominant)
    return Key.read("C blues" if blues else "C")


def choose_minor_from(figures: Sequence[Figure], key: Key, options: Options) -> tuple[str, Guess | None]:
    """Choose whether the numbers of a minor song count from its ``tonic`` or from the ``relative`` major.

    They count from the tonic if a 1 is marked minor, if a 3, 6 or 7 is marked flat, or if the song begins and ends on
    a 1.
    """
    if not figures or not key.is_minor:
        return options.minor_from or "relative", None
    marked_minor = any(
        (figure.degree == 1 and figure.minor) or (figure.accidental in ("b", "♭") and figure.degree in (3, 6, 7))
        for figure in figures
    )
    framed_by_one = figures[0].degree == figures[-1].degree == 1 and not figures[0].accidental
    taken = options.minor_from or ("tonic" if marked_minor or framed_by_one else "relative")
    if taken == "tonic":
        return taken, Guess(message("chart.minor-tonic", key=key), option=("minor_from", "relative"))
    reading = message("chart.minor-relative", key=key, major=key.relative)
    return taken, Guess(reading, option=("minor_from", "tonic"))


def choose_bare(figures: Sequence[Figure], options: Options) -> tuple[str, Guess | None]:
    """Choose whether a bare 2, 3 or 6 is ``major`` or the key's ``own`` chord.

    It is major if the chart marks any of these degrees as minor.
    """
    plain = [figure for figure in figures if not figure.roman and not figure.accidental]
    numbers = [figure for figure in plain if figure.degree in (2, 3, 6)]
    strict = any(figure.minor for figure in numbers)
    taken = options.bare or ("major" if strict else "own")
    if not any(figure.bare for figure in numbers):
        return taken, None
    if taken == "major":
        return taken, Guess(message("chart.bare-major"), option=("bare", "own"))
    return taken, Guess(message("chart.bare-own"), option=("bare", "major"))


def choose_seven(figures: Sequence[Figure], options: Options) -> tuple[str, Guess | None]:
    """Choose whether a bare 7 is ``dim`` (vii°) or ``flat`` (♭VII)."""
    taken = options.seven or "dim"
    if not any(figure.bare and figure.degree == 7 and not figure.accidental for figure in figures):
        return taken, None
    if taken == "flat":
        return taken, Guess(message("chart.seven-flat"), option=("seven", "dim"))
    return taken, Guess(message("chart.seven-dim"), option=("seven", "flat"))


def choose_zero(symbols: Iterable[Symbol], shapes: Key, options: Options) -> str:
    """Choose whether B07 is ``half-dim`` or ``dim``.

    It is half-diminished if the key has a half-diminished chord on one of the roots that are so written, else
    diminished.
    """
    own = shapes.intervals[1 if shapes.is_minor else 6]
    roots = [symbol.what.root for symbol in symbols if symbol.zero and isinstance(symbol.what, Chord)]
    is_own = any((root.fifths - shapes.tonic.fifths - own.fifths) % 12 == 0 for root in roots)
    return options.zero or ("half-dim" if is_own or not roots else "dim")


def word_guess(word: Word, text: str, place: Place, options: Options, scale: Key) -> Guess | None:
    """The guess that was made in reading one word; ``scale`` is the key that figures count in."""
    if word.doubt == "over" and isinstance(word.symbols[0].what, Figure):
        word = replace(word, rewrite=leading_there(word.symbols[0].what, scale))
    said = _word_message(word, text, options)
    if said is None:
        return None
    choice = {
        "glued": ("glued", "chord" if options.glued == "extension" else "extension"),
        "zero": ("zero", "dim" if options.zero == "half-dim" else "half-dim"),
    }.get(word.doubt or "")
    return Guess(said, place, choice, word.rewrite)


def _word_message(word: Word, text: str, options: Options) -> Message | None:
    """Return the message about the guess that was made in reading one word, or None if there was no guess."""
    if word.doubt == "glued":
        return message("chart.glued-extension" if options.glued == "extension" else "chart.glued-chord", text=text)
    if word.doubt == "zero":
        return message("chart.zero-half-dim" if options.zero == "half-dim" else "chart.zero-dim", text=text)
    if word.doubt == "glued-names":
        return message("chart.glued-names", text=text, chords=" ".join(symbol.text for symbol in word.symbols))
    if word.doubt == "bass-quality":
        return message("chart.bass-quality", text=text, chord=word.symbols[0].what)
    if word.doubt == "alternative":
        return message("chart.alternative", text=text, chord=word.symbols[0].what, other=word.rewrite)
    if word.doubt == "small":
        return message("chart.small", text=text, other=word.rewrite)
    if word.doubt == "pair":
        return message("chart.pair", text=text, other=word.rewrite)
    if word.doubt == "minor-seven":
        return message("chart.minor-seven", text=text, other=word.rewrite)
    if word.doubt == "minor-six":
        return message("chart.minor-six", text=text, other=word.rewrite)
    if word.doubt == "target":
        return message("chart.target", text=text, other=word.rewrite)
    if word.doubt == "over":
        return message("chart.over", text=text, other=word.rewrite)
    return None
