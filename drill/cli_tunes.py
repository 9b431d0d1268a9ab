"""``drill tunes``: charts into the drill, and what is there."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import click

from drill.cli_store import data_option, opened
from drill.uploads import ARCHIVE_BYTES, read_file

NOTHING_READ = 1


def register(main: click.Group) -> None:
    """Add the commands to the ``drill`` command."""
    main.add_command(tunes)


@click.group()
def tunes() -> None:
    """Tunes that a set list can hold."""


@tunes.command()
@data_option
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path, exists=True, dir_okay=False))
def add(data: Path | None, files: tuple[Path, ...]) -> None:
    """Keep the charts in FILES as tunes: text of any notation, or .zip archives of them.

    Only chords, bars and section names are kept. Exits with 0 if anything was read.
    """
    from drill import clock
    from drill.tunes import keep

    kept = 0
    with opened(data) as (store, player_id):
        for file in files:
            if file.stat().st_size > ARCHIVE_BYTES:
                click.echo(f"{file}: more than {ARCHIVE_BYTES // 2**20} MB: no chart is that long", err=True)
                continue
            for upload in read_file(file.name, file.read_bytes()):
                if upload.chart is None:
                    click.echo(f"{upload.name}: {upload.refused}", err=True)
                    continue
                keep(store, player_id, upload.title, upload.chart, clock.now())
                kept += 1
                chart = upload.chart
                found = "given" if chart.key_given else "found"
                read = f"{chart.tokens - len(chart.unread)} of {chart.tokens} chords read"
                click.echo(f"{upload.title}: {chart.key} ({found}), {read}")
    if not kept:
        sys.exit(NOTHING_READ)


@tunes.command("list")
@data_option
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def list_(data: Path | None, as_json: bool) -> None:
    """The tunes that are there, by title."""
    from drill.tunes import chart_of
    from drill.tunes import tunes as tunes_of

    with opened(data) as (store, player_id):
        rows: list[dict[str, Any]] = []
        for tune in tunes_of(store, player_id):
            chart = chart_of(tune)
            bars = sum(len(section.bars) for section in chart.sections)
            rows.append({"id": tune.id, "title": tune.title, "key": str(chart.key), "tempo": chart.tempo, "bars": bars})
    if as_json:
        click.echo(json.dumps(rows, ensure_ascii=False, indent=2))
    elif not rows:
        click.echo("No tunes yet: bring some in with drill tunes add FILE…")
    for row in () if as_json else rows:
        tempo = f", {row['tempo']:g} bpm" if row["tempo"] else ""
        click.echo(f"{row['title']}: {row['key']}, {row['bars']} bars{tempo}")
