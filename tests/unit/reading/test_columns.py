"""What columns hold, whatever the shop calls them: headings and cells outvote each other. The tables are our own."""

from __future__ import annotations

import pytest

from kbindex.reading.columns import MEANT, Column, name_columns, read_heading
from kbindex.reading.lexicon import load_lexicon
from kbindex.settings import COLUMN_MEANINGS

CELLS = {
    Column.JOB_NO: ["7011", "7012", "7013"],
    Column.DATE: ["3/4/26", "Mar 5", "9 March 2026"],
    Column.PRIVATE: ["Mrs. Orla Tamm 555-0112", "41 Kiln Rd", "J. Pask, gate 3311"],
    Column.MACHINE: ["dishwasher", "dryer (gas)", "FL washer"],
    Column.COMPLAINT: ["won't start, beeps", "no heat at all", "will not drain"],
    Column.WORK: ["replaced the latch", "new thermal fuse put in", "cleaned the drain filter"],
    Column.RESULT: ["ran a full cycle, ok", "same thing, still no heat", "works now"],
    Column.PRICE: ["$42", "fuse 9.50", "0"],
    Column.MINUTES: ["50m", "1h05", "abt half hr"],
}


def named(headings: dict[Column, str], said: dict[str, str] | None = None) -> dict[Column, Column]:
    rows = [[(headings[column], CELLS[column][row]) for column in headings] for row in range(3)]
    found = name_columns(rows, load_lexicon(), said)
    return {column: found[heading] for column, heading in headings.items()}


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
        (["customer says", "checked", "my work", "P.S."], ["complaint", "found", "work", "remarks"]),
    ],
)
def test_headings_alone(headers: list[str], columns: list[str]) -> None:
    found = name_columns([[(header, "") for header in headers]], load_lexicon())
    assert [found[header].value for header in headers] == columns


def test_cells_alone() -> None:
    headings = {column: f"column {place}" for place, column in enumerate(CELLS)}
    assert named(headings) == {column: column for column in CELLS}


@pytest.mark.parametrize("column", [Column.JOB_NO, Column.DATE, Column.MACHINE, Column.PRIVATE, Column.PRICE, Column.MINUTES])
def test_a_heading_that_misleads_is_outvoted(column: Column) -> None:
    headings = {one: f"column {place}" for place, one in enumerate(CELLS)} | {column: "what happens"}
    assert named(headings)[column] is column


def test_cells_that_say_nothing_leave_it_to_the_heading() -> None:
    rows = [
        [("whose", "the bakery"), ("Kind", "gas dryer"), ("Call", "no heat")],
        [("whose", "flat two"), ("Kind", "washer"), ("Call", "leaks")],
    ]
    assert name_columns(rows, load_lexicon()) == {"whose": Column.PRIVATE, "Kind": Column.MACHINE, "Call": Column.COMPLAINT}


def test_numbers_of_other_rows_are_earlier_jobs() -> None:
    rows = [[("no", str(2210 + row)), ("gripe", "leaks"), ("x", "2210" if row == 2 else "")] for row in range(4)]
    assert name_columns(rows, load_lexicon())["x"] is Column.EARLIER


def test_parts_with_prices_are_prices_where_the_work_is_told_elsewhere() -> None:
    rows = [[("did", "new valve"), ("parts", "valve 31")], [("did", "new belt"), ("parts", "belt 12.50")]]
    assert name_columns(rows, load_lexicon())["parts"] is Column.PRICE
    plain = [[("did", "new valve"), ("parts", "inlet valve")], [("did", "new belt"), ("parts", "drive belt")]]
    assert name_columns(plain, load_lexicon())["parts"] is Column.PARTS


def test_a_column_that_tells_of_work_is_one_of_work_whatever_else_its_heading_says() -> None:
    told = ["son put in a bake element, no help", "super replaced the belt himself"]
    priced = ["swapped the terminal block, that was 22", "replaced the drum roller and the belt 9"]
    rows = [[("who came first", one), ("played (w/ price)", other)] for one, other in zip(told, priced, strict=True)]
    assert name_columns(rows, load_lexicon()) == {"who came first": Column.WORK, "played (w/ price)": Column.WORK}


def test_what_the_shop_says_goes_before_everything() -> None:
    headings = {column: f"column {place}" for place, column in enumerate(CELLS)}
    said = {headings[Column.WORK].upper(): "ignore", f"  {headings[Column.RESULT]}": "remarks"}
    found = named(headings, said)
    assert (found[Column.WORK], found[Column.RESULT]) == (Column.OTHER, Column.REMARKS)


def test_every_meaning_that_a_shop_can_say_is_known() -> None:
    assert tuple(MEANT) == COLUMN_MEANINGS
    assert set(MEANT.values()) == set(Column) - {Column.TICKED}  # told by its ticks


def test_a_heading_that_says_nothing() -> None:
    assert read_heading("zq") == {}


def test_tries_ticks_and_single_letters() -> None:
    lexicon = load_lexicon()
    headings = ("No", "Thing", "Says", "Try 1", "Try 2", "Status")
    told = [
        ("901", "dishwasher", "pump hums", "cleaned float switch", "pump 33", "ok"),
        ("902", "washer", "won't spin", "motor coupling 18", "", "same"),
    ]
    queue = [list(zip(headings, row, strict=True)) for row in told]
    named = name_columns(queue, lexicon)
    assert (named["Try 1"], named["Try 2"], named["Status"]) == (Column.WORK, Column.WORK, Column.RESULT)
    headings = ("Tag", "Kind", "Why", "Bit", "new", "cleaned", "Back?")
    told = [
        ("F-07", "room AC", "trips the breaker", "power cord", "x", "", "yes"),
        ("F-11", "dehumidifier", "thinks it is full", "float switch", "", "x", "no"),
    ]
    fleet = [list(zip(headings, row, strict=True)) for row in told]
    named = name_columns(fleet, lexicon)
    assert (named["Bit"], named["new"], named["cleaned"]) == (Column.PARTS, Column.TICKED, Column.TICKED)
    assert read_heading("d") == {Column.DATE: 1.0}
