"""The language that is spoken, and its catalogue.

Conventions. Sentences in the source are English and are the keys of the catalogues, so English needs none. A
catalogue is a file of GNU gettext under ``catalogues/<language>/LC_MESSAGES``, read by the standard library: the same
in a request, in the terminal and in a job. Which language is spoken is set where a request, a command or a job
begins (:func:`speak`, :func:`speaking`), for the thread or task that does it. Languages are named as browsers
name them (``en``, ``pt-BR``).

``en-XA`` is no language: a script (``tests/catalogue.py``) makes it from English, to show which sentences do not come
from the catalogue and where longer ones break a page. No player is offered it.
"""

from __future__ import annotations

import gettext as gnu
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from pathlib import Path
from typing import Final

from cards.messages import look_up

ENGLISH: Final = "en"
PSEUDO: Final = "en-XA"
LANGUAGES: Final = {ENGLISH: "English", PSEUDO: "⟦Éñĝļîšĥ⟧"}
"""Every language that there is, by its own name."""

CATALOGUES: Final = Path(__file__).parent / "catalogues"
DOMAIN: Final = "drill"

_spoken: ContextVar[str] = ContextVar("spoken", default=ENGLISH)


def spoken() -> str:
    """The language that is spoken here."""
    return _spoken.get()


def speak(language: str) -> None:
    """Speak a language from here on. Raises KeyError if there is no such language."""
    sentences = catalogue(language)
    # Drawings are kept by how they are looked up: English ones are the same whether English was asked for or not.
    look_up(str if language == ENGLISH else sentences.gettext)
    _spoken.set(language)


@contextmanager
def speaking(language: str) -> Iterator[None]:
    """Speak a language until the block ends. Raises KeyError if there is no such language."""
    before = spoken()
    speak(language)
    try:
        yield
    finally:
        speak(before)


def gettext(sentence: str) -> str:
    """An English sentence in the language that is spoken, with the names in it left as they are."""
    return catalogue(spoken()).gettext(sentence)


def ngettext(one: str, more: str, count: int) -> str:
    """The sentence for ``count`` things, by the language's rule for plurals.

    >>> ngettext("{count} answer", "{count} answers", 2)
    '{count} answers'
    """
    return catalogue(spoken()).ngettext(one, more, count)


def mark(sentence: str) -> str:
    """The sentence itself: marks it for the catalogue where it is said only later."""
    return sentence


@cache
def catalogue(language: str) -> gnu.NullTranslations:
    """The catalogue of a language. Raises KeyError if there is no such language."""
    if language not in LANGUAGES:
        raise KeyError(language)
    if language == ENGLISH:
        return gnu.NullTranslations()
    return gnu.translation(DOMAIN, str(CATALOGUES), [language])
