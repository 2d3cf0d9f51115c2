"""The SQL of what waits for people and of what they decided, on an open connection.

Decisions are written by `kbindex review` alone. An ingest never touches them; where a document was renamed it has them
follow it.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence

from kbindex.doubts import Decisions, Pair, Verdict, WorkPlace
from kbindex.records import By, Operation


def read_decisions(connection: sqlite3.Connection) -> Decisions:
    """Read all decisions, in the order in which they were taken."""
    pairs: dict[bool, list[Pair]] = {True: [], False: []}
    for one, other, same in connection.execute("SELECT one, other, same FROM pair_decisions ORDER BY rowid"):
        pairs[bool(same)].append((one, other))
    places: dict[bool, list[WorkPlace]] = {True: [], False: []}
    for *place, component, operation, by, right in connection.execute(
        "SELECT source, row, second, telling, component, operation, done_by, is_right FROM attempt_decisions ORDER BY rowid"
    ):
        source, row, second, telling = place
        places[bool(right)].append(WorkPlace(source, row, second, telling, component, Operation(operation), By(by)))
    return Decisions(tuple(pairs[True]), tuple(pairs[False]), tuple(places[True]), tuple(places[False]))


def write_pair(connection: sqlite3.Connection, number: int, pair: Pair, verdict: Verdict) -> None:
    """Write what was said of a pair; a later word takes the place of an earlier one."""
    connection.execute("DELETE FROM pair_decisions WHERE one = ? AND other = ?", pair)
    connection.execute("INSERT INTO pair_decisions VALUES (?, ?, ?, ?)", (number, *pair, verdict is Verdict.SAME))


def write_attempt(connection: sqlite3.Connection, number: int, place: WorkPlace, verdict: Verdict) -> None:
    """Write what was said of an attempt; a later word takes the place of an earlier one."""
    row = (
        place.source, place.row, place.second, place.telling, place.component, place.operation.value, place.by.value,
    )  # fmt: skip
    connection.execute(
        "DELETE FROM attempt_decisions WHERE source = ? AND row IS ? AND second IS ? "
        "AND telling = ? AND component = ? AND operation = ? AND done_by = ?",
        row,
    )
    connection.execute(
        "INSERT INTO attempt_decisions VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", (number, *row, verdict is Verdict.RIGHT)
    )


def remove_pair(connection: sqlite3.Connection, number: int) -> bool:
    """Take back what was said of a pair under a number; gives whether anything was."""
    return connection.execute("DELETE FROM pair_decisions WHERE number = ?", (number,)).rowcount > 0


def remove_attempt(connection: sqlite3.Connection, number: int) -> bool:
    """Take back what was said of an attempt under a number; gives whether anything was."""
    return connection.execute("DELETE FROM attempt_decisions WHERE number = ?", (number,)).rowcount > 0


def rename_source(connection: sqlite3.Connection, old: str, new: str, ids: Mapping[str, str]) -> None:
    """Have decisions follow a document that has another name now; `ids` are its tellings' new ids by their old ones."""
    connection.execute("UPDATE attempt_decisions SET source = ? WHERE source = ?", (new, old))
    told = [(after, before) for before, after in ids.items()]
    connection.executemany("UPDATE attempt_decisions SET telling = ? WHERE telling = ?", told)
    for number, one, other, same in connection.execute("SELECT number, one, other, same FROM pair_decisions").fetchall():
        if one in ids or other in ids:
            connection.execute("DELETE FROM pair_decisions WHERE one = ? AND other = ?", (one, other))
            first, second = sorted((ids.get(one, one), ids.get(other, other)))
            verdict = Verdict.SAME if same else Verdict.APART
            write_pair(connection, number, (first, second), verdict)


def add_names(connection: sqlite3.Connection, names: Sequence[str]) -> None:
    """Give each name its number for good: a number never comes to mean another thing."""
    connection.executemany("INSERT OR IGNORE INTO review_numbers(name) VALUES (?)", [(name,) for name in names])


def read_names(connection: sqlite3.Connection) -> dict[str, int]:
    """All names that have a number."""
    return dict(connection.execute("SELECT name, number FROM review_numbers"))
