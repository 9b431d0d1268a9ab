"""Files of charts: one song each, or many in a zip archive.

A file is read or refused with a sentence; the others still count. Nothing of a file is kept but its
chart. An archive is opened with bounds, whatever it says of itself.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import Final

from cards.charts import MOST_BYTES, Chart, ChartError, decode, read_chart
from drill.tunes import LONGEST_TITLE

MOST_FILES: Final = 200
"""Songs in one archive: a band's book."""

ARCHIVE_BYTES: Final = 4 * 1024 * 1024
"""The largest archive that is opened; 200 charts of 10 kB are half of it unpacked."""


@dataclass(frozen=True)
class Upload:
    """What became of a file: its chart with a title, or why it was refused."""

    name: str
    chart: Chart | None = None
    refused: str | None = None

    @property
    def title(self) -> str:
        """The title that the song says it has, else the file's name: a line above a song may be its first
        words."""
        given = self.chart.title if self.chart and self.chart.title_given else None
        plain = PurePosixPath(self.name.replace("\\", "/")).stem.replace("_", " ").strip()
        return " ".join((given or plain or "Tune").split())[:LONGEST_TITLE]


def read_file(name: str, data: bytes) -> Iterator[Upload]:
    """Read a file, or every file of an archive."""
    if zipfile.is_zipfile(io.BytesIO(data)) and data[:2] == b"PK":
        yield from _archive(name, data)
    else:
        yield _song(name, data)


def _song(name: str, data: bytes) -> Upload:
    try:
        chart = read_chart(decode(data))
    except ChartError as error:
        return Upload(name, refused=str(error))
    if not any(change.numeral for _, change in chart.changes):
        return Upload(name, refused="no chord was read; a chart is a line like 1 4 5 or | G | C | or [G]words")
    return Upload(name, chart)


def _archive(name: str, data: bytes) -> Iterator[Upload]:
    if len(data) > ARCHIVE_BYTES:
        yield Upload(name, refused=f"this archive has more than {ARCHIVE_BYTES // 2**20} MB: send it in parts")
        return
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            inside = [each for each in archive.infolist() if _is_song(each)]
            for each in inside[:MOST_FILES]:
                yield _member(archive, each)
    except (zipfile.BadZipFile, NotImplementedError, OSError, EOFError) as error:
        yield Upload(name, refused=f"this archive cannot be opened ({error}): pack it again as a plain .zip")
        return
    if not inside:
        yield Upload(name, refused="there is no file in this archive")
    if len(inside) > MOST_FILES:
        yield Upload(name, refused=f"only the first {MOST_FILES} of {len(inside)} files were read: send it in parts")


def _is_song(member: zipfile.ZipInfo) -> bool:
    """Whether it is a file, and none that an operating system leaves in archives."""
    path = PurePosixPath(member.filename)
    return not member.is_dir() and not any(part.startswith((".", "__MACOSX")) for part in path.parts)


def _member(archive: zipfile.ZipFile, member: zipfile.ZipInfo) -> Upload:
    if member.flag_bits & 1:
        return Upload(member.filename, refused="this file is locked by a password: pack it without one")
    with archive.open(member) as packed:
        data = packed.read(MOST_BYTES + 1)
    return _song(member.filename, data)
