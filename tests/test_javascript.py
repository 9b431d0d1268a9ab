"""The browser code: its types, its style, and the unit tests of what needs no browser."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from tests import node as nodes

ROOT = Path(__file__).parents[1]
MODULES = "tests/js/node_modules"


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


def test_style_is_clean(node: nodes.Node) -> None:
    options = ("--max-warnings", "0", "--config", "tests/js/eslint.config.js")
    checked = node.run(f"{MODULES}/eslint/bin/eslint.js", *options, "static/js", "tests/js")
    assert checked.returncode == 0, checked.stdout + checked.stderr


def test_units_pass(node: nodes.Node) -> None:
    checked = node.run("--test", *sorted(str(path) for path in nodes.FOLDER.glob("*.test.js")))
    assert checked.returncode == 0, checked.stdout + checked.stderr


def test_the_lock_names_no_registry() -> None:
    lock = json.loads((ROOT / "tests" / "js" / "package-lock.json").read_text())
    assert not [name for name, package in lock["packages"].items() if "resolved" in package]
