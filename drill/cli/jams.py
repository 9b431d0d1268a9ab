"""``drill jam``: list the jams, and write the sheet of a night or a tune to a file."""

from __future__ import annotations

import re
import sys
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, NoReturn

import click

from cards.messages import echo
from drill.cli.data import data_option, opened
from drill.incoming.reading import HEX_ID
from drill.words import gettext as _
from drill.words import mark, ngettext, say_error, say_when

if TYPE_CHECKING:
    from drill.jams.nights import Night
    from drill.jams.sheets import NightSheet
    from drill.store import Store

NOT_THERE, REFUSED = 1, 2
SHEET_STYLES = ("tokens.css", "base.css", "controls.css", "drawings.css", "sheet.css")
"""The style sheets of a sheet's page, in the order of its links."""
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}\Z")


def register(main: click.Group) -> None:
    """Add the commands to the ``drill`` command."""
    main.add_command(jam)


@click.group()
def jam() -> None:
    """Jams and their set lists."""


@jam.command("list")
@data_option
def list_(data: Path | None) -> None:
    """The jams that are there, by date."""
    from drill import clock
    from drill.jams.nights import nights

    with opened(data) as (store, player_id):
        jams = nights(store, player_id, clock.now())
    if not jams:
        click.echo(_("No jams yet: make one on the Jams page."))
    for night in jams:
        click.echo(f"{night.local:%Y-%m-%d} {night.jam.name}: {_describe(night)}")


def _describe(night: Night) -> str:
    count = len(night.entries)
    tunes = ngettext("{count} tune", "{count} tunes", count).format(count=count)
    parts = ", ".join(filter(None, (say_when(night.local), night.jam.place, tunes)))
    return _("{jam} (id {id})").format(jam=parts, id=night.jam.id)


@jam.command()
@data_option
@click.argument("which", metavar="[JAM]", required=False)
@click.option("--tune", "title", metavar="TITLE", help="The sheet of one tune, by its title or id, instead of a jam's.")
@click.option("-o", "--out", type=click.Path(path_type=Path), metavar="FILE.html", help="Where to; else the terminal.")
@click.option("--box", metavar="N", help="Box 1 to 5, or open; else the jam's first, or 1.")
@click.option("--up", metavar="N", help="So many semitones up, -11 to 11: 5 for a fourth.")
@click.option("--key", metavar="KEY", help="The key called, like Eb.")
@click.option("--capo", metavar="FRET", help="The capo on another fret; 0 for none.")
@click.option("--manner", metavar="NAME", help="smooth, strum, comp or small; smooth unless you say another.")
@click.option("--paper", metavar="a4|letter", help="The paper it is to be printed on; a4 unless you say letter.")
def sheet(data: Path | None, which: str | None, title: str | None, out: Path | None, **asked: str | None) -> None:
    """Write the sheet of JAM (its name, date, id, or next) as one HTML file.

    Exits with 1 if there is no such jam or tune, with 2 for a box, key, manner or paper that there is not.
    """
    from drill.jams.sheets import SheetError

    if (which is None) == (title is None):
        _refuse(_("name a jam (its name, its date like 2026-12-03, or next), or one tune with --tune TITLE"), REFUSED)
    given = {name: text for name, text in asked.items() if text is not None}
    with opened(data) as (store, player_id):
        try:
            made = _make_sheet(store, player_id, which, title, given)
        except SheetError as error:
            _refuse(say_error(error), REFUSED)
    text = _page(made)
    if out is None:
        click.echo(text)
        return
    try:
        out.write_text(text, encoding="utf-8", newline="")
    except OSError as error:
        sentence = _("cannot write {file}: {reason}; name a file in a folder you may write to")
        _refuse(sentence.format(file=out, reason=error.strerror), REFUSED)
    click.echo(_("Wrote {file}.").format(file=out))


def _make_sheet(
    store: Store, player_id: int, which: str | None, title: str | None, asked: dict[str, str]
) -> NightSheet:
    from drill import clock
    from drill.jams.nights import nights
    from drill.jams.sheets import sheet_of_jam, sheet_of_tune
    from drill.tunes.library import tunes

    now = clock.now()
    if which is None:
        titled = {tune.id: tune.title for tune in tunes(store, player_id)}
        return sheet_of_tune(store, player_id, _find_one(_TUNE, str(title), titled), asked)
    jam_id = _which_jam(nights(store, player_id, now), which, now)
    return sheet_of_jam(store, player_id, jam_id, asked, now)


def _which_jam(jams: Sequence[Night], which: str, now: datetime) -> str:
    """Return the id of a jam by its id, its name or its date, or of the next one."""
    if which.strip().lower() == "next":
        coming = [night for night in jams if not night.past]
        if not coming:
            _refuse(_("no jam is to come: drill jam list shows those that were"), NOT_THERE)
        return coming[0].jam.id
    if _DATE.match(which.strip()):
        on_day = {n.jam.id: n.jam.name for n in jams if f"{n.local:%Y-%m-%d}" == which.strip()}
        if not on_day:
            _refuse(_("no jam is on {date}: drill jam list shows when they are").format(date=which.strip()), NOT_THERE)
        if len(on_day) > 1:
            sentence = _("several jams are on {date}: name one of {names}")
            _refuse(sentence.format(date=which.strip(), names=_listed(on_day)), NOT_THERE)
        return next(iter(on_day))
    return _find_one(_JAM, which, {night.jam.id: night.jam.name for night in jams})


class _Kind(NamedTuple):
    """The sentences for a jam or a tune that does not exist, or that is not the only one."""

    none_yet: str
    no_such: str
    several: str


_JAM = _Kind(
    mark('no jam "{name}": there are none yet'),
    mark('no jam "{name}": there are {names}'),
    mark('several jams are called "{name}": take an id, of {names}'),
)
_TUNE = _Kind(
    mark('no tune "{name}": there are none yet'),
    mark('no tune "{name}": there are {names}'),
    mark('several tunes are called "{name}": take an id, of {names}'),
)


def _find_one(kind: _Kind, wanted: str, names: dict[str, str]) -> str:
    """Return the id of the jam or tune with this id or name, or of the only one whose name begins with it."""
    text = wanted.strip().casefold()
    if HEX_ID.match(text) and text in names:
        return text
    same = [identifier for identifier, name in names.items() if name.casefold() == text]
    same = same or [identifier for identifier, name in names.items() if text and name.casefold().startswith(text)]
    if not same:
        sentence = _(kind.no_such if names else kind.none_yet)
        _refuse(sentence.format(name=echo(wanted), names=", ".join(names.values())), NOT_THERE)
    if len(same) > 1:
        several = {identifier: names[identifier] for identifier in same}
        _refuse(_(kind.several).format(name=echo(wanted), names=_listed(several)), NOT_THERE)
    return same[0]


def _listed(names: dict[str, str]) -> str:
    return ", ".join(f"{name} ({identifier})" for identifier, name in names.items())


def _page(sheet: NightSheet) -> str:
    """Return the sheet as one page with its styles, for a browser without the service."""
    from flask import Flask, render_template

    from drill.config import pages
    from drill.web.sheets import shown
    from drill.words.pages import give_words_to

    static, templates = pages()
    styles = "\n".join((static / "css" / name).read_text(encoding="utf-8") for name in SHEET_STYLES)
    app = Flask("drill", template_folder=str(templates))
    give_words_to(app.jinja_env)
    with app.app_context():
        return render_template("sheet_file.html", styles=f"<style>\n{styles}</style>", **shown(sheet))


def _refuse(sentence: str, code: int) -> NoReturn:
    click.echo(sentence, err=True)
    sys.exit(code)
