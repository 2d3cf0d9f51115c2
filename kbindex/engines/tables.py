"""Tables of tickets (.csv): a header row, then a job a row, whatever the program wrote between the cells."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Sequence
from pathlib import Path

from kbindex.engines.text_files import read_text
from kbindex.errors import DocumentError
from kbindex.reading.tickets import Column, column_of
from kbindex.records import Note

_DELIMITERS = ",;\t|"
_UNUSED = "\x1f"
_TRIED_ROWS = 60
_LONGEST_CELL = 1 << 20
_LONGEST_NAME = 40
_MOST_NAME_WORDS = 6
_VALUE = re.compile(r"[\s$£€#(]*\d[\d\s.,:/%$£€#()+-]*(?:[ap]m|min|hrs?|h|usd|t|z)?[\d:.z+]*$|\S+@\S+\.\S+$", re.IGNORECASE)
"""Numbers, dates, times, money, telephone numbers and e-mail addresses: what cells hold and columns are not called."""

Row = list[str]


def read_table(file: Path, path: str) -> list[Note]:
    """Read a table: a note for each row that is not blank, `row` counted from 1 after the header, blank rows counted.

    A row shorter than the header has empty cells at its end; cells beyond the header are called "column 8" and so on.

    Raises:
        DocumentError: It is empty, no text, no table, has no header, or nothing under it.
    """
    header, rows = _split(_read_rows(file), file)
    notes = [_note_of(path, number, header, row) for number, row in enumerate(rows, 1) if any(row)]
    if not notes:
        raise DocumentError(file, "has a header but no row under it", "add the jobs, one a row, or take it out of the folder")
    return notes


def join_cells(fields: Sequence[tuple[str, str]]) -> str:
    """Write cells as a text to read: "Header: cell. Header: cell."; empty cells are left out."""
    parts = []
    for header, cell in fields:
        if cell:
            text = f"{header}{'' if header[-1] in ':?' else ':'} {cell}" if header else cell
            parts.append(text if text[-1] in ".!?" else text + ".")
    return " ".join(parts)


def looks_like_header(row: Sequence[str], below: Sequence[Sequence[str]]) -> bool:
    """Whether a row names columns: some name is known, none is a value, and none stands as a cell further down.

    A header that is repeated whole further down (tables pasted together) is still one.
    """
    names = [cell for cell in row if cell]
    if any(_VALUE.match(cell) or len(cell) > _LONGEST_NAME or len(cell.split()) > _MOST_NAME_WORDS for cell in names):
        return False
    known = sum(column_of(name) is not Column.OTHER for name in names)
    return known > 0 and not _has_cells_of(row, below)


def _has_cells_of(row: Sequence[str], below: Sequence[Sequence[str]]) -> bool:
    first = [cell.casefold() for cell in row]
    for other in below:
        same = [cell.casefold() == name for cell, name in zip(other, first, strict=False) if name]
        if any(same) and not all(same):
            return True
    return False


def _read_rows(file: Path) -> list[Row]:
    text = read_text(file).replace("\0", "")
    before = csv.field_size_limit(_LONGEST_CELL)
    try:
        lines = text.splitlines(keepends=True)
        return [[_tidy(cell) for cell in row] for row in csv.reader(lines, delimiter=_find_delimiter(lines))]
    except csv.Error as error:
        raise DocumentError(file, f"is not a table ({error})", "save it again as CSV with a header row") from error
    finally:
        csv.field_size_limit(before)


def _tidy(cell: str) -> str:
    """Take needless white space out of a cell; its own line ends stay, for they part what was written."""
    lines = (" ".join(line.split()) for line in cell.splitlines())
    return "\n".join(line for line in lines if line)


def _find_delimiter(lines: Sequence[str]) -> str:
    """Choose the delimiter that gives most full rows and most cells in them; a table of one column has none.

    `csv.Sniffer` is not used: it gives up on tables of free text and takes letters for delimiters.
    """
    fits = {delimiter: _fit(lines[:_TRIED_ROWS], delimiter) for delimiter in _DELIMITERS}
    best = max(fits, key=lambda delimiter: fits[delimiter])
    return best if fits[best] else _UNUSED


def _fit(lines: Sequence[str], delimiter: str) -> int:
    """Rows as wide as the widest, times the delimiters in them; 0 where most rows have none, as in free text."""
    try:
        counts = [len(row) for row in csv.reader(lines, delimiter=delimiter) if row]
    except csv.Error:
        return 0
    widest = max(counts, default=1)
    return counts.count(widest) * (widest - 1) if sum(count > 1 for count in counts) * 2 >= len(counts) else 0


def _split(rows: list[Row], file: Path) -> tuple[Row, list[Row]]:
    """Part the header from the rows under it; blank rows and a title in a single cell may stand above it."""
    filled = [number for number, row in enumerate(rows) if any(row)]
    for place, number in enumerate(filled):
        below = rows[number + 1 :]
        if _is_title(rows[number]) and any(looks_like_header(rows[later], []) for later in filled[place + 1 : place + 3]):
            continue
        if looks_like_header(rows[number], below):
            return rows[number], below
        break
    raise DocumentError(
        file,
        "has no header row that names its columns",
        "write names over the columns, for example: ticket, date, unit, complaint, work done, result",
    )


def _is_title(row: Row) -> bool:
    return len(row) > 1 and sum(bool(cell) for cell in row) == 1


def _note_of(path: str, number: int, header: Row, row: Row) -> Note:
    fields = tuple(_pair(header, row))
    return Note(path, join_cells(fields), number, fields)


def _pair(header: Row, row: Row) -> Iterator[tuple[str, str]]:
    for place in range(max(len(header), len(row))):
        name = header[place] if place < len(header) else ""
        cell = row[place] if place < len(row) else ""
        if name or cell:
            yield name or f"column {place + 1}", cell
