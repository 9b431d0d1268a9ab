"""``drill serve`` as a process: it starts, says what is wrong, ends cleanly, and loses nothing."""

from __future__ import annotations

import os
import secrets
import signal
import socket
import sqlite3
import subprocess
import sys
import time
import zipfile
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
import requests

from tests.browser.stage import Drill as WarmService

ROOT = Path(__file__).parents[2]


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@dataclass
class Served:
    """A running ``drill serve``."""

    data: Path
    port: int = field(default_factory=free_port)
    options: tuple[str, ...] = ()
    source: Path = ROOT
    process: subprocess.Popen[str] = field(init=False)

    def __post_init__(self) -> None:
        self.process = drill("serve", "--port", str(self.port), *self.options, data=self.data, source=self.source)

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def ready(self) -> Served:
        for _ in range(600):
            try:
                requests.get(f"{self.address}/healthz", timeout=5)
                return self
            except requests.ConnectionError:
                assert self.process.poll() is None, self.process.communicate()
                time.sleep(0.05)
        raise AssertionError("it did not start within 30 seconds")

    def post(self, path: str, body: dict[str, Any]) -> dict[str, Any]:
        reply = requests.post(f"{self.address}/api/{path}", json=body, timeout=30)
        assert reply.ok, reply.text
        return dict(reply.json())

    def end(self, how: signal.Signals = signal.SIGTERM) -> tuple[int, str, str]:
        self.process.send_signal(how)
        out, err = self.process.communicate(timeout=30)
        return self.process.returncode, out, err


def drill(*arguments: str, data: Path, source: Path = ROOT) -> subprocess.Popen[str]:
    environ = {name: value for name, value in os.environ.items() if not name.startswith("DRILL_")}
    return subprocess.Popen(
        [sys.executable, "-c", "from drill.cli.command import main; main(prog_name='drill')", *arguments],
        cwd=data.parent,
        env={**environ, "DRILL_DATA": str(data), "PYTHONPATH": str(source)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def outcome(*arguments: str, data: Path) -> tuple[int, str, str]:
    process = drill(*arguments, data=data)
    out, err = process.communicate(timeout=60)
    return process.returncode, out, err


@pytest.fixture
def serve(tmp_path: Path) -> Iterator[Callable[..., Served]]:
    started: list[Served] = []

    def start(**how: Any) -> Served:
        started.append(Served(**{"data": tmp_path / "data", **how}))
        return started[-1]

    yield start
    for served in started:
        if served.process.poll() is None:
            served.process.kill()
        served.process.communicate()


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGINT])
def test_it_prints_its_address_serves_and_ends_cleanly(serve: Callable[..., Served], how: signal.Signals) -> None:
    served = serve().ready()
    assert "Hear the number" in requests.get(served.address, timeout=5).text
    code, out, err = served.end(how)
    assert (code, err) == (0, "")
    assert out.splitlines() == [f"Anchor Drill is on {served.address}/ (Ctrl-C ends it)", "Ended."]


def test_on_the_network_it_says_where_and_warns(serve: Callable[..., Served]) -> None:
    _, out, _ = serve(options=("--host", "0.0.0.0")).ready().end()
    first, second, _ = out.splitlines()
    assert first.startswith("Anchor Drill is on http://")
    assert "0.0.0.0" not in first
    assert second.startswith("Warning: there is no sign-in yet.")


def test_a_port_that_is_taken_is_said_in_one_line(serve: Callable[..., Served], tmp_path: Path) -> None:
    served = serve().ready()
    code, out, err = outcome("serve", "--port", str(served.port), data=tmp_path / "other")
    assert (code, out) == (1, "")
    assert err == (
        f"Error: port {served.port} is taken, perhaps by a drill that is running already: "
        "open it, or choose another one with --port or DRILL_PORT\n"
    )
    assert not (tmp_path / "other").exists(), "and nothing was made"


def somebody_elses(folder: Path) -> str:
    folder.mkdir()
    with closing(sqlite3.connect(folder / "drill.sqlite")) as connection:
        connection.execute("CREATE TABLE songs (title)")
    return "is not one of Anchor Drill's"


def from_a_newer_version(folder: Path) -> str:
    assert outcome("upgrade", data=folder)[0] == 0
    with closing(sqlite3.connect(folder / "drill.sqlite")) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
        connection.commit()
    return "comes from a newer version"


def not_a_folder(folder: Path) -> str:
    folder.touch()
    return "cannot be made"


def not_writable(folder: Path) -> str:
    folder.mkdir(mode=0o500)
    if os.access(folder, os.W_OK):
        pytest.skip("root may write everywhere")
    return "is not writable"


@pytest.mark.parametrize("make", [somebody_elses, from_a_newer_version, not_a_folder, not_writable])
def test_data_that_cannot_be_used_is_said_in_one_line(make: Callable[[Path], str], tmp_path: Path) -> None:
    said = make(tmp_path / "data")
    for command in (("serve", "--port", "0"), ("upgrade",)):
        code, out, err = outcome(*command, data=tmp_path / "data")
        assert (code, out) == (1, "")
        assert said in err
        assert err.startswith("Error: ")
        assert err.count("\n") == 1


def test_upgrade_and_rebuild_without_serving(tmp_path: Path) -> None:
    assert outcome("rebuild", data=tmp_path / "data")[2].startswith("Error: the database is empty")
    code, out, _ = outcome("upgrade", data=tmp_path / "data")
    assert (code, out.splitlines()[-1]) == (0, "The data is ready for this version.")
    assert outcome("rebuild", data=tmp_path / "data")[1] == "Rebuilt from 0 reviews.\n"


def test_an_acknowledged_answer_outlives_kill_9(tmp_path: Path) -> None:
    """Ten times: answer, be acknowledged, kill. Each answer is there once when the service is back.

    The service is forked from a warm process, since a start of the command takes longer than all else here.
    """
    served, told = WarmService(tmp_path, free_port()), []
    served.start()
    session = served.api("POST", "sessions", {"tab": "tab"})
    for number in range(10):
        question = session["questions"][number]
        review = {
            "id": secrets.token_hex(16),
            "question": number,
            "card": question["card"],
            "given": {"shown": number % 3 == 0, "name": question["answer"]["chord"]},
            "seconds": 2.0,
            "mode": "touch",
            "answered_at": time.time() * 1000,
        }
        batch = {"tab": "tab", "sent_at": time.time() * 1000, "visible_seconds": 3, "reviews": [review]}
        (item,) = served.api("POST", f"sessions/{session['id']}/reviews", batch)["items"]
        served.kill()
        told.append((item["status"], item["id"], item["outcome"]))
        served.start()
        (item,) = served.api("POST", f"sessions/{session['id']}/reviews", batch)["items"]
        assert item["status"] == "already answered", "sent again, as a page does that saw no reply"
    now = served.api("GET", f"sessions/{session['id']}")
    served.stop()
    reviews = [each["review"] for each in now["questions"] if each["review"]]
    assert sorted(("accepted", review["id"], review["outcome"]) for review in reviews) == sorted(told)
    assert len(told) == 10


def test_the_wheel_serves_its_own_pages(serve: Callable[..., Served], tmp_path: Path) -> None:
    subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(tmp_path), str(ROOT)],
        check=True,
        stdout=subprocess.DEVNULL,
    )
    (wheel,) = tmp_path.glob("*.whl")
    with zipfile.ZipFile(wheel) as packed:
        tops = {name.partition("/")[0] for name in packed.namelist()}
        assert not [name for name in packed.namelist() if name.endswith(".md")]
        packed.extractall(tmp_path / "site")
    assert {top for top in tops if not top.endswith(".dist-info")} == {"cards", "drill"}
    served = serve(source=tmp_path / "site").ready()
    page = requests.get(served.address, timeout=5).text
    assert "Hear the number" in page
    assert requests.get(f"{served.address}/static/css/base.css", timeout=5).ok
    found = subprocess.run(
        [sys.executable, "-c", "from drill.config import pages; print(*pages(), sep='\\n')"],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(tmp_path / "site")},
        capture_output=True,
        text=True,
        check=True,
    ).stdout.splitlines()
    assert found == [str(tmp_path / "site" / "drill" / name) for name in ("static", "templates")]


def test_it_ends_cleanly_with_a_job_due(serve: Callable[..., Served]) -> None:
    served = serve().ready()
    with closing(sqlite3.connect(served.data / "drill.sqlite")) as database:
        database.execute("INSERT INTO jobs (player_id, name, due_at) VALUES (1, 'refit', '2020-01-01 00:00:00.000000')")
        database.commit()
    code, out, err = served.end()
    assert (code, err) == (0, "")
    assert out.endswith("Ended.\n")


def test_refit_says_what_came_of_it(tmp_path: Path) -> None:
    data = tmp_path / "data"
    assert outcome("refit", data=data)[0] == 1, "there is nothing yet"
    assert outcome("upgrade", data=data)[0] == 0
    code, out, _ = outcome("refit", data=data)
    assert (code, out) == (0, "Player 1: too few answers yet; 200 over more than three weeks are needed.\n")
    code, _, err = outcome("refit", "--player", "7", data=data)
    assert (code, err) == (1, "Error: no player 7: there are 1\n")
