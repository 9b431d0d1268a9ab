"""What ``cards``, the plan and a session say, in English: the one place where messages become
sentences.

A second language is a second table. Every message key that ``cards`` can send stands here; a test
walks them.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Final

from cards.asks import Message
from cards.theory.chords import Chord
from cards.theory.keys import Key, Mode
from cards.theory.numerals import Numeral
from cards.theory.pitch import Interval

_DIGITS = tuple("1234567")
_DEGREES = ("one", "two", "three", "four", "five", "six", "seven")

_SENTENCES = {
    "ask.name": "Name {the_called} of {key}.",
    "ask.place": "{key}, box {box}: place {the_called}.",
    "ask.name-place": "{key}, box {box}, {called_words}: name, place.",
    "ask.rootless": "{key}, box {box}, {called_words}: root optional.",
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
    "right.rootless": "Without the root: that is the band's.",
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
    "why-focus": "You asked for {what}.",
    "why-jam": "{title} needs it.",
    "why-opens": "{title} opens with it.",
    "why-shaky": "Shaky in {title}.",
    "why-played": "Played along with {title}.",
    "why-lost": "Found again in {title}.",
    "why-again": "Missed a moment ago: once more.",
    "why-at-end": "Missed today: once more before the end.",
    "away": "{count} days away: we start with what fades first.",
    "next-missed": "First the ones you missed: {names}.",
    "next-late": "Then the late ones, until they fit the bar: {names}.",
    "next-clean": "What was clean rests until it is about to fade.",
    "next-new": "New cards fill the rest of the time.",
    "map-empty": "Nothing is answered here yet: the first session puts the first figures on the map.",
    "map-empty-here": "Nothing of this is answered yet.",
    "map-met": "{met} of {count} chords have answers.",
    "map-unsure": "None has enough answers to be called weak yet: {least} at least, and not too far apart.",
    "map-weak": "Weak: {the_called} of {key}, {chord}: {percent} of 100 clean (±\u00a0{margin}, {answers}).",
    "cell-sure": "{percent} of 100 answers would be clean now (±\u00a0{margin}), as {answers} say.",
    "cell-unsure": "Perhaps {percent} of 100 answers would be clean (±\u00a0{margin}): "
    "{answers} are too few to be sure.",
    "course-answers": "{count} answers; the first took {first} seconds, the last {last}.",
    "why-few": "Too few answers to tell the skills apart yet: {least} for each at least.",
    "why-even": "No skill stands out as weak: what is not fluent yet lies in single chords.",
    "why-weak": "{verdict}.",
    "why-repair": "{What} repaired would lift {cards} cards: asked once each, {lifted} more would be clean.",
    "jam-0": "{name} is today.",
    "jam-1": "{name} is tomorrow.",
    "jam-more": "{name} is in {days} days.",
    "ready-no-tunes": "No tune is on the set list yet: readiness shows here once there is one.",
    "ready-over": "This jam is over: readiness is told of jams to come.",
    "ready-no-room": "None of its chords has room on your guitar in the chosen box.",
    "ready-left-out": "No room on your guitar, so not counted: {changes}.",
    "ready-now": "If nothing more is drilled: {percent} of 100 changes clean on the night ({low} to {high}).",
    "ready-then": ("With {minutes} minutes on each of the {days} days left: {percent} of 100 clean ({low} to {high})."),
    "ready-then-far": (
        "With {minutes} minutes on each of the {days} days of the last four weeks before it: {percent} of 100 clean"
        " ({low} to {high}). What you drill before then comes on top."
    ),
    "ready-then-once": "With {minutes} minutes once more before it: {percent} of 100 clean ({low} to {high}).",
    "ready-no-day": "No day of practice is left before it.",
    "ready-needed": "For 90 of 100 it takes {minutes} minutes a day.",
    "ready-near": "The date is too near for 90 of 100: {minutes} minutes a day would bring about {percent}.",
    "ready-far": "For 90 of 100 those four weeks are not enough: {minutes} minutes a day would bring about {percent}.",
    "ready-enough": "That is enough for 90 of 100.",
    "ready-line": "Ready for {percent} of 100 changes ({low} to {high}).",
    "ready-tune": "{percent} of 100 clean ({low} to {high}).",
    "course-none": "Nothing is answered yet: weeks show here once there are some.",
    "course-whole": "{clean} of the {cards} cards met so far would be clean now.",
    "course-away": "{count} days away: we start with what fades first.",
    "course-line": "From {first} of 100 to {last} of 100 in {count} weeks.",
    "course-known": "From {first} cards to {last} in {count} weeks.",
    "course-seconds": "The median went from {first} to {last} seconds.",
    "course-minutes": "{total} minutes in {count} weeks, {most} in the fullest.",
    "course-outcomes": "Sessions: {count}. Answers: {clean} clean, {late} late, {missed} missed.",
    "honest-few": (
        "Answers so far: {count}. This is drawn from {least}: {groups} groups of {each}, since chance alone moves "
        "the share of {each} answers by up to 10 of 100, 19 times out of 20."
    ),
    "honest-group": "Said {said} of 100, were clean {seen} of 100 (of {count} answers).",
    "honest-off": (
        "Over all {count} answers what was said is {off} of 100 off. Each was said before its answer. "
        "A model that is not yet fitted to your own log is some 3 to 5 off."
    ),
    "cell-new": "Not answered yet.",
    "chart.no-key": "No key is given: shown in {key}.",
    "chart.other-key": "{key} is the key given first; {other} is given too.",
    "chart.bars": "Where no bar lines stand, every chord is a bar.",
    "chart.names-letters": "B is read as B natural, not in the German way as B♭.",
    "chart.names-german": "H is read as B, and B as B♭.",
    "chart.names-italian": "DO RE MI are read as C D E, and 7+ as a major seventh.",
    "chart.capo-sounding": "{key} is taken as the key that sounds: with the capo on {capo}, shapes of {shapes}.",
    "chart.capo-shapes": "{key} is taken as the key of the shapes: with the capo on {capo}, {sounding} sounds.",
    "chart.minor-relative": "{key} is numbered from its relative major: 1 is {major}.",
    "chart.minor-tonic": "{key} is numbered from its tonic: 1 is {key}.",
    "chart.bare-own": "A bare 2, 3 or 6 is the key's own chord, minor in a major key.",
    "chart.bare-major": "A bare 2, 3 or 6 is major, since minor ones are marked.",
    "chart.seven-dim": "A bare 7 is vii°; it could be ♭VII.",
    "chart.seven-flat": "A bare 7 is ♭VII; it could be vii°.",
    "chart.glued-extension": "{text} ends with a seventh chord; its 7 could be a chord of its own.",
    "chart.glued-chord": "{text} ends with the chord 7; it could be a seventh.",
    "chart.slash-bass": "What stands behind a slash is a bass; it could be the second half of the bar.",
    "chart.slash-half": "Chords with a slash between share a bar; the second could be a bass.",
    "chart.zero-half-dim": "{text} is half-diminished; it could be diminished.",
    "chart.zero-dim": "{text} is diminished; it could be half-diminished.",
    "chart.glued-names": "{text} is read as {chords}.",
    "chart.bass-quality": "{text} is read as {chord}: only the note behind the slash counts.",
    "chart.alternative": "{text} is read as {chord}; {other} could be played instead.",
    "chart.small": "{text} is read as major; it could mean {other}.",
    "chart.pair": "{text} is two chords; it could be {other}.",
    "chart.minor-seven": "{text} ends with a minor seventh chord; it could be {other}.",
    "chart.minor-six": "{text} is two chords; it could be {other}.",
    "chart.target": "{text} leads to the chord behind the slash; as a bass it would be {other}.",
    "chart.over": "{text} has the degree behind the slash as its bass; leading there it would be {other}.",
}

KEYS = frozenset(_SENTENCES)
"""Every message key that has words."""


_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)

NO_CHORD: Final = "no chord was read; a chart is a line like 1 4 5 or | G | C | or [G]words"


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
        values["What"] = values["what"][0].upper() + values["what"][1:]
    if "weak" in values:
        values["verdict"] = _verdict(values["fine"].split(), values["weak"].split())
    if "answers" in values:
        values["answers"] = f"{values['answers']} answer{'' if values['answers'] == '1' else 's'}"
    return _SENTENCES[message.key].format(**values)


CALLS = {
    5: "up a fourth",
    7: "up a fifth",
    2: "up a tone",
    1: "up a half step",
    -1: "down a half step",
    -2: "down a tone",
}
"""How another key is called on a night, by semitones from a tune's own, the commonest first."""


def say_when(local: datetime) -> str:
    """A date and time of the player's zone in words.

    >>> say_when(datetime(2026, 12, 3, 20, 0))
    'Thursday 3 December 2026, 20:00'
    """
    return f"{_DAYS[local.weekday()]} {local.day} {_MONTHS[local.month - 1]} {local.year}, {local:%H:%M}"


_SECTIONS = frozenset(
    ("intro", "verse", "chorus", "refrain", "pre-chorus", "bridge", "solo", "vamp", "head", "interlude", "tag",
     "turnaround", "outro", "coda", "ending")
)  # fmt: skip


def say_place(
    numeral: Numeral, key: Key, section: str, bar: int, title: str = "", box: int | None = None, times: int = 1
) -> str:
    """A chord where it stands; ``title`` where there are several tunes, ``box`` where there are several, ``times``
    it comes so.

    >>> from cards.theory.numerals import own_numeral
    >>> key = Key.read("E")
    >>> say_place(own_numeral(key, 4), key, "Bridge", 3, "Slow vamp", box=2, times=3)
    'IV (A) in bar 3 of the bridge of Slow vamp, box 2 (3 times)'
    """
    if section.lower() in _SECTIONS:
        section = f"the {section.lower()}"
    elif section and " " not in section:
        section = f"section {section}"
    in_box = "" if box is None else f", box {box}"
    chord = f"{numeral} ({numeral.chord(key)})"
    where = " of ".join(filter(None, (f"bar {bar}", section, title)))
    return f"{chord} in {where}{in_box}{'' if times == 1 else f' ({times} times)'}"


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


_KINDS = {"shape": "shapes", "box": "boxes", "degree": "degrees", "ask": "asks", "key": "keys"}


def _verdict(fine: Sequence[str], weak: Sequence[str]) -> str:
    """What kinds of skill are fine, and what it is then.

    >>> _verdict(["shape", "box"], ["ask:name", "key:Eb", "key:Ab"])
    'Shapes and boxes are fine, it is naming and the flat keys E♭ and A♭'
    """
    keys = [Key.from_slug(skill.partition(":")[2]) for skill in weak if skill.startswith("key:")]
    others = [say_skill(skill) for skill in weak if not skill.startswith("key:")]
    said = _listed([*others, *([_say_keys(keys)] if keys else [])])
    if not fine:
        return f"It is {said}"
    kinds = _listed([_KINDS[kind] for kind in fine])
    return f"{kinds[0].upper()}{kinds[1:]} are fine, it is {said}"


def _say_keys(keys: Sequence[Key]) -> str:
    if len(keys) == 1:
        return f"the key of {keys[0]}"
    kind = ""
    if all(key.signature < 0 for key in keys):
        kind = "flat "
    elif all(key.signature > 0 for key in keys):
        kind = "sharp "
    return f"the {kind}keys {_listed([str(key) for key in keys])}"


def _listed(words: Sequence[str]) -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    *others, last = words
    return f"{', '.join(others)} and {last}" if others else last


def say_small(strings: Sequence[int], bass: Interval, left_out: Sequence[Interval], becomes: Sequence[Chord]) -> str:
    """What a small voicing is: its strings, its lowest tone, what it leaves out and then is."""
    said = [f"{_strings([str(string) for string in strings]).capitalize()}: {bass.name} in the bass"]
    said += [f"without the {tone.name}" for tone in left_out]
    if becomes:
        said.append(f"which makes it {' or '.join(map(str, becomes))}")
    return ", ".join(said)


def _strings(numbers: list[str]) -> str:
    """``string 6``, ``strings 6 and 5``, ``strings 6, 5 and 4``."""
    return f"string{'' if len(numbers) == 1 else 's'} {_listed(numbers)}"


def _notes(places: list[str]) -> str:
    """``string 4 fret 4 is F♯``, ``string 4 fret 4 is F♯, string 3 open is G``: from string:fret:note."""
    said = []
    for place in places:
        string, fret, note = place.split(":")
        said.append(f"string {string} {'open' if fret == '0' else f'fret {fret}'} is {note}")
    return ", ".join(said)
