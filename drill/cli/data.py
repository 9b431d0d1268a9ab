"""What commands with data share: where the data is, and how the store is opened."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from drill.config import Config, ConfigError
from drill.words import say_error

if TYPE_CHECKING:
    from drill.store import Store

data_option = click.option(
    "--data", type=click.Path(path_type=Path), metavar="DIR", help="Folder of the SQLite file (DRILL_DATA)."
)


@contextmanager
def opened(data: Path | None) -> Iterator[tuple[Store, int]]:
    """Open the store, which must be at this version, and return it with its player."""
    from drill.store import Store, StoreError, check
    from drill.store.sittings import only_player

    try:
        with closing(Store(config_of(data=data).url)) as store:
            check(store.engine)
            with store.reading() as db:
                player_id = only_player(db)
            yield store, player_id
    except StoreError as error:
        raise click.ClickException(say_error(error)) from error


def config_of(**given: object) -> Config:
    """Return the settings of the service; those of the command line come first."""
    try:
        return Config.read(os.environ, **given)
    except ConfigError as error:
        raise click.ClickException(say_error(error)) from error
