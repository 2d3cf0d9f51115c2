"""Fixes counted over jobs: what cured how many, and how often each worked when it was tried.

Two shares are kept apart: of the matched jobs that ended fixed, how many this fix cured (`share`); and of the jobs in which
it was tried and tested, how many it cured (`when_tried`). Parts changed at once are one fix of their own: their success
belongs to neither alone, their failure to each of them as well. A repair that came back is a failure; one never tested is in
neither share, but shown.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from kbindex.evidence.rates import spread_of, wilson_rate
from kbindex.questions import Clip, Fix
from kbindex.records import Attempt, Job, Kind, Operation, Outcome, Result, StatedShare


@dataclass
class _Tally:
    """What the jobs say of one fix; sets of job ids, so that no job counts twice."""

    fixed: set[str] = field(default_factory=set)
    tried: set[str] = field(default_factory=set)
    untested: set[str] = field(default_factory=set)
    minutes: list[float] = field(default_factory=list)
    clips: list[Clip] = field(default_factory=list)


def count_fixes(jobs: Sequence[Job], prices: Sequence[Job], currency: str) -> tuple[Fix, ...]:
    """Count the fixes of the matched `jobs`; part prices and stated shares come from `prices` (all jobs of the machine).

    The most frequent cure comes first.
    """
    tallies: dict[tuple[str, Operation], _Tally] = defaultdict(_Tally)
    for job in jobs:
        for component, operation, attempts in _group_attempts(job):
            _count_in(tallies[component, operation], job, attempts)
            if len(attempts) > 1 and not _cured(job, attempts):
                for attempt in attempts:
                    _count_in(tallies[attempt.component, attempt.operation], job, (attempt,))
    ended_fixed = sum(job.outcome is Outcome.FIXED for job in jobs)
    fixes = [
        Fix(
            component=component,
            operation=operation,
            fixed=len(tally.fixed),
            tried=len(tally.tried),
            untested=len(tally.untested - tally.tried),
            share=wilson_rate(len(tally.fixed), ended_fixed),
            when_tried=wilson_rate(len(tally.fixed), len(tally.tried)),
            stated=_stated_of(component, jobs),
            part_cost=spread_of(_prices_of(component, operation, prices, currency), currency),
            minutes=spread_of(tally.minutes),
            clips=tuple(tally.clips),
            jobs=tuple(sorted(tally.fixed | tally.tried | tally.untested)),
        )
        for (component, operation), tally in tallies.items()
    ]
    return tuple(sorted(fixes, key=lambda fix: (-fix.fixed, -fix.tried, -fix.untested, fix.component, fix.operation)))


def _group_attempts(job: Job) -> Iterable[tuple[str, Operation, tuple[Attempt, ...]]]:
    """Give the fixes tried in a job: attempts made together as one, repeated ones of a kind as one."""
    done: set[int] = set()
    for attempt in job.attempts:
        if attempt.order in done:
            continue
        partners = [other for other in job.attempts if other.order in attempt.together_with]
        group = tuple(sorted((attempt, *partners), key=lambda one: (one.component, one.operation)))
        done |= {one.order for one in group}
        names = dict.fromkeys(one.component for one in group)
        yield " + ".join(names), group[0].operation, group


def _cured(job: Job, attempts: Sequence[Attempt]) -> bool:
    return job.outcome is Outcome.FIXED and any(attempt.order == job.fixed_by for attempt in attempts)


def _count_in(tally: _Tally, job: Job, attempts: tuple[Attempt, ...]) -> None:
    results = {attempt.result for attempt in attempts}
    if results - {Result.UNTESTED}:
        tally.tried.add(job.id)
    else:
        tally.untested.add(job.id)
    cured = _cured(job, attempts)
    if cured:
        tally.fixed.add(job.id)
        if job.minutes is not None and len(job.attempts) == len(attempts):
            tally.minutes.append(float(job.minutes))
    clips = [Clip(Kind.ACTION, attempt.text, job.id, attempt.at) for attempt in attempts]
    clips += [Clip(Kind.RESULT, a.result_text, job.id, a.result_at) for a in attempts if a.result_at]
    tally.clips = [*clips, *tally.clips] if cured else [*tally.clips, *clips]


def _stated_of(component: str, jobs: Sequence[Job]) -> tuple[StatedShare, ...]:
    return tuple(share for job in jobs for share in job.stated_shares if share.component == component)


def _prices_of(component: str, operation: Operation, jobs: Sequence[Job], currency: str) -> list[float]:
    """One price a job: work that needs no part has none."""
    if operation is not Operation.REPLACE:
        return []
    prices = []
    for job in jobs:
        said = [cost.amount for cost in job.costs if cost.component == component and cost.currency == currency]
        prices += said[-1:]
    return prices
