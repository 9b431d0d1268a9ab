"""The ``drill`` command. Each subcommand is a few lines over a function.

A command imports what it needs when it runs, so that ``drill serve`` answers at once.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, TextIO

import click

from drill.cli import charts, jams, music, tunes
from drill.cli.data import config_of, data_option, opened
from drill.words import gettext as _
from drill.words import ngettext, say_error, say_number, speak

if TYPE_CHECKING:
    from drill.learning.nightly_refit import Refitted


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="anchor-drill", message="Anchor Drill %(version)s")
def main() -> None:
    """Guitar chords by number, key and box, until they come in time."""
    speak(config_of().languages[0])


@main.command()
@data_option
@click.option("--host", metavar="ADDRESS", help="Address to listen on (DRILL_HOST); 0.0.0.0 for a phone.")
@click.option("--port", type=click.IntRange(0, 65535), help="Port to listen on (DRILL_PORT); 0 takes a free one.")
@click.option("--open", "open_page", is_flag=True, help="Open the page in a browser.")
def serve(data: Path | None, host: str | None, port: int | None, open_page: bool) -> None:
    """Serve the drill; create or upgrade its data first."""
    from drill.serve import ServeError, serve
    from drill.store import StoreError

    try:
        serve(config_of(data=data, host=host, port=port), say=click.echo, open_page=open_page)
    except (ServeError, StoreError) as error:
        raise click.ClickException(say_error(error)) from error


@main.command()
@data_option
def upgrade(data: Path | None) -> None:
    """Create the data, or move it up to this version, without serving."""
    from drill import clock
    from drill.learning.learn import rebuild
    from drill.store import Store, StoreError, prepare

    config = config_of(data=data)
    try:
        copy = prepare(config.url, clock.now())
    except StoreError as error:
        raise click.ClickException(say_error(error)) from error
    if copy:
        store = Store(config.url)
        rebuild(store)
        store.close()
    click.echo(_("Kept a copy in {copy}.").format(copy=copy) if copy else _("Nothing was there to be kept."))
    click.echo(_("The data is ready for this version."))


@main.command()
@data_option
def rebuild(data: Path | None) -> None:
    """Work out every player's memory again from the log of reviews."""
    from drill.learning.learn import rebuild

    with opened(data) as (store, _player):
        count = rebuild(store)
    click.echo(ngettext("Rebuilt from {count} review.", "Rebuilt from {count} reviews.", count).format(count=count))


@main.command()
@data_option
@click.option("-o", "--output", type=click.Path(path_type=Path), metavar="FILE", help="Where to; else the terminal.")
@click.option("--csv", "as_csv", is_flag=True, help="Only the reviews, as CSV.")
def export(data: Path | None, output: Path | None, as_csv: bool) -> None:
    """Write everything that is yours as JSON, or the reviews as CSV."""
    import json

    from drill import clock
    from drill.export import document

    with opened(data) as (store, player_id):
        if as_csv:
            text = "".join(document.export_csv(store, player_id))
        else:
            text = json.dumps(document.export(store, player_id, clock.now()), ensure_ascii=False, indent=1) + "\n"
    if output is None:
        click.echo(text, nl=False)
        return
    _write_file(output, text)


@main.command("import")
@data_option
@click.argument("file", type=click.File(encoding="utf-8"))
def import_(data: Path | None, file: TextIO) -> None:
    """Take an export into an empty data folder."""
    from drill import clock
    from drill.export import document
    from drill.export.checks import ArchiveError
    from drill.store import StoreError, prepare

    try:
        text = file.read()
        prepare(config_of(data=data).url, clock.now())
        with opened(data) as (store, player_id):
            count = document.take_in(store, player_id, text)
    except UnicodeDecodeError as error:
        sentence = _("{file}: byte {number}: this is no text in UTF-8").format(file=file.name, number=error.start)
        raise click.ClickException(sentence) from error
    except (ArchiveError, StoreError) as error:
        raise click.ClickException(say_error(error)) from error
    click.echo(ngettext("Taken in: {count} review.", "Taken in: {count} reviews.", count).format(count=count))


@main.command()
@data_option
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.option("--map", "drawing", type=click.Path(path_type=Path), metavar="FILE", help="Draw the key map there (SVG).")
def weak(data: Path | None, as_json: bool, drawing: Path | None) -> None:
    """Print the weakest chords, keys, degrees and skills."""
    import json

    from drill import clock
    from drill.progress.key_map import View, key_map
    from drill.progress.weakest import weakest

    with opened(data) as (store, player_id):
        weakest_of_all = weakest(store, player_id, clock.now())
        if drawing is not None:
            _write_file(drawing, key_map(store, player_id, View(), clock.now()).drawing())
    click.echo(
        json.dumps(weakest_of_all.as_json(), ensure_ascii=False, indent=2) if as_json else weakest_of_all.as_text()
    )


@main.command()
@data_option
@click.option("--seed", type=int, default=1, show_default=True, metavar="N", help="Another seed is another guitarist.")
def demo(data: Path | None, seed: int) -> None:
    """Fill an empty data folder with a simulated guitarist of a house band."""
    from drill import clock
    from drill.demo.guitarist import DemoError, fill
    from drill.store import StoreError, prepare

    try:
        prepare(config_of(data=data).url, clock.now())
        with opened(data) as (store, player_id):
            count = fill(store, player_id, clock.now(), seed)
    except (DemoError, StoreError) as error:
        raise click.ClickException(say_error(error)) from error
    click.echo(_("Six weeks of demo data, {count} answers. Every page says that it is a demo.").format(count=count))


def _write_file(file: Path, text: str) -> None:
    try:
        file.write_text(text, encoding="utf-8", newline="")
    except OSError as error:
        sentence = _("{file} cannot be written ({reason})").format(file=file, reason=error.strerror)
        raise click.ClickException(sentence) from error


@main.command()
@data_option
@click.option("--player", type=click.IntRange(1), help="Number of one player; otherwise everybody.")
def refit(data: Path | None, player: int | None) -> None:
    """Fit the model to the log of reviews; what predicts better is adopted."""
    from drill import clock
    from drill.learning.nightly_refit import refit_player
    from drill.store.sittings import all_players

    with opened(data) as (store, _player):
        with store.reading() as db:
            players = all_players(db)
        if player is not None and player not in players:
            known = ", ".join(map(str, players))
            raise click.ClickException(_("no player {player}: there are {there}").format(player=player, there=known))
        for player_id in players if player is None else [player]:
            outcome = _describe_refit(refit_player(store, player_id, clock.now()))
            click.echo(_("Player {player}: {outcome}").format(player=player_id, outcome=outcome))


def _describe_refit(refitted: Refitted | None) -> str:
    if refitted is None:
        return _("too few answers yet; 200 over more than three weeks are needed.")
    sentence = (
        _("log loss on the last three weeks {before} before, {after} after: adopted (version {version}).")
        if refitted.adopted
        else _("log loss on the last three weeks {before} before, {after} after: not adopted (version {version}).")
    )
    before, after = say_number(refitted.before, 4), say_number(refitted.after, 4)
    return sentence.format(before=before, after=after, version=refitted.version)


music.register(main)
charts.register(main)
tunes.register(main)
jams.register(main)
