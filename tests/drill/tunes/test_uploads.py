"""Files of charts: read or refused one by one, whatever an archive says of itself."""

from __future__ import annotations

import base64
import io
import random
import zipfile
from collections.abc import Mapping

import pytest

from drill.tunes.uploads import ARCHIVE_BYTES, MOST_FILES, Upload, read_file


def zipped(files: Mapping[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    """An archive of files."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", method) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return packed.getvalue()


def encoded(data: bytes) -> str:
    """A file as requests carry it."""
    return base64.b64encode(data).decode()


def read(name: str, data: bytes) -> list[Upload]:
    return list(read_file(name, data))


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"\x89PNG\r\n\0\0G C D", "binary file"),
        (b"| G | C |\n" * 20_000, "too long"),
        ("| G | C |".encode("utf-16") + b"\xd8", "not valid UTF-16"),
        (b"\x01\x02| G | C |", "control characters"),
        (b"", "no chord was read"),
        (b"words and more words\n| N.C. |", "no chord was read"),
        (b"PK\3\4 and nothing else", "pack it again"),
    ],
)
def test_what_is_no_chart_is_refused_in_a_sentence(data: bytes, says: str) -> None:
    (refused,) = read("song.txt", data)
    assert refused.chart is None
    assert says in str(refused.refused)


@pytest.mark.parametrize(
    ("name", "song", "title"),
    [
        ("Slow_blues.txt", "| B♭7 | E♭7 |", "Slow blues"),
        ("a.pro", "{title: Two\tchords }\n[G]la", "Two chords"),
        ("set 1/Open vamp.cho", "First words of it\n\nG  C\nla la", "Open vamp"),
        ("C:\\charts\\vamp.txt", "1 4", "vamp"),
        ("\0\ud800.txt", "1 4", "Tune"),
        ("", "{t: \u2028}\n[G]la", "Tune"),
        ("x" * 300, "1 4", "x" * 120),
    ],
)
def test_the_title_is_what_the_song_declares_else_the_files_name(name: str, song: str, title: str) -> None:
    (upload,) = read(name, song.encode())
    assert (upload.title, upload.refused) == (title, None)


def test_an_archive_is_read_file_by_file() -> None:
    files = {
        "set 1/Vamp.txt": b"1 4",
        "__MACOSX/._Vamp.txt": b"\0\5",
        ".DS_Store": b"\0",
        "set 1/photo.jpg": b"\xff\xd8\0",
        "Latin.txt": "[G]r\xeave".encode("latin-1"),
        "inside.zip": zipped({"a.txt": b"1 4"}),
    }
    found = read("band.zip", zipped(files))
    assert [each.name for each in found] == ["set 1/Vamp.txt", "set 1/photo.jpg", "Latin.txt", "inside.zip"]
    assert [each.chart is not None for each in found] == [True, False, True, False]


def test_an_archive_that_grows_is_only_opened_so_far() -> None:
    packed = zipped({f"{number}.txt": b"G " * 20_000_000 for number in range(2)})
    assert len(packed) < 100_000
    assert ["too long" in str(each.refused) for each in read("band.zip", packed)] == [True, True]


def test_an_archive_has_bounds() -> None:
    many = read("band.zip", zipped({f"{number}.txt": b"1 4" for number in range(MOST_FILES + 3)}, zipfile.ZIP_STORED))
    assert sum(each.chart is not None for each in many) == MOST_FILES
    assert f"first {MOST_FILES} of {MOST_FILES + 3}" in str(many[-1].refused)
    (large,) = read("band.zip", zipped({"a.bin": bytes(ARCHIVE_BYTES)}, zipfile.ZIP_STORED))
    assert "more than 4 MB" in str(large.refused)
    (empty,) = read("band.zip", zipped({}))
    assert "no file in this archive" in str(empty.refused)


def test_a_file_packed_in_an_unusual_way_or_locked_is_refused_alone() -> None:
    (packed,) = read("band.zip", zipped({"a.txt": b"1 4"}, zipfile.ZIP_LZMA))
    assert "unusual way" in str(packed.refused)
    locked = bytearray(zipped({"a.txt": b"1 4"}))
    locked[6] |= 1
    locked[locked.index(b"PK\1\2") + 8] |= 1
    (refused,) = read("band.zip", bytes(locked))
    assert "password" in str(refused.refused)


def test_bent_archives_are_read_as_far_as_they_go() -> None:
    whole = zipped({"a.txt": b"| G | C |" * 40, "b.txt": b"| A | D |" * 40})
    chance = random.Random(6)
    for _ in range(400):
        bent = bytearray(whole)
        for _ in range(chance.randrange(1, 5)):
            bent[chance.randrange(len(bent))] = chance.randrange(256)
        end = chance.choice((len(bent), chance.randrange(4, len(bent))))
        for each in read("band.zip", bytes(bent[:end])):
            assert (each.chart is None) == (each.refused is not None)
