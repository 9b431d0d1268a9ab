"""The sentences of the program, in the language of the reader: the one place where messages become sentences.

``language`` has the catalogues and the current language, ``sentences`` the English sentence of every message.
``saying`` fills sentences, ``formats`` writes lists, numbers and dates, and ``pages`` gives all this to the
templates.
"""

from drill.words.formats import say_choice, say_day, say_list, say_number, say_percent, say_weekday, say_when
from drill.words.language import gettext, mark, ngettext, speak, speaking, spoken
from drill.words.saying import (
    ASK_WORDS,
    CALLS,
    NO_CHORD,
    called_words,
    capital,
    label,
    number_word,
    say,
    say_ask,
    say_call,
    say_called,
    say_error,
    say_name,
    say_place,
    say_position,
    say_refusal,
    say_skill,
    say_skills,
    say_small,
)

__all__ = [
    "ASK_WORDS",
    "CALLS",
    "NO_CHORD",
    "called_words",
    "capital",
    "gettext",
    "label",
    "mark",
    "ngettext",
    "number_word",
    "say",
    "say_ask",
    "say_call",
    "say_called",
    "say_choice",
    "say_day",
    "say_error",
    "say_list",
    "say_name",
    "say_number",
    "say_percent",
    "say_place",
    "say_position",
    "say_refusal",
    "say_skill",
    "say_skills",
    "say_small",
    "say_weekday",
    "say_when",
    "speak",
    "speaking",
    "spoken",
]
