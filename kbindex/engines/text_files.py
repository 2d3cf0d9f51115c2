"""Text files as people save them: UTF-8 with or without a byte order mark, UTF-16, or the old Western code page."""

from __future__ import annotations

import codecs
from pathlib import Path

from kbindex.errors import DocumentError

_BOMS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
"""UTF-32's little-endian mark begins with UTF-16's, so it stands before it."""


def read_bytes(file: Path) -> bytes:
    """Read a document's bytes.

    Raises:
        DocumentError: The file cannot be opened, or holds nothing.
    """
    try:
        data = file.read_bytes()
    except OSError as error:
        raise DocumentError(
            file, f"cannot be opened ({error.strerror or error})", "check that it is there and that you may read it"
        ) from error
    if not data.strip():
        raise DocumentError(file, "is empty", "write something in it, or take it out of the folder")
    return data


def read_text(file: Path) -> str:
    r"""Read a text file, with "\n" as its only line end.

    Raises:
        DocumentError: The file cannot be opened, holds nothing but white space, or is no text.
    """
    text = decode_text(read_bytes(file), file).replace("\r\n", "\n").replace("\r", "\n")
    if not text.strip():
        raise DocumentError(file, "is empty", "write something in it, or take it out of the folder")
    return text


def decode_text(data: bytes, file: Path) -> str:
    """Decode by byte order mark, else as UTF-8, else as Windows-1252 and where that has holes as Latin-1.

    Raises:
        DocumentError: It holds zero bytes or breaks the encoding of its mark, so it is no text.
    """
    for mark, encoding in _BOMS:
        if data.startswith(mark):
            return _decode_marked(data, encoding, file)
    if b"\0" in data:
        return _decode_unmarked_utf16(data, file)
    for encoding in ("utf-8", "cp1252"):
        try:
            return data.decode(encoding)
        except UnicodeDecodeError:
            continue
    return data.decode("latin-1")


def _decode_marked(data: bytes, encoding: str, file: Path) -> str:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        raise _no_text(file) from error


def _decode_unmarked_utf16(data: bytes, file: Path) -> str:
    """Zero bytes in every second place are Western text in UTF-16 without its mark; elsewhere they are no text."""
    for start, encoding in ((1, "utf-16-le"), (0, "utf-16-be")):
        zeros = data[start::2].count(0)
        if len(data) % 2 == 0 and zeros > len(data) * 0.3 and zeros > 4 * data[1 - start :: 2].count(0):
            return _decode_marked(data, encoding, file)
    raise _no_text(file)


def _no_text(file: Path) -> DocumentError:
    return DocumentError(file, "is not a text file", "save it as plain text (UTF-8), or take it out of the folder")
