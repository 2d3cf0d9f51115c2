"""The interfaces that engines fulfil. `assemble.py` alone decides who fulfils them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from kbindex.records import Note, Recording

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Vectors = NDArray[np.float32]
    Ids = NDArray[np.int64]


class Transcriber(Protocol):
    """Speech into words with times."""

    @property
    def name(self) -> str:
        """Model, revision and options: kept with the facts that come of it."""

    def transcribe(self, media: Path, path: str, hotwords: Sequence[str]) -> Recording:
        """Transcribe one media file; `path` is what the recording is called in the library.

        Raises:
            MediaError: It cannot be decoded or has no sound.
        """


class SentenceEncoder(Protocol):
    """Sentences into vectors."""

    @property
    def name(self) -> str:
        """Model and revision."""

    def encode(self, texts: Sequence[str]) -> Vectors:
        """Give (text_count, dim) float32, rows of length 1; (0, dim) for no texts."""


class VectorIndex(Protocol):
    """Nearest vectors by inner product; ids are the store's."""

    def search(self, vector: Vectors, limit: int) -> tuple[Ids, Vectors]:
        """Give ids and similarities, each (found,), best first; fewer than `limit` where fewer are held."""


class Documents(Protocol):
    """Files of the shop as they lie on the disk."""

    def is_media(self, file: Path) -> bool:
        """Whether the file is video or audio by its content."""

    def made_on(self, file: Path) -> str | None:
        """Give the ISO 8601 date on which a media file says it was made; None where it does not tell."""

    def duration_s(self, file: Path) -> float:
        """Give a media file's length in seconds; 0 where it does not tell."""

    def read_notes(self, file: Path, path: str) -> list[Note]:
        """Read a file of notes: one element a note, or a table row.

        Raises:
            DocumentError: It is empty or cannot be read.
        """

    def headings(self, file: Path) -> list[str]:
        """Give the names of a table's columns; none where the file is no table, or has no header.

        Raises:
            DocumentError: It is empty or cannot be read.
        """

    def read_timed_text(self, file: Path, path: str) -> Recording:
        """Read WebVTT or SubRip as a recording's words.

        Raises:
            DocumentError: It holds no readable cue.
        """
