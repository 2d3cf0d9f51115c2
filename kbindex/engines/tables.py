"""Tables of tickets (.csv): a header row, then a job a row, whatever the program wrote between the cells."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from kbindex.engines.text_files import read_text
from kbindex.errors import DocumentError
from kbindex.reading.columns import known_headings, plain_heading
from kbindex.reading.lexicon import load_lexicon
from kbindex.records import Note
from kbindex.settings import say_columns

_DELIMITERS = ",;\t|"
_UNUSED = "\x1f"
_TRIED_ROWS = 60
_LONGEST_CELL = 1 << 20
_LONGEST_NAME = 60
_MOST_NAME_WORDS = 12
_LOOKED_AT_ROWS = 30
_MOST_TITLES = 3
_VALUE = re.compile(r"[\s$£€#(]*\d[\d\s.,:/%$£€#()+-]*(?:[ap]m|min|hrs?|h|usd|t|z)?[\d:.z+]*$|\S+@\S+\.\S+$", re.IGNORECASE)
"""Numbers, dates, times, money, telephone numbers and e-mail addresses: what cells hold and columns are not called."""

Row = list[str]


def read_table(file: Path, path: str, said: Iterable[str] = ()) -> list[Note]:
    """Read a table: a note for each row that is not blank, `row` counted from 1 after the header, blank rows counted.

    A row shorter than the header has empty cells at its end; cells beyond the header are called "column 8" and so on.
    A header that stands again further down is passed over.

    Args:
        file: The table.
        path: What it is called in the library.
        said: Headings that the shop has spoken of: a row with one of them is the header, whatever it looks like.

    Raises:
        DocumentError: It is empty, no text, no table, has no header, or nothing under it.
    """
    header, rows = _split(_read_rows(file), file, frozenset(map(plain_heading, said)))
    names = _tell_apart(header)
    notes = [_note_of(path, number, names, row) for number, row in enumerate(rows, 1) if any(row) and row != header]
    if not notes:
        raise DocumentError(file, "has a header but no row under it", "add the jobs, one a row, or take it out of the folder")
    return notes


def read_headings(file: Path, said: Iterable[str] = ()) -> list[str]:
    """Give the names of a table's columns; none where it has no header.

    Raises:
        DocumentError: It is empty, no text or no table.
    """
    found = _find_header(_read_rows(file), frozenset(map(plain_heading, said)))
    return [name for name in _tell_apart(found[0]) if name] if found else []


def join_cells(fields: Sequence[tuple[str, str]]) -> str:
    """Write cells as a text to read: "Header: cell. Header: cell."; empty cells are left out."""
    parts = []
    for header, cell in fields:
        if cell:
            text = f"{header}{'' if header[-1] in ':?' else ':'} {cell}" if header else cell
            parts.append(text if text[-1] in ".!?" else text + ".")
    return " ".join(parts)


def looks_like_header(row: Sequence[str], below: Sequence[Sequence[str]]) -> bool:
    """Whether a row names columns: by what is said in it, or by the cells under it looking otherwise.

    None of the names is a value or a machine, and none stands as a cell further down, unless the whole row does (tables
    pasted together).
    """
    names = [cell for cell in row if cell]
    if not names or any(_is_value(cell) for cell in names) or _has_cells_of(row, below):
        return False
    known = known_headings(names)
    unlike = sum(_differs(name, [other[place] for other in below if place < len(other)]) for place, name in enumerate(row))
    named = known > 0 and (known * 3 >= len(names) or unlike > 0)
    return (named or unlike * 2 >= len(names) > 1) and not any(map(_is_machine, names))


def _is_value(cell: str) -> bool:
    return _VALUE.match(cell) is not None or len(cell) > _LONGEST_NAME or len(cell.split()) > _MOST_NAME_WORDS


def _is_machine(cell: str) -> bool:
    """Whether a cell is the name of a machine and nothing else: that is what stands under a heading ("ref" is one too)."""
    found = load_lexicon().find_machines(cell)
    return len(found) == 1 and found[0].end - found[0].start == len(cell) and not known_headings([cell])


def _differs(name: str, cells: Sequence[str]) -> bool:
    """Whether the cells of a column look otherwise than its name: most have figures, or are much longer."""
    filled = [cell for cell in cells if cell][:_LOOKED_AT_ROWS]
    if not name or not filled:
        return False
    figures = sum(any(ch.isdigit() for ch in cell) for cell in filled)
    longer = sum(len(cell.split()) >= len(name.split()) + 3 and len(cell) >= 2 * len(name) for cell in filled)
    return figures * 5 >= len(filled) * 3 or longer * 5 >= len(filled) * 3


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


def _split(rows: list[Row], file: Path, said: frozenset[str]) -> tuple[Row, list[Row]]:
    found = _find_header(rows, said)
    if found is None:
        raise DocumentError(
            file,
            "has no header row that names its columns",
            "write names over the columns, for example: ticket, date, unit, complaint, work done, result; or, if it has "
            f"names, {say_columns('their heading')}",
        )
    return found


def _find_header(rows: list[Row], said: frozenset[str]) -> tuple[Row, list[Row]] | None:
    """Part the header from the rows under it; blank rows and a few lines of title may stand above it."""
    filled = [number for number, row in enumerate(rows) if any(row)]
    heads = filled[: _MOST_TITLES + 1]
    spoken_of = [number for number in heads if said & set(map(plain_heading, rows[number]))]
    for place, number in enumerate(heads):
        below = rows[number + 1 :]
        if spoken_of:
            if number == spoken_of[0]:
                return rows[number], below
        elif any(_is_title(rows[number], rows, later) for later in heads[place + 1 :]):
            continue
        elif looks_like_header(rows[number], below):
            return rows[number], below
        else:
            return None
    return None


def _is_title(row: Row, rows: Sequence[Row], later: int) -> bool:
    """Whether a row is a title over the header that stands later: it fills half of the cells at most."""
    narrow = sum(map(bool, row)) * 2 <= sum(map(bool, rows[later]))
    return narrow and looks_like_header(rows[later], rows[later + 1 :])


def _tell_apart(header: Row) -> Row:
    """Number the columns that are called the same: "notes", "notes (2)"."""
    seen: Counter[str] = Counter()
    names = []
    for name in header:
        seen[name] += bool(name)
        names.append(f"{name} ({seen[name]})" if seen[name] > 1 else name)
    return names


def _note_of(path: str, number: int, header: Row, row: Row) -> Note:
    fields = tuple(_pair(header, row))
    return Note(path, join_cells(fields), number, fields)


def _pair(header: Row, row: Row) -> Iterator[tuple[str, str]]:
    for place in range(max(len(header), len(row))):
        name = header[place] if place < len(header) else ""
        cell = row[place] if place < len(row) else ""
        if name or cell:
            yield name or f"column {place + 1}", cell
