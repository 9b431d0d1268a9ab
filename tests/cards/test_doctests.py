"""The examples in the docstrings of ``cards`` are run, and ``cards`` keeps to music."""

from __future__ import annotations

import ast
import doctest
import importlib
import pkgutil
from pathlib import Path

import pytest

import cards

MODULES = ["cards", *(module.name for module in pkgutil.walk_packages(cards.__path__, "cards."))]
SOURCES = sorted(Path(cards.__path__[0]).rglob("*.py"))


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_of_a_module_come_out_as_written(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def test_there_are_examples() -> None:
    finder = doctest.DocTestFinder(exclude_empty=True)
    found = [test for name in MODULES for test in finder.find(importlib.import_module(name)) if test.examples]
    assert len(found) >= 10


@pytest.mark.parametrize("source", SOURCES, ids=lambda path: path.stem)
def test_cards_knows_music_and_nothing_else(source: Path) -> None:
    """No service, no input or output, no clock: only music, drawing and plain values."""
    plain = {"__future__", "collections", "dataclasses", "enum", "functools", "itertools", "math", "operator", "re"}
    plain |= {"typing"}
    if source.name == "messages.py":
        # Which language drawings speak is set by whoever asks for them; nothing else may hang on a context.
        plain |= {"contextvars"}
    for node in ast.walk(ast.parse(source.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            names = [node.module or ""]
        else:
            continue
        assert {name.partition(".")[0] for name in names} <= plain | {"cards", "svgwrite"}
