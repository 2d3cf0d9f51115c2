"""A document's sentences into the jobs that it tells, and passages for search."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from kbindex.reading import labels
from kbindex.reading.attempts import judge_outcome, read_attempts
from kbindex.reading.catalogue import Catalogue
from kbindex.reading.confidence import Trust
from kbindex.reading.events import find_work
from kbindex.reading.findings import read_cautions, read_checks, read_symptoms
from kbindex.reading.heads import Heads
from kbindex.reading.kinds import Correct, Judged, Seen, Talk, Verdicts, find_openings, judge, look_at
from kbindex.reading.lexicon import Lexicon
from kbindex.reading.opinions import read_shares
from kbindex.reading.prices import read_costs, read_minutes
from kbindex.reading.segments import split_jobs
from kbindex.reading.states import SentenceStates
from kbindex.records import (
    At,
    Attempt,
    By,
    Cost,
    Job,
    Passage,
    Result,
    Sentence,
    Source,
    SourceKind,
    Told,
)
from kbindex.settings import Settings

_LONGEST_PASSAGE = 320
_OPENING = 8
"""So many sentences open a job: what it is about and why."""


@dataclass(frozen=True)
class Document:
    """One document to read: its sentences with the encoder's states of each."""

    path: str
    kind: SourceKind
    sentences: Sequence[Sentence]
    states: Sequence[SentenceStates]
    made_on: str | None = None
    households: tuple[int, ...] = ()
    correct: Correct | None = None


@dataclass(frozen=True)
class Knowledge:
    """What documents are read with."""

    lexicon: Lexicon
    heads: Heads
    catalogue: Catalogue
    trust: Trust
    settings: Settings


def read_document(document: Document, known: Knowledge, *, one_job: bool = False) -> Told:
    """Read what a document tells: usually one job, several where it goes from machine to machine."""
    if not document.sentences:
        return Told((), ())
    seen = look_at(document.sentences, document.states, known.lexicon)
    whole = [(0, len(document.sentences))]
    spans = whole if one_job else split_jobs(document.sentences, find_openings(seen, known.heads), known.lexicon)
    jobs, passages = [], []
    for number, (start, end) in enumerate(spans):
        part = _Part(document, document.sentences[start:end], seen.part(start, end), start, number)
        machine = _find_machine(part, known.lexicon)
        verdicts = _judge(part, machine, known)
        jobs.append(_read_job(part, machine, verdicts, known))
        passages += _make_passages(part.sentences, verdicts.judged, number)
    return Told(tuple(_share_heading(jobs)), tuple(passages))


def _share_heading(jobs: Sequence[Job]) -> list[Job]:
    """What stands at the head of a document that tells several jobs, its date and its machine, holds for all of them."""
    date = next((job.date for job in jobs if job.date), None)
    machine = next((job.appliance for job in jobs if job.appliance), None)
    return [replace(job, date=job.date or date, appliance=job.appliance or machine) for job in jobs]


@dataclass(frozen=True)
class _Part:
    """The stretch of a document that tells one job."""

    document: Document
    sentences: Sequence[Sentence]
    seen: Seen
    start: int
    number: int


def _find_machine(part: _Part, lexicon: Lexicon) -> str | None:
    texts = [sentence.text for sentence in part.sentences]
    return labels.choose_appliance(texts, part.document.path if part.number == 0 else "", lexicon)


def _judge(part: _Part, machine: str | None, known: Knowledge) -> Verdicts:
    texts = [sentence.text for sentence in part.sentences]
    talk = Talk(texts, machine, known.lexicon.name_parts(texts, machine))
    outside = part.document.correct
    correct = (lambda place, one: outside(part.start + place, one)) if outside else None
    return judge(part.seen, talk, known.heads, known.catalogue, correct)


def _read_job(part: _Part, machine: str | None, verdicts: Verdicts, known: Knowledge) -> Job:
    lexicon, settings, judged = known.lexicon, known.settings, verdicts.judged
    texts = [sentence.text for sentence in part.sentences]
    path = part.document.path
    attempts = read_attempts(find_work(part.sentences, judged, lexicon), part.sentences, verdicts.choice, known.trust)
    outcome, fixed_by = judge_outcome(attempts)
    file_number = labels.file_job_number(path) if part.number == 0 else None
    own, earlier = labels.split_own_and_earlier(texts, file_number)
    is_note = part.document.kind is SourceKind.NOTE
    return Job(
        id=told_id(path, part.sentences[0].at if part.sentences else At(path), part.number),
        sources=(_source(part),),
        job_no=own,
        date=_find_date(part, texts, settings),
        appliance=machine,
        symptoms=read_symptoms(part.sentences, judged, machine, attempts, lexicon),
        checks=read_checks(part.sentences, judged, verdicts.mentions),
        attempts=attempts,
        stated_shares=read_shares(part.sentences, verdicts),
        costs=_without_job_numbers(read_costs(part.sentences, verdicts, attempts, settings), part, (own, earlier)),
        minutes=read_minutes(part.sentences, judged, is_note),
        cautions=read_cautions(part.sentences, judged, lexicon),
        callback_of=earlier,
        households=part.document.households,
        returning=earlier is not None or _is_return(texts, attempts),
        outcome=outcome,
        fixed_by=fixed_by,
    )


def told_id(path: str, at: At, number: int) -> str:
    """An id that stays the same while the document's name and the job's place in it do."""
    return "j-" + hashlib.sha256(f"{path}|{at.row}|{number}".encode()).hexdigest()[:10]


def _without_job_numbers(costs: Sequence[Cost], part: _Part, own: Sequence[str | None]) -> tuple[Cost, ...]:
    """Job numbers are spoken as prices are: "fifty-one thirty-two"."""
    numbers = {number for number in own if number}
    for sentence in part.document.sentences:
        numbers |= {number for number, _ in labels.find_job_numbers(sentence.text)}
    return tuple(cost for cost in costs if f"{cost.amount:.2f}".replace(".", "") not in numbers)


_RETURN_RE = re.compile(
    r"\bcall\s?-?back|\bc/b\b|\brecall(?:ed)?\b|\b(?:return|second|repeat|follow-?up) (?:visit|trip|call)|\bback (?:again|out|here|at)\b|"
    r"\bcame back\b|\b(?:comes?|coming) back\b|\bsame (?:complaint|machine|fault|problem|trouble|unit)\b|\b(?:is|it's|she's|he's|was) back\b|\bagain\b",
    re.IGNORECASE,
)


def _is_return(texts: Sequence[str], attempts: Sequence[Attempt]) -> bool:
    """Whether the job's opening says that it returns to earlier work, or work of the shop's own is told as not having held."""
    held_not = any(one.by is By.US and one.result is Result.CAME_BACK for one in attempts)
    return held_not or any(_RETURN_RE.search(text) for text in texts[:_OPENING])


def _source(part: _Part) -> Source:
    first, last = (part.sentences[0].at, part.sentences[-1].at) if part.sentences else (At(""), At(""))
    return Source(part.document.path, part.document.kind, first.row, first.start_s, last.end_s)


def _find_date(part: _Part, texts: Sequence[str], settings: Settings) -> str | None:
    named = labels.find_date(part.document.path.rsplit("/", 1)[-1], settings.day_first)
    said = next((found for text in texts if (found := labels.find_date(text, settings.day_first))), None)
    return named or said or part.document.made_on


def _make_passages(sentences: Sequence[Sentence], judged: Sequence[Judged], told: int) -> list[Passage]:
    """Join neighbouring sentences of one kind into passages, each short enough to be one thought."""
    passages: list[Passage] = []
    for sentence, verdict in zip(sentences, judged, strict=True):
        last = passages[-1] if passages else None
        if last and last.kind is verdict.kind and len(last.text) + len(sentence.text) < _LONGEST_PASSAGE:
            at = At(last.at.source, last.at.row, last.at.start_s, sentence.at.end_s)
            passages[-1] = Passage(last.kind, f"{last.text} {sentence.text}", at, told)
        else:
            passages.append(Passage(verdict.kind, sentence.text, sentence.at, told))
    return passages
