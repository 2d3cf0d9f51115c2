"""Rows of a table of tickets, whatever the shop calls its columns, into sentences and the facts that need no reading."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from kbindex.records import Result


class Column(StrEnum):
    """What a column of a ticket table holds."""

    PRIVATE = "private"
    JOB_NO = "job_no"
    EARLIER = "earlier"
    DATE = "date"
    MACHINE = "machine"
    COMPLAINT = "complaint"
    RESULT = "result"
    PRICE = "price"
    MINUTES = "minutes"
    PARTS = "parts"
    WORK = "work"
    OTHER = "other"


_HEADERS: tuple[tuple[Column, str], ...] = (
    (Column.EARLIER, r"call\s?-?back|callback|return|prev|earlier|rework|follow|orig|recall|redo"),
    (Column.PRIVATE, r"cust|client|name|phone|tel\b|mobile|cell|addr|street|e-?mail|contact|gate|zip|city|\bflat\b|\bapt\b|unit no|owner|who\b|where"),
    (Column.PRICE, r"\$|£|€|price|cost|amount|charge|paid|usd|parts? (?:total|spend|bill)"),
    (Column.MINUTES, r"\bmins?\b|minutes|time|hours|hrs|labou?r|duration|how long"),
    (Column.DATE, r"date|opened|closed|day|when|visit|logged"),
    (Column.RESULT, r"work(?:ed|ing|s)|result|outcome|status|fixed|\bok\b|after|solved|cured|did it|ended|how it"),
    (Column.COMPLAINT, r"complain|problem|symptom|issue|fault|reported|says|said|trouble|wrong|call reason|concern"),
    (Column.WORK, r"did|work|done|action|repair|fix|notes?|remark|descr|what we|performed|comment|findings|tried"),
    (Column.PARTS, r"parts?|component|replaced|used"),
    (Column.MACHINE, r"unit|machine|appliance|type|equip|product|make|what|kind"),
    (Column.JOB_NO, r"ticket|job|\bwo\b|work ?order|order|call|\bno\b|number|#|\bid\b|ref|num|nr"),
)  # fmt: skip

_YES_RE = re.compile(
    r"^\s*(?:y|yes|ok|okay|fixed|good|works?|worked|done|solved|cured|all good|pass(?:ed)?|running|true|1|x|✓|✔|complete[d]?|yep|resolved)\b",
    re.I,
)
_NO_RE = re.compile(r"^\s*(?:n|no|nope|not fixed|fail(?:ed)?|same|no change|still|unsolved|false|0|didn'?t)\b", re.I)
_BACK_RE = re.compile(r"came back|come back|callback|call-back|returned|again|yes then|held|re-?occur|failed after", re.I)
_PART_RE = re.compile(r"\b(?:part(?:ly|ial)|better|half|some(?:what)?|improved|helped)\b", re.I)
_UNTESTED_RE = re.compile(
    r"not (?:tested|run|tried|checked|known)|untested|unknown|\?|n/?a|pending|wait|tbd|didn'?t (?:run|test)|no test|not yet|open",
    re.I,
)


@dataclass(frozen=True)
class Ticket:
    """A row by columns; several cells of one column are joined."""

    cells: tuple[tuple[Column, str], ...]

    def text_of(self, column: Column) -> str:
        """The cells of a column; empty where there are none."""
        return ". ".join(text for name, text in self.cells if name is column and text)


def read_ticket(fields: Sequence[tuple[str, str]]) -> Ticket:
    """Tell what each cell holds from its column's header. Private columns are kept apart, to be dropped."""
    taken: set[Column] = set()
    cells: list[tuple[Column, str]] = []
    for header, text in fields:
        column = _column_of(header, taken)
        taken.add(column)
        cells.append((column, text.strip()))
    return Ticket(tuple(cells))


def _column_of(header: str, taken: set[Column]) -> Column:
    for column, pattern in _HEADERS:
        if re.search(pattern, header.replace("_", " "), re.IGNORECASE):
            return column
    return Column.OTHER


def read_result_cell(text: str) -> Result | None:
    """Read a cell that says whether it worked; None where it says nothing of the kind."""
    if not text.strip() or text.strip() in ("-", "--"):
        return Result.UNTESTED
    for pattern, result in (
        (_UNTESTED_RE, Result.UNTESTED),
        (_BACK_RE, Result.CAME_BACK),
        (_PART_RE, Result.PARTLY),
        (_NO_RE, Result.NO_CHANGE),
        (_YES_RE, Result.FIXED),
    ):
        if pattern.search(text):
            return result
    return None
