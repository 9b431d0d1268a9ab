"""The ``drill`` command. Each command is a few lines over a function.

What a command needs is imported when it runs: ``drill serve`` should answer at once.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import click

from drill import cli_music
from drill.config import Config, ConfigError

if TYPE_CHECKING:
    from drill.fitting import Refitted

_data = click.option(
    "--data", type=click.Path(path_type=Path), metavar="DIR", help="Folder of the SQLite file (DRILL_DATA)."
)


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="anchor-drill", message="Anchor Drill %(version)s")
def main() -> None:
    """Guitar chords by number, key and box, until they come in time."""


@main.command()
@_data
@click.option("--host", metavar="ADDRESS", help="Address to listen on (DRILL_HOST); 0.0.0.0 for a phone.")
@click.option("--port", type=click.IntRange(0, 65535), help="Port to listen on (DRILL_PORT); 0 takes a free one.")
@click.option("--open", "open_page", is_flag=True, help="Open the page in a browser.")
def serve(data: Path | None, host: str | None, port: int | None, open_page: bool) -> None:
    """Serve the drill; create or upgrade its data first."""
    from drill.serve import ServeError, serve
    from drill.store import StoreError

    try:
        serve(_config(data=data, host=host, port=port), say=click.echo, open_page=open_page)
    except (ServeError, StoreError) as error:
        raise click.ClickException(str(error)) from error


@main.command()
@_data
def upgrade(data: Path | None) -> None:
    """Create the data, or move it up to this version, without serving."""
    from drill import clock
    from drill.learning import rebuild
    from drill.store import Store, StoreError, prepare

    config = _config(data=data)
    try:
        copy = prepare(config.url, clock.now())
    except StoreError as error:
        raise click.ClickException(str(error)) from error
    if copy:
        store = Store(config.url)
        rebuild(store)
        store.close()
    click.echo(f"Kept a copy in {copy}." if copy else "Nothing was there to be kept.")
    click.echo("The data is ready for this version.")


@main.command()
@_data
def rebuild(data: Path | None) -> None:
    """Work out every player's memory again from the log of reviews."""
    from drill.learning import rebuild
    from drill.store import Store, StoreError, check

    store = Store(_config(data=data).url)
    try:
        check(store.engine)
        click.echo(f"Rebuilt from {rebuild(store)} reviews.")
    except StoreError as error:
        raise click.ClickException(str(error)) from error
    finally:
        store.close()


@main.command()
@_data
@click.option("--player", type=click.IntRange(1), help="Number of one player; otherwise everybody.")
def refit(data: Path | None, player: int | None) -> None:
    """Fit the model to the log of reviews; what predicts better is adopted."""
    from drill import clock
    from drill.fitting import refit_player
    from drill.store import Store, StoreError, check
    from drill.store.sittings import all_players

    store = Store(_config(data=data).url)
    try:
        check(store.engine)
        with store.reading() as db:
            players = all_players(db)
        if player is not None and player not in players:
            raise click.ClickException(f"no player {player}: there are {', '.join(map(str, players))}")
        for each in players if player is None else [player]:
            click.echo(f"Player {each}: {_told(refit_player(store, each, clock.now()))}")
    except StoreError as error:
        raise click.ClickException(str(error)) from error
    finally:
        store.close()


def _told(refitted: Refitted | None) -> str:
    if refitted is None:
        return "too few answers yet; 200 over more than three weeks are needed."
    compared = f"log loss on the last three weeks {refitted.before:.4f} before, {refitted.after:.4f} after"
    return f"{compared}: {'adopted' if refitted.adopted else 'not adopted'} (version {refitted.version})."


def _config(**given: object) -> Config:
    try:
        return Config.read(os.environ, **given)
    except ConfigError as error:
        raise click.ClickException(str(error)) from error


cli_music.register(main)
