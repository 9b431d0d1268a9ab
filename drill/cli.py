"""The ``drill`` command. Each command is a few lines over a function.

What a command needs is imported when it runs: ``drill serve`` should answer at once.
"""

from __future__ import annotations

import os
from pathlib import Path

import click

from drill import cli_charts, cli_music
from drill.config import Config, ConfigError

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
    from drill.store import StoreError, prepare

    config = _config(data=data)
    try:
        copy = prepare(config.url, clock.now())
    except StoreError as error:
        raise click.ClickException(str(error)) from error
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


def _config(**given: object) -> Config:
    try:
        return Config.read(os.environ, **given)
    except ConfigError as error:
        raise click.ClickException(str(error)) from error


cli_music.register(main)
cli_charts.register(main)
