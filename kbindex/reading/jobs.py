"""A document's sentences into the jobs that it tells, and passages for search."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace

from kbindex.reading import labels
from kbindex.reading.attempts import judge_outcome, read_attempts
from kbindex.reading.events import find_events
from kbindex.reading.findings import read_cautions, read_checks, read_symptoms
from kbindex.reading.kinds import Judged
from kbindex.reading.lexicon import Lexicon
from kbindex.reading.opinions import read_shares
from kbindex.reading.prices import read_costs, read_minutes
from kbindex.reading.segments import split_jobs
from kbindex.records import (
    At,
    Job,
    Passage,
    Sentence,
    Source,
    SourceKind,
    Symptom,
    Told,
)
from kbindex.settings import Settings

_LONGEST_PASSAGE = 320
_COOLING = frozenset(("refrigerator", "freezer", "ice maker", "wine cooler", "room air conditioner", "dehumidifier"))
_BOTH_WAYS = frozenset(("washer dryer combo", "heat pump", "water cooler"))


@dataclass(frozen=True)
class Document:
    """One document to read: its sentences with what each was judged to be."""

    path: str
    kind: SourceKind
    sentences: Sequence[Sentence]
    judged: Sequence[Judged]
    made_on: str | None = None


def read_document(document: Document, lexicon: Lexicon, settings: Settings) -> Told:
    """Read what a document tells: usually one job, several where it goes from machine to machine."""
    jobs, passages = [], []
    for number, (start, end) in enumerate(split_jobs(document.sentences, lexicon)):
        part = _Part(document, document.sentences[start:end], document.judged[start:end], number)
        jobs.append(_read_job(part, lexicon, settings))
        passages += _make_passages(part.sentences, part.judged, number)
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
    judged: Sequence[Judged]
    number: int


def _read_job(part: _Part, lexicon: Lexicon, settings: Settings) -> Job:
    texts = [sentence.text for sentence in part.sentences]
    path = part.document.path
    machine = labels.choose_appliance(texts, path if part.number == 0 else "", lexicon)
    attempts = read_attempts(find_events(part.sentences, part.judged, machine, lexicon), part.sentences)
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
        symptoms=read_symptoms(part.sentences, part.judged, machine, attempts, lexicon),
        checks=read_checks(part.sentences, part.judged, machine, lexicon),
        attempts=attempts,
        stated_shares=read_shares(part.sentences, part.judged, machine, lexicon),
        costs=read_costs(part.sentences, part.judged, machine, attempts, lexicon, settings),
        minutes=read_minutes(part.sentences, part.judged, is_note),
        cautions=read_cautions(part.sentences, part.judged, lexicon),
        callback_of=earlier,
        outcome=outcome,
        fixed_by=fixed_by,
    )


def _fit_machine(symptoms: Sequence[Symptom], machine: str | None) -> tuple[Symptom, ...]:
    """ "Cold" is a complaint about a machine that should heat, "warm" about one that should cool."""
    wrong, right = ("no_heat", "no_cool") if machine in _COOLING else ("no_cool", "no_heat")
    if machine is None or machine in _BOTH_WAYS:
        return tuple(symptoms)
    return tuple(
        replace(one, tags=tuple(dict.fromkeys(right if tag == wrong else tag for tag in one.tags))) for one in symptoms
    )


def told_id(path: str, at: At, number: int) -> str:
    """An id that stays the same while the document's name and the job's place in it do."""
    return "j-" + hashlib.sha256(f"{path}|{at.row}|{number}".encode()).hexdigest()[:10]


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
