"""Rows of a table: what a customer's cell names is hidden in every other cell, the one of the result too."""

from kbindex.reading.columns import Column, name_columns
from kbindex.reading.lexicon import load_lexicon
from kbindex.reading.reader import _public_text, _with_result
from kbindex.reading.tickets import Table, read_tickets
from kbindex.records import At, Attempt, By, Operation, Result

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


def _results(cell: str, *attempts: Attempt) -> list[Result]:
    return [one.result for one in _with_result(attempts, cell, At("t.csv", 3))]


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
    assert _with_result((read_there,), "power off, not tested", At("t.csv", 3))[0].result_at is None
