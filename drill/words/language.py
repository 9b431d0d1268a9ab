"""The current language and its catalogue.

Conventions. The sentences in the source are English, and they are the keys of the catalogues, so English has no
catalogue. A catalogue is a GNU gettext file under ``catalogues/<language>/LC_MESSAGES``. The standard library reads
it in the same way in a request, in the terminal and in a job. The language is set where a request, a command or a job
begins (:func:`speak`, :func:`speaking`), for its thread or task. Languages are named as in browsers (``en``,
``pt-BR``).

``en-XA`` is not a real language: ``tests/catalogue.py`` makes it from English. It shows which sentences do not come
from the catalogue, and where longer sentences break a page. No player is offered it.
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
"""The name of every language, in the language itself."""

CATALOGUES: Final = Path(__file__).parent / "catalogues"
DOMAIN: Final = "drill"

_spoken: ContextVar[str] = ContextVar("spoken", default=ENGLISH)


def spoken() -> str:
    """Return the current language."""
    return _spoken.get()


def speak(language: str) -> None:
    """Set the current language. Raises KeyError if there is no such language."""
    sentences = catalogue(language)
    # Drawings are cached by their look-up function, so English must always have the same one.
    look_up(str if language == ENGLISH else sentences.gettext)
    _spoken.set(language)


@contextmanager
def speaking(language: str) -> Iterator[None]:
    """Set the current language until the block ends. Raises KeyError if there is no such language."""
    before = spoken()
    speak(language)
    try:
        yield
    finally:
        speak(before)


def gettext(sentence: str) -> str:
    """Return an English sentence in the current language; the names in braces stay."""
    return catalogue(spoken()).gettext(sentence)


def ngettext(one: str, more: str, count: int) -> str:
    """Return the sentence for ``count`` things, by the plural rule of the current language.

    >>> ngettext("{count} answer", "{count} answers", 2)
    '{count} answers'
    """
    return catalogue(spoken()).ngettext(one, more, count)


def mark(sentence: str) -> str:
    """Return the sentence itself: marks a sentence for the catalogue where it is translated later."""
    return sentence


@cache
def catalogue(language: str) -> gnu.NullTranslations:
    """Return the catalogue of a language. Raises KeyError if there is no such language."""
    if language not in LANGUAGES:
        raise KeyError(language)
    if language == ENGLISH:
        return gnu.NullTranslations()
    return gnu.translation(DOMAIN, str(CATALOGUES), [language])
