"""Words for templates: ``_``, ``ngettext`` and the formats, on every page and in a sheet that a command writes.

A sentence may contain markup, because it comes from the source or from a catalogue. The values that fill it are
escaped.
"""

from __future__ import annotations

from jinja2 import Environment
from markupsafe import Markup

from drill.words import language
from drill.words.formats import say_list, say_number, say_weekday
from drill.words.saying import say_ask, say_name


def give_words_to(environment: Environment) -> None:
    """Give the templates of an environment the functions that say things.

    >>> environment = Environment(autoescape=True)
    >>> give_words_to(environment)
    >>> environment.from_string("{{ _('<b>{name}</b> is here', name='R & B') }}").render()
    '<b>R &amp; B</b> is here'
    """
    environment.globals.update(
        _=_sentence,
        ngettext=_counted,
        say_ask=say_ask,
        say_list=say_list,
        say_name=say_name,
        say_number=say_number,
        say_weekday=say_weekday,
        spoken=language.spoken,
    )


def _sentence(sentence: str, **values: object) -> Markup:
    return Markup(language.gettext(sentence)).format(**values)


def _counted(one: str, more: str, count: int, **values: object) -> Markup:
    return Markup(language.ngettext(one, more, count)).format(count=count, **values)
