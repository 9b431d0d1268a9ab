"""Turn the messages of ``cards``, planning and sessions into sentences: the one place where this is done.

Each sentence is looked up in the catalogue of the current language, then its names are filled.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from cards.asks import Message
from cards.guitar.regions import OPEN
from cards.messages import Refusal, RefusalError
from cards.theory.chords import Chord
from cards.theory.keys import Key, Mode
from cards.theory.numerals import Numeral
from cards.theory.pitch import Interval
from drill.words.formats import say_choice, say_list
from drill.words.language import gettext as _
from drill.words.language import mark, ngettext
from drill.words.sentences import NAMES, SENTENCES, Plural

_DIGITS: Final = tuple("1234567")
_DEGREES: Final = (*(mark("one"), mark("two"), mark("three"), mark("four"), mark("five"), mark("six"), mark("seven")),)
_ACCIDENTALS: Final = {"♭": mark("flat {number}"), "♯": mark("sharp {number}")}

NO_CHORD: Final = Refusal(mark("no chord was read; a chart is a line like 1 4 5 or | G | C | or [G]words"))


def number_word(number: str) -> str:
    """Say a degree as a player does: ``four``, ``flat seven``."""
    word = _(_DEGREES[int(number.lstrip("♭♯")) - 1])
    return _(_ACCIDENTALS[number[0]]).format(number=word) if number[0] in _ACCIDENTALS else word


def called_words(called: str) -> str:
    """Say what a card calls for as a player does: ``four seventh``; a numeral stays as it is."""
    number, _space, seventh = called.partition(" ")
    if number.lstrip("♭♯") not in _DIGITS:
        return called
    return _("{number} seventh").format(number=number_word(number)) if seventh else number_word(number)


def say_called(numeral: Numeral, key: Key) -> str:
    """Say a numeral: ``the four``, ``the four seventh``, ``the II7``."""
    own = numeral.own(key)
    if own is None or key.mode == Mode.BLUES:
        return _the(str(numeral))
    return _the(called_words(numeral.number + (" seventh" if own[1] else "")))


def say(message: Message) -> str:
    """Return the sentence of a message. Raises KeyError if the message has no sentence."""
    sentence = SENTENCES[message.key]
    values = {name: value if isinstance(value, str) else say_refusal(value) for name, value in message.values}
    if isinstance(sentence, Plural):
        sentence = ngettext(sentence.one, sentence.more, int(values[sentence.by]))
    else:
        sentence = _(sentence)
    words = _words_of(values)
    return sentence.format(**{**values, **words})


def say_error(error: Exception) -> str:
    """Return the sentence of an error in the current language; an error without a sentence as it is."""
    return say_refusal(error.refusal) if isinstance(error, RefusalError) else str(error)


def say_refusal(refusal: Refusal) -> str:
    """Return a refusal in the current language."""
    values = {name: value if isinstance(value, str) else say_refusal(value) for name, value in refusal.values}
    return _(refusal.sentence).format(**values)


def _words_of(values: dict[str, str]) -> dict[str, str]:
    """Return the words that a sentence may use beside the values of its message, or instead of them."""
    words: dict[str, str] = {}
    if "called" in values:
        called = called_words(values["called"])
        words |= {
            "called_words": called,
            "the_called": _the(called),
            "The_called": _("The {called}").format(called=called),
        }
    if "wanted_called" in values:
        words["the_wanted"] = _the(called_words(values["wanted_called"]))
    if "tone" in values:
        words["tone"] = say_name(values["tone"])
    if "move" in values:
        words["move_words"] = label(values["move"])
    if "up" in values:
        words["direction"] = _("down") if values["up"].startswith("-") else _("up")
        words["steps"] = values["up"].lstrip("-")
    if "fingers" in values:
        words["Fingers"] = capital(_count(int(values["fingers"])))
    if "wholes" in values:
        words["whole_names"] = say_choice(values["wholes"].split())
    if "strings" in values:
        words["on_strings"] = _strings(values["strings"].split())
    if "places" in values:
        words["Notes"] = capital(_notes(values["places"].split()))
    if "skills" in values:
        words["what"] = say_skills(values["skills"].split())
    if "weak" in values:
        words["verdict"] = _verdict(values["fine"].split(), values["weak"].split())
    if "answers" in values:
        count = values["answers"]
        words["answers"] = ngettext("{count} answer", "{count} answers", int(count)).format(count=count)
    return words


_COUNTS: Final = (
    *(mark("no"), mark("one"), mark("two"), mark("three"), mark("four"), mark("five"), mark("six")),
    *(mark("seven"), mark("eight"), mark("nine"), mark("ten"), mark("eleven"), mark("twelve")),
)


def _count(number: int) -> str:
    """A small number in words; a larger one in figures."""
    return _(_COUNTS[number]) if number < len(_COUNTS) else str(number)


def say_name(name: str) -> str:
    """Say a name from the lists of the code (:data:`drill.words.sentences.NAMES`).

    These are forms, feels, tunings, tones, sizes of hand, outcomes and kinds of skill. Any other name stays as it is.

    >>> say_name("shuffle")
    'shuffle'
    """
    return _(name) if name in NAMES else name


def _the(called: str) -> str:
    return _("the {called}").format(called=called)


def capital(sentence: str) -> str:
    """Return a sentence with a capital first letter."""
    return sentence[:1].upper() + sentence[1:]


CALLS: Final = {
    5: mark("up a fourth"),
    7: mark("up a fifth"),
    2: mark("up a tone"),
    1: mark("up a half step"),
    -1: mark("down a half step"),
    -2: mark("down a tone"),
}
"""How players call another key, by semitones from the tune's own key, the commonest first."""


def say_call(steps: int) -> str:
    """Say another key as players call it, by semitones from the tune's own key.

    >>> say_call(5)
    'up a fourth'
    """
    return _(CALLS[steps])


_SECTIONS: Final = {
    "intro": mark("the intro"),
    "verse": mark("the verse"),
    "chorus": mark("the chorus"),
    "refrain": mark("the refrain"),
    "pre-chorus": mark("the pre-chorus"),
    "bridge": mark("the bridge"),
    "solo": mark("the solo"),
    "vamp": mark("the vamp"),
    "head": mark("the head"),
    "interlude": mark("the interlude"),
    "tag": mark("the tag"),
    "turnaround": mark("the turnaround"),
    "outro": mark("the outro"),
    "coda": mark("the coda"),
    "ending": mark("the ending"),
}


def say_place(
    numeral: Numeral, key: Key, section: str, bar: int, title: str = "", box: int | None = None, times: int = 1
) -> str:
    """Say a chord and its place.

    ``title`` names the tune if there are several, ``box`` the box if there are several. ``times`` is how often it
    comes.

    >>> from cards.theory.numerals import own_numeral
    >>> key = Key.read("E")
    >>> say_place(own_numeral(key, 4), key, "Bridge", 3, "Slow vamp", box=2, times=3)
    'IV (A) in bar 3 of the bridge of Slow vamp, box 2 (3 times)'
    """
    place = _("bar {bar}").format(bar=bar)
    for whole in filter(None, (_say_section(section), title)):
        place = _("{part} of {whole}").format(part=place, whole=whole)
    if box == OPEN:
        place = _("{place}, open position").format(place=place)
    elif box is not None:
        place = _("{place}, box {box}").format(place=place, box=box)
    chord = f"{numeral} ({numeral.chord(key)})"
    if times == 1:
        return _("{chord} in {place}").format(chord=chord, place=place)
    counted = ngettext("{chord} in {place} ({times} time)", "{chord} in {place} ({times} times)", times)
    return counted.format(chord=chord, place=place, times=times)


def _say_section(section: str) -> str:
    if section.lower() in _SECTIONS:
        return _(_SECTIONS[section.lower()])
    return _("section {name}").format(name=section) if section and " " not in section else section


def label(key: str) -> str:
    """Say an option: ``tone.third`` and ``move.-1`` become words, music stays as it is."""
    kind, _point, value = key.partition(".")
    if kind == "tone":
        return say_name(value)
    if kind != "move":
        return key
    count = abs(int(value))
    if int(value) > 0:
        return ngettext("up {count} fret", "up {count} frets", count).format(count=count)
    return ngettext("down {count} fret", "down {count} frets", count).format(count=count)


ASK_WORDS: Final = {
    "name": mark("naming"),
    "place": mark("placing"),
    "name-place": mark("naming and placing"),
    "number": mark("telling the number"),
    "hands-on": mark("playing it"),
    "shape": mark("telling the shape"),
    "tone": mark("finding a tone"),
    "spell": mark("spelling"),
    "whose-key": mark("whose box it is"),
    "box-notes": mark("the notes of a box"),
    "change": mark("changes"),
    "bend": mark("bending a chord"),
    "left-out": mark("what is left out"),
    "run": mark("runs"),
    "guide-tones": mark("guide tones"),
    "borrowed": mark("borrowed chords"),
}
"""What a player does in each ask."""


def say_ask(ask: str) -> str:
    """Say what a player does in an ask.

    >>> say_ask("hands-on")
    'playing it'
    """
    return _(ASK_WORDS[ask])


_SKILLS: Final = {
    "box": mark("box {value}"),
    "shape": mark("the {value} shape"),
    "quality": mark("{value} chords"),
}
_MODES: Final = {"major": mark("major keys"), "minor": mark("minor keys"), "blues": mark("blues")}


def say_skill(skill: str) -> str:
    """Say a skill as a guitarist does.

    >>> [say_skill(skill) for skill in ("key:Eb", "degree:b7", "shape:E", "ask:name", "mode:minor")]
    ['E♭', 'the flat seven', 'the E shape', 'naming', 'minor keys']
    """
    kind, _colon, value = skill.partition(":")
    if kind == "key":
        return str(Key.from_slug(value))
    if kind == "degree":
        return _the(number_word(value.replace("b", "♭").replace("x", "♯")))
    if kind == "ask":
        return say_ask(value)
    if kind == "mode":
        return _(_MODES[value])
    if skill == "box:open":
        return _("open position")
    return _(_SKILLS[kind]).format(value=value)


def say_skills(skills: Sequence[str]) -> str:
    """Say several skills of the same cards: ``the four of E♭``, ``naming, the four of E♭, box 2``."""
    by_kind = {skill.partition(":")[0]: skill for skill in skills}
    words = [say_skill(skill) for skill in skills]
    if "degree" in by_kind and "key" in by_kind:
        degree, key = by_kind["degree"], by_kind["key"]
        chord = _("{degree} of {key}").format(degree=say_skill(degree), key=say_skill(key))
        words = [chord, *(say_skill(skill) for skill in skills if skill not in (degree, key))]
    return ", ".join(words)


_KINDS: Final = {
    "shape": mark("shapes"),
    "box": mark("boxes"),
    "degree": mark("degrees"),
    "ask": mark("asks"),
    "key": mark("keys"),
}


def _verdict(fine: Sequence[str], weak: Sequence[str]) -> str:
    """Say which kinds of skill are fine, and which skills are weak.

    >>> _verdict(["shape", "box"], ["ask:name", "key:Eb", "key:Ab"])
    'Shapes and boxes are fine, it is naming and the flat keys E♭ and A♭'
    """
    keys = [Key.from_slug(skill.partition(":")[2]) for skill in weak if skill.startswith("key:")]
    others = [say_skill(skill) for skill in weak if not skill.startswith("key:")]
    causes = say_list([*others, *([_say_keys(keys)] if keys else [])])
    if not fine:
        return _("It is {causes}").format(causes=causes)
    kinds = capital(say_list([_(_KINDS[kind]) for kind in fine]))
    return _("{kinds} are fine, it is {causes}").format(kinds=kinds, causes=causes)


def _say_keys(keys: Sequence[Key]) -> str:
    names = say_list([str(key) for key in keys])
    if len(keys) == 1:
        return _("the key of {key}").format(key=names)
    if all(key.signature < 0 for key in keys):
        return _("the flat keys {keys}").format(keys=names)
    if all(key.signature > 0 for key in keys):
        return _("the sharp keys {keys}").format(keys=names)
    return _("the keys {keys}").format(keys=names)


def say_small(strings: Sequence[int], bass: Interval, left_out: Sequence[Interval], becomes: Sequence[Chord]) -> str:
    """Say what a small voicing is: its strings, its lowest tone, what it leaves out, and what it is then."""
    where = capital(_strings([str(string) for string in strings]))
    parts = [_("{strings}: {tone} in the bass").format(strings=where, tone=say_name(bass.name))]
    parts += [_("without the {tone}").format(tone=say_name(tone.name)) for tone in left_out]
    if becomes:
        parts.append(_("which makes it {chords}").format(chords=say_choice([str(chord) for chord in becomes])))
    return ", ".join(parts)


def say_position(fret: int, moves: int) -> str:
    """Say where the index finger is, and how many frets it has moved up (negative: down) from the region's place."""
    if moves > 0:
        return _("index at {fret}, moves up {frets}").format(fret=fret, frets=moves)
    if moves < 0:
        return _("index at {fret}, moves down {frets}").format(fret=fret, frets=-moves)
    return _("index at {fret}").format(fret=fret)


def _strings(numbers: list[str]) -> str:
    """Say strings: ``string 6``, ``strings 6 and 5``, ``strings 6, 5 and 4``."""
    return ngettext("string {numbers}", "strings {numbers}", len(numbers)).format(numbers=say_list(numbers))


def _notes(places: list[str]) -> str:
    """Say notes from string:fret:note: ``string 4 fret 4 is F♯, string 3 open is G``."""
    parts = []
    for place in places:
        string, fret, note = place.split(":")
        sentence = _("string {string} open is {note}") if fret == "0" else _("string {string} fret {fret} is {note}")
        parts.append(sentence.format(string=string, fret=fret, note=note))
    return ", ".join(parts)
