"""What ``cards``, the plan and a session say, in English: the one place where messages become
sentences.

A second language is a second table. Every message key that ``cards`` can send stands here; a test
walks them.
"""

from __future__ import annotations

from collections.abc import Sequence

from cards.asks import Message
from cards.keys import Key, Mode
from cards.numerals import Numeral

_DIGITS = tuple("1234567")
_DEGREES = ("one", "two", "three", "four", "five", "six", "seven")

_SENTENCES = {
    "ask.name": "Name {the_called} of {key}.",
    "ask.place": "{key}, box {box}: place {the_called}.",
    "ask.name-place": "{key}, box {box}, {called_words}: name, place.",
    "ask.number": "Which number is this in {key}?",
    "ask.hands-on": "{key}, box {box}: play {the_called}.",
    "ask.shape": "Which shape is this?",
    "ask.tone": "Tap every {tone} of this {chord}.",
    "ask.spell": "Spell {chord}, root first.",
    "ask.whose-key": "Box {box} starts at fret {fret}: whose key?",
    "ask.whose-key.back": "Box {box} of {key} starts at which fret?",
    "ask.box-notes.scale": "Tap the scale of {key}, box {box}.",
    "ask.box-notes.chord": "Tap {the_called} of {key}, box {box}.",
    "ask.change": "{key}, box {box}: play the change.",
    "ask.bend": "{chord} to {goal}: which tone moves?",
    "ask.left-out": "Part of {chord}: what is missing?",
    "ask.run": "{key}, box {box}: play the run.",
    "ask.guide-tones": "{key}, box {box}: thirds and sevenths.",
    "ask.borrowed": "{key}, box {box}: place {the_called}.",
    "answer.chord": "{The_called} of {key} is {chord}: {notes}.",
    "answer.chord.hand": (
        "{The_called} of {key} is {chord}: {notes}. For your hand: {sounding} strings, the {tone} in the bass."
    ),
    "answer.shape": "{chord} in the {shapes} shape.",
    "answer.tone": "The {tone} of {chord} is {note}, here on {on_strings}.",
    "answer.spell": "{chord} is {notes}.",
    "answer.whose-key": "Box {box} at fret {fret}: {key} major and {minor}, frets {low}–{high}.",
    "answer.box": "Box {box} of {key} covers frets {low}–{high}.",
    "answer.bend": "From {chord} to {goal} the {tone} goes {move_words}: {notes}.",
    "answer.left-out": "{chord} without its {tone} is {names}.",
    "answer.run": "In {key}: {chords}.",
    "answer.guide-tones": "Third and seventh: {tones}.",
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
    "wrong.foreign": "{Notes}: not in this chord.",
    "wrong.missing": "No {tone}: {chord} needs it.",
    "wrong.power": "No third: that is a power chord.",
    "wrong.added": "Right chord, and you added the seventh: that is {chord}. Settings can accept it.",
    "wrong.without": "Something is missing: that is {chord}, not {wanted}.",
    "wrong.degree": "You put down {notes}: that is {the_called}; {the_wanted} is {wanted_notes}.",
    "wrong.reach": "Right chord, but outside the reach (frets {low}–{high}) on {on_strings}.",
    "wrong.elsewhere": "Right chord in another place: the region is frets {low}–{high}.",
    "wrong.open": "Right chord, open strings outside the region (frets {low}–{high}).",
    "wrong.stretch": "Right notes, but wider than your hand setting: {mm} mm.",
    "wrong.mutes": "Muted between sounding ones: {on_strings}; one at most can be.",
    "wrong.mute": "String {string} cannot be muted here: no finger beside it touches it.",
    "wrong.hand": "Right notes, but one hand cannot hold them: four fingers, and none may cross.",
    "wrong.bass": "The {tone} is in the bass: on string {string} the root goes lowest.",
    "wrong.slash": "{chord} has {bass} in the bass.",
    "wrong.no_name": "No chord name was given.",
    "wrong.no_frets": "Nothing was put down.",
    "wrong.no_number": "No number was given.",
    "wrong.no_word": "Whether it was right was not said.",
    "wrong.no_choice": "Nothing was chosen.",
    "wrong.no_spots": "Nothing was tapped.",
    "wrong.no_notes": "No notes were given.",
    "wrong.half": "Both are asked: the missing tone, and the name of what is left.",
    "wrong.unread": "Not read: {reason}.",
    "wrong.spelling": "{chord} sounds the same, but in {key} its root is written {root}.",
    "wrong.spelled": "These sound the same, but are written otherwise.",
    "wrong.quality": "The root is right, but {chord} is not {wanted}.",
    "wrong.number": "{chord} is {the_called} of {key}.",
    "wrong.name": "{chord} is not a chord of {key}.",
    "wrong.other_number": "{The_called} of {key} is {chord}: not this one.",
    "wrong.tone": "Not the {tone}: {on_strings}.",
    "wrong.more_tones": "{count} more to tap: every {tone} counts.",
    "wrong.bend": "That move does not make {goal}.",
    "wrong.spots": "{count} too many.",
    "wrong.more_spots": "{count} more to tap.",
    "wrong.guide": "{chord}: only its third and its seventh.",
    "wrong.guide_missing": "{chord}: one third and one seventh at least.",
    "wrong.marks": "Each of the {count} changes is marked right or fumbled.",
    "wrong.fumbled": "Fumbled: number {fumbled} of {count}.",
    "why-new": "New in {key}.",
    "why-new-box": "New in {key}: box {box}.",
    "why-missed": "Missed last time.",
    "why-late": "Right last time, but late.",
    "why-skill": "Keeps {what} in play.",
    "why-fading": "Fading: {days} days.",
    "why-fading-a-day": "Fading: one day.",
    "why-warm": "Known well, to keep it so.",
    "why-again": "Missed a moment ago: once more.",
    "why-at-end": "Missed today: once more before the end.",
    "away": "{count} days away: we start with what fades first.",
    "next-missed": "First the ones you missed: {names}.",
    "next-late": "Then the late ones, until they fit the bar: {names}.",
    "next-clean": "What was clean rests until it is about to fade.",
    "next-new": "New cards fill the rest of the time.",
}

KEYS = frozenset(_SENTENCES)
"""Every message key that has words."""


def number_word(number: str) -> str:
    """How a player says a degree: ``four``, ``flat seven``."""
    accidental = {"♭": "flat ", "♯": "sharp "}.get(number[0], "")
    return accidental + _DEGREES[int(number.lstrip("♭♯")) - 1]


def called_words(called: str) -> str:
    """How a player says what a card calls for: ``four seventh``; a numeral stays as it is."""
    number, _, seventh = called.partition(" ")
    if number.lstrip("♭♯") not in _DIGITS:
        return called
    return f"{number_word(number)} {seventh}".rstrip()


def say_called(numeral: Numeral, key: Key) -> str:
    """A numeral as it is said: ``the four``, ``the four seventh``, ``the II7``."""
    own = numeral.own(key)
    if own is None or key.mode == Mode.BLUES:
        return f"the {numeral}"
    return f"the {called_words(numeral.number + (' seventh' if own[1] else ''))}"


def say(message: Message) -> str:
    """The message as a sentence. Raises KeyError for a message that has no words."""
    values = dict(message.values)
    if "called" in values:
        words = called_words(values["called"])
        values |= {"called_words": words, "the_called": f"the {words}", "The_called": f"The {words}"}
    if "wanted_called" in values:
        values["the_wanted"] = f"the {called_words(values['wanted_called'])}"
    if "move" in values:
        values["move_words"] = label(values["move"])
    if "strings" in values:
        values["on_strings"] = _strings(values["strings"].split())
    if "places" in values:
        notes = _notes(values["places"].split())
        values["Notes"] = notes[0].upper() + notes[1:]
    if "skills" in values:
        values["what"] = say_skills(values["skills"].split())
    return _SENTENCES[message.key].format(**values)


def label(key: str) -> str:
    """What stands on an option: ``tone.third`` and ``move.-1`` become words, music stays as it is."""
    kind, _, value = key.partition(".")
    if kind == "tone":
        return value
    if kind != "move":
        return key
    steps = int(value)
    return f"{'up' if steps > 0 else 'down'} {abs(steps)} fret{'' if abs(steps) == 1 else 's'}"


ASK_WORDS = {
    "name": "naming",
    "place": "placing",
    "name-place": "naming and placing",
    "number": "telling the number",
    "hands-on": "playing it",
    "shape": "telling the shape",
    "tone": "finding a tone",
    "spell": "spelling",
    "whose-key": "whose box it is",
    "box-notes": "the notes of a box",
    "change": "changes",
    "bend": "bending a chord",
    "left-out": "what is left out",
    "run": "runs",
    "guide-tones": "guide tones",
    "borrowed": "borrowed chords",
}
"""What a player does in each ask."""


def say_skill(skill: str) -> str:
    """A skill as a guitarist says it.

    >>> [say_skill(skill) for skill in ("key:Eb", "degree:b7", "shape:E", "ask:name", "mode:minor")]
    ['E♭', 'the flat seven', 'the E shape', 'naming', 'minor keys']
    """
    kind, _, value = skill.partition(":")
    if kind == "key":
        return str(Key.from_slug(value))
    if kind == "degree":
        return f"the {number_word(value.replace('b', '♭').replace('x', '♯'))}"
    if kind == "ask":
        return ASK_WORDS[value]
    said = {"box": "box {}", "shape": "the {} shape", "quality": "{} chords", "mode": "{} keys"}[kind]
    return "blues" if value == Mode.BLUES else said.format(value)


def say_skills(skills: Sequence[str]) -> str:
    """Several skills of the same cards: ``the four of E♭``, ``naming, the four of E♭, box 2``."""
    of = {skill.partition(":")[0]: skill for skill in skills}
    if "degree" in of and "key" in of:
        chord = f"{say_skill(of['degree'])} of {say_skill(of['key'])}"
        skills = [each for each in skills if each not in (of["degree"], of["key"])]
        return ", ".join((chord, *map(say_skill, skills)))
    return ", ".join(map(say_skill, skills))


def _strings(numbers: list[str]) -> str:
    """``string 6``, ``strings 6 and 5``, ``strings 6, 5 and 4``."""
    *others, last = numbers
    return f"strings {', '.join(others)} and {last}" if others else f"string {last}"


def _notes(places: list[str]) -> str:
    """``string 4 fret 4 is F♯``, ``string 4 fret 4 is F♯, string 3 open is G``: from string:fret:note."""
    said = []
    for place in places:
        string, fret, note = place.split(":")
        said.append(f"string {string} {'open' if fret == '0' else f'fret {fret}'} is {note}")
    return ", ".join(said)
