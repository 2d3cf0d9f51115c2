"""Rows of a table: what a customer's cell names is hidden in every other cell, the one of the result too."""

import pytest

from kbindex.reading.columns import Column, name_columns
from kbindex.reading.lexicon import load_lexicon
from kbindex.reading.reader import _names_parts_alone, _public_text
from kbindex.reading.row_tries import Try, pair_tries, settle_tries
from kbindex.reading.tickets import Table, read_tickets
from kbindex.records import At, Attempt, By, Operation, Result, Sentence

ROWS = [
    [("ticket", "2301"), ("customer", "Tolliver"), ("unit", "dryer"), ("complaint", "loud"), ("work done", "new drum roller"),
     ("result", "ok, tolliver says it is quiet")],
    [("ticket", "2302"), ("customer", "Mrs. Ardath"), ("unit", "washer"), ("complaint", "ardath hears a hum"),
     ("work done", "new drain pump"), ("result", "drains")],
]  # fmt: skip


def test_a_name_of_the_customer_cell_is_hidden_in_the_others() -> None:
    lexicon = load_lexicon()
    first, second = read_tickets(ROWS, Table(name_columns(ROWS, lexicon), lexicon))
    assert "tolliver" in first.names
    assert "tolliver" not in _public_text(first, Column.RESULT)
    assert "quiet" in _public_text(first, Column.RESULT)
    assert "ardath" not in _public_text(second, Column.COMPLAINT)
    assert "hears a hum" in _public_text(second, Column.COMPLAINT)


def _done(order: int, component: str, result: Result, shown: str = "") -> Attempt:
    return Attempt(order, Operation.REPLACE, component, result, At("t.csv", 3), By.US, result_text=shown)


def _sentence(text: str) -> Sentence:
    return Sentence(text, text, At("t.csv", 3))


def _results(cell: str, *attempts: Attempt, complaint: str = "") -> list[Result]:
    settled = settle_tries(attempts, [Try(frozenset(), cell)], complaint, At("t.csv", 3))
    return [one.result for one in settled]


def test_the_result_cell_tells_how_the_last_work_turned_out() -> None:
    latch, board = _done(1, "door latch", Result.NO_CHANGE, "same beeps"), _done(2, "control board", Result.UNTESTED)
    assert _results("two cycles, no beeps", latch, board) == [Result.NO_CHANGE, Result.FIXED]
    assert _results("", latch, board) == [Result.NO_CHANGE, Result.UNTESTED]
    elsewhere = _done(1, "drive belt", Result.NO_CHANGE, "belt worn flat")
    assert _results("turns well, quiet", elsewhere) == [Result.FIXED]


def test_what_was_read_in_the_result_cell_stays_unless_the_cell_plainly_says_more() -> None:
    read_there = _done(1, "drain pump", Result.PARTLY, "an inch is left")
    assert _results("an inch is left, says the cook", read_there) == [Result.PARTLY]
    assert _results("an inch is left. on 4/2 he rang, full again", read_there) == [Result.CAME_BACK]
    untested = settle_tries([read_there], [Try(frozenset(), "power off, not tested")], "", At("t.csv", 3))
    assert untested[0].result_at is None


def test_a_cell_that_repeats_the_complaint_tells_of_no_change() -> None:
    board = _done(1, "defrost board", Result.UNTESTED)
    assert _results("4 blinks, warm", board, complaint="4 blinks, warm") == [Result.NO_CHANGE]
    assert _results("62 F next morning", board, complaint="62 F, set to 54") == [Result.NO_CHANGE]
    assert _results("38 F next morning", board, complaint="62 F, set to 54") == [Result.FIXED]
    assert _results("2 loads dry", board, complaint="2 loads wet, does not heat") == [Result.FIXED]
    assert _results("does heat", board, complaint="2 loads wet, does not heat") == [Result.FIXED]


def test_a_later_day_that_was_not_good_is_a_relapse() -> None:
    coil = _done(1, "condenser coil", Result.UNTESTED)
    for cell in (
        "fine on the mat. Stalled again tues",
        "dry two loads, wet on the third, he texted Fri",
        "Monday dry, Thursday a puddle again",
    ):
        assert _results(cell, coil) == [Result.CAME_BACK]
    for cell in ("24 h run, cold again", "new one in. Heats again since Monday", "frost gone, cold again as it was"):
        assert _results(cell, coil) == [Result.FIXED]


def test_each_column_of_work_has_the_results_behind_it() -> None:
    cells = [
        (Column.WORK, [_sentence("cleaned float switch")]),
        (Column.RESULT, [_sentence("no better")]),
        (Column.REMARKS, [_sentence("mop the floor")]),
        (Column.WORK, [_sentence("drain pump 33")]),
        (Column.RESULT, [_sentence("empty and quiet")]),
    ]
    told = pair_tries(cells)
    assert [(one.told, one.result) for one in told] == [
        (frozenset({"cleaned float switch"}), "no better"),
        (frozenset({"drain pump 33"}), "empty and quiet"),
    ]
    first = Attempt(1, Operation.CLEAN, "float switch", Result.UNTESTED, At("t.csv", 3), text="cleaned float switch")
    second = Attempt(2, Operation.REPLACE, "drain pump", Result.UNTESTED, At("t.csv", 3), text="drain pump 33")
    settled = settle_tries([first, second], told, "", At("t.csv", 3))
    assert [one.result for one in settled] == [Result.NO_CHANGE, Result.FIXED]
    one_status = [Try(told[0].told, ""), Try(told[1].told, "ok")]
    settled = settle_tries([first, second], one_status, "", At("t.csv", 3))
    assert [one.result for one in settled] == [Result.NO_CHANGE, Result.FIXED]
    given_up = settle_tries([first], [one_status[0], Try(frozenset(), "")], "", At("t.csv", 3))
    assert given_up[0].result is Result.UNTESTED  # nothing was tried after it


@pytest.mark.parametrize(
    ("text", "alone"),
    [
        ("motor coupling 18", True),
        ("start relay (14.00) + overload protector (9.50)", True),
        ("new drain pump", True),
        ("compressor kicked in", False),
        ("tank still filling when I left", False),
        ("two hours", False),
    ],
)
def test_a_list_of_parts_is_told_from_talk_of_parts(text: str, alone: bool) -> None:
    assert _names_parts_alone(text, load_lexicon()) is alone
