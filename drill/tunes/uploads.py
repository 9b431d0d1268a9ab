"""Read files of charts: one song each, or many in a zip archive.

A file that cannot be read is refused with a sentence; the other files still count. Only the chart of a file is kept.
An archive is opened within fixed bounds, whatever its headers claim.
"""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import Final

from cards.charts import MOST_BYTES, Chart, ChartError, decode, read_chart
from cards.messages import Refusal, refusal
from drill.incoming.reading import LONGEST_TITLE, on_one_line
from drill.words import NO_CHORD

MOST_FILES: Final = 200
"""The most songs in one archive: enough for a band's book."""

ARCHIVE_BYTES: Final = 4 * 1024 * 1024
"""The largest archive that is opened, in bytes; 200 charts of 10 kB take half of it unpacked."""

_METHODS: Final = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
"""The compression methods that are accepted; the others let an archive ask for any amount of memory."""

_BROKEN: Final = (zipfile.BadZipFile, zlib.error, struct.error, NotImplementedError, OSError, EOFError, ValueError)
"""What the library raises for archives that are cut off or corrupt."""


@dataclass(frozen=True)
class Upload:
    """A file that was read: its chart, or the reason why it was refused."""

    name: str
    chart: Chart | None = None
    refused: Refusal | None = None

    @property
    def title(self) -> str:
        """The title that the song states, otherwise the file's name.

        A line above a song is not used: it may be the first words.
        """
        given = self.chart.title if self.chart and self.chart.title_given else None
        plain = PurePosixPath(self.name.replace("\\", "/")).stem.replace("_", " ")
        return (on_one_line(given or "") or on_one_line(plain) or "Tune")[:LONGEST_TITLE].strip()


def read_file(name: str, data: bytes) -> Iterator[Upload]:
    """Read a file, or every file of an archive."""
    if data[:4] in (b"PK\3\4", b"PK\5\6"):
        yield from _read_archive(name, data)
    else:
        yield _read_song(name, data)


def _read_song(name: str, data: bytes) -> Upload:
    try:
        chart = read_chart(decode(data))
    except ChartError as error:
        return Upload(name, refused=error.refusal)
    if not chart.chords:
        return Upload(name, refused=NO_CHORD)
    return Upload(name, chart)


def _read_archive(name: str, data: bytes) -> Iterator[Upload]:
    if len(data) > ARCHIVE_BYTES:
        most = ARCHIVE_BYTES // 2**20
        yield Upload(name, refused=refusal("this archive has more than {most} MB: send it in parts", most=most))
        return
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            inside = [member for member in archive.infolist() if _is_song(member)]
            read = [_read_member(archive, member) for member in inside[:MOST_FILES]]
    except _BROKEN:
        broken = refusal("this archive is broken and cannot be opened: pack it again as a plain .zip")
        yield Upload(name, refused=broken)
        return
    yield from read
    if not inside:
        yield Upload(name, refused=refusal("there is no file in this archive"))
    if len(inside) > MOST_FILES:
        left_out = refusal(
            "only the first {most} of {count} files were read: send it in parts", most=MOST_FILES, count=len(inside)
        )
        yield Upload(name, refused=left_out)


def _is_song(member: zipfile.ZipInfo) -> bool:
    """Return whether a member is a file, and not one that an operating system adds to archives."""
    path = PurePosixPath(member.filename)
    return not member.is_dir() and not any(part.startswith((".", "__MACOSX")) for part in path.parts)


def _read_member(archive: zipfile.ZipFile, member: zipfile.ZipInfo) -> Upload:
    """Read one file of an archive; unpack no more than a chart can have, whatever the file claims."""
    if member.flag_bits & 1:
        return Upload(member.filename, refused=refusal("this file is locked by a password: pack it without one"))
    if member.compress_type not in _METHODS:
        unusual = refusal("this file is packed in an unusual way: pack it again as a plain .zip")
        return Upload(member.filename, refused=unusual)
    try:
        with archive.open(member) as packed:
            data = packed.read(MOST_BYTES + 1)
    except _BROKEN:
        return Upload(member.filename, refused=refusal("this file is broken: pack it again as a plain .zip"))
    return _read_song(member.filename, data)
