"""SQLite's errors as the program's own: what is wrong with a library, and what to do."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from kbindex.errors import LibraryBusy, StoreError


def explain(error: sqlite3.Error, folder: Path) -> StoreError:
    """Give the error to raise `from` SQLite's own."""
    name = getattr(error, "sqlite_errorname", None) or ""
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return LibraryBusy(folder)
    if name.startswith("SQLITE_FULL"):
        return StoreError(f"there is no room left for the library in {folder}; make room there and run this again")
    if name.startswith(("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM")):
        return StoreError(
            f"the library in {folder} cannot be opened for writing ({error}); check your rights there, "
            "or name another folder with --library"
        )
    return StoreError(
        f"the file in {folder} is not a readable library ({error}); restore it from a copy, or remove it and ingest again"
    )
