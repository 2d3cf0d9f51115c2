"""How the work told in a table's row turned out: each column of work with the column of results that follows it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from kbindex.reading.columns import Column
from kbindex.reading.result_cells import read_result_cell, read_result_cell_plainly
from kbindex.records import At, Attempt, Result, Sentence


@dataclass(frozen=True)
class Try:
    """What one column of work says, by its sentences, and the cells of results up to the next one, joined."""

    told: frozenset[str]
    result: str


def settle_tries(attempts: Sequence[Attempt], tries: Sequence[Try], complaint: str, at: At) -> tuple[Attempt, ...]:
    """Give the attempts the results that the cells tell; `complaint` is the complaint's cell, which a failure repeats.

    What one column's work came to is told by its own result; without one, work in a later column says that it had not helped.
    """
    if len(tries) < 2:
        return _with_result(tuple(attempts), tries[0].result if tries else "", complaint, at)
    settled = list(attempts)
    done = [[place for place, one in enumerate(settled) if one.text in each.told] for each in tries]
    for number, (each, places) in enumerate(zip(tries, done, strict=True)):
        own = _with_result(tuple(settled[place] for place in places), each.result, complaint, at)
        later = any(done[number + 1 :])
        for place, one in zip(places, own, strict=True):
            given_up = one.result is Result.UNTESTED and not each.result and later
            settled[place] = replace(one, result=Result.NO_CHANGE, result_at=at) if given_up else one
    return tuple(settled)


def pair_tries(cells: Iterable[tuple[Column, Sequence[Sentence]]]) -> list[Try]:
    """Pair the cells of work and parts, in the order in which they are read, with the cells of results behind them."""
    tries: list[Try] = []
    for column, sentences in cells:
        if column in (Column.WORK, Column.PARTS):
            tries.append(Try(frozenset(one.text for one in sentences), ""))
        elif column is Column.RESULT and tries:
            said = " ".join(one.text for one in sentences)
            tries[-1] = replace(tries[-1], result=". ".join(filter(None, (tries[-1].result, said))))
    return tries


def _with_result(attempts: tuple[Attempt, ...], cell: str, complaint: str, at: At) -> tuple[Attempt, ...]:
    """Give the last attempts the result that a cell, its private details hidden, tells.

    What was read in that cell itself stays, unless the cell says plainly that nothing was run or that it came back.
    """
    if not cell or not attempts:
        return attempts
    last, plainly = attempts[-1], read_result_cell_plainly(cell, complaint)
    read_there = last.result is not Result.UNTESTED and last.result_text.strip(" .;") in cell
    if read_there and plainly not in (Result.UNTESTED, Result.CAME_BACK):
        return attempts
    result = read_result_cell(cell, complaint)
    shown, words = (None, "") if result is Result.UNTESTED else (at, cell)
    group = {last.order, *last.together_with}
    return tuple(
        replace(one, result=result, result_at=shown, result_text=words) if one.order in group else one for one in attempts
    )
