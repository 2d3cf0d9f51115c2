"""The entrance to reading: a recording or a file of notes in, what it tells out."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from kbindex.reading import labels
from kbindex.reading.amounts import find_job_minutes, find_money
from kbindex.reading.attempts import judge_outcome
from kbindex.reading.jobs import Document, read_document
from kbindex.reading.kinds import Heads, Judged, judge
from kbindex.reading.lexicon import Lexicon
from kbindex.reading.numbers import value_of
from kbindex.reading.privacy import hide_private, hide_private_words
from kbindex.reading.sentences import cut_note, cut_speech
from kbindex.reading.tickets import Column, Ticket, name_columns, read_result_cell, read_ticket
from kbindex.records import At, Attempt, Cost, Job, Kind, Note, Operation, Recording, Result, Sentence, SourceKind, Told
from kbindex.settings import Settings

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_CELL_OF_WORK = 0.6
_CELL_OF_PARTS = 0.8
"""The least chance of an attempt in a cell of work done: where it says an operation, and where it names a part alone."""

_LOOKED_AT_RE = re.compile(
    r"\b(?:ohm\w*|ok|good|fine|tested|check\w*|chk\w*|open|shorted|bad|burnt|split|worn|stuck|dead|leak\w*|clear|clean|found|suspect\w*|no)\b",
    re.IGNORECASE,
)

READER_VERSION = "1"
"""Grows with every change of what is read from the same words: documents read by an older one are read again."""


@dataclass(frozen=True)
class ReadingTools:
    """What reading needs; `encode` gives (text_count, dim) float32 vectors, rows of length 1."""

    lexicon: Lexicon
    heads: Heads
    encode: Callable[[Sequence[str]], NDArray[np.float32]]
    settings: Settings


def read_recording(recording: Recording, tools: ReadingTools) -> Told:
    """Read a recording's words; no words, nothing told."""
    words = hide_private_words(recording.words)
    sentences = cut_speech(replace(recording, words=words), tools.lexicon)
    return _read(recording.path, SourceKind.RECORDING, sentences, recording.made_on, tools)


def read_notes(notes: Sequence[Note], tools: ReadingTools) -> Told:
    """Read the notes of one file: a written note, or the rows of a table of tickets."""
    jobs: list[Job] = []
    passages = []
    columns = name_columns([note.fields for note in notes if note.fields], tools.lexicon)
    for note in notes:
        told = _read_row(note, columns, tools) if note.fields else _read_note(note, tools)
        passages += [replace(passage, told=passage.told + len(jobs)) for passage in told.passages]
        jobs += told.jobs
    return Told(tuple(jobs), tuple(passages))


def _read_note(note: Note, tools: ReadingTools) -> Told:
    sentences = cut_note(replace(note, text=hide_private(note.text)), tools.lexicon)
    return _read(note.path, SourceKind.NOTE, sentences, None, tools)


def _read(path: str, kind: SourceKind, sentences: list[Sentence], made_on: str | None, tools: ReadingTools) -> Told:
    judged = judge(sentences, tools.encode([sentence.text for sentence in sentences]), tools.heads, tools.lexicon)
    told = read_document(Document(path, kind, sentences, judged, made_on), tools.lexicon, tools.settings)
    empty = not any(job.symptoms or job.attempts or job.checks for job in told.jobs)
    return Told((), tuple(replace(p, told=0) for p in told.passages)) if empty else told


_COLUMN_KINDS = {
    Column.MACHINE: Kind.ASIDE,
    Column.COMPLAINT: Kind.SYMPTOM,
    Column.WORK: Kind.ACTION,
    Column.PARTS: Kind.ACTION,
    Column.RESULT: Kind.RESULT,
}


def _read_row(note: Note, columns: Mapping[str, Column], tools: ReadingTools) -> Told:
    """Read a ticket: its cells say what they are, reading does the rest."""
    ticket = read_ticket(note.fields, columns)
    sentences: list[Sentence] = []
    judged: list[Judged] = []
    for column in _COLUMN_KINDS:
        text = hide_private(ticket.text_of(column))
        if column is Column.PARTS and ticket.text_of(Column.WORK):
            continue
        pieces = cut_note(Note(note.path, text, note.row), tools.lexicon)
        if not pieces:
            continue
        verdicts = judge(pieces, tools.encode([piece.text for piece in pieces]), tools.heads, tools.lexicon)
        sentences += pieces
        judged += [
            _as_column(verdict, column, piece.text, tools.lexicon) for verdict, piece in zip(verdicts, pieces, strict=True)
        ]
    told = read_document(Document(note.path, SourceKind.NOTE, sentences, judged), tools.lexicon, tools.settings)
    if not told.jobs or not sentences:
        return Told((), ())
    job = _apply_cells(told.jobs[0], ticket, note, tools)
    return Told((job,), tuple(replace(passage, told=0) for passage in told.passages))


def _as_column(verdict: Judged, column: Column, text: str, lexicon: Lexicon) -> Judged:
    """A complaint cell holds complaints, a result cell results; a cell of work done may hold anything but complaints."""
    if column in (Column.MACHINE, Column.COMPLAINT):
        return _judged_as(_without_events(verdict), _COLUMN_KINDS[column])
    if column is Column.RESULT:
        return _judged_as(_without_events(verdict), Kind.RESULT)
    if lexicon.operations.find(text):
        return _judged_to_work(verdict, _CELL_OF_WORK)
    if lexicon.find_parts(text) and not _LOOKED_AT_RE.search(text):
        return _judged_to_work(verdict, _CELL_OF_PARTS)
    return _judged_as(verdict, Kind.ACTION) if verdict.kind is Kind.SYMPTOM else verdict


def _judged_to_work(verdict: Judged, least: float) -> Judged:
    """Work is at least this likely; a part named alone was put in."""
    likely = max(verdict.attempt, least)
    chances = {**verdict.chances, "attempt": {"no": 1 - likely, "yes": likely}}
    if least == _CELL_OF_PARTS:
        chances["operation"] = {one.value: float(one is Operation.REPLACE) for one in Operation}
    return _judged_as(Judged(chances), Kind.ACTION)


def _judged_as(verdict: Judged, kind: Kind) -> Judged:
    return Judged({**verdict.chances, "kind": {one.value: float(one is kind) for one in Kind}})


def _without_events(verdict: Judged) -> Judged:
    turns = {name: float(name == "none") for name in verdict.chances["turn"]}
    return Judged({**verdict.chances, "attempt": {"no": 1.0, "yes": 0.0}, "turn": turns})


def _apply_cells(job: Job, ticket: Ticket, note: Note, tools: ReadingTools) -> Job:
    machine_cell = ticket.text_of(Column.MACHINE)
    machines = tools.lexicon.find_machines(machine_cell)
    attempts = _with_result(job.attempts, ticket.text_of(Column.RESULT), At(note.path, note.row))
    outcome, fixed_by = judge_outcome(attempts)
    digits = "".join(ch for ch in ticket.text_of(Column.JOB_NO) if ch.isdigit())
    earlier = labels.find_job_numbers("#" + ticket.text_of(Column.EARLIER).strip("# ")) or []
    return replace(
        job,
        job_no=digits or job.job_no,
        date=labels.find_date(ticket.text_of(Column.DATE), tools.settings.day_first) or job.date,
        appliance=machines[0].name if machines else job.appliance,
        minutes=_minutes_of(ticket.text_of(Column.MINUTES)) or job.minutes,
        costs=job.costs or _price_of(ticket.text_of(Column.PRICE), attempts, note, tools.settings),
        attempts=attempts,
        callback_of=(earlier[0][0] if earlier else None) or job.callback_of,
        outcome=outcome,
        fixed_by=fixed_by,
    )


def _with_result(attempts: tuple[Attempt, ...], cell: str, at: At) -> tuple[Attempt, ...]:
    """Give the last attempts without a result the one that the result cell tells."""
    result = read_result_cell(cell) if cell else Result.UNTESTED
    if result is Result.UNTESTED or not attempts:
        return attempts
    last = attempts[-1]
    if last.result is not Result.UNTESTED and not (last.result is Result.FIXED and result is Result.CAME_BACK):
        return attempts
    group = {last.order, *last.together_with}
    said = hide_private(cell)
    return tuple(replace(a, result=result, result_at=at, result_text=said) if a.order in group else a for a in attempts)


def _minutes_of(cell: str) -> int | None:
    value = value_of(cell) if cell else None
    if value is not None:
        return round(value) if value > 8 else round(value * 60)
    return find_job_minutes(f"took {cell}", is_note=True) if cell else None


def _price_of(cell: str, attempts: Sequence[Attempt], note: Note, settings: Settings) -> tuple[Cost, ...]:
    """A price cell is the price of the part that was put in; of several, it cannot be told whose."""
    money = find_money(cell)
    amount = money[0].amount if money else value_of(cell.strip()) if cell.strip() else None
    if not amount:
        return ()
    currency = money[0].currency if money else settings.currency
    parts = {a.component for a in attempts if a.operation is Operation.REPLACE}
    return (Cost(parts.pop() if len(parts) == 1 else None, amount, currency, At(note.path, note.row)),)
