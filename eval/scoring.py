"""How well jobs were read: attempts, results, outcomes, shares, costs, tags, against gold in the contract's form."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from kbindex.reading.lexicon import Lexicon
from kbindex.records import Job, StatedShare

SHARE_TOLERANCE = 0.011
"""A third is written 0.33 and 0.333, "about seventy" 0.7."""


@dataclass
class Hits:
    """Counts of a match between two bags of things; rates are None with nothing to rate."""

    right: int = 0
    wrong: int = 0
    missed: int = 0

    def add(self, gold: Iterable[Hashable], told: Iterable[Hashable]) -> None:
        """Count one document."""
        gold_bag, told_bag = Counter(gold), Counter(told)
        right = (gold_bag & told_bag).total()
        self.right += right
        self.wrong += told_bag.total() - right
        self.missed += gold_bag.total() - right

    @property
    def f1(self) -> float | None:
        """Harmonic mean of precision and recall."""
        total = 2 * self.right + self.wrong + self.missed
        return 2 * self.right / total if total else None

    def row(self) -> str:
        """F1 with its counts, for a table."""
        rate = "  -  " if self.f1 is None else f"{self.f1:.3f}"
        return f"{rate}  ({self.right} right, {self.wrong} wrong, {self.missed} missed)"


@dataclass
class ReadingScore:
    """All figures of reading over a set of documents."""

    attempts: Hits = field(default_factory=Hits)
    results: Hits = field(default_factory=Hits)
    by: Hits = field(default_factory=Hits)
    joint: Hits = field(default_factory=Hits)
    outcomes: Hits = field(default_factory=Hits)
    shares: Hits = field(default_factory=Hits)
    costs: Hits = field(default_factory=Hits)
    tags: Hits = field(default_factory=Hits)
    counts: Hits = field(default_factory=Hits)
    codes: Hits = field(default_factory=Hits)
    minutes: Hits = field(default_factory=Hits)
    cautions: Hits = field(default_factory=Hits)
    job_numbers: Hits = field(default_factory=Hits)
    dates: Hits = field(default_factory=Hits)
    appliances: Hits = field(default_factory=Hits)
    job_count: Hits = field(default_factory=Hits)

    def rows(self) -> list[tuple[str, str]]:
        """(name, figure) of each, for printing."""
        return [(name.replace("_", " "), value.row()) for name, value in vars(self).items()]


def score_document(score: ReadingScore, gold: Sequence[Mapping[str, Any]], told: Sequence[Job]) -> None:
    """Add one document. Results are scored on the attempts that were found; jobs are aligned by row, else by their order."""
    score.job_count.add(range(len(gold)), range(len(told)))
    pairs, extra = align_jobs(gold, told)
    for job, found in pairs:
        _score_job(score, job, found)
    for unasked in extra:
        score.attempts.add((), _attempts_of(unasked))


def align_jobs(
    gold: Sequence[Mapping[str, Any]], told: Sequence[Job]
) -> tuple[list[tuple[Mapping[str, Any], Job | None]], list[Job]]:
    """Pair a document's gold jobs with the told ones, by the row of a table or by their order; and what is told too much."""
    if any(job.get("row") for job in gold):
        by_row = {job.sources[0].row: job for job in told}
        pairs = [(job, by_row.pop(job.get("row"), None)) for job in gold]
        return pairs, list(by_row.values())
    return [(job, told[n] if n < len(told) else None) for n, job in enumerate(gold)], list(told[len(gold) :])


def _attempts_of(job: Job | None) -> list[tuple[str, str]]:
    return [(a.component, a.operation.value) for a in job.attempts] if job else []


def _score_job(score: ReadingScore, gold: Mapping[str, Any], told: Job | None) -> None:
    gold_attempts = [(a["component"], a["operation"]) for a in gold.get("attempts") or ()]
    score.attempts.add(gold_attempts, _attempts_of(told))
    _score_found(score, gold, told)
    score.outcomes.add([gold.get("outcome")], [told.outcome.value] if told else [])
    _score_shares(score.shares, gold, told)
    score.costs.add(
        [(c["component"], float(c["amount"])) for c in gold.get("costs") or ()],
        [(c.component, c.amount) for c in told.costs] if told else (),
    )
    symptoms = gold.get("symptoms") or ()
    score.tags.add({tag for s in symptoms for tag in s["tags"]}, {tag for s in told.symptoms for tag in s.tags} if told else ())
    _score_optional(score.counts, {s.get("count") for s in symptoms}, {s.count for s in told.symptoms} if told else set())
    _score_optional(score.codes, {s.get("code") for s in symptoms}, {s.code for s in told.symptoms} if told else set())
    _score_optional(score.minutes, {gold.get("minutes")}, {told.minutes if told else None})
    _score_optional(score.job_numbers, {gold.get("job_no")}, {told.job_no if told else None})
    _score_optional(score.dates, {str(gold["date"]) if gold.get("date") else None}, {told.date if told else None})
    _score_optional(score.appliances, {gold.get("appliance")}, {told.appliance if told else None})
    score.cautions.add({c["topic"] for c in gold.get("cautions") or ()}, {c.topic for c in told.cautions} if told else ())


def _score_found(score: ReadingScore, gold: Mapping[str, Any], told: Job | None) -> None:
    by_name = {(a.component, a.operation.value): a for a in reversed(told.attempts)} if told else {}
    for attempt in gold.get("attempts") or ():
        found = by_name.get((attempt["component"], attempt["operation"]))
        if found:
            score.results.add([attempt["result"]], [found.result.value])
            score.by.add([attempt.get("by", "us")], [found.by.value])
            score.joint.add([bool(attempt.get("together_with"))], [bool(found.together_with)])


def _score_shares(hits: Hits, gold: Mapping[str, Any], told: Job | None) -> None:
    """A share is right when it is bound to its component and both ends lie within `SHARE_TOLERANCE`."""
    left = list(told.stated_shares) if told else []
    for share in gold.get("stated_shares") or ():
        found = next((one for one in left if one.component == share["component"] and _is_near(one, share)), None)
        if found:
            left.remove(found)
        hits.add([True], [True] if found else [])
    hits.wrong += len(left)


def _is_near(told: StatedShare, gold: Mapping[str, Any]) -> bool:
    low, high = float(gold["low"]), float(gold["high"])
    return abs(told.low - low) <= SHARE_TOLERANCE and abs(told.high - high) <= SHARE_TOLERANCE


def with_plain_names(jobs: Sequence[Mapping[str, Any]], lexicon: Lexicon) -> list[dict[str, Any]]:
    """Gold jobs with each component under the lexicon's name for it, so that synonyms do not count as errors."""
    return [
        {
            **job,
            **{
                key: [
                    {**one, "component": one["component"] and plain_name(one["component"], job.get("appliance"), lexicon)}
                    for one in job.get(key) or ()
                ]
                for key in ("attempts", "stated_shares", "costs")
            },
        }
        for job in jobs
    ]


def plain_name(component: str, machine: str | None, lexicon: Lexicon) -> str:
    """A component's name as the lexicon would give it, where the whole of it is a name that the lexicon knows."""
    mentions = lexicon.find_parts(component, machine)
    whole = len(mentions) == 1 and mentions[0].start == 0 and mentions[0].end >= len(component) - 1
    return mentions[0].component if whole else component


def _score_optional(hits: Hits, gold: set[Any], told: set[Any]) -> None:
    hits.add(gold - {None}, told - {None})


def score_all(
    documents: Iterable[tuple[Sequence[Mapping[str, Any]], Sequence[Job]]],
    each: Callable[[int, ReadingScore], None] | None = None,
) -> ReadingScore:
    """Score pairs of gold jobs and told jobs; `each` sees every document's own score, for a list of errors."""
    total = ReadingScore()
    for number, (gold, told) in enumerate(documents):
        score_document(total, gold, told)
        if each:
            own = ReadingScore()
            score_document(own, gold, told)
            each(number, own)
    return total
