"""Rows of a table: what a customer's cell names is hidden in every other cell, the one of the result too."""

from kbindex.reading.columns import Column, name_columns
from kbindex.reading.lexicon import load_lexicon
from kbindex.reading.reader import _public_text
from kbindex.reading.tickets import Table, read_tickets

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
