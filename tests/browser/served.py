"""``drill serve`` in a process that is forked from one with the imports and the first searches done.

The browser tests start dozens of services, and each of them would otherwise do this work again. The command
itself, started as a user starts it, is tested in tests/drill/test_serve.py.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
from collections.abc import Mapping
from multiprocessing.process import BaseProcess
from pathlib import Path


def start(data: Path, port: int, settings: Mapping[str, str]) -> BaseProcess:
    """Start the service on a data folder and a port in a process of its own, with environment variables of its own."""
    forking = multiprocessing.get_context("forkserver")
    forking.set_forkserver_preload(["tests.browser.warmed"])
    process = forking.Process(target=_serve, args=(data, port, dict(settings)), daemon=True)
    process.start()
    return process


def _serve(data: Path, port: int, settings: dict[str, str]) -> None:
    for name in [name for name in os.environ if name.startswith("DRILL_")]:
        del os.environ[name]
    os.environ.update(settings)
    from drill.cli.command import main

    with open(os.devnull, "w") as nowhere, contextlib.redirect_stdout(nowhere):
        main(["serve", "--data", str(data), "--port", str(port)], prog_name="drill")
