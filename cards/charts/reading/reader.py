"""Reads the text of a song into a chart.

The steps: split the text into lines; read them into marks, as ChordPro or as a plain sheet; choose the letters of the
chord names; assemble the bars; find the key; turn the chords into numerals. The chart records the guesses on the way.
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
# Characters that no screen shows and no database needs: controls that end no line, and halves of surrogate pairs.
_CONTROLS = (*range(9), *range(14, 28), 127, *range(0xD800, 0xE000))
_SPACES = "\t\u00a0\u2007\u202f\u200b\ufeff"
_PLAIN = str.maketrans(dict.fromkeys((*_CONTROLS, *_SPACES), " ") | dict.fromkeys("−‐‑", "-"))
_FENCE = re.compile(r"\s*(?:```|~~~)")
_MARKDOWN_TITLE = re.compile(r"#\s+(.*)")


def read_chart(text: str, options: Options | None = None) -> Chart:
    """Read a number chart, Roman numerals, chord names or ChordPro. Any text gives a chart.

    Raises ChartError if the options have a metre that does not exist.

    >>> chart = read_chart("Key: G\\n1 4 5 6-")
    >>> [str(chart.sounding(*step)) for step in chart.changes]
    ['G', 'C', 'D', 'Em']
    """
    given = options or Options()
    title, lines = _strip_fences(list(enumerate(text.translate(_PLAIN).splitlines(), 1)))
    draft = ChordProReader().read(lines) if _is_chordpro(lines) else SheetReader(lines).read()
    draft.head.title = draft.head.title or title
    draft.head.capo = draft.head.capo if given.capo is None else given.capo
    if given.time is not None:
        draft.begin_in(given.time)
    return _Reading(text, draft, given).chart()


def _strip_fences(lines: Lines) -> tuple[str | None, Lines]:
    """Return (heading above the song or None, lines of the song).

    If the text has Markdown fences, the song is what stands between them. Otherwise it is the whole text.
    """
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
    """Return whether the lines are ChordPro: they have directives, or chords in brackets among words."""
    alone = 0
    for _, line in lines:
        if is_directive(line):
            return True
        inside = [bracket for bracket in brackets(line) if any(kinds(word) for word in bracket[1].split()[:4])]
        if not inside:
            continue
        around = re.sub(r"\[[^\[\]]*\]", " ", line)
        if len(inside) > 1 or (around.strip(" :|") and not judge(around) and not judge(around, NUMBERS)):
            return True
        alone += 1
    return alone > 2


@dataclass
class _Reading:
    """A song while it is read. ``options`` collects what the reader chooses, ``guesses`` what it may show."""

    text: str
    draft: Draft
    options: Options
    guesses: list[Guess] = field(default_factory=list)
    assumptions: list[Message] = field(default_factory=list)

    def chart(self) -> Chart:
        """Read the song into a chart."""
        words = [mark for mark in self.draft.marks if mark.kind == Kind.WORD]
        read = self._reader(words)
        assembler = Assembler(read)
        parts = assembler.assemble(self.draft.marks)
        if assembler.loose_bars and parts:
            self.assumptions.append(message("chart.bars"))
        figures = [symbol.what for symbol in guessing.symbols_of(parts) if isinstance(symbol.what, Figure)]
        key, shapes, keys = self._choose_key(parts, figures)
        self._choose_numbering(figures, key)
        zero = guessing.choose_zero(guessing.symbols_of(parts), shapes, self.options)
        self.options = replace(self.options, zero=zero)
        sections = self._read_sections(parts, key)
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
            unread=self._unread(words, read, Numbering(key, self.options).scale),
            guesses=tuple(self.guesses),
            assumptions=tuple(self.assumptions),
        )

    # Words

    def _reader(self, words: Sequence[Mark]) -> Callable[[str], Word | None]:
        """Return the function that reads the words of this song. Choose its letters and its slashes."""
        texts = [mark.text for mark in words]
        notation = self.draft.notation or more_of(texts)
        if notation == NUMBERS:
            self.options = self.options.merged(Options(glued=self.options.glued or "extension"))
            return partial(read_figures, glued=self.options.glued or "extension")
        names, guess = guessing.choose_letters(texts, self.text, self.options)
        self._guess(guess)
        slash = self.options.slash or self._choose_slash(texts)
        self.options = replace(self.options, names=names, slash=slash)
        return partial(read_name, names=names, slash=slash)

    def _choose_slash(self, texts: Sequence[str]) -> str:
        """Choose whether a slash means a ``bass`` or two chords with ``half`` a bar each.

        It means ``half`` only in a song written mostly in bars, if several chords have a quality behind the slash.
        """
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

    def _unread(self, words: Sequence[Mark], read: Callable[[str], Word | None], scale: Key) -> tuple[Unread, ...]:
        """What could not be read; the guesses of the words that could. ``scale`` is what figures count in."""
        unread = list(self.draft.head.unread)
        for mark in words:
            word = read(mark.text)
            if word is None:
                unread.append(Unread(mark.place, mark.text[:_LONGEST_UNREAD]))
            elif word.doubt:
                self._guess(guessing.word_guess(word, mark.text, mark.place, self.options, scale))
        return tuple(sorted(unread, key=lambda each: each.place))

    def _guess(self, guess: Guess | None) -> None:
        """Record a guess if there was one."""
        if guess is not None:
            self.guesses.append(guess)

    # Keys

    def _choose_key(self, parts: Sequence[PartDraft], figures: Sequence[Figure]) -> tuple[Key, Key, tuple[KeyFit, ...]]:
        """Return (sounding key, key of the shapes, the three likeliest keys)."""
        head = self.draft.head
        given = self.options.key or (read_key(head.key.text, self.options.names or "letters") if head.key else None)
        if figures:
            return self._choose_key_of_figures(figures, given)
        fits = find_keys(guessing.passages(parts))
        if given is None:
            shapes = fits[0].key if fits else Key.read("C")
            key = shapes.moved(head.capo) if head.capo else shapes
        else:
            key, shapes = self._place_given_key(given, fits)
        taken = next((fit.key for fit in fits if _sounds_like(fit.key, shapes)), shapes)
        best = best_three(fits, taken)
        moved = tuple(replace(fit, key=key if fit.key == taken else fit.key.moved(head.capo)) for fit in best)
        return key, shapes, moved

    def _place_given_key(self, given: Key, fits: Sequence[KeyFit]) -> tuple[Key, Key]:
        """Return (sounding key, key of the shapes) of a song whose key is given."""
        capo = self.draft.head.capo
        if not capo or self.options.key is not None:
            return given, given.moved(-capo) if capo else given
        choice, guess = guessing.choose_capo_key(given, capo, fits, self.options)
        self._guess(guess)
        self.options = replace(self.options, capo_key=choice)
        return (given.moved(capo), given) if choice == "shapes" else (given, given.moved(-capo))

    def _choose_key_of_figures(
        self, figures: Sequence[Figure], given: Key | None
    ) -> tuple[Key, Key, tuple[KeyFit, ...]]:
        key = given or guessing.choose_key(figures)
        if given is None:
            self.assumptions.append(message("chart.no-key", key=key))
        return key, key, ()

    def _choose_numbering(self, figures: Sequence[Figure], key: Key) -> None:
        """Choose where the figures of the song count from, and what bare ones mean."""
        if not figures:
            return
        minor_from, minor_guess = guessing.choose_minor_from(figures, key, self.options)
        bare, bare_guess = guessing.choose_bare(figures, self.options)
        seven, seven_guess = guessing.choose_seven(figures, self.options)
        for guess in (minor_guess, bare_guess, seven_guess):
            self._guess(guess)
        self.options = replace(self.options, minor_from=minor_from, bare=bare, seven=seven)

    # Sections

    def _read_sections(self, parts: Sequence[PartDraft], key: Key) -> tuple[Section, ...]:
        """Turn the sections into bars of numerals, each in its own key."""
        names = spelled_out([part.name for part in parts])
        sections, current = [], key
        for part, name in zip(parts, names, strict=True):
            if part.key is not None:
                changed = read_key(part.key.text, self.options.names or "letters")
                shapes = self.options.capo_key == "shapes"
                current = (changed.moved(self.draft.head.capo) if shapes else changed) if changed else current
            bars = tuple(self._read_bar(bar, current) for bar in part.bars)
            sections.append(Section(name, bars, current.moved(part.shift) if part.shift else current))
        return tuple(sections)

    def _read_bar(self, bar: Measure, key: Key) -> Bar:
        """Turn the chords of a bar into numerals of its sounding key."""
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
    """Return whether two keys sound the same, however they are spelled."""
    return one.tonic.pitch_class == other.tonic.pitch_class and one.mode == other.mode
