"""The entrance to reading: a recording or a file of notes in, what it tells out."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from kbindex.errors import DocumentError
from kbindex.reading.attempts import judge_outcome
from kbindex.reading.catalogue import Catalogue
from kbindex.reading.columns import TOLD_IN_WORDS, Column, name_columns
from kbindex.reading.confidence import Trust
from kbindex.reading.heads import Heads
from kbindex.reading.households import mark_households
from kbindex.reading.jobs import Document, Knowledge, read_document
from kbindex.reading.kinds import Judged
from kbindex.reading.lexicon import Lexicon
from kbindex.reading.privacy import hide_private, hide_private_words
from kbindex.reading.row_tries import Try, pair_tries, settle_tries
from kbindex.reading.sentences import cut_note, cut_speech
from kbindex.reading.states import DocumentEncoder
from kbindex.reading.tickets import Table, Ticket, price_parts, read_tickets
from kbindex.records import At, Job, Kind, Note, Operation, Recording, Sentence, SourceKind, Told
from kbindex.settings import Settings, say_columns

_CELL_OF_WORK = 0.6
_CELL_OF_PARTS = 0.8
"""The least chance of an attempt in a cell of work done: where it says an operation, and where it names a part alone."""

_LOOKED_AT_RE = re.compile(
    r"\b(?:ohm\w*|ok|good|fine|tested|check\w*|chk\w*|open|shorted|bad|burnt|split|worn|stuck|dead|leak\w*|clear|clean|found|suspect\w*|no)\b",
    re.IGNORECASE,
)

READER_VERSION = "4"
"""Grows with every change of what is read from the same words: documents read by an older one are read again."""


@dataclass(frozen=True)
class ReadingTools:
    """What reading needs."""

    lexicon: Lexicon
    heads: Heads
    encoder: DocumentEncoder
    settings: Settings

    @cached_property
    def known(self) -> Knowledge:
        """What documents are read with, the encoder apart."""
        return Knowledge(self.lexicon, self.heads, Catalogue(self.heads, self.lexicon), Trust(self.heads), self.settings)

    def score_ends(self, words: Sequence[str]) -> list[float]:
        """For each word of a stream the score (log odds) of a sentence ending after it."""
        return self._scores("sentence_end", words)

    def score_piece_ends(self, words: Sequence[str]) -> list[float]:
        """The same for the words of a note, as they are written."""
        return self._scores("piece_end", words)

    def _scores(self, head: str, words: Sequence[str]) -> list[float]:
        return [float(row[0]) for row in self.heads.apply(head, self.encoder.encode_words(words))]


def read_recording(recording: Recording, tools: ReadingTools) -> Told:
    """Read a recording's words, private ones hidden (`hide_recording`); no words, nothing told."""
    sentences = cut_speech(recording, tools.lexicon, tools.score_ends)
    document = Document(recording.path, SourceKind.RECORDING, sentences, (), recording.made_on, recording.households)
    return _read(document, tools)


def hide_recording(recording: Recording) -> Recording:
    """Hide the private details in a recording's words, and mark the households that are named in them."""
    marks = mark_households(" ".join(word.text for word in recording.words)) or recording.households
    return replace(recording, words=hide_private_words(recording.words), households=marks)


def read_notes(notes: Sequence[Note], tools: ReadingTools) -> Told:
    """Read the notes of one file: a written note, or the rows of a table of tickets."""
    jobs: list[Job] = []
    passages = []
    tickets = iter(_read_tickets([note for note in notes if note.fields], tools))
    for note in notes:
        told = _read_row(note, next(tickets), tools) if note.fields else _read_note(note, tools)
        passages += [replace(passage, told=passage.told + len(jobs)) for passage in told.passages]
        jobs += told.jobs
    return Told(tuple(jobs), tuple(passages))


def _read_tickets(notes: Sequence[Note], tools: ReadingTools) -> list[Ticket]:
    if not notes:
        return []
    rows = [note.fields for note in notes]
    columns = name_columns(rows, tools.lexicon, tools.settings.columns)
    if not TOLD_IN_WORDS - {Column.PARTS} & set(columns.values()):  # parts alone are a price list
        raise DocumentError(
            notes[0].path,
            f"has no column that tells a complaint or work (its headings: {', '.join(columns)})",
            say_columns(next(iter(columns))),
        )
    table = Table(columns, tools.lexicon, tools.settings.day_first, notes[0].path, tools.settings.currency)
    return read_tickets(rows, table)


def _read_note(note: Note, tools: ReadingTools) -> Told:
    sentences = cut_note(replace(note, text=hide_private(note.text)), tools.lexicon, tools.score_piece_ends)
    return _read(Document(note.path, SourceKind.NOTE, sentences, (), None, mark_households(note.text)), tools)


def _read(document: Document, tools: ReadingTools) -> Told:
    told = read_document(_seen(document, tools), tools.known)
    empty = not any(job.symptoms or job.attempts or job.checks for job in told.jobs)
    return Told((), tuple(replace(p, told=0) for p in told.passages)) if empty else told


def _seen(document: Document, tools: ReadingTools) -> Document:
    """The document with what the encoder sees in its sentences."""
    return replace(document, states=tools.encoder.encode([sentence.text for sentence in document.sentences]))


_COLUMN_KINDS = {
    Column.MACHINE: Kind.ASIDE,
    Column.COMPLAINT: Kind.SYMPTOM,
    Column.FOUND: Kind.CHECK,
    Column.WORK: Kind.ACTION,
    Column.PARTS: Kind.ACTION,
    Column.RESULT: Kind.RESULT,
    Column.REMARKS: Kind.ASIDE,
}


def _read_row(note: Note, ticket: Ticket, tools: ReadingTools) -> Told:
    """Read a ticket: its cells say what they are, reading does the rest."""
    cells = [(column, _cut_cell(text, note, tools)) for column, text in _cells_to_read(ticket)]
    pieces = [(column, piece) for column, cut in cells for piece in cut]
    if not pieces or not ticket.has_job:
        return Told((), ())
    sentences = [piece for _, piece in pieces]

    def correct(number: int, verdict: Judged) -> Judged:
        column, piece = pieces[number]
        return _as_column(verdict, column, piece.text, tools.lexicon)

    households = mark_households("\n".join(f"{name}: {cell}" for name, cell in note.fields))
    document = Document(note.path, SourceKind.NOTE, sentences, (), None, households, correct)
    told = read_document(_seen(document, tools), tools.known, one_job=True)
    job = _apply_cells(told.jobs[0], ticket, pair_tries(cells), At(note.path, note.row), tools)
    return Told((job,), told.passages)


def _cells_to_read(ticket: Ticket) -> Iterator[tuple[Column, str]]:
    """The texts of a row in the order in which they are read: several columns of work, each with its result behind it."""
    several = sum(column is Column.WORK for column, _ in ticket.cells) > 1
    for column in _COLUMN_KINDS:
        if several and column is Column.WORK:
            yield from (
                (told, hide_private(text, ticket.names)) for told, text in ticket.cells if told in (column, Column.RESULT)
            )
        elif (several and column is Column.RESULT) or (column is Column.PARTS and ticket.text_of(Column.WORK)):
            continue
        else:
            yield column, _public_text(ticket, column)


def _cut_cell(text: str, note: Note, tools: ReadingTools) -> list[Sentence]:
    return cut_note(Note(note.path, text, note.row), tools.lexicon, tools.score_piece_ends)


def _as_column(verdict: Judged, column: Column, text: str, lexicon: Lexicon) -> Judged:
    """A complaint cell holds complaints, a result cell results; a cell of work done may hold anything but complaints."""
    if column in (Column.MACHINE, Column.COMPLAINT):
        return _judged_as(_without_events(verdict), _COLUMN_KINDS[column])
    if column is Column.RESULT:
        return _judged_as(_without_events(verdict), Kind.RESULT)
    if column is Column.FOUND:
        found = verdict.kind in (Kind.SYMPTOM, Kind.ACTION, Kind.RESULT)
        return _judged_as(_without_events(verdict), Kind.CHECK) if found else _without_events(verdict)
    if column is Column.REMARKS:
        return _judged_as(verdict, Kind.ASIDE) if verdict.kind is Kind.SYMPTOM else verdict
    if lexicon.operations.find(text):
        return _judged_to_work(verdict, _CELL_OF_WORK)
    is_list = column is Column.PARTS and bool(lexicon.find_parts(text)) or _names_parts_alone(text, lexicon)
    if is_list and not _LOOKED_AT_RE.search(text):
        return _judged_to_work(verdict, _CELL_OF_PARTS)
    return _judged_as(verdict, Kind.ACTION) if verdict.kind is Kind.SYMPTOM else verdict


def _names_parts_alone(text: str, lexicon: Lexicon) -> bool:
    """Whether a piece of a cell is a list of parts with their prices and nothing else."""
    rest, named = text.lower(), lexicon.find_parts(text)
    for mention in reversed(named):
        rest = rest[: mention.start] + " " + rest[mention.end :]
    return bool(named) and all(word in _BESIDE_PARTS for word in re.findall(r"[a-z']+", rest))


_BESIDE_PARTS = frozenset(
    "s new the a an set kit pair of and x both two three four pcs piece oem only plus w with from van stock usd".split()
)


def _judged_to_work(verdict: Judged, least: float) -> Judged:
    """Work is at least this likely; a part named alone was put in."""
    likely = max(verdict.attempt, least)
    chances = {**verdict.chances, "attempt": {"no": 1 - likely, "yes": likely}}
    if least == _CELL_OF_PARTS:
        chances["operation"] = {one.value: float(one is Operation.REPLACE) for one in Operation}
    return _judged_as(replace(verdict, chances=chances), Kind.ACTION)


def _judged_as(verdict: Judged, kind: Kind) -> Judged:
    return replace(verdict, chances={**verdict.chances, "kind": {one.value: float(one is kind) for one in Kind}})


def _without_events(verdict: Judged) -> Judged:
    turns = {name: float(name == "none") for name in verdict.chances["turn"]}
    return replace(verdict, chances={**verdict.chances, "attempt": {"no": 1.0, "yes": 0.0}, "turn": turns})


def _apply_cells(job: Job, ticket: Ticket, tries: Sequence[Try], at: At, tools: ReadingTools) -> Job:
    """Put the facts of the cells in; where the table has a column for a fact, a guess from the text does not count."""
    attempts = settle_tries(job.attempts, tries, ticket.text_of(Column.COMPLAINT), at)
    outcome, fixed_by = judge_outcome(attempts)
    told = {cost.component: cost.amount for cost in job.costs if cost.component}
    priced = price_parts(ticket, attempts, told, at, tools.lexicon)
    amounts = {cost.amount for cost in priced}
    has = ticket.columns.__contains__
    return replace(
        job,
        job_no=ticket.job_no if has(Column.JOB_NO) else job.job_no,
        date=ticket.date if has(Column.DATE) else job.date,
        appliance=ticket.machine or job.appliance,
        minutes=ticket.minutes if has(Column.MINUTES) else job.minutes,
        costs=(*priced, *(cost for cost in job.costs if cost.amount not in amounts)),
        attempts=attempts,
        callback_of=ticket.earlier or job.callback_of,
        outcome=outcome,
        fixed_by=fixed_by,
    )


def _public_text(ticket: Ticket, column: Column) -> str:
    """What a column says, without private details; a name in the customer's cell is one in every other cell too."""
    return hide_private(ticket.text_of(column), ticket.names)
