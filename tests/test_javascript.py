"""The browser code: its types, its style, and the unit tests of what needs no browser."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path

import pytest

from tests import node as nodes

ROOT = Path(__file__).parents[1]
SCRIPTS = sorted([*(ROOT / "static" / "js").rglob("*.js"), *(ROOT / "static" / "js").rglob("*.ts")])
MODULES = "tests/js/node_modules"

# What the type check does not look at: `any` written in a type, and comments that switch it off.
UNCHECKED = re.compile(r"@ts-(?:ignore|expect-error|nocheck)|\{\*\}|(?<=[{<(|&:, ])any(?=[}>)|&,;\[ =])")
CEILING = 0
"""How often that may stand in ``static/js``. It may only fall."""


@pytest.fixture(scope="session")
def node() -> nodes.Node:
    """Node with the packages of ``tests/js``; without Node the tests are skipped, and fail where CI is set."""
    found = nodes.find()
    if found is None:
        reason = f"no Node {nodes.OLDEST} or newer: install it, or `pip install '.[node]'`"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    found.install()
    return found


@pytest.mark.parametrize("project", ["tsconfig.json", "tsconfig.worker.json"])
def test_types_are_clean(node: nodes.Node, project: str) -> None:
    checked = node.run(f"{MODULES}/typescript/bin/tsc", "--project", f"tests/js/{project}")
    assert checked.returncode == 0, checked.stdout + checked.stderr


def test_style_is_clean(node: nodes.Node) -> None:
    options = ("--max-warnings", "0", "--config", "tests/js/eslint.config.js")
    checked = node.run(f"{MODULES}/eslint/bin/eslint.js", *options, "static/js", "tests/js")
    assert checked.returncode == 0, checked.stdout + checked.stderr


def test_units_pass(node: nodes.Node) -> None:
    checked = node.run("--test", *sorted(str(path) for path in nodes.FOLDER.glob("*.test.js")))
    assert checked.returncode == 0, checked.stdout + checked.stderr


def types_of(path: Path) -> str:
    """What of a file the type check reads as types: all of a declaration, of a script the braces in its comments."""
    text = path.read_text()
    if path.suffix == ".ts":
        return text
    comments = re.findall(r"/\*\*.*?\*/", text, re.DOTALL)
    return "\n".join(re.findall(r"\{.*\}", "\n".join(comments)) + re.findall(r"@ts-\S+", text))


def test_what_the_types_leave_out_only_becomes_less() -> None:
    left = [f"{path.relative_to(ROOT)}: {found[0]}" for path in SCRIPTS for found in UNCHECKED.finditer(types_of(path))]
    assert len(left) <= CEILING, left


def test_the_lock_names_no_registry() -> None:
    lock = json.loads((ROOT / "tests" / "js" / "package-lock.json").read_text())
    assert not [name for name, package in lock["packages"].items() if "resolved" in package]
