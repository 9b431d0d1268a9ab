"""Files of charts: one song each, or many in a zip archive.

A file is read or refused with a sentence; the others still count. Nothing of a file is kept but its
chart. An archive is opened with bounds, whatever it says of itself.
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
"""Songs in one archive: a band's book."""

ARCHIVE_BYTES: Final = 4 * 1024 * 1024
"""The largest archive that is opened; 200 charts of 10 kB are half of it unpacked."""

_METHODS: Final = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
"""How files may be packed: the other ways let an archive ask for any amount of memory."""

_BROKEN: Final = (zipfile.BadZipFile, zlib.error, struct.error, NotImplementedError, OSError, EOFError, ValueError)
"""What the library raises for archives that are cut off or bent."""


@dataclass(frozen=True)
class Upload:
    """What became of a file: its chart with a title, or why it was refused."""

    name: str
    chart: Chart | None = None
    refused: Refusal | None = None

    @property
    def title(self) -> str:
        """The title that the song says it has, else the file's name: a line above a song may be its first
        words."""
        given = self.chart.title if self.chart and self.chart.title_given else None
        plain = PurePosixPath(self.name.replace("\\", "/")).stem.replace("_", " ")
        return (on_one_line(given or "") or on_one_line(plain) or "Tune")[:LONGEST_TITLE].strip()


def read_file(name: str, data: bytes) -> Iterator[Upload]:
    """Read a file, or every file of an archive."""
    if data[:4] in (b"PK\3\4", b"PK\5\6"):
        yield from _archive(name, data)
    else:
        yield _song(name, data)


def _song(name: str, data: bytes) -> Upload:
    try:
        chart = read_chart(decode(data))
    except ChartError as error:
        return Upload(name, refused=error.refusal)
    if not chart.chords:
        return Upload(name, refused=NO_CHORD)
    return Upload(name, chart)


def _archive(name: str, data: bytes) -> Iterator[Upload]:
    if len(data) > ARCHIVE_BYTES:
        most = ARCHIVE_BYTES // 2**20
        yield Upload(name, refused=refusal("this archive has more than {most} MB: send it in parts", most=most))
        return
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            inside = [each for each in archive.infolist() if _is_song(each)]
            read = [_member(archive, each) for each in inside[:MOST_FILES]]
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
    """Whether it is a file, and none that an operating system leaves in archives."""
    path = PurePosixPath(member.filename)
    return not member.is_dir() and not any(part.startswith((".", "__MACOSX")) for part in path.parts)


def _member(archive: zipfile.ZipFile, member: zipfile.ZipInfo) -> Upload:
    """One file of an archive; whatever it claims, no more is unpacked than a chart can have."""
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
    return _song(member.filename, data)
