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
from eval.labelled import LabelledDocument, from_corpus, load_labelled
from eval.reading_report import reading_lines
from kbindex import assemble
from kbindex.engines.document_encoder import OnnxDocumentEncoder, data_folder, load_heads
from kbindex.ingest import ingest
from kbindex.reading.lexicon import load_lexicon
from kbindex.reading.reader import ReadingTools
from kbindex.records import IngestSummary
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
    """Train the document encoder and its heads on the train voices and the demo shop, and write what the package ships."""
    from eval.train import save
    from eval.train import train as train_reader

    save(train_reader(_taught()), data_folder())
    load_heads.cache_clear()
    calibrate()


@app.command()
def calibrate() -> None:
    """Fit how sure a told attempt is on the dev voices, and put it with the heads that the package ships."""
    from eval.calibrate import fit_trust, write_trust

    write_trust(fit_trust(load_labelled(LABELLED / "dev"), _tools()), data_folder())


@app.command()
def compare() -> None:
    """Read the dev voices with rules alone, with heads over single sentences, and with the document reader: one table."""
    from eval.baselines import compare_readers

    documents = load_labelled(LABELLED / "dev")
    for line in compare_readers(_taught(), documents, _tools()):
        typer.echo(line)


def _taught() -> list[LabelledDocument]:
    """What the reader learns from."""
    shop = load_part("shop")
    return [*load_labelled(LABELLED / "train"), *from_corpus(shop.items, shop.folder)]


def _tools() -> ReadingTools:
    return ReadingTools(load_lexicon(), load_heads(), OnnxDocumentEncoder(), Settings())


@app.command()
def reading(
    split: Annotated[str, typer.Option(help="train, dev or test")] = "test",
    errors: Annotated[bool, typer.Option(help="List the documents with errors; never for test.")] = False,
    keep: Annotated[bool, typer.Option(help="Write the figures to eval/results as well.")] = False,
) -> None:
    """Read the labelled documents from their words and score what was read."""
    documents = load_labelled(LABELLED / split)
    lines = []
    for line in reading_lines(documents, _tools(), errors and split != "test"):
        typer.echo(line)
        lines.append(line)
    if keep:
        RESULTS.mkdir(exist_ok=True)
        file = RESULTS / f"{date.today().isoformat()}-reading-{split}.txt"
        file.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    app()
