"""Takes the two pictures of the running program that the README shows.

    python -m tests.pictures

The real service runs with demo data, and a real Chromium shows a session in which "the four in E♭" was placed in
box 4. The pictures are written to ``static/pictures/light.png`` and ``dark.png``, 800 px wide.
"""

from __future__ import annotations

import io
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from PIL import Image

from tests.browser.conftest import ARGUMENTS, PROGRAMS
from tests.browser.stage import ROOT, Drill, Stage, free_port

FOLDER = ROOT / "static" / "pictures"
SCREEN = {"width": 800, "height": 640}  # px
CARD = "place:Eb:4:box4"
FRETS = (4, 6, 6, 5, 4, 4)  # string 6 first: A♭ with a barre
THINKING = 2500  # ms until the answer is given, as a guitarist might need
MOST_BYTES = 150_000


def main() -> None:
    from playwright.sync_api import sync_playwright

    program = next((path for name in PROGRAMS if (path := shutil.which(name))), None)
    if program is None:
        sys.exit("no Chromium is installed")
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as data, sync_playwright() as playwright:
        fill(Path(data))
        drill = Drill(Path(data), free_port())
        drill.start()
        browser = playwright.chromium.launch(executable_path=program, args=list(ARGUMENTS))
        try:
            for theme in ("light", "dark"):
                picture = small(take(browser, drill, dark=theme == "dark"))
                if len(picture) > MOST_BYTES:
                    sys.exit(f"the {theme} picture has {len(picture)} bytes; at most {MOST_BYTES} are wanted")
                (FOLDER / f"{theme}.png").write_bytes(picture)
                print(f"{theme}.png: {len(picture)} bytes")
        finally:
            browser.close()
            drill.stop()


def fill(data: Path) -> None:
    """Make demo data in a folder."""
    command = [sys.executable, "-c", "from drill.cli.command import main; main()", "demo", "--data", str(data)]
    subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.DEVNULL)


def take(browser: Any, drill: Drill, *, dark: bool) -> bytes:
    """Return a PNG of the session's page after a right answer."""
    drill.seat(CARD)
    stage = Stage(browser, drill, screen=SCREEN, dark=dark, motion=False)
    try:
        stage.go_on()
        stage.page.wait_for_timeout(THINKING)
        stage.answer(stage.question(), frets=FRETS)
        stage.outcome()
        stage.page.locator("#work svg").wait_for()
        return bytes(stage.page.screenshot())
    finally:
        stage.close()


def small(png: bytes) -> bytes:
    """Return the same picture with 128 colours, which lines and flat areas do not miss."""
    packed = io.BytesIO()
    colours = Image.open(io.BytesIO(png)).convert("RGB").quantize(128, dither=Image.Dither.NONE)
    colours.save(packed, "PNG", optimize=True)
    return packed.getvalue()


if __name__ == "__main__":
    main()
