"""Cells of tables: dates, lengths of time, machines, in the forms in which people write them."""

from __future__ import annotations

import pytest

from kbindex.reading.cells import find_days, is_date, name_machine, read_dates, read_minutes
from kbindex.reading.lexicon import load_lexicon


@pytest.mark.parametrize(
    "cell",
    [
        "2026-02-03",
        "20260203",
        "Feb 3 2026",
        "February 3, 2026",
        "Feb. 3 '26",
        "3 Feb 2026",
        "3-Feb-26",
        "3 febrero 2026",
        "Tue 3rd February 2026",
    ],
)
def test_a_date_in_every_form(cell: str) -> None:
    assert read_dates([cell], "t.csv", False) == ["2026-02-03"]


@pytest.mark.parametrize(
    "cell", ["", "-----", "4.20", "14/19", "Feb", "2 x 14", "13/13/2026", "the 2 ovens", "3/4/26 was when it first leaked"]
)
def test_what_is_no_date(cell: str) -> None:
    assert not is_date(cell)


def test_the_year_and_the_order_come_from_the_neighbours() -> None:
    assert read_dates(["4/15", "4-16", "Apr 16", "4/17/26"], "t.csv", False) == [
        "2026-04-15", "2026-04-16", "2026-04-16", "2026-04-17",
    ]  # fmt: skip
    assert read_dates(["11.3.26", "2026-03-11", "12.3.26", "13 March 2026"], "t.csv", False)[::2] == [
        "2026-03-11",
        "2026-03-12",
    ]
    assert read_dates(["12/30/25", "1/2"], "t.csv", False) == ["2025-12-30", "2026-01-02"]


def test_without_neighbours_the_setting_and_the_files_name_tell() -> None:
    assert read_dates(["3/4/26"], "t.csv", False) == ["2026-03-04"]
    assert read_dates(["3/4/26"], "t.csv", True) == ["2026-04-03"]
    assert read_dates(["3.4.26"], "t.csv", False) == ["2026-04-03"]
    assert read_dates(["4/15"], "tickets-2025.csv", False) == ["2025-04-15"]
    assert read_dates(["4/15"], "tickets.csv", False) == [None]


def test_a_day_that_may_be_two() -> None:
    assert find_days("4/3") == [(None, 4, 3), (None, 3, 4)]
    assert find_days("14/3") == [(None, 3, 14)]


@pytest.mark.parametrize(
    ("cell", "minutes"),
    [
        ("50m", 50), ("1h05", 65), ("1:15", 75), ("1 h 30", 90), ("abt half hr", 30), ("0,75 h", 45), ("2 hrs", 120),
        ("50ish", 50), ("about 50", 50), ("1 HR 5", 65), ("1½ h", 90), ("1 hour and a half", 90), ("9:10-10:25", 75),
        ("40 min, in the rain", 40), ("", None), ("--", None), ("all day", None),
    ],
)  # fmt: skip
def test_lengths_of_time(cell: str, minutes: int | None) -> None:
    assert read_minutes([cell, "45"], "clock")[0] == minutes


def test_bare_numbers_are_hours_where_all_are_small_or_the_heading_says_so() -> None:
    assert read_minutes(["1", "0.5", "1.25"], "spent") == [60, 30, 75]
    assert read_minutes(["5", "8"], "Min") == [5, 8]
    assert read_minutes(["5", "35"], "clock") == [5, 35]
    assert read_minutes(["12", "1.5"], "Hrs") == [720, 90]


@pytest.mark.parametrize(
    ("cell", "machine"),
    [
        ("cofee mach (office)", "coffee machine"), ("wtr heater electric 50gal", "water heater"), ("washer t/l", "washer"),
        ("h00d, over range", "range hood"), ("fridge, bottom frezer", "refrigerator"), ("micro, o/range", "microwave"),
        ("dishwsher", "dishwasher"), ("upr. freezer", "freezer"), ("d/w", "dishwasher"), ("the usual", None),
    ],
)  # fmt: skip
def test_machines(cell: str, machine: str | None) -> None:
    assert name_machine(cell, load_lexicon()) == machine
