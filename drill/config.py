"""Every setting of the service, in one typed place.

A setting given on the command line comes first, then its environment variable, then its default. What a
*player* may set (keys, tempo, hand …) is not a setting of the service: see :mod:`drill.players.preferences`.
"""

from __future__ import annotations

import ipaddress
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from datetime import timedelta
from pathlib import Path
from typing import Any, Final

from cards.messages import RefusalError
from drill.words.language import ENGLISH, LANGUAGES

BODY_BYTES: Final = 64 * 1024
"""The largest request body that is read."""

IMPORT_BYTES: Final = 96 * 1024 * 1024
"""The largest export that is read; 100 000 reviews are about 60 MB."""

BATCH: Final = 100
"""The most reviews in one request. A page with more of them sends several requests."""

LOCK_WAIT: Final = timedelta(seconds=5)
"""How long a writer waits for another writer before the request fails."""

MIGRATION_WAIT: Final = timedelta(seconds=60)
"""How long a process waits for another process that is migrating."""

THREADS: Final = 8
"""The number of threads that answer requests in ``drill serve``."""

FILE_NAME: Final = "drill.sqlite"


class ConfigError(RefusalError, ValueError):
    """A setting that cannot be read. The message names it and says what would be right."""


def _variable(name: str, says: str) -> dict[str, str]:
    return {"variable": name, "says": says}


@dataclass(frozen=True)
class Config:
    """The settings of one process of the service."""

    data: Path | None = field(
        default=None,
        metadata=_variable("DRILL_DATA", "folder that holds the SQLite file and its backups"),
    )
    database: str | None = field(
        default=None,
        metadata=_variable("DRILL_DATABASE", "URL of a PostgreSQL database, instead of the file"),
    )
    host: str = field(default="127.0.0.1", metadata=_variable("DRILL_HOST", "address to listen on"))
    port: int = field(default=8127, metadata=_variable("DRILL_PORT", "port to listen on; 0 takes a free one"))
    names: tuple[str, ...] = field(
        default=(),
        metadata=_variable("DRILL_NAMES", "further host names it answers to, separated by commas"),
    )
    languages: tuple[str, ...] = field(
        default=(ENGLISH,),
        metadata=_variable(
            "DRILL_LANGUAGES", "languages that players can choose from, separated by commas; the terminal's comes first"
        ),
    )

    @classmethod
    def read(cls, environ: Mapping[str, str], **given: object) -> Config:
        """Read the settings from ``environ``. Values in ``given`` that are not None come first.

        Raises ConfigError.
        """
        values: dict[str, Any] = {name: value for name, value in given.items() if value is not None}
        for setting in fields(cls):
            text = environ.get(setting.metadata["variable"], "").strip()
            if text and setting.name not in values:
                values[setting.name] = _read(setting.name, text)
        return cls(**values)

    @property
    def folder(self) -> Path:
        """The data folder: the one given, or the platform's default."""
        if self.data is not None:
            return self.data.expanduser().absolute()
        from platformdirs import user_data_path

        return user_data_path("anchor-drill", appauthor=False)

    @property
    def url(self) -> str:
        """The database as an SQLAlchemy URL. Raises ConfigError.

        >>> Config(database="postgresql://band@localhost/drill").url
        'postgresql+psycopg://band@localhost/drill'
        """
        if self.database is None:
            return f"sqlite:///{self.folder / FILE_NAME}"
        scheme, _, rest = self.database.partition("://")
        if scheme not in ("postgres", "postgresql", "postgresql+psycopg"):
            raise ConfigError(
                'DRILL_DATABASE starts with "{scheme}": it must be like postgresql://user@host/name (without it, an'
                " SQLite file in the data folder is used)",
                scheme=scheme,
            )
        return f"postgresql+psycopg://{rest}"

    @property
    def local(self) -> bool:
        """Whether only this machine can reach the service."""
        return is_loopback(self.host)

    def answers_to(self, host: str) -> bool:
        """Whether a request for ``host`` (the Host header) is meant for this service.

        A page of somebody else's can only reach this service under a *name* that its owner has pointed at this
        machine. So every address is safe, and a name must be known.

        >>> Config().answers_to("localhost:8127"), Config().answers_to("drill.example")
        (True, False)
        """
        name = _host_name(host)
        if name == "localhost" or name in self.names:
            return True
        try:
            address = ipaddress.ip_address(name)
        except ValueError:
            return False
        return address.is_loopback or not self.local


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach a service that listens on ``host``."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def pages() -> tuple[Path, Path]:
    """Return the folders ``static`` and ``templates``: beside this module in a wheel, above it in a checkout."""
    folder = Path(__file__).resolve().parent
    root = folder if (folder / "templates").is_dir() else folder.parent
    return root / "static", root / "templates"


def _host_name(host: str) -> str:
    """Return the name in a Host header, in lower case, without port and brackets."""
    if host.startswith("["):
        return host[1:].partition("]")[0]
    return host.partition(":")[0].lower()


def _read(name: str, text: str) -> object:
    if name == "data":
        return Path(text)
    if name == "names":
        return tuple(part.strip().lower() for part in text.split(",") if part.strip())
    if name == "languages":
        return _read_languages(text)
    if name == "port":
        if not text.isdecimal() or int(text) > 65535:
            raise ConfigError('DRILL_PORT is "{text}": it must be a number from 0 to 65535', text=text)
        return int(text)
    return text


def _read_languages(text: str) -> tuple[str, ...]:
    languages = tuple(part.strip() for part in text.split(",") if part.strip())
    for language in languages:
        if language not in LANGUAGES:
            raise ConfigError(
                'DRILL_LANGUAGES names "{language}": there are {languages}',
                language=language,
                languages=", ".join(LANGUAGES),
            )
    return languages
