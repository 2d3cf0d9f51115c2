"""Tables of tickets, whatever the columns are called. The rows are our own."""

from __future__ import annotations

import pytest

from kbindex.reading.lexicon import load_lexicon
from kbindex.reading.tickets import Column, name_columns, read_result_cell, read_ticket
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
    named = name_columns([[(header, "") for header in headers]], load_lexicon())
    assert [named[header].value for header in headers] == columns


def test_columns_whose_headers_say_nothing_are_told_by_their_cells() -> None:
    rows = [
        ["7011", "3/4/26", "dishwasher", "won't start, beeps", "replaced the latch", "ran a full cycle"],
        ["7012", "3/5/26", "dryer", "no heat", "new thermal fuse", "same thing"],
        ["7013", "3/9/26", "washer", "will not drain", "cleaned the filter", "works now"],
    ]
    headers = ["A", "B", "C", "D", "E", "F"]
    named = name_columns([list(zip(headers, row, strict=True)) for row in rows], load_lexicon())
    assert [named[header].value for header in headers] == ["job_no", "date", "machine", "complaint", "work", "result"]


def test_cells_that_contradict_a_header_win() -> None:
    rows = [[("Call", "dryer runs, no heat"), ("Kind", "gas dryer")], [("Call", "won't start"), ("Kind", "washer")]]
    assert name_columns(rows, load_lexicon()) == {"Call": Column.COMPLAINT, "Kind": Column.MACHINE}


def test_cells_of_a_column_are_joined_and_machines_written_out() -> None:
    row = [("mach", "RF"), ("did", "new valve"), ("Notes", "flushed the line")]
    ticket = read_ticket(row, name_columns([row], load_lexicon()))
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


def test_shorthand_without_vowels_is_written_out_and_plain_words_are_not() -> None:
    lexicon = load_lexicon()
    told = {text: [m.component for m in lexicon.find_parts(text, "washer")] for text in ("drn pmp", "gskt", "try it and see")}
    assert told == {"drn pmp": ["drain pump"], "gskt": ["door gasket"], "try it and see": []}
