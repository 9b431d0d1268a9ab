"""What the program says, in the language of whoever reads it: the one place where messages become words.

``language`` holds the catalogues and which language is spoken, ``sentences`` the sentence of every message, ``saying``
fills them, ``formats`` writes lists, numbers and dates, ``pages`` gives all this to templates.
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
