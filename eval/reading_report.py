"""The report of `python -m eval reading`: every figure that reading is held to, over labelled documents."""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import replace

from eval.labelled import LabelledDocument, as_recording
from eval.reading_figures import (
    Read,
    score_boundaries,
    score_calibration,
    score_joins,
    score_kinds,
    score_leaks,
    score_result_places,
)
from eval.scoring import Hits, ReadingScore, score_all, with_plain_names
from kbindex.engines.documents import read_notes as read_note_file
from kbindex.reading.reader import ReadingTools, hide_recording, read_notes, read_recording
from kbindex.records import SourceKind, Told


def reading_lines(documents: Sequence[LabelledDocument], tools: ReadingTools, errors: bool) -> Iterator[str]:
    """Read the documents and give the lines of the report."""
    started = time.monotonic()
    read = read_documents(documents, tools)
    yield f"{len(read)} documents read in {time.monotonic() - started:.1f} s"
    punctuated = [one for one in read if one[0].form is SourceKind.RECORDING and not one[0].raw]
    raw = [one for one in read if one[0].raw]
    for title, chosen in (
        ("speech, punctuated", punctuated),
        ("speech, raw captions", raw),
        ("notes", [one for one in read if one[0].form is SourceKind.NOTE]),
        ("all", read),
    ):
        yield f"== {title}: {len(chosen)} documents"
        kind, sentences = score_kinds(chosen)
        yield f"{'kind macro-F1':<22} {kind:.3f}  ({sentences} sentences)"
        yield from (f"{name:<22} {row}" for name, row in score_jobs(chosen, tools).rows())
    pk, window_diff, passages = score_boundaries(read)
    yield "== over all documents"
    yield f"{'passage boundaries':<22} Pk {pk:.3f}, WindowDiff {window_diff:.3f}  ({passages} passages)"
    plain = with_plain_jobs(read, tools)
    yield f"{'result at its place':<22} {_share(score_result_places(plain))}"
    error, brier, attempts = score_calibration(plain)
    yield f"{'confidence':<22} expected calibration error {error:.3f}, Brier {brier:.3f}  ({attempts} attempts)"
    joins = score_joins(read)
    yield f"{'filmed and noted':<22} P {_precision(joins.joins)}, R {_recall(joins.joins)}  {joins.joins.row()}"
    yield f"{'callbacks linked':<22} P {_precision(joins.callbacks)}, R {_recall(joins.callbacks)}  {joins.callbacks.row()}"
    yield from _leak_lines(read, errors)
    if errors:
        yield from _error_lines(read, tools)


def read_documents(documents: Sequence[LabelledDocument], tools: ReadingTools) -> list[Read]:
    """Read each document from its words."""
    return [(document, _read(document, tools)) for document in documents]


def with_plain_jobs(read: Sequence[Read], tools: ReadingTools) -> list[Read]:
    """The same with the components of gold under the lexicon's names."""
    return [(replace(one, jobs=tuple(with_plain_names(one.jobs, tools.lexicon))), told) for one, told in read]


def score_jobs(read: Sequence[Read], tools: ReadingTools) -> ReadingScore:
    """Score what the jobs tell."""
    return score_all([(with_plain_names(document.jobs, tools.lexicon), told.jobs) for document, told in read])


def _read(document: LabelledDocument, tools: ReadingTools) -> Told:
    if document.form is SourceKind.RECORDING:
        return read_recording(hide_recording(as_recording(document)), tools)
    return read_notes(read_note_file(document.file, document.path), tools)


def _leak_lines(read: Sequence[Read], errors: bool) -> Iterator[str]:
    leaks = score_leaks(read)
    share = leaks.harmless_removed / max(leaks.harmless, 1)
    yield f"{'private leaked':<22} {len(leaks.leaked)} of {leaks.private}"
    yield f"{'harmless removed':<22} {share:.4f}  ({leaks.harmless_removed} of {leaks.harmless} words)"
    if errors:
        yield from (f"  leaked: {text}" for text in leaks.leaked)


def _error_lines(read: Sequence[Read], tools: ReadingTools) -> Iterator[str]:
    for document, told in read:
        rows = score_jobs([(document, told)], tools).rows()
        wrong = [f"{name} {row}" for name, row in rows if "0 wrong, 0 missed" not in row]
        yield f"{document.path}: {'; '.join(wrong)}"


def _share(hits: Hits) -> str:
    total = hits.right + hits.wrong
    return f"{hits.right / total:.3f}  ({hits.right} of {total})" if total else "  -"


def _precision(hits: Hits) -> str:
    return f"{hits.right / (hits.right + hits.wrong):.2f}" if hits.right + hits.wrong else "-"


def _recall(hits: Hits) -> str:
    return f"{hits.right / (hits.right + hits.missed):.2f}" if hits.right + hits.missed else "-"
