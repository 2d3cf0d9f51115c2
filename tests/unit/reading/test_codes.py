import pytest

from kbindex.reading.symptoms import find_code, find_count


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("display shows E24", "E24"),
        ("it's throwing an F 21", "F21"),
        ("she says the code is e two four", "E24"),
        ("up comes E, two, four on the display", "E24"),
        ("error code 57 again", "57"),
        ("shows F3 E1 and quits", "F3E1"),
        ("panel says F9 and hollers", "F9"),
        ("flashing 5E", "5E"),
        ("error H twenty", "H20"),
    ],
)
def test_codes_in_any_form(text: str, code: str) -> None:
    assert find_code(text) == code


@pytest.mark.parametrize(
    "text", ["I took five screws out", "it is a two hour job", "showing 120 V at the plug", "got an 8 amp fuse"]
)
def test_what_is_no_code(text: str) -> None:
    assert find_code(text) is None


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("three beeps", 3),
        ("beeps 3x", 3),
        ("beeps three times and quits", 3),
        ("3 beeps then nothing", 3),
        ("beep x4", 4),
        ("it blinks twice", 2),
        ("five short flashes", 5),
        ("won't start, repeated beeps", None),
        ("lamp blinks in groups of six", 6),
    ],
)
def test_counts_of_beeps_and_blinks(text: str, count: int | None) -> None:
    assert find_count(text) == count
