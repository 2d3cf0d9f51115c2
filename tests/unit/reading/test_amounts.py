"""Money, minutes and readings. Prices of $20 and $80 are common practice, no source; the sentences are our own."""

import pytest

from kbindex.reading.amounts import find_job_minutes, find_money, find_reading


@pytest.mark.parametrize(
    ("text", "amount", "currency"),
    [
        ("the latch ran me twenty bucks", 20, "USD"),
        ("board was eighty dollars at the counter", 80, "USD"),
        ("latch $22.50", 22.5, "USD"),
        ("twenty-two dollars and fifty cents", 22.5, "USD"),
        ("eighty something dollars for the board", 80, "USD"),
        ("£18 for the seal", 18, "GBP"),
        ("eighteen quid", 18, "GBP"),
        ("about $1,150 all in", 1150, "USD"),
        ("board $75-85", 80, "USD"),
        ("latch nineteen dollars and eighty cents", 19.8, "USD"),
        ("wheel seven pound fifty", 7.5, "GBP"),
        ("fifty cents for the terminal", 0.5, "USD"),
        ("relay Rs. 320", 320, "INR"),
        ("three hundred twenty rupees", 320, "INR"),
        ("18,50 € for the stat", 18.5, "EUR"),
        ("every single one thirty dollars", 30, "USD"),
        ("twenty five dollars thirty minutes", 25, "USD"),
        ("fan $44, charged half", 44, "USD"),
    ],
)
def test_money(text: str, amount: float, currency: str) -> None:
    (money,) = find_money(text)
    assert (money.amount, money.currency) == (amount, currency)


@pytest.mark.parametrize("text", ["fifteen pounds of pressure", "two screws", "240 volts"])
def test_what_is_no_money(text: str) -> None:
    assert find_money(text) == []


@pytest.mark.parametrize(
    ("text", "is_note", "minutes"),
    [
        ("whole job took thirty-five minutes", False, 35),
        ("that was an hour and a half all in", False, 90),
        ("half an hour, start to finish", False, 30),
        ("40 MIN.", True, 40),
        ("I was there an hour fifteen", False, 75),
        ("took me two hours and ten minutes", False, 130),
        ("1h20 on site", True, 80),
        ("the whole thing took a quarter of an hour", False, 15),
        ("spent an hour and a quarter on it", False, 75),
        ("took an hour, 15 dollars", False, 60),
        ("$60 min charge", True, None),
        ("35 min load, dry", True, None),
        ("two hours all told for both machines", False, None),
        ("seal 55 usd, 50 min", True, 50),
        ("wait ten minutes before you touch it", False, None),
        ("ran it for 20 minutes", False, None),
        ("unplugged it for 5 min", True, None),
        ("nothing about time", False, None),
    ],
)
def test_minutes_of_the_job(text: str, is_note: bool, minutes: int | None) -> None:
    assert find_job_minutes(text, is_note) == minutes


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("sixty-two ohms across the coil", 62, "ohm"),
        ("element is 10.5 ohm", 10.5, "ohm"),
        ("got 120 volts at the valve", 120, "volt"),
        ("a hundred and fifty degrees at the outlet", 150, "degF"),
        ("four inches of water at the manifold", 4, "inH2O"),
        ("pulling 4.1 amps", 4.1, "amp"),
        ("forty psi at the tap", 40, "psi"),
        ("reads 5 k ohm", 5, "kohm"),
    ],
)
def test_readings(text: str, value: float, unit: str) -> None:
    reading = find_reading(text)
    assert reading is not None
    assert (reading.value, reading.unit) == (value, unit)


def test_no_reading() -> None:
    assert find_reading("three screws and a clip") is None
