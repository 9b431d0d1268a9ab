"""The catalogues hold every sentence, are fresh, and fill the names that the English sentence has."""

from __future__ import annotations

import ast
import re
import shutil
from pathlib import Path

import pytest
from babel.messages.pofile import read_po

from drill.words.language import CATALOGUES, LANGUAGES, PSEUDO, catalogue
from tests.catalogue import LONGER, ROOT, SCRIPTS, _errors, make, names_in, pseudo, sentences_of_scripts


def test_catalogues_are_fresh(tmp_path: Path) -> None:
    made, scripts = tmp_path / "catalogues", tmp_path / "words"
    shutil.copytree(CATALOGUES, made)
    make(made, scripts)
    for new, kept in ((made, CATALOGUES), (scripts, SCRIPTS)):
        files = sorted(path.relative_to(new) for path in new.rglob("*") if path.is_file())
        assert files == sorted(path.relative_to(kept) for path in kept.rglob("*") if path.is_file())
        for file in files:
            fresh = (new / file).read_bytes() == (kept / file).read_bytes()
            assert fresh, f"{file} is not fresh: run python -m tests.catalogue"


@pytest.mark.parametrize("language", [each for each in LANGUAGES if each != "en"])
def test_a_translation_fills_the_same_names(language: str) -> None:
    with (CATALOGUES / language / "LC_MESSAGES" / "drill.po").open("rb") as file:
        messages = [message for message in read_po(file) if message.id]
    assert len(messages) > 500
    for message in messages:
        sentences = message.id if isinstance(message.id, tuple) else (message.id,)
        said = message.string if isinstance(message.string, tuple) else (message.string,)
        for text in filter(None, said):
            assert names_in(text) <= set().union(*map(names_in, sentences)), message.id


def test_the_pseudo_language_is_longer_in_brackets_and_leaves_names_and_markup() -> None:
    said = pseudo("Press <kbd>Enter</kbd> for {chord}")
    assert said.startswith("⟦")
    assert said.endswith("⟧")
    assert "<kbd>" in said
    assert "{chord}" in said
    for sentence in ("Off", "Name {chord}.", "What you change here is kept at once."):
        assert len(pseudo(sentence)) - 2 >= (1 + LONGER) * len(sentence)
    assert catalogue(PSEUDO).gettext("Settings") == pseudo("Settings")


def test_no_refusal_hides_its_sentence_from_the_catalogue() -> None:
    places = _errors()
    assert len(places) > 20
    for package in ("cards", "drill"):
        for file in sorted((ROOT / package).rglob("*.py")):
            for node in ast.walk(ast.parse(file.read_text())):
                if not isinstance(node, ast.Call):
                    continue
                name = node.func.id if isinstance(node.func, ast.Name) else ""
                (place,) = places.get(name) or ((1,) if name in ("_", "gettext", "mark", "refusal") else (0,))
                if 0 < place <= len(node.args):
                    sentence = node.args[place - 1]
                    assert not isinstance(sentence, ast.JoinedStr | ast.BinOp), f"{file}:{node.lineno}"
                    told = isinstance(sentence, ast.Call) and getattr(sentence.func, "id", "") == "str"
                    assert not told, f"{file}:{node.lineno}: pass error.sentence and error.values on"


def code_of(script: Path) -> str:
    """A script without the lines that are comments."""
    return "\n".join(line for line in script.read_text().splitlines() if not re.match(r" *(?://|/?\*)", line))


LITERAL = r'"((?:[^"\\]|\\.)*)"'


def test_every_sentence_of_a_script_is_drawn() -> None:
    """A sentence that is put together, or that stands within another call where the reader passes over it, is not."""
    drawn = set(sentences_of_scripts())
    singular = {sentence if isinstance(sentence, str) else sentence[0] for sentence in drawn}
    for file in sorted((ROOT / "static" / "js").rglob("*.js")):
        for call in re.finditer(rf"(?<![\w.#$])(?:_|ngettext)\(\s*({LITERAL})?", code_of(file)):
            if file.name != "words.js" or call[1]:
                assert call[1], f"{file.name}: {call[0]} takes no literal"
                assert call[2] in singular, f"{file.name}: {call[2]} is not drawn"
    assert len(drawn) > 300
