"""Every message has words, and every word has a message."""

from __future__ import annotations

import ast
import re
import string
from collections.abc import Iterator
from pathlib import Path
from string import Formatter
from threading import Thread

import pytest

import cards
import drill
from cards.asks import RECORDS, Ask, Message, Setting, cards_of, question, read_card
from cards.charts.forms import FEELS
from cards.guitar.neck import TUNINGS, Neck, NeckError
from cards.messages import message, refusal
from cards.theory.keys import Key, KeyNameError
from cards.theory.numerals import read_numeral
from drill.sessions.closing import OUTCOMES
from drill.words import (
    ASK_WORDS,
    called_words,
    label,
    number_word,
    say,
    say_called,
    say_error,
    say_list,
    say_number,
    speaking,
)
from drill.words.sentences import NAMES, SENTENCES, Plural

STATIC = Path(__file__).parents[3] / "static"

OF_A_TUNE = "borrowed:D:b7_major:open"

ASKED = {
    question(card, setting).words.key
    for cards_asked in (*(cards_of(Key.read(name)) for name in ("C", "D", "A blues")), [read_card(OF_A_TUNE)])
    for card in cards_asked
    for setting in (Setting(), Setting(band=True))
}
"""Keys of all questions: every ask has cards in C or in a blues, and in the open position in D. In a tune, that place
has chords from outside the key as well."""


KEYS = frozenset(SENTENCES)


def _strings(node: ast.AST) -> set[str]:
    """The texts an expression may be: a literal, or either side of a condition."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return {node.value}
    if isinstance(node, ast.IfExp):
        return _strings(node.body) | _strings(node.orelse)
    if isinstance(node, ast.JoinedStr):
        return ASKED  # f"ask.{card.ask}" and the like
    return set()


def _sent(package: Path) -> set[str]:
    """Keys of the messages that a package's source builds."""
    keys: set[str] = set()
    for source in package.rglob("*.py"):
        tree = ast.parse(source.read_text(encoding="utf-8"))
        assigned = {
            target.id: _strings(node.value)
            for node in ast.walk(tree)
            if isinstance(node, ast.Assign)
            for target in node.targets
            if isinstance(target, ast.Name)
        }
        for node in ast.walk(tree):
            if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Name) or not node.args:
                continue
            if node.func.id in ("message", "Message"):
                first = node.args[0]
                keys |= assigned.get(first.id, set()) if isinstance(first, ast.Name) else _strings(first)
    return keys


def test_everything_that_cards_can_say_has_words() -> None:
    sent = _sent(Path(cards.__path__[0]))
    assert len(sent) > 30
    assert sent <= KEYS


def test_everything_that_the_service_can_say_has_words() -> None:
    assert _sent(Path(drill.__path__[0])) <= KEYS


def by_name(record: Ask) -> str:
    return record.name


@pytest.mark.parametrize("record", RECORDS, ids=by_name)
def test_every_ask_has_its_question(record: Ask) -> None:
    own = {key for key in ASKED if key == f"ask.{record.name}" or key.startswith(f"ask.{record.name}.")}
    assert own
    assert own <= set(record.prompts) <= KEYS


@pytest.mark.parametrize("record", RECORDS, ids=by_name)
def test_every_ask_has_its_words(record: Ask) -> None:
    """On a question, after a session, in Settings, and where the service says what a player does."""
    assert ASK_WORDS[record.name]
    words = names_on_the_page(record.name)
    assert words["done"]
    assert words["group"]
    assert words.get("wanted") or makes_its_own_heading(record.name)


def test_no_words_are_left_over_from_asks_that_are_gone() -> None:
    named = re.findall(r"^  \"?([a-z-]+)\"?: \{", script("asks.js"), re.MULTILINE)
    assert named == list(ASK_WORDS) == [record.name for record in RECORDS]


def script(name: str) -> str:
    (file,) = STATIC.rglob(name)
    return file.read_text(encoding="utf-8")


def entry(text: str, ask: str) -> str:
    """The line about an ask in a table of the page."""
    (line,) = re.findall(rf"^  \"?{ask}\"?: (.*),$", text, re.MULTILINE)
    return str(line)


def names_on_the_page(ask: str) -> dict[str, str]:
    return dict(re.findall(r'(\w+): _\("([^"]+)"\)', entry(script("asks.js"), ask)))


def test_the_page_has_words_for_every_name_that_the_service_sends() -> None:
    """Outcomes, feels and tunings; a tuning that is only notes stays as it is."""
    (table,) = re.findall(r"const NAMES = \{(.*?)\};", script("words.js"), re.DOTALL)
    named = dict(re.findall(r'^ +"?([\w ]+)"?: _\("([^"]+)"\),$', table, re.MULTILINE))
    assert all(name == words for name, words in named.items())
    tunings = {name for name in TUNINGS if not re.fullmatch(r"[A-G]( [A-G])*", name)}
    assert set(named) == {*OUTCOMES, "not judged yet", *FEELS, *tunings}


def test_every_choice_says_what_it_is_about() -> None:
    prompts = (question(card, Setting()) for name in ("C", "A blues") for card in cards_of(Key.read(name)))
    about = {choice.about for prompt in prompts for choice in prompt.choices}
    assert len(about - {""}) > 4
    assert about <= NAMES


def makes_its_own_heading(ask: str) -> bool:
    """Whether the heading of its questions says what is wanted in every case, as with *tone* and *bend*."""
    return "wanted: sentence" in entry(script("question.js"), ask)


def test_no_words_are_left_over_from_messages_that_nobody_sends() -> None:
    music = {key for key in KEYS if key.split(".")[0] in ("ask", "answer", "shown", "right", "wrong")}
    assert music <= _sent(Path(cards.__path__[0]))


@pytest.mark.parametrize("key", sorted(KEYS))
def test_a_sentence_is_a_sentence(key: str) -> None:
    sentence = SENTENCES[key]
    for template in sentence[1:] if isinstance(sentence, Plural) else (sentence,):
        assert template[0].isupper() or template.startswith("{")
        assert template.endswith((".", "?"))
        fields = {name for _, name, _, _ in string.Formatter().parse(template) if name}
        assert all(name.isidentifier() for name in fields)


def test_numbers_are_said_as_players_do() -> None:
    words = [number_word(str(degree)) for degree in range(1, 8)]
    assert words == ["one", "two", "three", "four", "five", "six", "seven"]
    assert say(message("ask.name", called="4 seventh", key="A♭")) == "Name the four seventh of A♭."
    assert say(message("ask.place", called="7", key="B♭", box=2)) == "B♭, box 2: place the seven."
    assert say(message("ask.place", called="♭7", key="E", box=2)) == "E, box 2: place the flat seven."
    assert say(message("ask.place", called="♭VII", key="E", box=2)) == "E, box 2: place the ♭VII."


@pytest.mark.parametrize(
    ("called", "said"),
    [
        ("4", "four"),
        ("4 seventh", "four seventh"),
        ("♭3", "flat three"),
        ("♯4", "sharp four"),
        ("II7", "II7"),
        ("vii°7", "vii°7"),
    ],
)
def test_what_is_called_for_in_words(called: str, said: str) -> None:
    assert called_words(called) == said


@pytest.mark.parametrize(
    ("key", "text", "said"),
    [
        ("Ab", "4", "the four"),
        ("Ab", "2-7", "the two seventh"),
        ("Am", "3", "the flat three"),
        ("Ab", "II7", "the II7"),
        ("A blues", "1", "the I7"),
    ],
)
def test_a_numeral_as_it_is_said(key: str, text: str, said: str) -> None:
    assert say_called(read_numeral(text, Key.read(key)), Key.read(key)) == said


@pytest.mark.parametrize(
    ("option", "said"),
    [("tone.third", "third"), ("move.-1", "down 1 fret"), ("move.2", "up 2 frets"), ("C", "C"), ("A♭ · Fm", "A♭ · Fm")],
)
def test_what_stands_on_an_option(option: str, said: str) -> None:
    assert label(option) == said


def test_notes_that_are_foreign_are_listed_in_one_sentence() -> None:
    said = say(message("wrong.foreign", places="4:4:F♯ 3:0:G"))
    assert said == "String 4 fret 4 is F♯, string 3 open is G: not in this chord."


@pytest.mark.parametrize(
    ("strings", "said"),
    [
        ("6", "on string 6."),
        ("6 5", "on strings 6 and 5."),
        ("6 5 1", "on strings 6, 5 and 1."),
    ],
)
def test_strings_are_listed_as_one_says_them(strings: str, said: str) -> None:
    assert say(message("wrong.reach", strings=strings, low=0, high=5)).endswith(said)


def test_a_message_without_words_is_an_error_and_not_a_blank() -> None:
    with pytest.raises(KeyError):
        say(Message("nothing.like.it"))


@pytest.mark.parametrize(
    ("skill", "said"),
    [
        ("key:Ab", "Keeps A♭ in play."),
        ("key:Ab degree:4", "Keeps the four of A♭ in play."),
        ("degree:4 box:1", "Keeps the four, box 1 in play."),
        ("quality:m7b5 shape:C", "Keeps m7b5 chords, the C shape in play."),
        ("ask:number", "Keeps telling the number in play."),
    ],
)
def test_a_skill_is_said_as_a_player_would(skill: str, said: str) -> None:
    assert say(Message("why-skill", (("skills", skill),))) == said


def test_one_thing_is_counted_as_one() -> None:
    assert say(message("wrong.few", sounding=0, fewest=1)) == "Only 0 of at least 1 string sounds."
    assert say(message("jam-more", name="Open jam", days=2)) == "Open jam is in 2 days."


def test_a_refusal_is_english_by_itself_and_another_language_when_it_is_said() -> None:
    with pytest.raises(NeckError) as caught:
        Neck(capo=12)
    error = caught.value
    assert str(error) == say_error(error) == "a capo lies on fret 0 (none) to 11, not 12"
    with speaking("en-XA"):
        said = say_error(error)
        assert str(error) == "a capo lies on fret 0 (none) to 11, not 12"
    assert said.startswith("⟦å çåpö")
    assert "12" in said


def test_a_refusal_inside_another_is_said_in_the_same_language() -> None:
    inner = KeyNameError("no key like that")
    with speaking("en-XA"):
        said = say(message("wrong.unread", reason=refusal("this is no kept chart: {reason}", reason=inner)))
    assert said.count("⟦") == 2
    assert "no key like that" in said


def test_a_language_is_spoken_by_its_own_thread_only() -> None:
    heard = []
    with speaking("en-XA"):
        other = Thread(target=lambda: heard.append(say_list(["A", "B"]) + label("move.1")))
        other.start()
        other.join()
        assert label("move.1").startswith("⟦")
    assert heard == ["A and Bup 1 fret"]
    assert label("move.1") == "up 1 fret"


def test_there_is_no_speaking_of_a_language_without_a_catalogue() -> None:
    with pytest.raises(KeyError), speaking("xx"):
        pass


@pytest.mark.parametrize(("number", "digits", "said"), [(3.25, 1, "3.2"), (12345.0, 0, "12345"), (0.5, 2, "0.50")])
def test_a_number_is_written_as_pages_have_it(number: float, digits: int, said: str) -> None:
    assert say_number(number, digits) == said


def test_fingers_and_moves_are_told_in_words() -> None:
    assert say(message("way.fingers-stay", fingers=2)) == "Two fingers stay."
    assert say(message("change.fingers-new", fingers=1)) == "One finger is set down anew."
    assert say(message("way.fingers-stay", fingers=30)) == "30 fingers stay."
    assert say(message("change.index-moves", fret=7, up=2)) == "Index at 7, moves up 2."
    assert say(message("change.index-moves", fret=5, up=-2)) == "Index at 5, moves down 2."
    assert say(message("change.top-moves", note="A♭", up=-1)) == "Top voice down to A♭."
    assert say(message("way.top-voice", notes="B♭ A A♭ G")) == "Top voice B♭ A A♭ G."


DERIVED = {
    "called_words": "called",
    "the_called": "called",
    "The_called": "called",
    "the_wanted": "wanted_called",
    "move_words": "move",
    "whole_names": "wholes",
    "on_strings": "strings",
    "Notes": "places",
    "what": "skills",
    "verdict": "weak",
    "direction": "up",
    "steps": "up",
    "Fingers": "fingers",
}
"""What sentences may hold that :mod:`drill.words.saying` makes of a value of the message."""


def built_messages() -> Iterator[tuple[str, str, set[str]]]:
    """Where code builds a message of a known key from named values: the place, the key, the names."""
    for package in (cards, drill):
        for path in Path(package.__path__[0]).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text())):
                if not isinstance(node, ast.Call) or getattr(node.func, "id", "") != "message":
                    continue
                names = {keyword.arg for keyword in node.keywords if keyword.arg}
                if len(names) == len(node.keywords) and node.args and isinstance(node.args[0], ast.Constant):
                    yield f"{path.name}:{node.lineno}", str(node.args[0].value), names


def test_every_message_that_code_builds_fills_its_sentence() -> None:
    built = list(built_messages())
    assert len(built) > 50
    for place, key, names in built:
        sentence = SENTENCES[key]
        for text in (sentence.one, sentence.more) if isinstance(sentence, Plural) else (sentence,):
            wanted = {field for _, field, _, _ in Formatter().parse(text) if field}
            missing = {field for field in wanted if field not in names and DERIVED.get(field, field) not in names}
            assert not missing, f"{place}: {key} lacks {missing}"


def test_every_sentence_that_is_filled_on_the_spot_gets_its_values() -> None:
    """``_("…").format(…)`` and errors with a sentence name each value that the sentence holds."""
    checked = 0
    for package in (cards, drill):
        for path in Path(package.__path__[0]).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text())):
                if not isinstance(node, ast.Call) or any(keyword.arg is None for keyword in node.keywords):
                    continue
                called = node.func
                if isinstance(called, ast.Attribute) and called.attr == "format" and isinstance(called.value, ast.Call):
                    if getattr(called.value.func, "id", "") not in ("_", "ngettext"):
                        continue
                    sentences = called.value.args
                elif getattr(called, "id", "").endswith("Error") or getattr(called, "id", "") in ("refusal", "phrase"):
                    sentences = node.args
                else:
                    continue
                given = {keyword.arg for keyword in node.keywords}
                for sentence in sentences:
                    if isinstance(sentence, ast.Constant) and isinstance(sentence.value, str):
                        wanted = {field for _, field, _, _ in Formatter().parse(sentence.value) if field}
                        assert wanted <= given, f"{path.name}:{node.lineno} lacks {wanted - given}"
                        checked += bool(wanted)
    assert checked > 100
