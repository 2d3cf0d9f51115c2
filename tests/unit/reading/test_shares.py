"""Stated shares. The dishwasher figures (80 %, 15-20 %) are common practice, no source; the sentences are our own."""

import pytest

from kbindex.reading.shares import find_shares

SAID = [
    ("Seven calls like this in ten, no, call it eighty percent, end with a new latch", 0.8, 0.8),
    ("the board, that's maybe fifteen to twenty percent of them", 0.15, 0.2),
    ("15-20% board", 0.15, 0.2),
    ("nine times out of ten it's the latch", 0.9, 0.9),
    ("one in five turns out to be the board", 0.2, 0.2),
    ("8 out of 10 of these", 0.8, 0.8),
    ("half the time it's just the switch", 0.5, 0.5),
    ("two thirds of the time it is the filter", 2 / 3, 2 / 3),
    ("seventy, no, sixty percent", 0.6, 0.6),
    ("four out of five of those", 0.8, 0.8),
    ("70 or 75 percent of the time it is air", 0.7, 0.75),
    ("call it ninety ninety five percent the igniter", 0.9, 0.95),
    ("eighty-five per cent on the coils", 0.85, 0.85),
    ("thirty five maybe forty percent of them", 0.35, 0.4),
    ("in six cases from ten only the screen", 0.6, 0.6),
    ("eight outta ten of that code", 0.8, 0.8),
    ("I would say ninety-five of hundred", 0.95, 0.95),
    ("nine and a half times out of ten", 0.95, 0.95),
    ("I'd lay four to one on the float", 0.8, 0.8),
    ("every second time it is only the filter", 0.5, 0.5),
    ("with a hum like this one, four in five", 0.8, 0.8),
]


@pytest.mark.parametrize(("text", "low", "high"), SAID)
def test_shares_with_a_number(text: str, low: float, high: float) -> None:
    share = find_shares(text)[-1]
    assert (share.low, share.high) == (pytest.approx(low), pytest.approx(high))
    assert share.counted


def test_chance_words_carry_published_quartiles() -> None:
    """Mosteller & Youtz 1990, Statistical Science 5:2-34, Table 2: "almost always" has quartiles 89.7 and 95.2 %."""
    (share,) = find_shares("it's almost always the latch on these")
    assert (share.low, share.high, share.counted) == (0.897, 0.952, False)


@pytest.mark.parametrize("text", ["wait ten minutes", "two screws in the panel", "10 ohms across it", "it took 2 of us"])
def test_what_is_no_share(text: str) -> None:
    assert [share for share in find_shares(text) if share.counted] == []
