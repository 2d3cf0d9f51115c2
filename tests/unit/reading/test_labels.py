"""What identifies a job. Numbers, dates and sentences are made up."""

from __future__ import annotations

import pytest

from kbindex.reading.labels import (
    choose_appliance,
    expand_machine,
    file_job_number,
    find_date,
    find_job_numbers,
    find_leading_number,
    split_own_and_earlier,
)
from kbindex.reading.lexicon import load_lexicon


@pytest.mark.parametrize(
    ("text", "iso"),
    [
        ("today is the fourteenth of January twenty twenty-six", "2026-01-14"),
        ("April eighth, twenty twenty-six, second call", "2026-04-08"),
        ("june fifth twenty twenty six", "2026-06-05"),
        ("twenty-second of February, two thousand twenty-six", "2026-02-22"),
        ("Monday, March 2nd 2026", "2026-03-02"),
        ("3/4/2026 dw", "2026-03-04"),
        ("27/04/26", "2026-04-27"),
        ("12 Jan 26 - walks in the spin", "2026-01-12"),
        ("4-Mar-26, dw", "2026-03-04"),
        ("7-Apr-2026", "2026-04-07"),
        ("March the 4th, 2026", "2026-03-04"),
        ("Mar 4 '26", "2026-03-04"),
        ("2026/3/4", "2026-03-04"),
        ("3 may 20 min wait", None),
        ("2026-05-06", "2026-05-06"),
        ("half of 3/4 are fine", None),
        ("the thirty-first of February twenty twenty-six", None),
    ],
)
def test_dates(text: str, iso: str | None) -> None:
    assert find_date(text, day_first=False) == iso


def test_day_first_is_the_shops_choice() -> None:
    assert find_date("3/4/2026", day_first=True) == "2026-04-03"


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("job twenty fifty-seven, dishwasher", "2057"),
        ("ticket twenty-two sixteen", "2216"),
        ("job number seven zero one four", "7014"),
        ("job G one twenty six, gas stove", "G126"),
        ("work order 20 57", "2057"),
        ("ticket twenty-one ninety-nine", "2199"),
    ],
)
def test_job_numbers_as_they_are_said(text: str, number: str) -> None:
    assert [found for found, _ in find_job_numbers(text)] == [number]


@pytest.mark.parametrize(
    ("text", "number"),
    [("7101 / bakery", "7101"), ("six eighty four gas range", "684"), ("three screws out", None), ("120 V at the plug", None)],
)
def test_a_number_that_opens(text: str, number: str | None) -> None:
    assert find_leading_number(text) == number


def test_the_earlier_job_of_a_return_visit() -> None:
    assert split_own_and_earlier(["job 2131, dryer", "this is a callback on job 2094"], None) == ("2131", "2094")


def test_a_number_told_at_the_beginning_without_a_word_for_it() -> None:
    assert split_own_and_earlier(["Right, it's Wednesday.", "And this is 30434, a washer."], None) == ("30434", None)
    assert split_own_and_earlier(["this is 2400 watts"], None) == (None, None)


def test_number_in_a_file_name() -> None:
    assert file_job_number("2026-03-02_job2057_dishwasher.mp4") == "2057"
    assert file_job_number("IMG_2057.mov") is None


@pytest.mark.parametrize(
    ("texts", "machine"),
    [
        (["5170 / wine cooler / chapel", "the refrigerator beside it is fine", "refrigerator at 4"], "wine cooler"),
        (["the refrigerator in the garage", "freezer is fine", "freezer at zero"], "refrigerator"),
        (["906 DRY", "no ht"], "dryer"),
        (["907 RF", "FF 54"], "refrigerator"),
        (["nothing named here"], None),
    ],
)
def test_the_machine_of_a_document(texts: list[str], machine: str | None) -> None:
    assert choose_appliance(texts, "", load_lexicon()) == machine


def test_short_names_of_machines_are_written_out() -> None:
    assert expand_machine("FZ upright") == "freezer upright"
