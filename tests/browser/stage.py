"""A guitarist in front of the page: the service served, a window on it, and hands that answer."""

from __future__ import annotations

import json
import re
import secrets
import socket
import sqlite3
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Mapping, Sequence
from contextlib import closing
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any

from drill.config import FILE_NAME
from tests.browser import served

ROOT = Path(__file__).resolve().parents[2]
PHONE = {"width": 360, "height": 740}
PHONE_ON_ITS_SIDE = {"width": 740, "height": 360}
DESKTOP = {"width": 1280, "height": 800}

Frets = Sequence[int | None]


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class Drill:
    """The real service in a process of its own, on a data folder that outlives it; ``settings`` are its environment
    variables."""

    def __init__(self, data: Path, port: int, settings: Mapping[str, str] | None = None) -> None:
        self.settings = settings or {}
        self.data = data
        self.port = port
        self.origin = f"http://127.0.0.1:{port}"
        self._process: BaseProcess | None = None
        self._session = ""

    def start(self) -> None:
        self._process = served.start(self.data, self.port, self.settings)
        for _ in range(200):
            try:
                self.api("GET", "player")
            except (urllib.error.URLError, OSError):
                assert self._process.is_alive(), "drill serve ended by itself"
                time.sleep(0.1)
            else:
                return
        raise AssertionError("drill serve does not answer")

    def stop(self) -> None:
        if self._process is not None:
            self._process.terminate()
            self._process.join(20)
            assert self._process.exitcode == 0, "drill serve did not end cleanly"
            self._process = None

    def kill(self) -> None:
        """End the service at once, as a power cut would."""
        assert self._process is not None
        self._process.kill()
        self._process.join()

    def api(self, method: str, path: str, body: object = None) -> Any:
        request = urllib.request.Request(
            f"{self.origin}/api/{path}",
            method=method,
            data=None if body is None else json.dumps(body).encode(),
            headers={"Content-Type": "application/json"},
        )
        with urllib.request.urlopen(request, timeout=20) as reply:
            return json.load(reply)

    def session(self) -> dict[str, Any]:
        """The session that runs, or ran last, as the service has it."""
        running = self.api("GET", "player")["running"]
        if running:
            self._session = running["id"]
        return dict(self.api("GET", f"sessions/{self._session}"))

    def end_session(self) -> None:
        running = self.api("GET", "player")["running"]
        if running:
            self.api("POST", f"sessions/{running['id']}/end", {"visible_seconds": 0})

    def seat(self, *cards: str, minutes: int = 20, **settings: object) -> None:
        """A running session with these cards and no others, started in another tab.

        Each is said to fill the whole time, so that none is added while one of them is open. ``settings`` are
        the player's from then on.
        """
        self.end_session()
        if settings:
            self.api("PUT", "settings", settings)
        session = self.api("POST", "sessions", {"minutes": minutes, "tab": "away"})["id"]
        with closing(sqlite3.connect(self.data / FILE_NAME, timeout=10)) as db, db:
            (player,) = db.execute("SELECT player_id FROM sessions WHERE id = ?", (session,)).fetchone()
            db.execute("DELETE FROM questions WHERE session_id = ?", (session,))
            db.executemany(
                "INSERT INTO questions"
                " (session_id, question, player_id, card, reason, reason_values, predicted_seconds)"
                " VALUES (?, ?, ?, ?, 'why-missed', '{}', ?)",
                [(session, number, player, card, minutes * 60.0) for number, card in enumerate(cards)],
            )

    def send(self, session: str, answers: list[dict[str, Any]], visible: float) -> None:
        body = {"sent_at": 1, "tab": "away", "visible_seconds": visible, "reviews": answers}
        reply = self.api("POST", f"sessions/{session}/reviews", body)
        assert all(item["status"] == "accepted" for item in reply["items"]), reply

    def pass_time(self, seconds: float) -> None:
        """Let the running session have been in view for ``seconds``."""
        self.send(self.session()["id"], [], seconds)


def right_frets(question: dict[str, Any]) -> list[int | None]:
    """A right voicing of few notes, within the first view of the neck where there is one."""

    def reading(frets: list[int | None]) -> tuple[bool, int]:
        return any(fret is not None and fret > 12 for fret in frets), sum(fret is not None for fret in frets)

    every = ([None if fret == "x" else int(fret, 36) for fret in code] for code in question["answer"]["frets"])
    return min(every, key=reading)


def review(question: dict[str, Any]) -> dict[str, Any]:
    """A right answer in time, as a page would send it."""
    answer = question["answer"]
    given: dict[str, Any] = {}
    for part in question["prompt"]["parts"]:
        if part == "name":
            given["name"] = answer["names"][0]
        elif part == "frets":
            given["frets"] = right_frets(question)
        elif part == "number":
            given["number"] = next(number for number in answer["numbers"] if len(number) == 1)
        elif part == "choice":
            given["choice"] = answer["choices"][0]
        elif part == "spots":
            given["spots"] = answer["spots"][0]
        elif part == "notes":
            given["notes"] = answer["notes"]
        elif part == "marks":
            given["marks"] = [True] * len(question["prompt"]["steps"])
        else:
            given["right"] = True
    return {
        "id": secrets.token_hex(16),
        "question": question["question"],
        "card": question["card"],
        "given": given,
        "seconds": 2.0,
        "mode": "touch",
        "answered_at": 1,
    }


class Stage:
    """One browser (a context of its own) on the service, with a phone's or a desktop's screen.

    ``says`` is how the page says an English sentence, where the player reads another language.
    """

    def __init__(
        self,
        chromium: Any,
        drill: Drill,
        *,
        screen: dict[str, int] = PHONE,
        dark: bool = False,
        motion: bool = True,
        scripts: bool = True,
        says: Callable[[str], str] = str,
    ) -> None:
        self.drill = drill
        self.says = says
        self.by_touch = screen is not DESKTOP
        self.errors: list[str] = []
        self.elsewhere: list[str] = []
        self.context = chromium.new_context(
            viewport=screen,
            has_touch=self.by_touch,
            is_mobile=self.by_touch,
            color_scheme="dark" if dark else "light",
            reduced_motion="no-preference" if motion else "reduce",
            java_script_enabled=scripts,
        )
        self.context.set_default_timeout(20_000)
        self.context.on("request", self._watch)
        self.page = self.tab()

    def tab(self) -> Any:
        """A further tab of the same browser."""
        page = self.context.new_page()
        page.on("pageerror", lambda error: self.errors.append(str(error)))
        page.on("console", lambda message: self._hear(message.text))
        return page

    def close(self) -> None:
        self.context.close()

    def _watch(self, request: Any) -> None:
        if not request.url.startswith(self.drill.origin + "/"):
            self.elsewhere.append(request.url)

    def _hear(self, words: str) -> None:
        if "Content Security Policy" in words or "Uncaught" in words:
            self.errors.append(words)

    # ---- going about

    def go(self, path: str) -> None:
        self.page.goto(self.drill.origin + path)

    def listen(self) -> None:
        """Wait until the forms of the page take what is typed, as a hand has to: until then they are inert."""
        self.page.locator("#main").filter(has_not=self.page.locator("form[inert]")).wait_for()

    def press(self, name: str) -> None:
        """Press a button or follow a link by its name, by touch or with the mouse."""
        name = self.says(name)
        found = self.page.get_by_role("button", name=name, exact=True)
        found = found.or_(self.page.get_by_role("link", name=name, exact=True))
        found.tap() if self.by_touch else found.click()

    def keys(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)

    def see(self, words: str) -> None:
        """Wait until the page says so."""
        self.page.locator("#main").get_by_text(self.says(words)).first.wait_for()

    def gone(self, words: str) -> None:
        """Wait until the page no longer says so."""
        self.page.locator("#main").get_by_text(words).wait_for(state="detached")

    def choose(self, name: str) -> None:
        """Mark a box or one of several choices by its name."""
        self.page.get_by_role("checkbox", name=name, exact=True).or_(
            self.page.get_by_role("radio", name=name, exact=True)
        ).check()

    def text(self, place: str) -> str:
        return str(self.page.locator(place).inner_text())

    def go_on(self) -> None:
        """Go on in this tab with the session that was started elsewhere."""
        self.go("/session")
        self.press("Go on here")
        self.wait_for_question()

    def wait_for_question(self) -> None:
        self.page.wait_for_selector("[data-state=asking] .asked .number")
        # The first paint, from which the answer is measured.
        painted = "new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))"
        self.page.evaluate(painted)
        self.page.evaluate(painted)

    def next(self) -> None:
        """On to the next card, past the guard against a second tap that was meant for the answer."""
        self.page.wait_for_timeout(350)
        self.press("Next") if self.by_touch else self.keys("Enter")
        self.page.wait_for_selector("[data-state=asking], [data-state=waiting]")

    # ---- the question and the answer

    def question(self) -> dict[str, Any]:
        """The question that is open, as the service has it."""
        return next(each for each in self.drill.session()["questions"] if each["review"] is None)

    def outcome(self) -> str:
        self.page.wait_for_selector("[data-state=judged]")
        return str(self.page.locator("#outcome .mark-of").inner_text()).strip()

    def acknowledged(self, number: int) -> dict[str, Any]:
        """The review of a question, once the service has it."""
        for _ in range(80):
            asked = {each["question"]: each for each in self.drill.session()["questions"]}
            if asked[number]["review"]:
                return dict(asked[number]["review"])
            time.sleep(0.1)
        raise AssertionError(f"question {number} was not acknowledged")

    def name(self, chord: str) -> None:
        """Give a chord's name: by two taps, or by writing it as a keyboard can."""
        root, quality = re.fullmatch(r"([A-G][♯♭]?)(.*)", chord).groups()  # type: ignore[union-attr]
        if self.by_touch:
            self.page.locator(f'[data-part=root][data-value="{root}"]').tap()
            self.page.locator(f'[data-part=quality][data-value="{quality}"]').tap()
        else:
            self.page.keyboard.type(chord.replace("♭", "b").replace("♯", "#").replace("°", "dim"))
            self.keys("Enter")

    def place(self, frets: Frets) -> None:
        """Put frets (string 6 first) on the neck, by touch or with the arrows and the space bar."""
        at = 0
        for string, fret in zip(range(6, 0, -1), frets, strict=True):
            if self.by_touch:
                if fret is not None:
                    self.page.locator(f'[data-string="{string}"][data-fret="{fret}"]').tap()
                continue
            if fret is not None:
                self.keys(*["ArrowRight" if fret > at else "ArrowLeft"] * abs(fret - at), " ")
                at = fret
            if string > 1:
                self.keys("ArrowUp")

    def put_at(self, string: int, fret: int) -> None:
        """Tap one place on the neck, in whichever view it is, or go there with the arrows and set it."""
        cell = self.page.locator(f'[data-string="{string}"][data-fret="{fret}"]')
        if self.by_touch:
            if not cell.count():
                self.page.get_by_role("button", name=re.compile("^Show (nut|capo|frets)")).tap()
            cell.tap()
            return
        focused = "Object.values(document.activeElement.dataset).map(Number)"
        for _ in range(40):
            at_string, at_fret = self.page.evaluate(focused)
            if at_string != string:
                self.keys("ArrowUp" if at_string > string else "ArrowDown")
            elif at_fret != fret:
                self.keys("ArrowRight" if at_fret < fret else "ArrowLeft")
            else:
                break
        self.keys(" ")

    def tap_notes(self, steps: Sequence[Sequence[Sequence[int]]]) -> None:
        """Put notes on the neck, step by step."""
        for places in steps:
            for string, fret in sorted(places, reverse=True):
                self.put_at(string, fret)
            if self.by_touch:
                self.page.locator("#ledge .work").tap()
            else:
                self.keys("Enter")

    def pick(self, ids: Sequence[str]) -> None:
        """Choose one option of each group: tap it, or type what it is called and press Enter if need be."""
        typed = {"root": "1", "third": "3", "fifth": "5", "seventh": "7"}
        for group, option in enumerate(ids):
            if self.by_touch:
                self.page.locator(f'[data-group="{group}"] [data-id="{option}"]').tap()
                continue
            self.keys(*typed.get(option, re.sub("^([A-G])s$", r"\1#", option)))
            if self.page.evaluate("document.activeElement.dataset.id") == option:
                self.keys("Enter")

    def spell(self, notes: Sequence[str]) -> None:
        """Give notes: a tap each (and one to raise or lower it further), or written."""
        if not self.by_touch:
            ascii_signs = str.maketrans({"♭": "b", "♯": "#", "𝄫": "bb", "𝄪": "x"})  # type: ignore[arg-type]
            self.page.keyboard.type(" ".join(notes).translate(ascii_signs))
        for note in notes if self.by_touch else ():
            plain = note.replace("𝄫", "♭").replace("𝄪", "♯")
            self.press(plain)
            if plain != note:
                self.press("Lower the last note" if "𝄫" in note else "Raise the last note")
        self.check()

    def run_through(self, marks: Sequence[bool]) -> None:
        """Play a run to its end and mark what was fumbled."""
        self.press("Start") if self.by_touch else self.keys(" ")
        self.page.wait_for_selector("[data-state=played]", timeout=20_000)
        self.page.wait_for_timeout(350)
        for step, right in enumerate(marks, start=1):
            if not right:
                self.page.locator(f'.marks [data-key="{step}"]').tap() if self.by_touch else self.keys(str(step))
        self.page.locator("#ledge .work").tap() if self.by_touch else self.keys("Enter")

    def check(self) -> None:
        self.press("Check") if self.by_touch else self.keys("Enter")

    def answer(self, question: dict[str, Any], **instead: Any) -> None:
        """Answer the question on the screen: rightly, or with what ``instead`` says for a part."""
        given = {**review(question)["given"], **instead}
        for part in question["prompt"]["parts"]:
            if part == "name":
                self.name(given["name"])
            elif part == "frets":
                self.place(given["frets"])
                self.check()
            elif part == "number":
                self.press(given["number"]) if self.by_touch else self.keys(given["number"])
            elif part == "choice":
                self.pick(given["choice"])
            elif part == "spots":
                self.tap_notes(given["spots"])
            elif part == "notes":
                self.spell(given["notes"])
            elif part == "marks":
                self.run_through(given["marks"])
            else:
                self.play(given["right"])

    def play(self, right: bool) -> None:
        """Play on the guitar, stop the clock, and say whether it was right."""
        self.press("Played") if self.by_touch else self.keys(" ")
        self.page.wait_for_selector("[data-state=played]")
        self.page.wait_for_timeout(350)
        if self.by_touch:
            self.press("Yes" if right else "No")
        else:
            self.keys("y" if right else "n")
