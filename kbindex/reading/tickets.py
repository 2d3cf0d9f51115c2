"""Rows of a table of tickets, whatever the shop calls its columns, into sentences and the facts that need no reading."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from kbindex.reading.labels import expand_machine
from kbindex.reading.lexicon import Lexicon
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

_SHORT_HEADERS = {
    "mach": Column.MACHINE, "mc": Column.MACHINE, "m/c": Column.MACHINE, "unit": Column.MACHINE, "eqpt": Column.MACHINE,
    "comp": Column.COMPLAINT, "compl": Column.COMPLAINT, "cmplnt": Column.COMPLAINT, "prob": Column.COMPLAINT, "sx": Column.COMPLAINT,
    "res": Column.RESULT, "rslt": Column.RESULT, "rs": Column.PRICE, "rs.": Column.PRICE, "amt": Column.PRICE, "inr": Column.PRICE,
    "eur": Column.PRICE, "gbp": Column.PRICE, "dt": Column.DATE, "tkt": Column.JOB_NO, "rep": Column.WORK,
}  # fmt: skip
"""Headers cut short, as they stand alone."""

_YES_RE = re.compile(
    r"^\s*(?:y|yes|ok|okay|fixed|good|works?|worked|done|solved|cured|all good|pass(?:ed)?|running|true|1|x|✓|✔|completed?|yep|resolved)\b",
    re.IGNORECASE,
)
_NO_RE = re.compile(
    r"^\s*(?:n|no|nope|0|false|not fixed|fail(?:ed)?|unsolved)\s*(?:$|[,.;:-])|\bno (?:change|chg|luck|joy|good|help|better|difference|improvement)\b|"
    r"\bn/?c\b|\b(?:still|same|won'?t|wont|doesn'?t|didn'?t help|unchanged|worse|as before)\b",
    re.IGNORECASE,
)
_BACK_RE = re.compile(
    r"\b(?:came|come|comes) back\b|\bcall-?\s?back\b|\breturned\b|\byes,? then\b|\bre-?occur\w*|\bfailed after\b|\bthen\b.*\b(?:again|agn|back)\b|"
    r"\b(?:held|ok|good|fine|work\w*|ran)\b.*\b(?:days?|wks?|weeks?|months?)\b.*\b(?:then|again|agn|back)\b",
    re.IGNORECASE,
)
_PART_RE = re.compile(r"\b(?:part(?:ly|ial)|better|half|somewhat|improved|helped|some)\b", re.IGNORECASE)
_UNTESTED_RE = re.compile(
    r"\bnot (?:tested|run|tried|checked|known|yet)\b|\bto be (?:tested|run|checked)\b|\buntested\b|\bunknown\b|\bpending\b|\btbd\b|\bn/a\b|\bno test\b|"
    r"\b(?:didn'?t|did not|couldn'?t|could not) (?:get to )?(?:try|test|run|check)\b|\bno power\b|\bpower (?:was |is )?off\b|\bwait(?:ing)?\b|"
    r"\bcust\w*\.? (?:to|will) (?:call|ring|test|try)\b|^\s*(?:\?+|open)\s*$",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Ticket:
    """A row by columns; several cells of one column are joined."""

    cells: tuple[tuple[Column, str], ...]

    def text_of(self, column: Column) -> str:
        """The cells of a column; empty where there are none."""
        return ". ".join(text for name, text in self.cells if name is column and text)


def read_ticket(fields: Sequence[tuple[str, str]], columns: Mapping[str, Column]) -> Ticket:
    """Tell what each cell of a row holds. Private columns are kept apart, to be dropped."""
    cells = [(columns.get(header, Column.OTHER), text.strip()) for header, text in fields]
    return Ticket(tuple((column, expand_machine(text) if column is Column.MACHINE else text) for column, text in cells))


def name_columns(rows: Sequence[Sequence[tuple[str, str]]], lexicon: Lexicon) -> dict[str, Column]:
    """Tell what each column of a table holds: by its header, and where that says nothing or misleads, by its cells."""
    cells: dict[str, list[str]] = {}
    for row in rows:
        for header, text in row:
            cells.setdefault(header, []).extend([text.strip()] if text.strip() else [])
    columns: dict[str, Column] = {}
    for header, texts in cells.items():
        column = column_of(header, columns.values())
        misleads = column in _STRUCTURED and texts and _share_of(texts, _CONTENT[column], lexicon) < _A_FEW
        columns[header] = Column.OTHER if misleads else column
    for column, test in _CONTENT.items():
        free = [header for header, named in columns.items() if named is Column.OTHER and cells[header]]
        if free and column not in columns.values():
            likeliest = max(free, key=lambda header: _share_of(cells[header], test, lexicon))
            if _share_of(cells[likeliest], test, lexicon) >= _MOST:
                columns[likeliest] = column
    return columns


def _share_of(texts: Sequence[str], test: Callable[[str, Lexicon], bool], lexicon: Lexicon) -> float:
    return sum(test(text, lexicon) for text in texts) / len(texts)


def _is_job_number(text: str, _: Lexicon) -> bool:
    return re.fullmatch(r"#?\s*[A-Za-z]{0,4}[\s-]?\d{2,7}", text) is not None


def _is_date(text: str, _: Lexicon) -> bool:
    months = r"jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec"
    return (
        re.search(rf"\d{{1,4}}[/.-]\d{{1,2}}|\b(?:{months})[a-z]*\.?\s*\d|\d\s*(?:{months})", text, re.IGNORECASE) is not None
    )


def _is_machine(text: str, lexicon: Lexicon) -> bool:
    return len(text.split()) <= 6 and bool(lexicon.find_machines(expand_machine(text)))


def _is_complaint(text: str, lexicon: Lexicon) -> bool:
    return bool(lexicon.symptoms.find(text)) and not lexicon.operations.find(text)


def _is_work(text: str, lexicon: Lexicon) -> bool:
    return bool(lexicon.operations.find(text) or lexicon.find_parts(text))


def _is_result(text: str, lexicon: Lexicon) -> bool:
    return bool(lexicon.results.find(text) or _YES_RE.search(text) or _NO_RE.search(text) or _UNTESTED_RE.search(text))


_A_FEW = 0.3
_MOST = 0.5
"""Shares of a column's cells: fewer than the first contradict its header, as many as the second do without one."""

_CONTENT: Mapping[Column, Callable[[str, Lexicon], bool]] = {
    Column.DATE: _is_date,
    Column.MACHINE: _is_machine,
    Column.JOB_NO: _is_job_number,
    Column.COMPLAINT: _is_complaint,
    Column.WORK: _is_work,
    Column.RESULT: _is_result,
}


_STRUCTURED = (Column.DATE, Column.MACHINE, Column.JOB_NO)
"""What can be told from the look of a cell; free text in any other column is not held against its header."""


def column_of(header: str, taken: Collection[Column] = ()) -> Column:
    """Tell from a header what its column holds; a short form ("did") counts unless another column has taken its place."""
    short = _SHORT_HEADERS.get(header.strip().lower())
    if short and short not in taken:
        return short
    for column, pattern in _HEADERS:
        if re.search(pattern, header.replace("_", " "), re.IGNORECASE):
            return column
    return Column.OTHER


def read_result_cell(text: str) -> Result:
    """Read a cell that says how the repair turned out.

    What says neither that it was not run, nor that it failed, tells of a run that went well ("two cycles, no blinks").
    """
    if not re.search(r"\w|[✓✔?]", text):
        return Result.UNTESTED
    for pattern, result in (
        (_UNTESTED_RE, Result.UNTESTED),
        (_BACK_RE, Result.CAME_BACK),
        (_YES_RE, Result.FIXED),
        (_NO_RE, Result.NO_CHANGE),
        (_PART_RE, Result.PARTLY),
    ):
        if pattern.search(text):
            return result
    return Result.FIXED
