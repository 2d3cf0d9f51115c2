"""Notes kept as Word (.docx) or PDF files: their text, in reading order."""

from __future__ import annotations

import logging
import zipfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kbindex.engines.tables import join_cells, looks_like_header
from kbindex.errors import DocumentError

if TYPE_CHECKING:
    from docx.table import Table, _Cell

_MOST_UNPACKED_BYTES = 100_000_000
_MOST_PAGES = 500


def read_word(file: Path) -> str:
    """Read a Word file's paragraphs and tables in order; a table's row is a line.

    Raises:
        DocumentError: It is no Word file, is damaged, unpacks to more than 100 MB, or holds no text.
    """
    _check_zip(file)
    import docx

    try:
        text = "\n".join(line for line in _lines_of(docx.Document(str(file))) if line)
    except Exception as error:  # python-docx raises whatever its parts meet: KeyError, ValueError, lxml's own
        raise _damaged(file, "Word file (.docx)", error) from error
    if not text:
        raise DocumentError(file, "holds no text", "write something in it, or take it out of the folder")
    return text


def _check_zip(file: Path) -> None:
    """Look at the sizes that the archive states before anything is unpacked; zipfile unpacks no more than these."""
    try:
        with zipfile.ZipFile(file) as archive:
            unpacked = sum(entry.file_size for entry in archive.infolist())
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError) as error:
        raise _damaged(file, "Word file (.docx)", error) from error
    if unpacked > _MOST_UNPACKED_BYTES:
        raise DocumentError(
            file,
            f"unpacks to {unpacked / 1e6:.0f} MB; a note may have {_MOST_UNPACKED_BYTES / 1e6:.0f} MB",
            "save its text as .txt, or take the pictures out",
        )


def _lines_of(container: Any) -> Iterator[str]:
    """Lines of a document or cell: both hold paragraphs and tables."""
    from docx.table import Table

    for block in container.iter_inner_content():
        if isinstance(block, Table):
            yield from _table_lines(block)
        else:
            yield " ".join(block.text.split())


def _table_lines(table: Table) -> Iterator[str]:
    rows = [[_cell_text(cell) for cell in _cells_once(row.cells)] for row in table.rows]
    header = rows[0] if len(rows) > 1 and len(rows[0]) > 1 and looks_like_header(rows[0], rows[1:]) else []
    for row in rows[1:] if header else rows:
        names = [*header, *[""] * len(row)]
        yield join_cells(list(zip(names, row, strict=False)))


def _cells_once(cells: Sequence[_Cell]) -> Iterator[_Cell]:
    """Cells of a row; python-docx gives a merged cell once for every column it spans."""
    seen: set[int] = set()
    for cell in cells:
        if id(cell._tc) not in seen:
            seen.add(id(cell._tc))
            yield cell


def _cell_text(cell: _Cell) -> str:
    return " ".join(line for line in _lines_of(cell) if line)


def read_pdf(file: Path) -> str:
    """Read a PDF's text, page by page.

    Raises:
        DocumentError: It is no PDF, is damaged, locked with a password, has more than 500 pages, or has no text
            (scanned pages).
    """
    import pypdf
    from pypdf.errors import FileNotDecryptedError

    try:
        with file.open("rb") as stream, _unheard("pypdf"):
            pages = pypdf.PdfReader(stream).pages
            if len(pages) > _MOST_PAGES:
                raise DocumentError(file, f"has {len(pages)} pages", "take out the pages that are the note")
            text = "\n".join(page.extract_text() for page in pages)
    except DocumentError:
        raise
    except FileNotDecryptedError as error:
        raise DocumentError(file, "is locked with a password", "save it without one") from error
    except Exception as error:  # pypdf raises its own errors and, on damaged files, any of Python's
        raise _damaged(file, "PDF", error) from error
    lines = [" ".join(line.split()) for line in text.splitlines()]
    if not any(lines):
        raise DocumentError(
            file,
            "has no text, only pictures of pages",
            "save it with its text recognised (OCR), or type the note as .txt",
        )
    return "\n".join(lines).strip()


@contextmanager
def _unheard(logger: str) -> Iterator[None]:
    """Keep a library's warnings off the terminal: only the doors print."""
    log = logging.getLogger(logger)
    level = log.level
    log.setLevel(logging.CRITICAL)
    try:
        yield
    finally:
        log.setLevel(level)


def _damaged(file: Path, what: str, error: Exception) -> DocumentError:
    told = str(error) or type(error).__name__
    what_next = "open it in its own program and save it again, or as .txt"
    return DocumentError(file, f"cannot be read as a {what} ({told})", what_next)
