"""Progress of an ingest as it runs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TextIO

from kbindex.errors import StoreError
from kbindex.records import IngestSummary, Progress


def show_progress(steps: Iterator[Progress | IngestSummary], stream: TextIO) -> IngestSummary:
    """Follow an ingest to its end; a bar with the time left on a terminal, a line a document elsewhere.

    Raises:
        StoreError: The ingest ended without a summary.
    """
    shown = _bar(steps, stream) if stream.isatty() else _lines(steps, stream)
    for summary in shown:
        return summary
    raise StoreError("the ingest ended without a summary; run it again")


def _lines(steps: Iterator[Progress | IngestSummary], stream: TextIO) -> Iterator[IngestSummary]:
    for step in steps:
        if isinstance(step, IngestSummary):
            yield step
        else:
            print(
                f"[{min(step.done + 1, step.total)}/{step.total}] {step.message} {step.path}".rstrip(),
                file=stream,
                flush=True,
            )


def _bar(steps: Iterator[Progress | IngestSummary], stream: TextIO) -> Iterator[IngestSummary]:
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn
    from rich.progress import Progress as Bar

    columns = (BarColumn(), MofNCompleteColumn(), TextColumn("{task.description}", markup=False))
    with Bar(*columns, console=Console(file=stream), transient=True) as bar:
        task = bar.add_task("", total=None)
        for step in steps:
            if isinstance(step, IngestSummary):
                yield step
                return
            left = f", {step.seconds_left / 60:.0f} min left" if step.seconds_left and step.seconds_left >= 60 else ""
            left = f", {step.seconds_left:.0f} s left" if step.seconds_left and step.seconds_left < 60 else left
            bar.update(task, total=step.total, completed=step.done, description=f"{step.message} {step.path}{left}")
