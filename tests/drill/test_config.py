"""Settings of the service, and whom it answers."""

from __future__ import annotations

from pathlib import Path

import pytest

from drill.config import FILE_NAME, Config, ConfigError, pages
from drill.store import prepare
from tests.conftest import EVENING


def test_without_anything_said_it_stays_on_this_machine() -> None:
    config = Config.read({})
    assert (config.host, config.port, config.local) == ("127.0.0.1", 8127, True)
    assert config.url.startswith("sqlite:///")
    assert config.url.endswith("anchor-drill/drill.sqlite")


def test_the_command_line_goes_before_the_environment() -> None:
    environ = {"DRILL_DATA": "/srv/drill", "DRILL_PORT": "9000", "DRILL_NAMES": "Drill.Example, practice"}
    config = Config.read(environ, port=9001, data=None)
    assert config == Config(data=Path("/srv/drill"), port=9001, names=("drill.example", "practice"))


def test_a_port_that_is_none_is_refused() -> None:
    with pytest.raises(ConfigError, match='DRILL_PORT is "guitar"'):
        Config.read({"DRILL_PORT": "guitar"})


def test_a_database_of_another_kind_is_refused() -> None:
    with pytest.raises(ConfigError, match='starts with "mysql"'):
        _ = Config.read({"DRILL_DATABASE": "mysql://host/drill"}).url


@pytest.mark.parametrize(
    ("bound_to", "host", "answers"),
    [
        ("127.0.0.1", "127.0.0.1:8127", True),
        ("127.0.0.1", "localhost", True),
        ("127.0.0.1", "LOCALHOST:8127", True),
        ("127.0.0.1", "[::1]:8127", True),
        ("127.0.0.1", "drill.example", False),
        ("127.0.0.1", "192.168.1.20:8127", False),
        ("127.0.0.1", "127.0.0.1.drill.example", False),
        ("127.0.0.1", "", False),
        ("0.0.0.0", "192.168.1.20:8127", True),
        ("0.0.0.0", "drill.example", False),
        ("0.0.0.0", "practice:8127", True),
    ],
)
def test_it_answers_to_addresses_and_to_names_it_knows(bound_to: str, host: str, answers: bool) -> None:
    assert Config(host=bound_to, names=("practice",)).answers_to(host) is answers


def test_the_pages_are_found_in_a_checkout() -> None:
    static, templates = pages()
    assert (templates / "home.html").is_file()
    assert static.is_dir()


def test_a_folder_is_one_wherever_it_is_named_from(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert Config(data=Path("demo")).folder == tmp_path / "demo"
    prepare(Config(data=Path("demo")).url, EVENING)
    assert (tmp_path / "demo" / FILE_NAME).is_file()
