"""Rows of a table of tickets, by what their columns hold: the facts that need no reading, and the text that does."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from kbindex.reading import labels
from kbindex.reading.amounts import find_money
from kbindex.reading.cells import (
    Price,
    mend_machine,
    name_machine,
    read_dates,
    read_minutes,
    read_prices,
)
from kbindex.reading.columns import TOLD_IN_WORDS, Column, ticks_operation
from kbindex.reading.lexicon import Lexicon
from kbindex.reading.privacy import known_names
from kbindex.records import At, Attempt, By, Cost, Operation

Row = Sequence[tuple[str, str]]


@dataclass(frozen=True)
class Ticket:
    """A row by columns. Where the table has a column for a fact, the row tells that fact or nobody does.

    Attributes:
        cells: What is to be read as text, in the order of the columns; customers' cells are not among them.
        columns: The columns of the table.
        prices: The amounts in its price cells, each with the currency that its heading names.
        names: Names told in the customers' cells, in lower case: they are hidden wherever else they stand in the row.
        has_job: False for a row that only fills the table: a lunch, a holiday, a visit to nobody.
    """

    cells: tuple[tuple[Column, str], ...]
    columns: frozenset[Column] = frozenset()
    job_no: str | None = None
    date: str | None = None
    machine: str | None = None
    minutes: int | None = None
    prices: tuple[Price, ...] = ()
    earlier: str | None = None
    names: frozenset[str] = frozenset()
    has_job: bool = True

    def text_of(self, column: Column) -> str:
        """The cells of a column; empty where there are none."""
        return ". ".join(text for name, text in self.cells if name is column)


@dataclass(frozen=True)
class Table:
    """What the rows of a table are read with: what its columns hold, the order of day and month, the file's name.

    `currency` is that of amounts which name none.
    """

    columns: Mapping[str, Column]
    lexicon: Lexicon
    day_first: bool = False
    path: str = ""
    currency: str = "USD"


def read_tickets(rows: Sequence[Row], table: Table) -> list[Ticket]:
    """Read the rows of a table; what one cell leaves open (the year, the unit of time) the others of its column tell."""
    dates = read_dates([_cell(row, Column.DATE, table) for row in rows], table.path, table.day_first)
    minutes = read_minutes([_cell(row, Column.MINUTES, table) for row in rows], _heading(Column.MINUTES, table))
    marked = any(re.match(r"\W*tick\b|\s*[✓✔]", _cell(row, Column.RESULT, table), re.IGNORECASE) for row in rows)
    return [_read_row(row, table, date, length, marked) for row, date, length in zip(rows, dates, minutes, strict=True)]


def _read_row(row: Row, table: Table, date: str | None, minutes: int | None, marked: bool) -> Ticket:
    machine = _cell(row, Column.MACHINE, table)
    earlier = labels.find_job_numbers("#" + re.sub(r"^\D+", "", _cell(row, Column.EARLIER, table)))
    return Ticket(
        cells=tuple(_told(row, table, marked)),
        columns=frozenset(table.columns.values()),
        job_no="".join(re.findall(r"\d", _cell(row, Column.JOB_NO, table))) or None,
        date=date,
        machine=name_machine(machine, table.lexicon) if machine else None,
        minutes=minutes,
        prices=tuple(_prices(row, table)),
        earlier=earlier[0][0] if earlier else None,
        names=known_names(_cell(row, Column.PRIVATE, table)),
        has_job=_has_job(row, table),
    )


def _told(row: Row, table: Table, marked: bool) -> list[tuple[Column, str]]:
    told: list[tuple[Column, str]] = []
    part = _cell(row, Column.PARTS, table)
    for heading, text in _in_order(row, table):
        column = table.columns.get(heading, Column.OTHER)
        if column is Column.TICKED and _filled(text) and part:
            told.append((Column.WORK, f"{ticks_operation(heading)} {part}"))
        if column is Column.MACHINE and _filled(text):
            told.append((column, mend_machine(text, table.lexicon)))
        elif column in TOLD_IN_WORDS and _filled(text):
            told.append((column, _write_crosses_out(text) if marked and column is Column.RESULT else text.strip()))
    return told


def _in_order(row: Row, table: Table) -> Row:
    """The cells of a row; columns of work that are numbered stand in the order of their numbers."""
    numbered = [n for n, (heading, _) in enumerate(row) if table.columns.get(heading) is Column.WORK and _rank(heading)]
    ranked = iter(sorted(numbered, key=lambda n: _rank(row[n][0])))
    return [row[next(ranked)] if n in numbered else cell for n, cell in enumerate(row)]


def _rank(heading: str) -> int:
    """The number that a heading says ("2nd go", "try 3"); 0 for none."""
    said = re.search(r"\d+|first|second|third|fourth", heading.lower())
    return (_RANKS.get(said.group()) or int(said.group())) if said else 0


_RANKS = {"first": 1, "second": 2, "third": 3, "fourth": 4}


def _write_crosses_out(text: str) -> str:
    """In a column of ticks and crosses a cross is a no."""
    return re.sub(r"^\s*[xX✗✘]\b|(?<=[.,;/] )[xX✗✘]\b", "no change", text)


def _filled(text: str) -> bool:
    return re.search(r"[^\W_]|[✓✔?]", text) is not None


def _cell(row: Row, column: Column, table: Table) -> str:
    return " ".join(text.strip() for heading, text in row if table.columns.get(heading) is column and _filled(text))


def _heading(column: Column, table: Table) -> str:
    return " ".join(heading for heading, meant in table.columns.items() if meant is column)


_IDENTIFYING = frozenset((Column.JOB_NO, Column.DATE, Column.MACHINE, Column.COMPLAINT))


def _has_job(row: Row, table: Table) -> bool:
    """Whether a row tells of a repair: something was complained of or done, and some machine, day or number goes with it.

    Where no word of it is the trade's ("van 2, oil and a tire", "cup of tea"), it does not.
    """
    filled = {table.columns.get(heading, Column.OTHER) for heading, text in row if _filled(text)}
    asked = _IDENTIFYING & set(table.columns.values())
    told = TOLD_IN_WORDS & set(table.columns.values()) - {Column.RESULT, Column.REMARKS}
    if (len(asked) > 1 and not asked & filled) or (told and not told & filled):
        return False
    words = ". ".join(text for _, text in _told(row, table, False))
    trade = table.lexicon
    found = trade.find_machines(words) or trade.find_parts(words) or trade.symptoms.find(words) or trade.operations.find(words)
    return bool(found)


def _prices(row: Row, table: Table) -> list[Price]:
    prices = []
    for heading, text in row:
        column = table.columns.get(heading)
        if column is Column.PRICE or (column is Column.MINUTES and find_money(text)):  # "$15; 40 min"
            named = find_money(f"{heading.replace('$', ' ')} 1")
            currency = (named[0].currency if named else None) or table.currency
            whole = _WHOLE_JOB_RE.search(heading) is not None
            prices += [
                Price(one.amount, one.currency or currency, f"{one.words} {_WHOLE_JOB}" if whole else one.words)
                for one in read_prices(text)
            ]
    return prices


_WHOLE_JOB = "whole job"
_WHOLE_JOB_RE = re.compile(
    r"^\s*(?:[$£€₹]|rs|inr|usd|eur|gbp|amt|amount)\.?\s*$|bill|charge|total|\bfee\b|invoice", re.IGNORECASE
)
"""Headings under which a bare amount is what the customer paid, not what the part cost."""


def price_parts(
    ticket: Ticket, attempts: Sequence[Attempt], told: Mapping[str, float], at: At, lexicon: Lexicon
) -> tuple[Cost, ...]:
    """The costs that the price cells tell, each of the part that its words name; a first one without words is the part's.

    `told` are the prices of parts in the row's text: where it prices the part itself, a higher amount in the cell is the bill's.
    """
    fitted = [one.component for one in attempts if one.operation is Operation.REPLACE and one.by is By.US]
    costs = []
    for place, price in enumerate(ticket.prices):
        named = _part_named(price.words, ticket.machine, [one.component for one in attempts], lexicon)
        bare = place == 0 and not _OTHER_WORDS_RE.search(_FILLING_RE.sub("", price.words))
        part = named or (fitted[0] if bare and len(set(fitted)) == 1 else None)
        billed = bare and part is not None and told.get(part, price.amount) < price.amount
        if price.amount > 0:
            costs.append(Cost(None if billed else part, price.amount, price.currency, at))
    return tuple(costs)


_OTHER_WORDS_RE = re.compile(r"[a-z]{3}|\bno\b|\bme\b", re.IGNORECASE)
_FILLING_RE = re.compile(
    r"\b(?:usd|the (?:two|pair|three|set)|each|pair|both|for|part|parts|dollars?|bucks?|about|tax)\b", re.IGNORECASE
)


_LIKE_ENOUGH = 0.8


def _part_named(words: str, machine: str | None, worked_on: Sequence[str], lexicon: Lexicon) -> str | None:
    """The part that the words by a price name: one that was worked on where a word of its name is said, else as in any text."""
    said = re.findall(r"[a-z]{4,}", words.lower())
    for component in worked_on:
        if any(get_close_matches(word, component.split(), 1, _LIKE_ENOUGH) for word in said):
            return component
    found = lexicon.find_parts(words, machine, list(worked_on))
    return found[0].component if found else None
