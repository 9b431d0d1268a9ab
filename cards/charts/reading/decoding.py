"""Decodes the bytes of a file into text.

The file may be in UTF-8 with or without a byte order mark, in UTF-16 with one, in Latin-1 or in Windows-1250. A file
that cannot be a chart is refused with an error that says why.
"""

from __future__ import annotations

import re

from cards.charts.chart import ChartError

MOST_BYTES = 100_000
"""The largest file. A chart of 200 lines has about 10 kB; ten times that is a book, whose songs should come singly."""

_MARKS = ((b"\xef\xbb\xbf", "utf-8"), (b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))
_CONTROLS = re.compile(r"[\x00-\x08\x0e-\x1a\x1c-\x1f]")
# These bytes are š, ž, ť, ź and their capitals in Windows-1250. Latin-1 has nothing printable there.
_CENTRAL = re.compile(rb"[\x8a\x8d\x8e\x8f\x9a\x9d\x9e\x9f]")


def decode(data: bytes) -> str:
    """Return the text of a file. Raises ChartError for a file that is binary, too long or wrongly encoded.

    >>> decode(b"\\xef\\xbb\\xbf| C | F |"), decode("Růže".encode("utf-16"))
    ('| C | F |', 'Růže')
    """
    if len(data) > MOST_BYTES:
        raise ChartError(
            "this file is too long: a chart has at most {most} kB; give one song per file", most=MOST_BYTES // 1000
        )
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            return _decode_checked(data[len(mark) :], encoding)
    if b"\0" in data:
        raise ChartError("this is a binary file, not text: save the chart as plain text or ChordPro")
    try:
        return _decode_checked(data, "utf-8")
    except UnicodeDecodeError:
        return _decode_checked(data, "cp1250" if _CENTRAL.search(data) else "latin-1")


def _decode_checked(data: bytes, encoding: str) -> str:
    """Decode text and check it for control characters.

    Raises UnicodeDecodeError for wrong UTF-8 without null bytes, which may be in another encoding, and ChartError for
    anything else that is wrong.
    """
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as error:
        if encoding == "utf-8" and b"\0" not in data:
            raise
        raise ChartError(
            "this text is not valid {encoding}: save the chart as UTF-8", encoding=encoding.upper()
        ) from error
    if _CONTROLS.search(text):
        raise ChartError("this file has control characters in it: save the chart as plain text in UTF-8")
    return text
