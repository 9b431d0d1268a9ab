"""Make the catalogues from the sentences in the source: ``python -m tests.catalogue``.

It draws every sentence from ``cards``, ``drill``, the templates and the scripts of pages, writes the template of
catalogues (``drill.pot``), takes new sentences into the catalogue of each language, makes the pseudo-language anew, and
compiles all of them: for the service as GNU gettext, for pages as JSON that holds only their scripts' sentences. A test
does the same into a folder of its own and compares.

No place of a sentence is written down, so that a catalogue changes only when a sentence does.
"""

from __future__ import annotations

import inspect
import io
import json
import math
import re
import string
from collections.abc import Iterable, Iterator
from contextlib import redirect_stderr
from gettext import c2py
from importlib import import_module
from pathlib import Path
from pkgutil import walk_packages
from typing import Any

from babel import Locale
from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

import cards
import drill
from cards.messages import RefusalError
from drill.words.language import CATALOGUES, DOMAIN, ENGLISH, LANGUAGES, PSEUDO
from drill.words.sentences import NAMES, SENTENCES, Plural

ROOT = Path(__file__).parents[1]
SCRIPTS = ROOT / "static" / "words"
Sentence = str | tuple[str, ...]

WORDS = {
    "_": None,
    "gettext": None,
    "ngettext": (1, 2),
    "mark": None,
    "refusal": None,
    "phrase": None,
    "_require": (3,),
}
"""The functions that take a sentence, and where it stands among their arguments if not first."""

LONGER = 0.4
"""How much longer a sentence of the pseudo-language is than the English one: what German takes of a sentence, and of
short labels more."""

_ACCENTS = str.maketrans("ACEGIKLNORSTUYZaceghijklnorstuyz", "ÅÇÉĜÎĶĻÑÖŔŠŢÛÝŽåçéĝĥîĵķļñöŕšţûýž")
_UNTOUCHED = re.compile(r"\{[^{}]*\}|<[^>]*>|&\w+;")
_FILLING = "one two three four five six seven eight nine ten eleven twelve"


class _Catalog(Catalog):
    """A catalogue whose head names no date and no version of a tool, so that it is the same whenever it is made."""

    language: str = ""

    @property
    def mime_headers(self) -> list[tuple[str, str]]:
        of_language = [("Language", self.language), ("Plural-Forms", self.plural_forms)] if self.language else []
        return [
            ("Project-Id-Version", "Anchor Drill"),
            *of_language,
            ("MIME-Version", "1.0"),
            ("Content-Type", "text/plain; charset=utf-8"),
            ("Content-Transfer-Encoding", "8bit"),
        ]


def sentences_of_python() -> Iterator[Sentence]:
    """The sentences of the service: those in its source, those of messages, and the names that pages show."""
    for package in (cards, drill):
        for module in walk_packages(package.__path__, f"{package.__name__}."):
            if "migrations" not in module.name:
                import_module(module.name)
        for file in sorted(Path(package.__path__[0]).rglob("*.py")):
            yield from _drawn("python", file, {**WORDS, **_errors()})
    for sentence in SENTENCES.values():
        yield (sentence.one, sentence.more) if isinstance(sentence, Plural) else sentence
    yield from sorted(NAMES)


def sentences_of_templates() -> Iterator[Sentence]:
    """The sentences of pages."""
    for file in sorted((ROOT / "templates").glob("*.html")):
        yield from _drawn("jinja2.ext:babel_extract", file, WORDS)


def sentences_of_scripts() -> Iterator[Sentence]:
    """The sentences of the scripts of pages."""
    for file in sorted((ROOT / "static" / "js").rglob("*.js")):
        yield from _drawn("javascript", file, WORDS)


def _errors() -> dict[str, tuple[int, ...]]:
    """Every error that carries a sentence, and where the sentence stands among its arguments."""

    def below(kind: type) -> Iterator[type]:
        for each in kind.__subclasses__():
            yield each
            yield from below(each)

    places = {}
    for kind in below(RefusalError):
        parameters = list(inspect.signature(kind).parameters)
        if "sentence" in parameters:
            places[kind.__name__] = (parameters.index("sentence") + 1,)
    return places


def _drawn(method: str, file: Path, words: dict[str, Any]) -> Iterator[Sentence]:
    source = io.BytesIO(file.read_bytes())
    # It warns of every f-string among the arguments, also where no sentence stands; a test looks at those that do.
    with redirect_stderr(io.StringIO()):
        found = list(extract(method, source, words, options={"encoding": "utf-8", "silent": "false"}))
    for _line, sentence, _comments, _context in found:
        yield sentence


def template(sentences: Iterable[Sentence]) -> Catalog:
    """The template of catalogues: every sentence once, in the order of the alphabet."""
    catalog = _Catalog(charset="utf-8", fuzzy=False, header_comment="# The sentences of Anchor Drill.")
    for sentence in sorted(set(sentences), key=lambda each: (each,) if isinstance(each, str) else each):
        catalog.add(sentence)
    return catalog


def pseudo(sentence: str) -> str:
    """A sentence of the pseudo-language; names in braces and markup stay as they are.

    >>> pseudo("Name {chord}.")
    '⟦Ñåmé {chord}. öñé ţw⟧'
    """
    pieces = zip(_UNTOUCHED.split(sentence), [*_UNTOUCHED.findall(sentence), ""], strict=True)
    text = "".join(piece.translate(_ACCENTS) + untouched for piece, untouched in pieces)
    more = math.ceil(LONGER * len(sentence))
    filling = " ".join([_FILLING] * (more // len(_FILLING) + 1))[:more].translate(_ACCENTS)
    return f"⟦{text} {filling.strip()}⟧"


def catalogue_of(language: str, made: Catalog, before: Path) -> Catalog:
    """The catalogue of a language: made from the template for the pseudo-language, else as far as it is translated."""
    locale = "en" if language == PSEUDO else language.replace("-", "_")
    catalog = _Catalog(
        locale=locale, charset="utf-8", fuzzy=False, header_comment=f"# Anchor Drill, {LANGUAGES[language]}."
    )
    catalog.language = language
    if before.exists() and language != PSEUDO:
        with before.open("rb") as file:
            for message in read_po(file, locale=locale):
                if message.id:
                    catalog.add(message.id, message.string)
        catalog.update(made)
        return catalog
    for message in made:
        if message.id:
            plural = isinstance(message.id, tuple)
            catalog.add(message.id, tuple(map(pseudo, message.id)) if plural else pseudo(str(message.id)))
    return catalog


def of_scripts(language: str, catalog: Catalog, sentences: set[Sentence]) -> str:
    """The sentences of the scripts as JSON: a text, or a text for each kind of number that the language tells apart."""
    locale = Locale.parse("en" if language == PSEUDO else language, sep="-")
    form = c2py(catalog.plural_expr)
    kinds = {locale.plural_form(number): form(number) for number in range(1000)}
    told: dict[str, object] = {}
    for message in catalog:
        if not message.id or message.id not in sentences or not message.string:
            continue
        if isinstance(message.id, tuple):
            told[message.id[0]] = {kind: message.string[place] for kind, place in sorted(kinds.items())}
        else:
            told[message.id] = message.string
    return json.dumps(told, ensure_ascii=False, indent=1, sort_keys=True) + "\n"


def make(catalogues: Path, scripts: Path) -> None:
    """Make all catalogues into two folders: the service's, which are read first, and the pages'."""
    of_pages = set(sentences_of_scripts())
    made = template([*sentences_of_python(), *sentences_of_templates(), *of_pages])
    _write(catalogues / f"{DOMAIN}.pot", made)
    for language in LANGUAGES:
        if language == ENGLISH:
            continue
        folder = catalogues / language / "LC_MESSAGES"
        catalog = catalogue_of(language, made, folder / f"{DOMAIN}.po")
        _write(folder / f"{DOMAIN}.po", catalog)
        with (folder / f"{DOMAIN}.mo").open("wb") as file:
            write_mo(file, catalog)
        scripts.mkdir(parents=True, exist_ok=True)
        (scripts / f"{language}.json").write_text(of_scripts(language, catalog, of_pages), encoding="utf-8")


def _write(path: Path, catalog: Catalog) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("wb") as file:
        write_po(file, catalog, no_location=True, width=120)


def names_in(sentence: str) -> set[str]:
    """The names in braces of a sentence."""
    return {name for _, name, _, _ in string.Formatter().parse(sentence) if name}


if __name__ == "__main__":
    make(CATALOGUES, SCRIPTS)
