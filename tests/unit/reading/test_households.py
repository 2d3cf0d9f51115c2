"""Marks of households: alike for one name in all its forms, and no way back to it."""

from kbindex.reading.households import mark_households


def test_one_name_has_one_mark_in_all_its_forms() -> None:
    first = mark_households("Customer: Mrs. Pemberly, washer leaks.")
    assert len(first) == 1
    assert mark_households("we are back at mrs pemberly's place") == first
    assert mark_households("Mr. and Mrs. Pemberlys called again") == first
    assert mark_households("Customer: Mrs. Ardath, washer leaks.") != first


def test_no_name_no_mark_and_a_mark_has_twelve_bits() -> None:
    assert mark_households("Replaced the drain pump, ran a cycle, no leaks.") == ()
    names = [f"Customer: Mr. {a}{b}son, dryer." for a in ("Bel", "Cor", "Dun", "Far") for b in ("de", "mi", "ka", "lo")]
    marks = [mark for name in names for mark in mark_households(name)]
    assert len(marks) == len(names)
    assert all(0 <= mark < 4096 for mark in marks)
