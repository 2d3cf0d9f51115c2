"""The verb "ask": a question into what the shop's own jobs say.

Jobs are matched through their read symptoms and counted, without the attempts that wait for review; passages are found by
keyword and by meaning, fused. When neither finds anything like the question, the answer says so and holds nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from kbindex.contracts import SentenceEncoder, VectorIndex
from kbindex.errors import QuestionError
from kbindex.evidence.counting import count_fixes
from kbindex.evidence.order import order_steps
from kbindex.questions import Answer, Fix, FoundCheck, FoundPassage, HazardRule, Question
from kbindex.reading.corrections import count_doubtful, leave_out_doubtful
from kbindex.reading.lexicon import Lexicon
from kbindex.records import Job, Kind
from kbindex.search.fusion import fuse_ranks, keyword_query
from kbindex.search.matching import match_jobs
from kbindex.search.question import read_question
from kbindex.settings import Settings
from kbindex.store.library import Library, StoredPassage

_DEPTH = 80
_ALIKE_ENOUGH = 0.50
"""Cosine of all-MiniLM-L6-v2 above which a passage is about the question although no symptom of it is known."""
_CHECK_LIMIT = 6


@dataclass(frozen=True)
class AskEngines:
    """What a question works with."""

    encoder: SentenceEncoder
    index: VectorIndex
    lexicon: Lexicon
    settings: Settings


@dataclass(frozen=True)
class Asked:
    """A question as put: its text, the machine if given apart, what has been tried already, how many rows to give."""

    text: str
    appliance: str | None = None
    tried: tuple[str, ...] = ()
    limit: int = 8


@dataclass(frozen=True)
class _Hits:
    """Fused passages with their scores, and the best likeness (cosine) of each job."""

    passages: list[tuple[StoredPassage, float]]
    alike: dict[str, float]
    best: float


def ask(asked: Asked, library: Library, engines: AskEngines) -> Answer:
    """Answer a question from the library.

    Raises:
        QuestionError: The question has no words.
    """
    if not any(ch.isalnum() for ch in asked.text):
        raise QuestionError(
            'the question has no words; say what the machine does or does not do, for example "won\'t start, beeps"'
        )
    question = read_question(asked.text, asked.appliance, engines.lexicon)
    jobs = library.jobs()
    hits = _search(question, library, engines)
    matched = match_jobs(question, jobs, hits.alike, _ALIKE_ENOUGH)
    by_id = {job.id: job for job in jobs}
    passages = _choose_passages(question, hits, matched, by_id)
    if not matched and not passages:
        return Answer(question, 0, True)
    fixes = count_fixes([leave_out_doubtful(job) for job in matched], _same_machine(matched, jobs), engines.settings.currency)
    tried = _as_components(asked.tried, question.appliance or _machine_of(matched), engines.lexicon)
    return Answer(
        query=question,
        jobs_matched=len(matched),
        nothing_found=False,
        fixes=fixes[: asked.limit],
        order=order_steps(fixes, tried, engines.settings)[: asked.limit],
        checks=_gather_checks(matched, fixes),
        cautions=_gather_cautions(question, matched, engines.lexicon),
        passages=tuple(passages[: asked.limit]),
        jobs=tuple(job.id for job in matched),
        left_for_review=count_doubtful(matched),
    )


def _search(question: Question, library: Library, engines: AskEngines) -> _Hits:
    ids, similarities = engines.index.search(engines.encoder.encode([question.text])[0], _DEPTH)
    meaning = {int(one): float(similarity) for one, similarity in zip(ids, similarities, strict=True)}
    query = keyword_query(question.text)
    keyword = [one for one, _ in library.search_words(query, _DEPTH)] if query else []
    fused = fuse_ranks([list(meaning), keyword])
    stored = library.passages([one for one, _ in fused])
    alike: dict[str, float] = {}
    for one, similarity in meaning.items():
        passage = stored.get(one)
        if passage and passage.job_id and passage.passage.kind is Kind.SYMPTOM:
            alike[passage.job_id] = max(alike.get(passage.job_id, 0.0), similarity)
    top = 2 / 61
    ranked = [(stored[one], round(score / top, 4)) for one, score in fused if one in stored]
    return _Hits(ranked, alike, max(meaning.values(), default=0.0))


def _choose_passages(question: Question, hits: _Hits, matched: Sequence[Job], jobs: dict[str, Job]) -> list[FoundPassage]:
    """Passages of the matched jobs first. Without any matched job only a question that names no known symptom gets some."""
    wanted = {job.id for job in matched}
    if not wanted and (question.symptoms or hits.best < _ALIKE_ENOUGH):
        return []
    found = []
    for stored, score in hits.passages:
        job = jobs.get(stored.job_id or "")
        if question.appliance and job and job.appliance != question.appliance:
            continue
        if stored.passage.kind is not Kind.ASIDE:
            found.append(
                (
                    stored.job_id in wanted,
                    FoundPassage(stored.passage.kind, stored.passage.text, score, stored.job_id, stored.passage.at),
                )
            )
    return [passage for _, passage in sorted(found, key=lambda item: not item[0])]


def _same_machine(matched: Sequence[Job], jobs: Sequence[Job]) -> list[Job]:
    machines = {job.appliance for job in matched}
    return [job for job in jobs if job.appliance in machines]


def _machine_of(matched: Sequence[Job]) -> str | None:
    machines = [job.appliance for job in matched if job.appliance]
    return max(set(machines), key=machines.count) if machines else None


def _as_components(tried: Sequence[str], machine: str | None, lexicon: Lexicon) -> list[str]:
    """Read what was tried already: "latch" means what it means on this machine."""
    found: list[str] = []
    for words in tried:
        mentions = lexicon.find_parts(words, machine)
        found += [mention.component for mention in mentions] or [words.strip().lower()]
    return found


def _gather_checks(matched: Sequence[Job], fixes: Sequence[Fix]) -> tuple[FoundCheck, ...]:
    """Checks made in the matched jobs; those that speak of a part which cured come first."""
    cured = {fix.component for fix in fixes if fix.fixed}
    checks = [
        FoundCheck(check.text, check.finding, check.points_to, job.id, check.at) for job in matched for check in job.checks
    ]
    return tuple(sorted(checks, key=lambda check: check.points_to not in cured)[:_CHECK_LIMIT])


def _gather_cautions(question: Question, matched: Sequence[Job], lexicon: Lexicon) -> tuple[HazardRule, ...]:
    """The hazards that the machine implies, said or not, then those that were spoken of in the jobs."""
    machines = dict.fromkeys([*([question.appliance] if question.appliance else []), *(job.appliance for job in matched)])
    implied = [topic for machine in machines if machine for topic in lexicon.machine_hazards.get(machine, ())]
    spoken = [caution.topic for job in matched for caution in job.cautions]
    topics = dict.fromkeys(["mains power", *implied, *spoken])
    return tuple(lexicon.cautions[topic] for topic in topics if topic in lexicon.cautions)
