"""What ``cards``, the plan and a session say, in English: the one place where messages become
sentences.

A second language is a second table. Every message key that ``cards`` can send stands here; a test
walks them.
"""

from __future__ import annotations

from cards.asks import Message
from cards.keys import Key

_DEGREES = ("one", "two", "three", "four", "five", "six", "seven")

_SENTENCES = {
    "ask.name": "Name the {number} of {key}.",
    "ask.place": "{Number} of {key}, box {box}: place it.",
    "ask.name-place": "{Number} of {key}, box {box}: name, place.",
    "ask.number": "Which number is this in {key}?",
    "ask.hands-on": "{Number} of {key}, box {box}: play it.",
    "answer.chord": "The {number} of {key} is {chord}: {notes}.",
    "answer.chord.hand": (
        "The {number} of {key} is {chord}: {notes}. For your hand: {sounding} strings, the {tone} in the bass."
    ),
    "shown": "Shown, so it counts as missed.",
    "right": "Right: {chord}.",
    "right.named": "Right: {chord}.",
    "right.richer": "Right, and you added the seventh: {chord}.",
    "right.inversion": "Right, with the {tone} in the bass.",
    "right.left_out": "Without the {tone}: a voicing may leave it out.",
    "right.added": "Right chord, and you added the {tone}: {chord}.",
    "right.outside": "It goes one fret outside the region (frets {low}–{high}), inside the reach.",
    "right.octave": "That is the same box an octave up.",
    "wrong.few": "Only {sounding} of at least {fewest} strings sound.",
    "wrong.foreign": "String {string} fret {fret} is {note}, not in this chord.",
    "wrong.foreign.open": "String {string} open is {note}, not in this chord.",
    "wrong.missing": "No {tone}: {chord} needs it.",
    "wrong.power": "No third: that is a power chord.",
    "wrong.added": "Right chord, and you added the seventh: that is {chord}. Settings can accept it.",
    "wrong.triad": "No seventh: that is {chord} alone.",
    "wrong.degree": "You put down {notes}: that is the {number}; the {wanted_number} is {wanted_notes}.",
    "wrong.reach": "Right chord, but outside the reach (frets {low}–{high}) on {on_strings}.",
    "wrong.elsewhere": "Right chord in another place: the region is frets {low}–{high}.",
    "wrong.open": "Right chord, open strings outside the region (frets {low}–{high}).",
    "wrong.stretch": "Right notes, but wider than your hand setting: {mm} mm.",
    "wrong.mutes": "Muted between sounding ones: {on_strings}; one at most can be.",
    "wrong.mute": "String {string} cannot be muted here: no finger beside it touches it.",
    "wrong.hand": "Right notes, but one hand cannot hold them: four fingers, and none may cross.",
    "wrong.bass": "The {tone} is in the bass: on string {string} the root goes lowest.",
    "wrong.no_name": "No chord name was given.",
    "wrong.no_frets": "Nothing was put down.",
    "wrong.no_number": "No number was given.",
    "wrong.no_word": "Whether it was right was not said.",
    "wrong.unread": "Not read: {reason}.",
    "wrong.spelling": "{chord} sounds the same, but in {key} its root is written {root}.",
    "wrong.quality": "The root is right, but {chord} is not {wanted}.",
    "wrong.number": "{chord} is the {number} of {key}.",
    "wrong.name": "{chord} is not a chord of {key}.",
    "wrong.other_number": "The {number} of {key} is {chord}: not this one.",
    "why-new": "New in {key}.",
    "why-missed": "Missed last time.",
    "why-late": "Right last time, but late.",
    "why-fading": "Last answered {ago}: it may be fading.",
    "why-warm": "Known well, to keep it so.",
    "why-skill": "Keeps {part} in play.",
    "why-again": "Missed a moment ago: once more.",
    "next-missed": "First the ones you missed: {names}.",
    "next-late": "Then the late ones, until they fit the bar: {names}.",
    "next-clean": "What was clean rests until it is about to fade.",
    "next-new": "New cards fill the rest of the time.",
}

KEYS = frozenset(_SENTENCES)
"""Every message key that has words."""


def number_word(degree: int) -> str:
    """How a player says a degree: ``four``."""
    return _DEGREES[degree - 1]


def say(message: Message) -> str:
    """The message as a sentence. Raises KeyError for a message that has no words."""
    values = dict(message.values)
    if "degree" in values:
        values["number"] = _number(values["degree"], values.get("seventh"))
        values["Number"] = values["number"].capitalize()
    if "days" in values:
        values["ago"] = _ago(int(values["days"]))
    if "skill" in values:
        values["part"] = _skill(values["skill"])
    if "wanted_degree" in values:
        values["wanted_number"] = _number(values["wanted_degree"], values.get("wanted_seventh"))
    if "strings" in values:
        values["on_strings"] = _strings(values["strings"].split())
    return _SENTENCES[message.key].format(**values)


_ASK_WORDS = {
    "name": "naming",
    "place": "placing",
    "name-place": "naming and placing",
    "number": "finding the number",
    "hands-on": "playing",
}


def _skill(name: str) -> str:
    """A skill, or a pair of skills, in words: ``the four in A♭``, ``the C shape of major chords``."""
    words = [_one_skill(*one.split(":", 1)) for one in name.split()]
    if len(words) == 1:
        return words[0]
    first, second = words if name.startswith("degree") else words[::-1]
    return f"{first} {'of' if name.startswith('quality') else 'in'} {second}"


def _one_skill(kind: str, value: str) -> str:
    match kind:
        case "key":
            return str(Key.from_slug(value))
        case "degree":
            return f"the {number_word(int(value))}"
        case "quality":
            return f"{value.replace('b5', '♭5')} chords"
        case "shape":
            return f"the {value} shape"
        case "ask":
            return _ASK_WORDS[value]
        case _:
            return f"{kind} {value}"


def _number(degree: str, seventh: str | None) -> str:
    return number_word(int(degree)) + (" seventh" if seventh == "True" else "")


def _strings(numbers: list[str]) -> str:
    """``string 6``, ``strings 6 and 5``, ``strings 6, 5 and 4``."""
    *others, last = numbers
    return f"strings {', '.join(others)} and {last}" if others else f"string {last}"


def _ago(days: int) -> str:
    if days == 0:
        return "today"
    return "yesterday" if days == 1 else f"{days} days ago"
