"""Jobs as told by single documents into the shop's jobs: the same job filmed and noted counts once.

Two tellings are the same job when they carry the same job number, or when a recording and a note of the same day are about
the same machine, complaint and part and neither carries another number. Less than that is not enough to join.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import replace
from typing import TypeVar

from kbindex.reading.attempts import judge_outcome
from kbindex.records import Attempt, Job, Outcome, Result, SourceKind

_Item = TypeVar("_Item")
_ADVANCE = {Result.UNTESTED: 0, Result.PARTLY: 1, Result.NO_CHANGE: 1, Result.FIXED: 2, Result.CAME_BACK: 3}


def join_jobs(told: Sequence[Job]) -> tuple[list[Job], list[str]]:
    """Join tellings into jobs.

    Returns:
        The jobs by id, and for each telling the id of the job that it became part of.
    """
    groups = _group(told)
    ids = [""] * len(told)
    jobs: dict[str, Job] = {}
    for group in groups:
        job = _merge([told[place] for place in group])
        for place in group:
            ids[place] = job.id
        jobs[job.id] = job
    return sorted(_link_callbacks(jobs), key=lambda job: job.id), ids


def _group(told: Sequence[Job]) -> list[list[int]]:
    leader = list(range(len(told)))

    def find(place: int) -> int:
        while leader[place] != place:
            leader[place] = leader[leader[place]]
            place = leader[place]
        return place

    by_key: dict[Hashable, list[int]] = defaultdict(list)
    for place, job in enumerate(told):
        if job.job_no:
            by_key["no", job.job_no].append(place)
        if job.date and job.appliance:
            by_key["day", job.date, job.appliance].append(place)
    for places in by_key.values():
        for n, one in enumerate(places):
            for other in places[n + 1 :]:
                if _same_job(told[one], told[other]):
                    leader[find(other)] = find(one)
    groups: dict[int, list[int]] = defaultdict(list)
    for place in range(len(told)):
        groups[find(place)].append(place)
    return list(groups.values())


def _same_job(one: Job, other: Job) -> bool:
    if one.appliance and other.appliance and one.appliance != other.appliance:
        return False
    if one.job_no and other.job_no:
        return one.job_no == other.job_no
    kinds = {source.kind for job in (one, other) for source in job.sources}
    if len(kinds) < 2 or kinds != {SourceKind.RECORDING, SourceKind.NOTE}:
        return False
    same_complaint = _tags(one) & _tags(other)
    same_part = {a.component for a in one.attempts} & {a.component for a in other.attempts}
    return bool(same_complaint and same_part)


def _tags(job: Job) -> set[str]:
    return {tag for symptom in job.symptoms for tag in symptom.tags}


def _merge(tellings: Sequence[Job]) -> Job:
    """Merge tellings of one job; the fullest gives the order of the attempts, the others add what it leaves out."""
    ranked = sorted(tellings, key=_fullness)
    base = ranked[0]
    attempts = _merge_attempts([job.attempts for job in ranked])
    outcome, fixed_by = judge_outcome(attempts)
    number = _first(job.job_no for job in tellings)
    return replace(
        base,
        id=f"job-{number}" if number else min(job.id for job in tellings),
        sources=tuple(source for job in tellings for source in job.sources),
        job_no=number,
        date=_first(job.date for job in tellings),
        appliance=_first(job.appliance for job in ranked),
        symptoms=tuple(symptom for job in tellings for symptom in job.symptoms),
        checks=tuple(check for job in tellings for check in job.checks),
        attempts=attempts,
        stated_shares=tuple(share for job in tellings for share in job.stated_shares),
        costs=_distinct([cost for job in tellings for cost in job.costs], lambda cost: (cost.component, cost.amount)),
        minutes=_first(job.minutes for job in tellings),
        cautions=tuple(caution for job in tellings for caution in job.cautions),
        callback_of=_first(job.callback_of for job in tellings),
        outcome=outcome,
        fixed_by=fixed_by,
    )


def _fullness(job: Job) -> tuple[int, bool, str]:
    """Tellings with more results first; of equals a recording, for it can be watched."""
    tested = sum(attempt.result is not Result.UNTESTED for attempt in job.attempts)
    return (-tested, job.sources[0].kind is not SourceKind.RECORDING, job.sources[0].path)


def _merge_attempts(tellings: Sequence[tuple[Attempt, ...]]) -> tuple[Attempt, ...]:
    merged = list(tellings[0])
    for attempts in tellings[1:]:
        for attempt in attempts:
            place = next((n for n, one in enumerate(merged) if _same_work(one, attempt)), None)
            if place is None:
                merged.append(replace(attempt, order=len(merged) + 1, together_with=()))
            elif _ADVANCE[attempt.result] > _ADVANCE[merged[place].result]:
                merged[place] = replace(
                    merged[place], result=attempt.result, result_at=attempt.result_at, result_text=attempt.result_text
                )
    return tuple(merged)


def _same_work(one: Attempt, other: Attempt) -> bool:
    return (one.component, one.operation, one.by) == (other.component, other.operation, other.by)


def _first(values: Iterable[_Item | None]) -> _Item | None:
    return next((value for value in values if value is not None), None)


def _distinct(items: Sequence[_Item], key: object) -> tuple[_Item, ...]:
    return tuple({key(item): item for item in items}.values())  # type: ignore[operator]


def _link_callbacks(jobs: dict[str, Job]) -> list[Job]:
    """Point each callback at the earlier job's id, and turn that job's cure into one that came back."""
    by_number = {job.job_no: job.id for job in jobs.values() if job.job_no}
    linked = dict(jobs)
    for job in jobs.values():
        if job.callback_of is None:
            continue
        earlier = by_number.get(job.callback_of)
        linked[job.id] = replace(linked[job.id], callback_of=earlier if earlier != job.id else None)
        if earlier and earlier != job.id:
            linked[earlier] = _came_back(linked[earlier])
    return list(linked.values())


def _came_back(job: Job) -> Job:
    if job.outcome is not Outcome.FIXED:
        return job
    cure = next(a for a in job.attempts if a.order == job.fixed_by)
    cured = {cure.order, *cure.together_with}
    attempts = tuple(replace(a, result=Result.CAME_BACK) if a.order in cured else a for a in job.attempts)
    return replace(job, attempts=attempts, outcome=Outcome.CAME_BACK, fixed_by=None)
