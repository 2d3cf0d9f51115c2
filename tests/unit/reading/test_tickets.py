"""Tables of tickets, whatever the columns are called. The rows are our own."""

from __future__ import annotations

import pytest

from kbindex.reading.tickets import Column, read_result_cell, read_ticket
from kbindex.records import Result


@pytest.mark.parametrize(
    ("headers", "columns"),
    [
        (
            ["Ticket", "Opened", "Unit", "Complaint", "What we did", "Worked?", "Parts $", "Min", "Customer", "Phone"],
            ["job_no", "date", "machine", "complaint", "work", "result", "price", "minutes", "private", "private"],
        ),
        (["wo", "mach", "comp", "did", "res", "$"], ["job_no", "machine", "complaint", "work", "result", "price"]),
        (
            ["Ref", "Machine", "Problem", "Action", "Status", "Rs"],
            ["job_no", "machine", "complaint", "work", "result", "price"],
        ),
        (["#", "Callback of", "Notes"], ["job_no", "earlier", "work"]),
    ],
)
def test_columns(headers: list[str], columns: list[str]) -> None:
    ticket = read_ticket([(header, "x") for header in headers])
    assert [column.value for column, _ in ticket.cells] == columns


def test_cells_of_a_column_are_joined_and_machines_written_out() -> None:
    ticket = read_ticket([("mach", "RF"), ("did", "new valve"), ("Notes", "flushed the line")])
    assert ticket.text_of(Column.MACHINE) == "refrigerator"
    assert ticket.text_of(Column.WORK) == "new valve. flushed the line"
    assert ticket.text_of(Column.PRICE) == ""


@pytest.mark.parametrize(
    ("cell", "result"),
    [
        ("Yes, 138 at the vent", Result.FIXED),
        ("no", Result.NO_CHANGE),
        ("NC", Result.NO_CHANGE),
        ("still leaks", Result.NO_CHANGE),
        ("worked on Monday, 6 days on it leaks again", Result.CAME_BACK),
        ("ok 3 wk then beeps agn", Result.CAME_BACK),
        ("better, not full", Result.PARTLY),
        ("no power in the flat, to be tested", Result.UNTESTED),
        ("-", Result.UNTESTED),
        ("", Result.UNTESTED),
    ],
)
def test_result_cells(cell: str, result: Result) -> None:
    assert read_result_cell(cell) is result
