"""Rows of tables of tickets: what their cells tell, which rows hold a job. The rows are our own."""

from __future__ import annotations

import pytest

from kbindex.reading.columns import Column, name_columns
from kbindex.reading.lexicon import load_lexicon
from kbindex.reading.result_cells import read_result_cell
from kbindex.reading.tickets import Table, Ticket, price_parts, read_tickets
from kbindex.records import At, Attempt, By, Operation, Result

Rows = list[list[tuple[str, str]]]

SPRING = [
    ("tag", "went out", "for whom", "the article", "sob story", "on opening up", "tinkering", "any good?", "spent", "t"),
    (
        "611",
        "3/4",
        "Wanda Prell 555-0141",
        "dishwsher",
        "leaks at the front",
        "gasket flat",
        "new gasket",
        "dry",
        "18+60",
        "50m",
    ),
    ("612", "5 Mar 26", "gate 4410#", "tumble dryr", "no heat", "fuse open", "new fuse", "no", "fuse 9,50", "1 h 05"),
    ("", "", "", "", "", "", "LUNCH", "", "", ""),
    (
        "613",
        "3/6/26",
        "Wanda Prell",
        "washer",
        "will not drain",
        "filter full",
        "cleaned the filter",
        "ran, fine",
        "--",
        "abt 35",
    ),
    ("614", "6th March 2026", "the Prells", "fridge", "warm", "", "", "nobody home", "", ""),
]


def rows_of(table: list[tuple[str, ...]]) -> Rows:
    return [list(zip(table[0], row, strict=True)) for row in table[1:]]


def read(rows: Rows, day_first: bool = False, path: str = "t.csv") -> list[Ticket]:
    lexicon = load_lexicon()
    return read_tickets(rows, Table(name_columns(rows, lexicon), lexicon, day_first, path))


def test_facts_of_cells_are_read_whatever_their_form() -> None:
    found = read(rows_of(SPRING))
    told = [(one.job_no, one.date, one.machine, one.minutes, [price.amount for price in one.prices]) for one in found]
    assert told == [
        ("611", "2026-03-04", "dishwasher", 50, [18.0, 60.0]),
        ("612", "2026-03-05", "dryer", 65, [9.5]),
        (None, None, None, None, []),
        ("613", "2026-03-06", "washer", 35, []),
        ("614", "2026-03-06", "refrigerator", None, []),
    ]


def test_rows_without_a_repair_hold_no_job() -> None:
    assert [one.has_job for one in read(rows_of(SPRING))] == [True, True, False, True, True]
    closed = [*SPRING[:3], ("615", "3/9/26", "", "", "", "", "", "holiday", "", "")]
    assert [one.has_job for one in read(rows_of(closed))] == [True, True, False]
    errand = [*SPRING[:3], ("", "3/9/26", "", "the old van", "oil and one tire", "", "", "", "61.20", "")]
    assert [one.has_job for one in read(rows_of(errand))] == [True, True, False]


def test_a_table_of_notes_alone_has_jobs() -> None:
    (ticket,) = read([[("Notes", "Replaced the latch, it runs.")]])
    assert ticket.has_job and ticket.text_of(Column.WORK) == "Replaced the latch, it runs."


def test_customers_cells_are_no_text() -> None:
    for ticket in read(rows_of(SPRING)):
        told = " ".join(text for _, text in ticket.cells)
        assert "Prell" not in told and "555" not in told and "4410" not in told


def test_columns_of_the_same_meaning_are_both_read_in_order() -> None:
    (ticket,) = read([[("mach", "RF"), ("did", "new valve"), ("then did", "flushed the line")]])
    assert ticket.text_of(Column.MACHINE) == "refrigerator"
    assert ticket.text_of(Column.WORK) == "new valve. flushed the line"
    assert ticket.text_of(Column.PRICE) == "" and ticket.prices == ()


@pytest.mark.parametrize(("cell", "earlier"), [("8809", "8809"), ("c/b of 8809", "8809"), ("", None), ("none", None)])
def test_the_earlier_job_of_a_callback(cell: str, earlier: str | None) -> None:
    (ticket,) = read([[("no", "8841"), ("gripe", "leaks again"), ("callback of", cell)]])
    assert (ticket.job_no, ticket.earlier) == ("8841", earlier)


def test_a_currency_in_a_heading_is_that_of_its_cells() -> None:
    (ticket,) = read([[("Machine", "washer"), ("Problem", "leaks"), ("Action", "new hose"), ("Rs", "350")]])
    assert [(one.amount, one.currency) for one in ticket.prices] == [(350.0, "INR")]


def test_ticks_and_crosses() -> None:
    table = [
        ("machine", "gripe", "fix", "tick or x"),
        ("washer", "leaks", "new hose", "tick, dry"),
        ("oven", "cold", "new igniter", "x"),
    ]
    assert [one.text_of(Column.RESULT) for one in read(rows_of(table))] == ["tick, dry", "no change"]


def worked(order: int, component: str, by: By = By.US) -> Attempt:
    return Attempt(order, Operation.REPLACE, component, Result.FIXED, At("t.csv", 1), by)


@pytest.mark.parametrize(
    ("heading", "cell", "attempts", "costs"),
    [
        ("bits", "38+70", [worked(1, "drain pump")], [("drain pump", 38.0), (None, 70.0)]),
        ("bits", "0 / 75", [worked(1, "drain pump")], [(None, 75.0)]),
        ("bits", "no parts, 65", [worked(1, "drain pump")], [(None, 65.0)]),
        ("bits", "rollers 18, pully 14.50", [worked(1, "drum roller"), worked(2, "idler pulley")],
         [("drum roller", 18.0), ("idler pulley", 14.5)]),
        ("bits", "seal 58,-", [worked(1, "door seal")], [("door seal", 58.0)]),
        ("bits", "$41.75 the pair", [worked(1, "drum roller")], [("drum roller", 41.75)]),
        ("bits", "1,350", [worked(1, "compressor")], [("compressor", 1350.0)]),
        ("bits", "30", [worked(1, "fuse"), worked(2, "igniter")], [(None, 30.0)]),
        ("bits", "30", [worked(1, "fuse", By.OTHER), worked(2, "igniter")], [("igniter", 30.0)]),
        ("total charged", "140", [worked(1, "drain pump")], [(None, 140.0)]),
        ("bits", "2 x 14.50", [worked(1, "door hinge")], [("door hinge", 29.0)]),
    ],
)  # fmt: skip
def test_prices_belong_to_the_parts_that_are_named_by_them(
    heading: str, cell: str, attempts: list[Attempt], costs: list[tuple[str | None, float]]
) -> None:
    lexicon = load_lexicon()
    table = Table({heading: Column.PRICE}, lexicon)
    (ticket,) = read_tickets([[(heading, cell)]], table)
    found = price_parts(ticket, attempts, {}, At("t.csv", 1), lexicon)
    assert [(one.component, one.amount) for one in found] == costs


@pytest.mark.parametrize(
    ("cell", "result"),
    [
        ("Yes, 138 at the vent", Result.FIXED),
        ("no", Result.NO_CHANGE),
        ("NC", Result.NO_CHANGE),
        ("NG. same noise", Result.NO_CHANGE),
        ("still leaks", Result.NO_CHANGE),
        ("worked on Monday, 6 days on it leaks again", Result.CAME_BACK),
        ("ok 3 wk then beeps agn", Result.CAME_BACK),
        ("better, not full", Result.PARTLY),
        ("drained. 4/22 he calls, full again", Result.CAME_BACK),
        ("dry on a full wash. 4 Apr she says it is wet as before", Result.CAME_BACK),
        ("breaker off for the painter, so not tried", Result.UNTESTED),
        ("baby asleep, run it tonight please", Result.UNTESTED),
        ("hums, no diff", Result.NO_CHANGE),
        ("no power in the flat, to be tested", Result.UNTESTED),
        ("?? street without power, nothing run", Result.UNTESTED),
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


def test_a_bill_is_no_price_of_the_part_that_the_text_prices() -> None:
    lexicon = load_lexicon()
    (ticket,) = read_tickets([[("paid", "75.00")]], Table({"paid": Column.PRICE}, lexicon, currency="GBP"))
    attempts = [worked(1, "bake element")]
    (bill,) = price_parts(ticket, attempts, {"bake element": 27.5}, At("t.csv", 1), lexicon)
    assert (bill.component, bill.amount, bill.currency) == (None, 75.0, "GBP")
    (part,) = price_parts(ticket, attempts, {"door seal": 27.5}, At("t.csv", 1), lexicon)
    assert part.component == "bake element"
