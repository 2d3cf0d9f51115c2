"""Files of notes, whatever program wrote them, as notes."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from kbindex.engines.tables import read_table
from kbindex.engines.text_files import read_bytes, read_text
from kbindex.engines.word_pdf import read_pdf, read_word
from kbindex.errors import DocumentError
from kbindex.records import Note

TABLE_ENDING = ".csv"


def read_notes(file: Path, path: str, said: Iterable[str] = ()) -> list[Note]:
    """Read a file of notes: one note, or for a table (.csv) one a row; `said` are headings that the shop has spoken of.

    Raises:
        DocumentError: It is empty, cannot be read, or is of a kind that is not known.
    """
    ending = file.suffix.lower()
    if ending == TABLE_ENDING:
        return read_table(file, path, said)
    if ending in (".md", ".txt"):
        return [Note(path, read_text(file))]
    if ending in (".docx", ".pdf"):
        read_bytes(file)  # says what is wrong with a file that is empty or cannot be opened
        return [Note(path, read_word(file) if ending == ".docx" else read_pdf(file))]
    raise DocumentError(
        file, f"is no kind of note that is known ({ending or 'no ending'})", "save it as .txt, .md, .csv, .docx or .pdf"
    )
