"""``drill tunes``: add charts as tunes, list them, and show one."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from cards.messages import echo, refusal
from drill.cli.charts import NOTHING_READ, REFUSED, describe_chart
from drill.cli.data import data_option, opened
from drill.tunes.uploads import ARCHIVE_BYTES, Upload, read_file
from drill.words import NO_CHORD, ngettext, say_refusal
from drill.words import gettext as _

if TYPE_CHECKING:
    from drill.store.models import Tune


def register(main: click.Group) -> None:
    """Add the commands to the ``drill`` command."""
    main.add_command(tunes)


@click.group()
def tunes() -> None:
    """Tunes that a set list can hold."""


@tunes.command()
@data_option
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
def add(data: Path | None, files: tuple[Path, ...]) -> None:
    """Keep the charts in FILES as tunes: text of any notation, or .zip archives of them.

    Only chords, bars and section names are kept. Exits with 0 if anything was read, else with 1 if no
    chord was, with 2 if every file was refused.
    """
    from drill import clock
    from drill.tunes.library import keep

    kept, refused = 0, []
    with opened(data) as (store, player_id):
        for upload in _uploads(files):
            if upload.chart is None:
                refused.append(upload.refused)
                if upload.refused is not None:
                    click.echo(f"{upload.name}: {say_refusal(upload.refused)}", err=True)
                continue
            keep(store, player_id, upload.title, upload.chart, clock.now())
            kept += 1
            chart = upload.chart
            key_source = _("given") if chart.key_given else _("found") if chart.keys else _("none given")
            line = _("{title}: {key} ({found}), {read} of {count} chords read")
            read = chart.tokens - len(chart.unread)
            click.echo(line.format(title=upload.title, key=chart.key, found=key_source, read=read, count=chart.tokens))
    if not kept:
        sys.exit(NOTHING_READ if NO_CHORD in refused else REFUSED)


def _uploads(files: tuple[Path, ...]) -> Iterator[Upload]:
    """Read the files one after the other."""
    for file in files:
        try:
            if file.stat().st_size > ARCHIVE_BYTES:
                most = ARCHIVE_BYTES // 2**20
                yield Upload(str(file), refused=refusal("more than {most} MB: no chart is that long", most=most))
            else:
                yield from read_file(file.name, file.read_bytes())
        except OSError as error:
            unreadable = refusal("cannot be read: {reason}; name a file with a chart in it", reason=error.strerror)
            yield Upload(str(file), refused=unreadable)


@tunes.command("list")
@data_option
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def list_(data: Path | None, as_json: bool) -> None:
    """The tunes that are there, by title."""
    from drill.tunes.library import tunes as tunes_of

    with opened(data) as (store, player_id):
        rows = [_row(tune) for tune in tunes_of(store, player_id)]
    if as_json:
        click.echo(json.dumps(rows, ensure_ascii=False, indent=2))
    elif not rows:
        click.echo(_("No tunes yet: bring some in with drill tunes add FILE…"))
    for row in () if as_json else rows:
        parts = [row["key"]]
        if row["capo"]:
            parts.append(_("capo {capo}").format(capo=row["capo"]))
        parts.append(ngettext("{count} bar", "{count} bars", row["bars"]).format(count=row["bars"]))
        if row["tempo"]:
            parts.append(_("{tempo} bpm").format(tempo=f"{row['tempo']:g}"))
        click.echo(f"{row['title']}: {', '.join(parts)}")


def _row(tune: Tune) -> dict[str, Any]:
    from drill.tunes.library import chart_of

    chart = chart_of(tune)
    return {
        "id": tune.id,
        "title": tune.title,
        "key": str(chart.key),
        "capo": chart.capo,
        "tempo": chart.tempo,
        "bars": chart.length,
    }


@tunes.command()
@data_option
@click.argument("title")
@click.option("--json", "as_json", is_flag=True, help="Print JSON, as drill chart does.")
def show(data: Path | None, title: str, as_json: bool) -> None:
    """The chart of the tune called TITLE, or of the one with that id."""
    from drill.tunes.library import chart_of
    from drill.tunes.library import tunes as tunes_of

    with opened(data) as (store, player_id):
        stored = tunes_of(store, player_id)
    wanted = title.casefold().strip()
    matches = [tune for tune in stored if wanted in (tune.title.casefold(), tune.id)]
    if not matches:
        sentence = _('no tune is called "{title}": drill tunes list prints what is there')
        raise click.ClickException(sentence.format(title=echo(title)))
    if len(matches) > 1:
        ids = ", ".join(tune.id for tune in matches)
        sentence = _('{count} tunes are called "{title}": say which by its id, one of {ids}')
        raise click.ClickException(sentence.format(count=len(matches), title=echo(title), ids=ids))
    chart = chart_of(matches[0])
    if as_json:
        click.echo(json.dumps(chart.as_json(), ensure_ascii=False, indent=2))
    else:
        click.echo("\n".join(describe_chart(chart)))
