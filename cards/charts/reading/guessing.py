"""What a song leaves open and the reader decides: in whose letters, in which key, counted from where.

Each function takes what was chosen and returns the choice, with the guess to show if there was one.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from cards.charts.chart import Guess, KeyFit, Options, Place
from cards.charts.notation.names import is_german, is_italian, read_name
from cards.charts.notation.symbols import Figure, Symbol, Word
from cards.charts.reading.assembly import PartDraft
from cards.charts.reading.keyfinding import Passage, find_keys
from cards.messages import Message, message
from cards.theory.chords import Chord
from cards.theory.keys import Key
from cards.theory.pitch import Note

_CENTRAL = re.compile(r"[ěščřžýůďťňľĺŕäöüß]", re.IGNORECASE)
_B = Note(5)
_SHAPES_ODDS = 9.0  # With a capo, the key given is nearly always the sounding one.


def letters_of(words: Sequence[str], text: str, options: Options) -> tuple[str, Guess | None]:
    """In whose letters the names of a song are written."""
    if options.names:
        return options.names, None
    italian = sum(is_italian(word) for word in words)
    if italian > sum(read_name(word) is not None and not is_italian(word) for word in words):
        return "italian", Guess(message("chart.names-italian"), option=("names", "letters"))
    if any(is_german(word) for word in words):
        return "german", Guess(message("chart.names-german"), option=("names", "letters"))
    if _CENTRAL.search(text) and any(_has_b(word) for word in words):
        best = {names: max((fit.share for fit in _fits(words, names)), default=0.0) for names in ("letters", "german")}
        if best["german"] > best["letters"]:
            return "german", Guess(message("chart.names-german"), option=("names", "letters"))
        return "letters", Guess(message("chart.names-letters"), option=("names", "german"))
    return "letters", None


def _has_b(word: str) -> bool:
    """Whether a word has a B that in German letters is another note."""
    english, german = read_name(word), read_name(word, "german")
    return english is not None and german is not None and english.symbols != german.symbols


def _fits(words: Sequence[str], names: str) -> tuple[KeyFit, ...]:
    read = [read_name(word, names) for word in words]
    chords = [symbol.what for word in read if word for symbol in word.symbols]
    return find_keys([[(chord, 1.0) for chord in chords if isinstance(chord, Chord)]])


def symbols_of(parts: Iterable[PartDraft]) -> Iterator[Symbol]:
    """Every chord as written, in playing order."""
    return (piece.symbol for part in parts for bar in part.bars for piece in bar)


def passages(parts: Iterable[PartDraft]) -> list[Passage]:
    """The chords that are written by name, as the key finder takes them."""
    return [
        [(piece.symbol.what, piece.beats) for bar in part.bars for piece in bar if isinstance(piece.symbol.what, Chord)]
        for part in parts
    ]


def capo_key(given: Key, capo: int, fits: Sequence[KeyFit], options: Options) -> tuple[str, Guess]:
    """Whether a key given beside a capo is the sounding one or that of the shapes."""
    confidence = {(fit.key.tonic.pitch_class, fit.key.is_minor): fit.confidence for fit in reversed(fits)}

    def trust(key: Key) -> float:
        return confidence.get((key.tonic.pitch_class, key.is_minor), 0.0)

    shapes = trust(given) > _SHAPES_ODDS * trust(given.moved(-capo))
    taken = options.capo_key or ("shapes" if shapes else "sounding")
    if taken == "shapes":
        said = message("chart.capo-shapes", key=given, capo=capo, sounding=given.moved(capo))
        return taken, Guess(said, option=("capo_key", "sounding"))
    said = message("chart.capo-sounding", key=given, capo=capo, shapes=given.moved(-capo))
    return taken, Guess(said, option=("capo_key", "shapes"))


def unkeyed(figures: Sequence[Figure]) -> Key:
    """The key to show a number chart in that gives none: C, or Am where its one is minor, or a
    blues in C where one and four are dominant sevenths."""
    ones = [figure for figure in figures if figure.degree == 1 and not figure.accidental]
    if sum(figure.minor for figure in ones) * 2 > len(ones):
        return Key.read("Am")
    fours = [figure for figure in figures if figure.degree == 4 and not figure.accidental]
    dominant = [re.match(r"\w+:(?:7|9|13)", figure.text) is not None for figure in (*ones, *fours)]
    blues = ones and fours and sum(dominant) * 2 > len(dominant)
    return Key.read("C blues" if blues else "C")


def minor_from(figures: Sequence[Figure], key: Key, options: Options) -> tuple[str, Guess | None]:
    """Where the numbers of a minor song count from: the tonic if its one is marked minor, or its
    three, six or seven flat, or it begins and ends on a one; else the relative major."""
    if not figures or not key.is_minor:
        return options.minor_from or "relative", None
    marked = any(
        (figure.degree == 1 and figure.minor) or (figure.accidental in ("b", "♭") and figure.degree in (3, 6, 7))
        for figure in figures
    )
    framed = figures[0].degree == figures[-1].degree == 1 and not figures[0].accidental
    taken = options.minor_from or ("tonic" if marked or framed else "relative")
    if taken == "tonic":
        return taken, Guess(message("chart.minor-tonic", key=key), option=("minor_from", "relative"))
    said = message("chart.minor-relative", key=key, major=key.relative)
    return taken, Guess(said, option=("minor_from", "tonic"))


def bare(figures: Sequence[Figure], options: Options) -> tuple[str, Guess | None]:
    """What a bare 2, 3 or 6 is: major for a writer who marks minor on any of them."""
    plain = [figure for figure in figures if not figure.roman and not figure.accidental]
    numbers = [figure for figure in plain if figure.degree in (2, 3, 6)]
    strict = any(figure.minor for figure in numbers)
    taken = options.bare or ("major" if strict else "own")
    if not any(figure.bare for figure in numbers):
        return taken, None
    if taken == "major":
        return taken, Guess(message("chart.bare-major"), option=("bare", "own"))
    return taken, Guess(message("chart.bare-own"), option=("bare", "major"))


def seven(figures: Sequence[Figure], options: Options) -> tuple[str, Guess | None]:
    """What a bare 7 is."""
    taken = options.seven or "dim"
    if not any(figure.bare and figure.degree == 7 and not figure.accidental for figure in figures):
        return taken, None
    if taken == "flat":
        return taken, Guess(message("chart.seven-flat"), option=("seven", "dim"))
    return taken, Guess(message("chart.seven-dim"), option=("seven", "flat"))


def zero(symbols: Iterable[Symbol], shapes: Key, options: Options) -> str:
    """What B07 means: half-diminished where the key has such a chord, else diminished."""
    own = shapes.intervals[1 if shapes.is_minor else 6]
    roots = [each.what.root for each in symbols if each.zero and isinstance(each.what, Chord)]
    there = any((root.fifths - shapes.tonic.fifths - own.fifths) % 12 == 0 for root in roots)
    return options.zero or ("half-dim" if there or not roots else "dim")


def word_guess(word: Word, text: str, place: Place, options: Options) -> Guess | None:
    """The guess that was made in reading one word."""
    said = _word_message(word, text, options)
    if said is None:
        return None
    choice = {
        "glued": ("glued", "chord" if options.glued == "extension" else "extension"),
        "zero": ("zero", "dim" if options.zero == "half-dim" else "half-dim"),
    }.get(word.doubt or "")
    return Guess(said, place, choice, word.rewrite)


def _word_message(word: Word, text: str, options: Options) -> Message | None:
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
