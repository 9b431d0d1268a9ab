"""The machine and the versions that a table of figures was measured with."""

from __future__ import annotations

import os
import platform
import sqlite3
from importlib.metadata import version
from pathlib import Path


def machine() -> str:
    """Two lines above a table."""
    try:
        models = [line for line in Path("/proc/cpuinfo").read_text().splitlines() if line.startswith("model name")]
        processor = models[0].partition(": ")[2]
    except (OSError, IndexError):
        processor = platform.processor() or platform.machine()
    packages = ", ".join(f"{name} {version(name)}" for name in ("flask", "waitress", "sqlalchemy", "svgwrite"))
    return (
        f"{processor}, {os.cpu_count()} cores, {platform.system()} {platform.release()}\n"
        f"Python {platform.python_version()}, SQLite {sqlite3.sqlite_version}, {packages}\n"
    )
