"""The shop's files as ingest asks for them: one class over media, notes and timed text."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from kbindex.engines.documents import TABLE_ENDING, read_notes
from kbindex.engines.media import is_media, probe
from kbindex.engines.tables import read_headings
from kbindex.engines.timed_text import read_timed_text
from kbindex.errors import MediaError
from kbindex.records import Note, Recording


@dataclass(frozen=True)
class ShopFiles:
    """Fulfils `contracts.Documents`; `said` are headings of tables that the shop has spoken of."""

    said: tuple[str, ...] = ()

    def is_media(self, file: Path) -> bool:
        """Whether the file is video or audio by its content."""
        return is_media(file)

    def made_on(self, file: Path) -> str | None:
        """Give the date on which a media file says it was made; None where it does not tell or cannot be opened."""
        try:
            return probe(file).made_on
        except MediaError:
            return None

    def duration_s(self, file: Path) -> float:
        """Give a media file's length in seconds."""
        return probe(file).duration_s

    def read_notes(self, file: Path, path: str) -> list[Note]:
        """Read a file of notes."""
        return read_notes(file, path, self.said)

    def headings(self, file: Path) -> list[str]:
        """Give the names of a table's columns; none where the file is no table, or has no header."""
        return read_headings(file, self.said) if file.suffix.lower() == TABLE_ENDING else []

    def read_timed_text(self, file: Path, path: str) -> Recording:
        """Read WebVTT or SubRip."""
        return read_timed_text(file, path)
