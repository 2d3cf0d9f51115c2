"""The library's tables, and how an older library is brought up to date.

SQLite holds the truth: the documents, what each one tells, the passages with their vectors, and the jobs joined over all
documents; and what people decided, which no ingest changes. Passage ids are never reused, so that a vector index built
earlier can go stale but never lie.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path

from kbindex.errors import LibraryNewer

_FIRST_TABLES = """
CREATE TABLE documents (
    id INTEGER PRIMARY KEY,
    path TEXT NOT NULL,
    file TEXT NOT NULL UNIQUE,
    kind TEXT NOT NULL,
    sha256 TEXT NOT NULL,
    size INTEGER NOT NULL,
    mtime_ns INTEGER NOT NULL,
    duration_s REAL NOT NULL,
    made_with TEXT NOT NULL,
    words BLOB,
    told BLOB NOT NULL
);
CREATE TABLE passages (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    document_id INTEGER NOT NULL REFERENCES documents(id) ON DELETE CASCADE,
    told INTEGER NOT NULL,
    kind TEXT NOT NULL,
    text TEXT NOT NULL,
    row INTEGER,
    start_s REAL,
    end_s REAL,
    vector BLOB NOT NULL
);
CREATE INDEX passages_by_document ON passages(document_id);
CREATE VIRTUAL TABLE passage_words USING fts5(text, content='passages', content_rowid='id', tokenize='porter unicode61');
CREATE TRIGGER passage_added AFTER INSERT ON passages BEGIN
    INSERT INTO passage_words(rowid, text) VALUES (new.id, new.text);
END;
CREATE TRIGGER passage_removed AFTER DELETE ON passages BEGIN
    INSERT INTO passage_words(passage_words, rowid, text) VALUES ('delete', old.id, old.text);
END;
CREATE TABLE jobs (id TEXT PRIMARY KEY, body BLOB NOT NULL);
CREATE TABLE job_members (
    document_id INTEGER NOT NULL REFERENCES documents(id) ON DELETE CASCADE,
    told INTEGER NOT NULL,
    job_id TEXT NOT NULL REFERENCES jobs(id) ON DELETE CASCADE,
    PRIMARY KEY (document_id, told)
);
CREATE INDEX members_by_job ON job_members(job_id);
CREATE TABLE state (name TEXT PRIMARY KEY, value INTEGER NOT NULL);
INSERT INTO state VALUES ('passages_version', 0), ('jobs_version', -1);
CREATE TABLE vector_manifest (
    only INTEGER PRIMARY KEY CHECK (only = 1),
    file TEXT NOT NULL,
    model TEXT NOT NULL,
    width INTEGER NOT NULL,
    metric TEXT NOT NULL,
    count INTEGER NOT NULL,
    passages_version INTEGER NOT NULL
);
"""

_WHAT_PEOPLE_DECIDED = """
CREATE TABLE review_numbers (number INTEGER PRIMARY KEY AUTOINCREMENT, name TEXT NOT NULL UNIQUE);
CREATE TABLE pair_decisions (
    number INTEGER NOT NULL REFERENCES review_numbers(number),
    one TEXT NOT NULL,
    other TEXT NOT NULL,
    same INTEGER NOT NULL CHECK (same IN (0, 1)),
    UNIQUE (one, other)
);
CREATE TABLE attempt_decisions (
    number INTEGER NOT NULL REFERENCES review_numbers(number),
    source TEXT NOT NULL,
    row INTEGER,
    second INTEGER,
    telling TEXT NOT NULL,
    component TEXT NOT NULL,
    operation TEXT NOT NULL,
    done_by TEXT NOT NULL,
    is_right INTEGER NOT NULL CHECK (is_right IN (0, 1))
);
CREATE TABLE doubtful_pairs (one TEXT NOT NULL, other TEXT NOT NULL, PRIMARY KEY (one, other));
UPDATE state SET value = -1 WHERE name = 'jobs_version';
"""
# The last line has the next ingest join the jobs again, and with that find what is doubtful.

MIGRATIONS: tuple[tuple[str, str], ...] = (
    ("first tables", _FIRST_TABLES),
    ("what people decided", _WHAT_PEOPLE_DECIDED),
)
"""(name, SQL) of each schema version, in order; the schema version of a library is how many have been applied."""


def migrate(connection: sqlite3.Connection, folder: Path) -> None:
    """Bring a library to the current schema, each step in its own transaction.

    Another process may do the same at the same time: what it has done is not done again.

    Raises:
        LibraryNewer: It was written by a later version; nothing is changed.
        sqlite3.Error: The file is not a library, or cannot be written.
    """
    version = _version_of(connection)
    if version > len(MIGRATIONS):
        raise LibraryNewer(folder, len(MIGRATIONS), version)
    for number, (_, statements) in enumerate(MIGRATIONS[version:], start=version + 1):
        try:
            connection.executescript(f"BEGIN IMMEDIATE; {statements} PRAGMA user_version = {number}; COMMIT;")
        except sqlite3.OperationalError:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            if _version_of(connection) < number:
                raise


def _version_of(connection: sqlite3.Connection) -> int:
    return int(connection.execute("PRAGMA user_version").fetchone()[0])
