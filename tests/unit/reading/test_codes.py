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
        ("E8 & weak coffee", "E8"),
        ("it puts F 21 on the glass", "F21"),
        ("then the code, I-2-0, and stops", "I20"),
        ("the display says E-five", "E5"),
        ("shows letter C and number nine", "C9"),
        ("display is showing e eighteen", "E18"),
        ("throws up four e on the little window", "4E"),
        ("F three again in the middle of dinner", "F3"),
        ("err 08, grinder screams", "08"),
        ("HI flashing, no cold", "HI"),
    ],
)
def test_codes_in_any_form(text: str, code: str) -> None:
    assert find_code(text) == code


@pytest.mark.parametrize(
    "text",
    [
        "I took five screws out",
        "it is a two hour job",
        "showing 120 V at the plug",
        "got an 8 amp fuse",
        "display says 5, setting is -18",
        "70F at the vent",
        "shows H2O on the floor",
    ],
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
        ("blinks its little lamp six times over and over", 6),
        ("two lamps blink together, 5 times", 5),
        ("won't start, 3 bps", 3),
        ("bp4 and quits", 4),
        ("blinking seven, no start", 7),
        ("beep beep beep, then off", 3),
        ("beeps for 5 minutes", None),
    ],
)
def test_counts_of_beeps_and_blinks(text: str, count: int | None) -> None:
    assert find_count(text) == count
