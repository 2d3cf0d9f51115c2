"""Figures of the program: `python -m eval` on the demo corpus, `train` and `reading` on the labelled set."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from eval import figures
from eval.corpus import PARTS, load_part
from eval.labelled import LabelledDocument, as_recording, load_labelled
from eval.scoring import ReadingScore, score_all
from eval.train import score_heads, shipped_heads_file
from eval.train import train as train_heads
from kbindex import assemble
from kbindex.engines.documents import read_notes as read_note_file
from kbindex.engines.sentence_heads import load_heads, save_heads
from kbindex.engines.sentence_vectors import MiniLm
from kbindex.ingest import ingest
from kbindex.reading.lexicon import load_lexicon
from kbindex.reading.reader import ReadingTools, read_notes, read_recording
from kbindex.records import IngestSummary, SourceKind, Told
from kbindex.settings import Settings

LABELLED = Path(__file__).parent / "labelled"
RESULTS = Path(__file__).parent / "results"

app = typer.Typer(help="Figures of the program.", rich_markup_mode=None, pretty_exceptions_enable=False)


@app.callback(invoke_without_command=True)
def report(
    context: typer.Context,
    part: Annotated[list[str] | None, typer.Option(help="shop or held_out; both by default")] = None,
    errors: Annotated[bool, typer.Option(help="List what was read wrongly; never for held_out.")] = False,
    keep: Annotated[bool, typer.Option(help="Write the figures to eval/results as well.")] = False,
) -> None:
    """Ingest each part of the demo corpus anew and print its figures."""
    if context.invoked_subcommand:
        return
    lines: list[str] = []
    for name in part or PARTS:
        for line in _part_lines(name, errors and name != "held_out"):
            typer.echo(line)
            lines.append(line)
    if keep:
        RESULTS.mkdir(exist_ok=True)
        (RESULTS / f"{date.today().isoformat()}-corpus.txt").write_text("\n".join(lines) + "\n", encoding="utf-8")


def _part_lines(name: str, errors: bool) -> Iterator[str]:
    part = load_part(name)
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary)
        with assemble.open_library(folder, create=True) as library:
            started = time.monotonic()
            *_, summary = ingest([part.folder], library, assemble.ingest_engines(folder, None))
            if not isinstance(summary, IngestSummary):
                raise typer.Exit(1)
            wall_s = time.monotonic() - started
            yield f"== {name}: {summary.added} documents, {summary.audio_s / 60:.1f} min of speech, {wall_s:.0f} s"
            yield from (f"failed: {failure.path}: {failure.error}" for failure in summary.failed)
            rate, words = figures.word_error_rate(part, library)
            yield f"word error rate      {rate:.3f}  ({words} words; Whisper's English normaliser, jiwer)"
            kind, sentences = figures.kind_macro_f1(part, library)
            yield f"kind macro-F1        {kind:.3f}  ({sentences} sentences)"
            total, each = figures.reading_score(part, library)
            yield from (f"{title:<20} {row}" for title, row in total.rows())
            if errors:
                for item, score in each:
                    yield from (
                        f"  {item.path}: {title} {row}" for title, row in score.rows() if "0 wrong, 0 missed" not in row
                    )
            engines = assemble.ask_engines(library)
            counts, wrong = figures.count_error(part, library, engines)
            off = f"{counts.wrong} of {counts.numbers} numbers wrong, by {counts.total_difference} jobs in all"
            yield f"fix counts           {off}"
            if errors:
                yield from (f"  {line}" for line in wrong)
            yield from (f"{title:<20} {value:.3f}" for title, value in figures.retrieval(part, library, engines).items())
            yield f"private leaks        {len(figures.leaks(part, library))} of {len(part.private)}"


@app.command()
def train() -> None:
    """Train the sentence heads on the train voices, ship them, and print macro-F1 on the dev voices."""
    encode = MiniLm(Settings().sentence_model).encode
    heads = train_heads(load_labelled(LABELLED / "train"), encode)
    save_heads(heads, str(shipped_heads_file()))
    for name, value in score_heads(heads, load_labelled(LABELLED / "dev"), encode).items():
        typer.echo(f"{name:<12} macro-F1 {value:.3f}")


@app.command()
def reading(
    split: Annotated[str, typer.Option(help="train or dev")] = "dev",
    errors: Annotated[bool, typer.Option(help="List the documents with errors.")] = False,
) -> None:
    """Read the labelled documents from their words and score what was read."""
    tools = ReadingTools(load_lexicon(), load_heads(), MiniLm(Settings().sentence_model).encode, Settings())
    documents = load_labelled(LABELLED / split)
    for title, chosen in (
        ("speech, punctuated", [d for d in documents if d.form is SourceKind.RECORDING and not d.raw]),
        ("speech, raw captions", [d for d in documents if d.raw]),
        ("notes", [d for d in documents if d.form is SourceKind.NOTE]),
        ("all", documents),
    ):
        told = [_read(document, tools) for document in chosen]
        each: list[tuple[str, ReadingScore]] = []
        total = score_all(
            [(document.jobs, one.jobs) for document, one in zip(chosen, told, strict=True)],
            lambda number, score, chosen=chosen, each=each: each.append((chosen[number].path, score)),  # type: ignore[misc]
        )
        typer.echo(f"== {split}, {title}: {len(chosen)} documents")
        for name, row in total.rows():
            typer.echo(f"{name:<14} {row}")
        if errors and title == "all":
            for path, score in each:
                wrong = [f"{name} {row}" for name, row in score.rows() if "0 wrong, 0 missed" not in row]
                typer.echo(f"{path}: {'; '.join(wrong)}")


def _read(document: LabelledDocument, tools: ReadingTools) -> Told:
    if document.form is SourceKind.RECORDING:
        return read_recording(as_recording(document), tools)
    return read_notes(read_note_file(document.file, document.path), tools)


if __name__ == "__main__":
    app()
