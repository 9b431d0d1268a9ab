"""A song's text to a chart.

The order: lines; marks, by the reader of ChordPro or of plain sheets; in whose letters the words
are; bars; the key; numerals. What is decided on the way stands in the chart as guesses.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from cards.charts.chart import Bar, Change, Chart, Guess, KeyFit, Options, Section, Unread
from cards.charts.notation.above_words import NUMBERS, SheetReader, judge, kinds, more_of
from cards.charts.notation.chordpro import ChordProReader, brackets, is_directive
from cards.charts.notation.drafts import Draft
from cards.charts.notation.heads import read_key
from cards.charts.notation.marks import Kind, Mark
from cards.charts.notation.names import read_name
from cards.charts.notation.numbers import read_figures
from cards.charts.notation.sections import spelled_out
from cards.charts.notation.symbols import Figure, Word
from cards.charts.reading import guessing
from cards.charts.reading.assembly import Assembler, Measure, PartDraft
from cards.charts.reading.degrees import Numbering, to_numeral
from cards.charts.reading.keyfinding import best_three, find_keys
from cards.messages import Message, message
from cards.theory.keys import Key
from cards.theory.numerals import Numeral

Lines = list[tuple[int, str]]
_LONGEST_UNREAD = 40
# What no screen shows and no database need keep: controls that end no line, halves of a character.
_CONTROLS = (*range(9), *range(14, 28), 127, *range(0xD800, 0xE000))
_SPACES = "\t\u00a0\u2007\u202f\u200b\ufeff"
_PLAIN = str.maketrans(dict.fromkeys((*_CONTROLS, *_SPACES), " ") | dict.fromkeys("−‐‑", "-"))
_FENCE = re.compile(r"\s*(?:```|~~~)")
_MARKDOWN_TITLE = re.compile(r"#\s+(.*)")


def read_chart(text: str, options: Options | None = None) -> Chart:
    """Read a number chart, Roman numerals, chord names or ChordPro; never fails on text.

    Raises ChartError for options in a metre that there is not.

    >>> chart = read_chart("Key: G\\n1 4 5 6-")
    >>> [str(chart.sounding(*step)) for step in chart.changes]
    ['G', 'C', 'D', 'Em']
    """
    given = options or Options()
    title, lines = _unfenced(list(enumerate(text.translate(_PLAIN).splitlines(), 1)))
    draft = ChordProReader().read(lines) if _is_chordpro(lines) else SheetReader(lines).read()
    draft.head.title = draft.head.title or title
    draft.head.capo = draft.head.capo if given.capo is None else given.capo
    if given.time is not None:
        draft.begin_in(given.time)
    return _Reading(text, draft, given).chart()


def _unfenced(lines: Lines) -> tuple[str | None, Lines]:
    """The song inside Markdown fences, if there are any, and the heading above it."""
    if not any(_FENCE.match(line) for _, line in lines):
        return None, lines
    inside, kept, title = False, [], None
    for number, line in lines:
        heading = _MARKDOWN_TITLE.match(line)
        if _FENCE.match(line):
            inside = not inside
        elif inside:
            kept.append((number, line))
        elif heading and title is None:
            title = heading[1].strip() or None
    return title, kept


def _is_chordpro(lines: Lines) -> bool:
    """Whether chords stand in brackets among words, or there are directives."""
    alone = 0
    for _, line in lines:
        if is_directive(line):
            return True
        inside = [each for each in brackets(line) if any(kinds(word) for word in each[1].split()[:4])]
        if not inside:
            continue
        around = re.sub(r"\[[^\[\]]*\]", " ", line)
        if len(inside) > 1 or (around.strip(" :|") and not judge(around) and not judge(around, NUMBERS)):
            return True
        alone += 1
    return alone > 2


@dataclass
class _Reading:
    """One song being read."""

    text: str
    draft: Draft
    options: Options
    guesses: list[Guess] = field(default_factory=list)
    assumptions: list[Message] = field(default_factory=list)

    def chart(self) -> Chart:
        """The song as a chart."""
        words = [mark for mark in self.draft.marks if mark.kind == Kind.WORD]
        read = self._reader(words)
        assembler = Assembler(read)
        parts = assembler.assemble(self.draft.marks)
        if assembler.loose_bars and parts:
            self.assumptions.append(message("chart.bars"))
        figures = [each.what for each in guessing.symbols_of(parts) if isinstance(each.what, Figure)]
        key, shapes, keys = self._key(parts, figures)
        self._count(figures, key)
        self.options = replace(self.options, zero=guessing.zero(guessing.symbols_of(parts), shapes, self.options))
        sections = self._sections(parts, key)
        head = self.draft.head
        if parts and parts[0].shift:
            key = key.moved(parts[0].shift)
            keys = tuple(replace(fit, key=fit.key.moved(parts[0].shift)) for fit in keys)
        if head.key and head.other_keys:
            self.assumptions.append(message("chart.other-key", key=key, other=head.other_keys[0]))
        return Chart(
            title=head.title or head.heading,
            title_given=head.title is not None,
            key=key,
            key_given=self.options.key is not None or head.key is not None,
            keys=keys,
            capo=head.capo,
            tempo=head.tempo,
            time=head.time,
            feel=head.feel,
            sections=sections,
            tokens=len(words) + len(head.unread),
            options=self.options,
            unread=self._unread(words, read),
            guesses=tuple(self.guesses),
            assumptions=tuple(self.assumptions),
        )

    # Words

    def _reader(self, words: Sequence[Mark]) -> Callable[[str], Word | None]:
        """How the words of this song are read."""
        texts = [mark.text for mark in words]
        notation = self.draft.notation or more_of(texts)
        if notation == NUMBERS:
            self.options = self.options.merged(Options(glued=self.options.glued or "extension"))
            return partial(read_figures, glued=self.options.glued or "extension")
        names, guess = guessing.letters_of(texts, self.text, self.options)
        self._guess(guess)
        slash = self.options.slash or self._slash(texts)
        self.options = replace(self.options, names=names, slash=slash)
        return partial(read_name, names=names, slash=slash)

    def _slash(self, texts: Sequence[str]) -> str:
        """What a slash means in a song of bars without words: half a bar each if some have a quality
        behind it."""
        slashed = {text for text in texts if re.match(r"[A-H][^/]*/[A-H]", text)}
        lines = {mark.place.line for mark in self.draft.marks if mark.kind == Kind.WORD}
        barred = {mark.place.line for mark in self.draft.marks if mark.kind == Kind.BAR}
        if not slashed or 2 * len(lines & barred) <= len(lines):
            return "bass"
        half = sum(re.search(r"/[A-H][#b♯♭]?(?:m|7|maj)", text) is not None for text in slashed) > 1
        if half:
            self._guess(Guess(message("chart.slash-half"), option=("slash", "bass")))
        else:
            self._guess(Guess(message("chart.slash-bass"), option=("slash", "half")))
        return "half" if half else "bass"

    def _unread(self, words: Sequence[Mark], read: Callable[[str], Word | None]) -> tuple[Unread, ...]:
        """What could not be read; the guesses of the words that could."""
        unread = list(self.draft.head.unread)
        for mark in words:
            word = read(mark.text)
            if word is None:
                unread.append(Unread(mark.place, mark.text[:_LONGEST_UNREAD]))
            elif word.doubt:
                self._guess(guessing.word_guess(word, mark.text, mark.place, self.options))
        return tuple(sorted(unread, key=lambda each: each.place))

    def _guess(self, guess: Guess | None) -> None:
        if guess is not None:
            self.guesses.append(guess)

    # Keys

    def _key(self, parts: Sequence[PartDraft], figures: Sequence[Figure]) -> tuple[Key, Key, tuple[KeyFit, ...]]:
        """(sounding key, key of the shapes, best three)."""
        head = self.draft.head
        given = self.options.key or (read_key(head.key.text, self.options.names or "letters") if head.key else None)
        if figures:
            return self._key_of_figures(figures, given)
        fits = find_keys(guessing.passages(parts))
        if given is None:
            shapes = fits[0].key if fits else Key.read("C")
            key = shapes.moved(head.capo) if head.capo else shapes
        else:
            key, shapes = self._capoed(given, fits)
        taken = next((fit.key for fit in fits if _sounds_like(fit.key, shapes)), shapes)
        best = best_three(fits, taken)
        moved = tuple(replace(fit, key=key if fit.key == taken else fit.key.moved(head.capo)) for fit in best)
        return key, shapes, moved

    def _capoed(self, given: Key, fits: Sequence[KeyFit]) -> tuple[Key, Key]:
        """(sounding key, key of the shapes) of a song whose key is given."""
        capo = self.draft.head.capo
        if not capo or self.options.key is not None:
            return given, given.moved(-capo) if capo else given
        choice, guess = guessing.capo_key(given, capo, fits, self.options)
        self._guess(guess)
        self.options = replace(self.options, capo_key=choice)
        return (given.moved(capo), given) if choice == "shapes" else (given, given.moved(-capo))

    def _key_of_figures(self, figures: Sequence[Figure], given: Key | None) -> tuple[Key, Key, tuple[KeyFit, ...]]:
        key = given or guessing.unkeyed(figures)
        if given is None:
            self.assumptions.append(message("chart.no-key", key=key))
        return key, key, ()

    def _count(self, figures: Sequence[Figure], key: Key) -> None:
        """Decide what the figures of the song count from and mean."""
        if not figures:
            return
        minor, first = guessing.minor_from(figures, key, self.options)
        plain, second = guessing.bare(figures, self.options)
        seventh, third = guessing.seven(figures, self.options)
        for guess in (first, second, third):
            self._guess(guess)
        self.options = replace(self.options, minor_from=minor, bare=plain, seven=seventh)

    # Sections

    def _sections(self, parts: Sequence[PartDraft], key: Key) -> tuple[Section, ...]:
        """Bars of numerals, each section in its own key."""
        names = spelled_out([part.name for part in parts])
        sections, now = [], key
        for part, name in zip(parts, names, strict=True):
            if part.key is not None:
                changed = read_key(part.key.text, self.options.names or "letters")
                shapes = self.options.capo_key == "shapes"
                now = (changed.moved(self.draft.head.capo) if shapes else changed) if changed else now
            bars = tuple(self._bar(bar, now) for bar in part.bars)
            sections.append(Section(name, bars, now.moved(part.shift) if part.shift else now))
        return tuple(sections)

    def _bar(self, bar: Measure, key: Key) -> Bar:
        shapes = key.moved(-self.draft.head.capo) if self.draft.head.capo else key
        numbering = Numbering(key, self.options)
        changes = []
        for piece in bar:
            symbol = piece.symbol
            numeral: Numeral | None = to_numeral(symbol, shapes, numbering)
            changes.append(
                Change(numeral, piece.beats, symbol.text, piece.place, symbol.pushed, symbol.held, symbol.optional)
            )
        return tuple(changes)


def _sounds_like(one: Key, other: Key) -> bool:
    return one.tonic.pitch_class == other.tonic.pitch_class and one.mode == other.mode
