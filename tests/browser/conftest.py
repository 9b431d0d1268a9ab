"""Fixtures: the real service in a process of its own, and a real Chromium in front of it.

Without a Chromium these tests are skipped with the reason; where CI is set they fail.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browser.stage import Drill, Stage, free_port
from tests.conftest import DemoRun

PROGRAMS = ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


def _missing(what: str) -> None:
    if os.environ.get("CI"):
        pytest.fail(f"CI needs {what}: .ci/run installs it")
    pytest.skip(f"{what} is not installed")


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """A running Chromium; every test opens contexts of its own in it."""
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        _missing("playwright")
    program = next((found for name in PROGRAMS if (found := shutil.which(name))), None)
    if program is None:
        _missing("Chromium")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=list(ARGUMENTS))
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def drill(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Drill]:
    """The service, serving one player; its data last for one module of tests."""
    served = Drill(tmp_path_factory.mktemp("data"), free_port())
    served.start()
    yield served
    served.stop()


@pytest.fixture(scope="module")
def band(demo_run: DemoRun, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Drill]:
    """The service with demo data, which last for one module of tests."""
    served = Drill(shutil.copytree(demo_run.data, tmp_path_factory.mktemp("band") / "data"), free_port())
    served.start()
    yield served
    served.stop()


@pytest.fixture
def new_drill(tmp_path: Path) -> Iterator[Drill]:
    """The service with a player who has never been there."""
    served = Drill(tmp_path, free_port())
    served.start()
    yield served
    served.stop()


@pytest.fixture
def stage(chromium: Any) -> Iterator[Callable[..., Stage]]:
    """Opens a browser window on a service; afterwards it is asserted that the window behaved:
    no error in a script, nothing against the policy, no request to anybody else."""
    opened: list[Stage] = []

    def open_stage(drill: Drill, **how: Any) -> Stage:
        opened.append(Stage(chromium, drill, **how))
        return opened[-1]

    yield open_stage
    for each in opened:
        each.close()
    for each in opened:
        assert each.errors == []
        assert each.elsewhere == []
