import pytest

from kbindex.reading.numbers import find_numbers, read_identifier, split_numbers, value_of


@pytest.mark.parametrize(
    ("words", "value"),
    [
        ("22", 22),
        ("1,250", 1250),
        ("38.50", 38.5),
        ("twenty-two", 22),
        ("a hundred and fifty", 150),
        ("one twenty", 120),
        ("two hundred forty", 240),
        ("three thousand five hundred", 3500),
        ("one point five", 1.5),
        ("two and a half", 2.5),
        ("ten and a half", 10.5),
        ("eighty", 80),
    ],
)
def test_numbers_in_words_and_figures(words: str, value: float) -> None:
    assert value_of(words) == value


def test_places_are_those_of_the_words() -> None:
    text = "about twenty-two bucks and 35 minutes"
    assert [(n.value, text[n.start : n.end]) for n in find_numbers(text)] == [(22, "twenty-two"), (35, "35")]


def test_words_that_are_no_number() -> None:
    assert value_of("latch") is None
    assert find_numbers("nothing here, someone said") == []


@pytest.mark.parametrize(
    ("words", "figures"),
    [
        ("2057", "2057"),
        ("20 57", "2057"),
        ("twenty fifty-seven", "2057"),
        ("two zero five seven", "2057"),
        ("twenty-one oh four", "2104"),
        ("three one hundred", "3100"),
    ],
)
def test_identifiers_are_read_figure_by_figure(words: str, figures: str) -> None:
    assert read_identifier(words) == figures


def test_an_identifier_holds_nothing_but_figures() -> None:
    assert read_identifier("latch") is None


@pytest.mark.parametrize(
    ("words", "values"),
    [
        ("ninety ninety five", [90, 95]),
        ("twenty-three fifty", [23, 50]),
        ("85 90", [85, 90]),
        ("one hundred and twenty", [120]),
        ("two thousand four hundred", [2400]),
        ("twelve", [12]),
        ("latch", []),
    ],
)
def test_numbers_said_one_after_another(words: str, values: list[float]) -> None:
    assert split_numbers(words) == values


def test_and_parts_numbers_where_it_does_not_belong_to_one() -> None:
    assert [number.value for number in find_numbers("twenty-one and thirteen, a hundred and five")] == [21, 13, 105]


def test_the_longer_of_two_number_words_is_read() -> None:
    assert [number.value for number in find_numbers("sixteen, seventy, eighty-six")] == [16, 70, 86]
