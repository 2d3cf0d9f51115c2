"""One library: a folder with SQLite as the truth. All SQL of the program is in this folder.

A document is in the library wholly or not at all: it, what it tells, its passages and their vectors are committed together.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from kbindex.doubts import Decisions, Pair, Verdict, WorkPlace
from kbindex.errors import LibraryMissing, StoreError
from kbindex.records import At, Job, Kind, Passage, SourceKind, Told, Word
from kbindex.store import decided
from kbindex.store.codec import pack_job, pack_told, pack_words, unpack_job, unpack_told, unpack_words
from kbindex.store.schema import migrate
from kbindex.store.troubles import explain

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Vectors = NDArray[np.float32]
    Ids = NDArray[np.int64]

DATABASE = "library.sqlite"


@dataclass(frozen=True)
class FileState:
    """What is known of an ingested file, to tell whether it has changed."""

    document_id: int
    path: str
    sha256: str
    size: int
    mtime_ns: int
    made_with: str


@dataclass(frozen=True)
class NewDocument:
    """A document on its way into the library; `vectors` is (passage_count, dim) float32, one row a passage."""

    path: str
    file: Path
    kind: SourceKind
    sha256: str
    size: int
    mtime_ns: int
    duration_s: float
    made_with: str
    words: tuple[Word, ...]
    told: Told
    vectors: Vectors


@dataclass(frozen=True)
class Manifest:
    """What a vector index file was built from; it is current when `passages_version` is the library's."""

    file: str
    model: str
    width: int
    metric: str
    count: int
    passages_version: int


@dataclass(frozen=True)
class StoredPassage:
    """A passage with its id and the job that it belongs to."""

    id: int
    passage: Passage
    job_id: str | None


class Library:
    """An open library; use as a context manager, which closes it and turns SQLite's errors into `StoreError`."""

    def __init__(self, folder: Path, connection: sqlite3.Connection) -> None:
        self.folder = folder
        self._connection = connection

    @classmethod
    def open(cls, folder: Path, *, create: bool = False) -> Library:
        """Open the library of a folder; with `create` make the folder and an empty library where there is none.

        Raises:
            LibraryMissing: There is none and `create` is False.
            LibraryNewer: It was written by a later version; it is left as it is.
            LibraryBusy: Another process keeps it locked.
            StoreError: The folder or file cannot be used.
        """
        database = folder / DATABASE
        if not database.is_file() and not create:
            raise LibraryMissing(folder)
        try:
            folder.mkdir(parents=True, exist_ok=True)
            connection = sqlite3.connect(database, timeout=30, isolation_level=None)
        except (OSError, sqlite3.Error) as error:
            raise StoreError(f"cannot use {folder} as a library ({error}); name another with --library") from error
        try:
            migrate(connection, folder)  # first, for nothing may be set in a library of a later version
            for setting in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON"):
                connection.execute(f"PRAGMA {setting}")
        except sqlite3.Error as error:
            connection.close()
            raise explain(error, folder) from error
        except BaseException:
            connection.close()
            raise
        return cls(folder, connection)

    def __enter__(self) -> Library:
        return self

    def __exit__(self, kind: object, error: BaseException | None, trace: object) -> None:
        self.close()
        if isinstance(error, sqlite3.Error):
            raise explain(error, self.folder) from error

    def close(self) -> None:
        """Close the library; it cannot be used after."""
        self._connection.close()

    @contextmanager
    def atomic(self) -> Iterator[sqlite3.Connection]:
        """Write everything inside, or nothing; inside another one it is part of that."""
        if self._connection.in_transaction:
            yield self._connection
            return
        self._connection.execute("BEGIN IMMEDIATE")
        try:
            yield self._connection
        except BaseException:
            self._connection.execute("ROLLBACK")
            raise
        self._connection.execute("COMMIT")

    def files(self) -> dict[Path, FileState]:
        """All ingested files by absolute path."""
        rows = self._connection.execute("SELECT file, id, path, sha256, size, mtime_ns, made_with FROM documents")
        return {Path(file): FileState(*rest) for file, *rest in rows}

    def put_document(self, document: NewDocument) -> None:
        """Add a document, in place of the one of the same file if there is one."""
        with self.atomic() as connection:
            connection.execute("DELETE FROM documents WHERE file = ?", (str(document.file),))
            row = (
                document.path, str(document.file), document.kind.value, document.sha256, document.size, document.mtime_ns,
                document.duration_s, document.made_with, pack_words(document.words), pack_told(document.told),
            )  # fmt: skip
            document_id = connection.execute(
                "INSERT INTO documents(path, file, kind, sha256, size, mtime_ns, duration_s, made_with, words, told) "
                "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                row,
            ).lastrowid
            connection.executemany(
                "INSERT INTO passages(document_id, told, kind, text, row, start_s, end_s, vector) "
                "VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                [
                    (document_id, p.told, p.kind.value, p.text, p.at.row, p.at.start_s, p.at.end_s, vector.tobytes())
                    for p, vector in zip(document.told.passages, document.vectors.astype(np.float16), strict=True)
                ],
            )
            _note_change(connection)

    def touch_document(self, document_id: int, mtime_ns: int) -> None:
        """Note a new modification time of a file whose content is the same."""
        with self.atomic() as connection:
            connection.execute("UPDATE documents SET mtime_ns = ? WHERE id = ?", (mtime_ns, document_id))

    def remove_documents(self, document_ids: Sequence[int]) -> None:
        """Remove documents with all that came of them."""
        with self.atomic() as connection:
            connection.executemany("DELETE FROM documents WHERE id = ?", [(one,) for one in document_ids])
            _note_change(connection)

    def jobs_are_current(self) -> bool:
        """Whether the joined jobs were made from the documents that are here now."""
        return self._state("jobs_version") == self._state("passages_version")

    def told_jobs(self) -> list[tuple[int, int, Job]]:
        """(document id, number in it, job) of all jobs as told, by path, then number."""
        rows = self._connection.execute("SELECT id, told FROM documents ORDER BY path, file")
        return [(one, number, job) for one, told in rows for number, job in enumerate(unpack_told(told).jobs)]

    def job_members(self) -> dict[tuple[int, int], str]:
        """The job id that each telling, by (document id, number in it), became part of."""
        rows = self._connection.execute("SELECT document_id, told, job_id FROM job_members")
        return {(one, number): job_id for one, number, job_id in rows}

    def replace_jobs(self, jobs: Sequence[Job], members: Sequence[tuple[int, int, str]], doubtful: Sequence[Pair] = ()) -> None:
        """Replace all joined jobs; `members` are (document id, number in it, job id), `doubtful` pairs of ids of tellings."""
        with self.atomic() as connection:
            connection.execute("DELETE FROM job_members")
            connection.execute("DELETE FROM jobs")
            connection.executemany("INSERT INTO jobs VALUES (?, ?)", [(job.id, pack_job(job)) for job in jobs])
            connection.executemany("INSERT INTO job_members(document_id, told, job_id) VALUES (?, ?, ?)", members)
            connection.execute("DELETE FROM doubtful_pairs")
            connection.executemany("INSERT INTO doubtful_pairs VALUES (?, ?)", doubtful)
            connection.execute(
                "UPDATE state SET value = (SELECT value FROM state WHERE name = 'passages_version') WHERE name = 'jobs_version'"
            )

    def jobs(self) -> list[Job]:
        """All jobs, by id."""
        return [unpack_job(body) for (body,) in self._connection.execute("SELECT body FROM jobs ORDER BY id")]

    def doubtful_pairs(self) -> list[Pair]:
        """The pairs of tellings that may be of one job, as the jobs were last joined."""
        return self._connection.execute("SELECT one, other FROM doubtful_pairs ORDER BY one, other").fetchall()

    def decisions(self) -> Decisions:
        """All that people decided."""
        return decided.read_decisions(self._connection)

    def keep_pair(self, number: int, pair: Pair, verdict: Verdict) -> None:
        """Keep what was said of two tellings, under a number of `numbers_of`."""
        with self.atomic() as connection:
            decided.write_pair(connection, number, pair, verdict)

    def keep_attempt(self, number: int, place: WorkPlace, verdict: Verdict) -> None:
        """Keep what was said of an attempt, under a number of `numbers_of`."""
        with self.atomic() as connection:
            decided.write_attempt(connection, number, place, verdict)

    def take_back_pair(self, number: int) -> bool:
        """Forget what was said of two tellings under a number; gives whether anything was."""
        with self.atomic() as connection:
            return decided.remove_pair(connection, number)

    def take_back_attempt(self, number: int) -> bool:
        """Forget what was said of an attempt under a number; gives whether anything was."""
        with self.atomic() as connection:
            return decided.remove_attempt(connection, number)

    def rename_in_decisions(self, old: str, new: str, ids: Mapping[str, str]) -> None:
        """Have decisions follow a document to its new name; `ids` are its tellings' new ids by their old ones."""
        with self.atomic() as connection:
            decided.rename_source(connection, old, new, ids)

    def numbers_of(self, names: Sequence[str]) -> dict[str, int]:
        """A number for each name, which it keeps for good; new names get new ones."""
        known = decided.read_names(self._connection)
        if new := [name for name in names if name not in known]:
            with self.atomic() as connection:
                decided.add_names(connection, new)
                known = decided.read_names(connection)
        return {name: known[name] for name in names}

    def words_of(self, path: str) -> tuple[Word, ...]:
        """The words of a recording; empty where it is not in the library or is a note."""
        row = self._connection.execute("SELECT words FROM documents WHERE path = ?", (path,)).fetchone()
        return unpack_words(row[0]) if row and row[0] else ()

    def told_of(self, path: str) -> Told:
        """What a document tells; nothing where it is not in the library."""
        row = self._connection.execute("SELECT told FROM documents WHERE path = ?", (path,)).fetchone()
        return unpack_told(row[0]) if row else Told((), ())

    def passage_count(self) -> int:
        """How many passages the library holds."""
        return int(self._connection.execute("SELECT count(*) FROM passages").fetchone()[0])

    def search_words(self, query: str, limit: int) -> list[tuple[int, float]]:
        """(passage id, BM25 similarity, larger is better) of an FTS5 query; none where it matches nothing."""
        rows = self._connection.execute(
            "SELECT rowid, -bm25(passage_words) FROM passage_words WHERE passage_words MATCH ? "
            "ORDER BY bm25(passage_words) LIMIT ?",
            (query, limit),
        )
        return [(int(one), float(similarity)) for one, similarity in rows]

    def passages(self, ids: Sequence[int]) -> dict[int, StoredPassage]:
        """The passages of these ids that are in the library."""
        marks = ",".join("?" * len(ids))
        rows = self._connection.execute(
            "SELECT p.id, p.kind, p.text, d.path, p.row, p.start_s, p.end_s, p.told, m.job_id FROM passages p "
            "JOIN documents d ON d.id = p.document_id "
            "LEFT JOIN job_members m ON m.document_id = p.document_id AND m.told = p.told "
            f"WHERE p.id IN ({marks})",
            list(ids),
        )
        return {
            one: StoredPassage(one, Passage(Kind(kind), text, At(path, row, start_s, end_s), told), job_id)
            for one, kind, text, path, row, start_s, end_s, told, job_id in rows
        }

    def vectors(self) -> tuple[Ids, Vectors]:
        """All passage ids (passage_count,) int64 and vectors (passage_count, dim) float32, rows of length about 1."""
        rows = self._connection.execute("SELECT id, vector FROM passages ORDER BY id").fetchall()
        ids = np.array([one for one, _ in rows], dtype=np.int64)
        if not rows:
            return ids, np.zeros((0, 0), dtype=np.float32)
        matrix = np.frombuffer(b"".join(vector for _, vector in rows), dtype=np.float16).reshape(len(rows), -1)
        return ids, matrix.astype(np.float32)

    def passages_version(self) -> int:
        """A number that grows with every change of the passages."""
        return self._state("passages_version")

    def manifest(self) -> Manifest | None:
        """The manifest of the vector index file in use; None before one was built."""
        row = self._connection.execute(
            "SELECT file, model, width, metric, count, passages_version FROM vector_manifest"
        ).fetchone()
        return Manifest(*row) if row else None

    def has_index_file(self) -> bool:
        """Whether the vector index file in use is there."""
        manifest = self.manifest()
        return manifest is not None and (self.folder / manifest.file).is_file()

    def switch_index(self, manifest: Manifest) -> None:
        """Make a new vector index file the one in use."""
        with self.atomic() as connection:
            connection.execute("DELETE FROM vector_manifest")
            connection.execute(
                "INSERT INTO vector_manifest VALUES (1, ?, ?, ?, ?, ?, ?)",
                (
                    manifest.file,
                    manifest.model,
                    manifest.width,
                    manifest.metric,
                    manifest.count,
                    manifest.passages_version,
                ),
            )

    def _state(self, name: str) -> int:
        return int(self._connection.execute("SELECT value FROM state WHERE name = ?", (name,)).fetchone()[0])


def _note_change(connection: sqlite3.Connection) -> None:
    connection.execute("UPDATE state SET value = value + 1 WHERE name = 'passages_version'")
