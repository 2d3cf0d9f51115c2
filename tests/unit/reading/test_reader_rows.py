"""Rows of a table: what a customer's cell names is hidden in every other cell, the one of the result too."""

from kbindex.reading.columns import Column
from kbindex.reading.reader import _public_text
from kbindex.reading.tickets import Ticket


class _Row(Ticket):
    """A ticket of two cells."""

    def __init__(self) -> None:
        pass

    def text_of(self, column: Column) -> str:
        return {Column.PRIVATE: "Tolliver", Column.RESULT: "ok, tolliver says it is quiet"}.get(column, "")


def test_a_name_of_the_customer_cell_is_hidden_in_the_result() -> None:
    assert "tolliver" not in _public_text(_Row(), Column.RESULT)
    assert "quiet" in _public_text(_Row(), Column.RESULT)
